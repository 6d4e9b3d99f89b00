//! What the stitches that are no top are: underlay of which kind and of which top, guard, travel,
//! or a visible run. Decided by what is sewn over them later.

use geo::Coord;

use super::line::{LineKind, line_kind};
use super::segment::{Kind, ReadStretch};
use super::tops::{Cover, Top};
use super::track::{Sweep, Track};
use super::weave::{Weave, median};
use crate::geometry::vector::{left_of, middle, unit};
use crate::objects::Label;

/// Share of the stitches that must lie under one top to be its underlay.
const UNDER: f64 = 0.8;
/// Back-and-forth that advances more from sweep to sweep is no top, mm.
const OPEN_TOP: f64 = 0.65;
/// Share of an open top that may lie under later ones.
const OPEN_COVERED: f64 = 0.2;
/// The same for rows: one of two passes, or the open end of a gradient.
const OPEN_ROWS: f64 = 1.3;
/// A stitch this near to an edge lies under the thread of the edge, mm.
const THREAD: f64 = 0.25;
/// An edge run lies this far inside the edge at most, mm.
const EDGE_RUN_REACH: f64 = 1.3;
/// Visible stitches shorter than this in all are a link between two tops, mm.
const LINK: f64 = 4.0;

/// A labelled chunk: stitches after track point `from` up to `to`.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Chunk {
    pub label: Label,
    pub from: usize,
    pub to: usize,
    /// The top that it supports or leads to.
    pub top: Option<usize>,
}

/// Is an open weave visible and close enough to be a top (an open satin, a sparse fill)?
pub fn is_open_top(stretch: &ReadStretch, weave: &Weave, cover: &Cover) -> bool {
    let most = if weave.has_rows() { OPEN_ROWS } else { OPEN_TOP };
    weave.advance(&stretch.track) <= most
        && covered_share(&stretch.track, weave, cover) < OPEN_COVERED
}

/// Share of a weave's sweeps that a later top lies over.
pub fn covered_share(track: &Track, weave: &Weave, cover: &Cover) -> f64 {
    let after = track.index[weave.span().1];
    let is_covered = |s: &&Sweep| !cover.later(s.middle(track), after, 0.0).is_empty();
    weave.sweeps.iter().filter(is_covered).count() as f64 / weave.sweeps.len() as f64
}

/// Labels an open weave by what lies over it.
pub fn open_weave(
    stretch: &ReadStretch,
    weave: &Weave,
    points: (usize, usize),
    tops: &[Top],
    stretches: &[ReadStretch],
    cover: &Cover,
) -> Chunk {
    let track = &stretch.track;
    let after = track.index[points.1];
    let covers: Vec<Vec<usize>> =
        weave.sweeps.iter().map(|s| cover.later(s.middle(track), after, 0.0)).collect();
    let best = most_common(&covers, |t| tops[t].stop == stretch.stop);
    let chunk = |label, top| Chunk { label, from: points.0, to: points.1, top };
    let hidden = covers.iter().filter(|c| !c.is_empty()).count();
    match best {
        Some((top, count)) if count as f64 >= UNDER * covers.len() as f64 => {
            let guard = is_guard(track, weave, &tops[top], kind_of(stretches, &tops[top]));
            let label = match kind_of(stretches, &tops[top]) {
                _ if guard => Label::Guard,
                TopKind::Fill => Label::FillUnderlay,
                TopKind::Satin => Label::Zigzag,
            };
            chunk(label, (!guard).then_some(top))
        }
        _ if hidden as f64 >= UNDER * covers.len() as f64 => chunk(Label::Guard, None),
        _ => chunk(Label::Run, None),
    }
}

#[derive(Clone, Copy, PartialEq)]
enum TopKind {
    Satin,
    Fill,
}

fn kind_of(stretches: &[ReadStretch], top: &Top) -> TopKind {
    let (s, g) = top.sections[0];
    match stretches[s].segments[g].kind {
        Kind::Fill(_) => TopKind::Fill,
        _ => TopKind::Satin,
    }
}

