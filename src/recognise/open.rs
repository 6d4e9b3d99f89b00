//! Open weaves that are no underlay: tops that are sewn wide apart, and turns of a plain line.

use super::fill;
use super::grid::Grid;
use super::segment::{self, Kind, ReadStretch};
use super::tops::Cover;
use super::track::{Sweep, Track};
use super::weave::Weave;

/// Back-and-forth that advances more from sweep to sweep is no top, mm.
const OPEN_TOP: f64 = 0.65;
/// The same for rows: one of two passes, or the open end of a gradient.
const OPEN_ROWS: f64 = 1.4;
/// Share of an open top that may lie under later ones, and of open rows.
const OPEN_COVERED: f64 = 0.2;
const ROWS_COVERED: f64 = 0.8;

/// A few open turns that stay visible are part of the line around them: only underlay is so short.
/// Says whether there are any.
pub fn drop_visible_turns(stretches: &mut [ReadStretch], cover: &Cover) -> bool {
    const FEW: usize = 6;
    const COVERED: f64 = 0.5;
    let mut any = false;
    for stretch in stretches {
        let mut dropped = false;
        let track = &stretch.track;
        for segment in &mut stretch.segments {
            if let Kind::Open(weave) = &segment.kind
                && weave.sweeps.len() < FEW
                && covered_share(track, weave, cover) < COVERED
            {
                segment.kind = Kind::Line;
                dropped = true;
            }
        }
        if dropped {
            stretch.join_lines();
        }
        any |= dropped;
    }
    any
}

/// Turns open weaves that stay visible into (open) tops; says whether there are any.
pub fn become_tops(stretches: &mut [ReadStretch], cover: &Cover) -> bool {
    let mut found = Vec::new();
    for (s, stretch) in stretches.iter().enumerate() {
        for (g, segment) in stretch.segments.iter().enumerate() {
            if let Kind::Open(weave) = &segment.kind
                && (is_open_top(stretch, weave, cover) || is_pass(stretch, g, weave))
                && let Some(kind) = segment::top_kind(&stretch.track, weave)
            {
                found.push((s, g, kind));
            }
        }
    }
    let any = !found.is_empty();
    for (s, g, kind) in found {
        stretches[s].segments[g].kind = kind;
    }
    any
}

/// Is an open weave visible and close enough to be a top (an open satin, a sparse fill)?
fn is_open_top(stretch: &ReadStretch, weave: &Weave, cover: &Cover) -> bool {
    let advance = weave.advance(&stretch.track);
    let rows = weave.has_rows();
    let covered = || covered_share(&stretch.track, weave, cover);
    rows && advance <= OPEN_ROWS && covered() < ROWS_COVERED
        || advance <= OPEN_TOP && covered() < OPEN_COVERED
}

/// Is this one of two passes of a fill: does the other, sewn right before or after it, lie between its
/// rows?
fn is_pass(stretch: &ReadStretch, g: usize, weave: &Weave) -> bool {
    /// Segments from one pass to the other: a link may lie between.
    const NEXT: usize = 2;
    let track = &stretch.track;
    if !weave.has_rows() || weave.advance(track) > OPEN_ROWS {
        return false;
    }
    let Some(grid) = Grid::of(track, weave, &fill::read(track, weave)) else { return false };
    let [_, between, _] = grid.passes();
    let near = g.saturating_sub(NEXT)..stretch.segments.len().min(g + NEXT + 1);
    near.filter(|other| *other != g).any(|other| match &stretch.segments[other].kind {
        Kind::Open(other) => between.holds(track, &other.sweeps),
        _ => false,
    })
}

/// Share of a weave's sweeps that a later top lies over.
fn covered_share(track: &Track, weave: &Weave, cover: &Cover) -> f64 {
    let after = track.index[weave.span().1];
    let is_covered = |s: &&Sweep| !cover.later(s.middle(track), after, 0.0).is_empty();
    weave.sweeps.iter().filter(is_covered).count() as f64 / weave.sweeps.len() as f64
}