/// A guard is a short zigzag that follows the edge of its cover; underlay spans the cover.
fn is_guard(track: &Track, weave: &Weave, top: &Top, kind: TopKind) -> bool {
    if weave.rows_share() > 0.3 {
        return false;
    }
    let mut lengths: Vec<f64> = weave.sweeps.iter().map(|s| s.length(track)).collect();
    let mut depths: Vec<f64> = weave
        .sweeps
        .iter()
        .map(|s| top.footprint.locator().distance_to_edge(s.middle(track)))
        .collect();
    let (length, depth) = (median(&mut lengths), median(&mut depths));
    match kind {
        TopKind::Fill => length <= 3.4 && depth <= 1.7,
        // Zigzag underlay lies in the middle of its column.
        TopKind::Satin => {
            // Seen square to the way that the zigzag goes: its stitches slant.
            let middles: Vec<_> = weave.sweeps.iter().map(|s| s.middle(track)).collect();
            let mut across: Vec<f64> = middles
                .windows(3)
                .filter_map(|m| across(top, m[1], m[2] - m[0]))
                .map(|place| (place.share - 0.5).abs())
                .collect();
            !across.is_empty() && median(&mut across) > 0.22
        }
    }
}

/// Where a point lies across a top, seen square to a direction of travel.
struct Across {
    /// 0 at the right edge, 1 at the left edge.
    share: f64,
    width: f64,
}

fn across(top: &Top, at: Coord<f64>, heading: Coord<f64>) -> Option<Across> {
    const FAR: f64 = 30.0;
    let square = left_of(unit(heading));
    let left = *top.footprint.locator().hits(at, square, FAR).first()?;
    let right = *top.footprint.locator().hits(at, square * -1.0, FAR).first()?;
    let width = left + right;
    (width > 0.0).then_some(Across { share: right / width, width })
}

fn most_common(covers: &[Vec<usize>], allowed: impl Fn(usize) -> bool) -> Option<(usize, usize)> {
    let mut all: Vec<usize> = covers.iter().flatten().copied().filter(|t| allowed(*t)).collect();
    all.sort_unstable();
    let mut best: Option<(usize, usize)> = None;
    for group in all.chunk_by(|a, b| a == b) {
        if best.is_none_or(|(_, count)| group.len() > count) {
            best = Some((group[0], group.len()));
        }
    }
    best
}

/// Labels the stitches between two track points that belong to no weave.
pub fn line(
    stretch: &ReadStretch,
    points: (usize, usize),
    tops: &[Top],
    stretches: &[ReadStretch],
    cover: &Cover,
) -> Vec<Chunk> {
    let track = &stretch.track;
    let mut chunks = Vec::new();
    for (from, to) in chains(track, points) {
        chunks.push(chain(stretch, (from, to), tops, stretches, cover));
    }
    // What lies under another top than the one that it leads to only passes by.
    let next = tops.partition_point(|top| top.first < track.index[points.1]);
    let leads_to = tops.get(next).filter(|top| stretch.stretch.contains(&top.first)).map(|_| next);
    for chunk in &mut chunks {
        if leads_to.is_some() && chunk.top.is_some() && chunk.top != leads_to {
            (chunk.label, chunk.top) = (Label::Travel, None);
        }
    }
    settle_links(&mut chunks, track);
    merge(chunks, track)
}

/// Cuts a line at its sharp corners.
fn chains(track: &Track, points: (usize, usize)) -> Vec<(usize, usize)> {
    let mut chains = Vec::new();
    let mut from = points.0;
    for i in points.0 + 1..=points.1 {
        if i == points.1 || track.turn(i).abs() >= 50.0 {
            chains.push((from, i));
            from = i;
        }
    }
    chains
}

fn chain(
    stretch: &ReadStretch,
    (from, to): (usize, usize),
    tops: &[Top],
    stretches: &[ReadStretch],
    cover: &Cover,
) -> Chunk {
    let track = &stretch.track;
    let after = track.index[to];
    let middles: Vec<Coord<f64>> =
        (from + 1..=to).map(|i| middle(track.at[i - 1], track.at[i])).collect();
    let covers: Vec<Vec<usize>> = middles.iter().map(|m| cover.later(*m, after, THREAD)).collect();
    let hidden = covers.iter().filter(|c| !c.is_empty()).count();
    // The earliest later top of the stop is the one that a path before it serves.
    let own = most_common(&covers, |t| tops[t].stop == stretch.stop);
    let label = match own {
        Some((top, count)) if count as f64 >= UNDER * covers.len() as f64 => {
            let label = match kind_of(stretches, &tops[top]) {
                TopKind::Satin => under_satin(track, (from, to), &middles, &tops[top]),
                TopKind::Fill => under_fill(&middles, &tops[top]),
            };
            return Chunk { label, from, to, top: Some(top) };
        }
        // a stop of runs that a later stop covers (appliqué) is still a run of its own
        _ if hidden as f64 >= UNDER * covers.len() as f64 && stretch.has_top() => Label::Travel,
        _ if on_own_colour(stretch, &middles, tops, cover) => Label::Travel,
        _ => Label::Run,
    };
    Chunk { label, from, to, top: None }
}

/// Does most of a line lie on tops of its own stop, where it is not seen?
fn on_own_colour(
    stretch: &ReadStretch,
    middles: &[Coord<f64>],
    tops: &[Top],
    cover: &Cover,
) -> bool {
    let on =
        |m: &&Coord<f64>| cover.later(**m, 0, THREAD).iter().any(|t| tops[*t].stop == stretch.stop);
    middles.iter().filter(on).count() as f64 >= UNDER * middles.len() as f64
}

/// Centre run, edge run, or a link across (travel) under a satin.
fn under_satin(
    track: &Track,
    (from, to): (usize, usize),
    middles: &[Coord<f64>],
    top: &Top,
) -> Label {
    let places: Vec<Across> = middles
        .iter()
        .zip(from + 1..=to)
        .filter_map(|(m, i)| across(top, *m, track.at[i] - track.at[i - 1]))
        .collect();
    if places.is_empty() {
        return Label::Travel;
    }
    let mut widths: Vec<f64> = places.iter().map(|p| p.width).collect();
    let width = median(&mut widths);
    let off = places.iter().map(|p| p.share - 0.5).sum::<f64>().abs() / places.len() as f64;
    // Half way between the centre and where an edge run of 0.6 mm inset would lie; a column too
    // narrow for two edge runs has a centre run.
    let limit = if width < 1.5 { 0.2 } else { ((0.5 - 0.6 / width) / 2.0).clamp(0.045, 0.14) };
    if off <= limit {
        Label::CentreRun
    } else if (0.5 - off) * width <= EDGE_RUN_REACH {
        Label::EdgeRun
    } else {
        Label::Travel
    }
}

fn under_fill(middles: &[Coord<f64>], top: &Top) -> Label {
    let mut depths: Vec<f64> =
        middles.iter().map(|m| top.footprint.locator().distance_to_edge(*m)).collect();
    if median(&mut depths) <= EDGE_RUN_REACH { Label::EdgeRun } else { Label::Travel }
}

/// Short links between two chains of underlay take the label of what they join; a long line
/// through the middle of a fill is its centre run; visible stitches that are only a link between
/// tops are travel.
fn settle_links(chunks: &mut [Chunk], track: &Track) {
    for i in 0..chunks.len() {
        let short = chunks[i].to - chunks[i].from <= 2;
        let before = i.checked_sub(1).map(|b| chunks[b]);
        let after = chunks.get(i + 1).copied();
        let neighbour = before.filter(is_run_underlay).or(after.filter(is_run_underlay));
        if let Some(near) = neighbour
            && short
            && chunks[i].top == near.top
            && near.top.is_some()
        {
            chunks[i].label = near.label;
        }
    }
    let inner: usize = chunks
        .iter()
        .filter(|c| c.label == Label::Travel && c.top.is_some())
        .map(|c| c.to - c.from)
        .sum();
    let edge: usize =
        chunks.iter().filter(|c| c.label == Label::EdgeRun).map(|c| c.to - c.from).sum();
    if inner >= 4 && edge < inner {
        for chunk in chunks.iter_mut().filter(|c| c.label == Label::Travel && c.top.is_some()) {
            chunk.label = Label::CentreRun;
        }
    }
    let visible: f64 = chunks
        .iter()
        .filter(|c| c.label == Label::Run)
        .flat_map(|c| c.from + 1..=c.to)
        .map(|i| track.stitch(i))
        .sum();
    if visible < LINK {
        for chunk in chunks.iter_mut().filter(|c| c.label == Label::Run) {
            chunk.label = Label::Travel;
        }
    }
}

fn is_run_underlay(chunk: &Chunk) -> bool {
    matches!(chunk.label, Label::CentreRun | Label::EdgeRun)
}

/// Joins neighbouring chunks of one label and top, and judges the visible ones as a whole.
fn merge(chunks: Vec<Chunk>, track: &Track) -> Vec<Chunk> {
    let mut merged: Vec<Chunk> = Vec::new();
    for chunk in chunks {
        match merged.last_mut() {
            Some(last) if last.label == chunk.label && last.top == chunk.top => last.to = chunk.to,
            _ => merged.push(chunk),
        }
    }
    for chunk in merged.iter_mut().filter(|c| c.label == Label::Run) {
        chunk.label = match line_kind(track, chunk.from, chunk.to) {
            LineKind::Run => Label::Run,
            LineKind::Bean => Label::Bean,
            LineKind::Wild => Label::Unsure,
        };
    }
    merged
}
