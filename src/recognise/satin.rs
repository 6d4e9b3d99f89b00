//! A weave of single crossings read as a satin column: rails, widths, pitch, footprint.

use geo::{Coord, MultiPolygon};

use super::track::Track;
use super::weave::{Weave, median, quantile};
use crate::geometry::strips;
use crate::geometry::vector::{cross, distance};
use crate::objects::{Satin, Side};

/// A crossing this much shorter than its neighbours ends in a short-stitch point.
const SHORT_STITCH: f64 = 0.8;

/// And this much shorter, and by so many mm, where every other one on the edge does: so many crossings
/// on.
const NOTCH: f64 = 0.87;
const NOTCH_MM: f64 = 0.3;
const EVERY_OTHER: usize = 4;

/// So few crossings lie no further apart on one edge, mm.
const FEW: usize = 12;
const FEW_PITCH: f64 = 1.05;
/// Fewer are none: by chance any line goes to and fro so often.
const LEAST: usize = 6;
/// Few, and as wide as this, mm, are told by the longest step from one to the next on an edge.
const FEWER: usize = 7;
const WIDE_MM: f64 = 2.5;
const FEWER_STEP: f64 = 1.05;
/// No two crossings of a dense column are further apart along a rail, mm, even round a corner.
const LEAP: f64 = 2.2;

/// A satin with its footprint; `points` are the track indices of the top stitching, inclusive.
pub struct ReadSatin {
    pub satin: Satin,
    pub footprint: MultiPolygon<f64>,
    pub points: (usize, usize),
    /// Share of needle points that a plain satin explains, 0 to 1.
    pub explained: f64,
}

/// Reads a weave as a satin. `None` where no two rails come out of it.
pub fn read(track: &Track, weave: &Weave) -> Option<ReadSatin> {
    let points = weave.span();
    let sides = sides(track, weave, points);
    let rail = |side: Side| -> Vec<Coord<f64>> {
        (points.0..=points.1).filter(|i| sides[i - points.0] == side).map(|i| track.at[i]).collect()
    };
    let rails = [rail(Side::Left), rail(Side::Right)];
    if rails.iter().any(|rail| rail.len() < 2) {
        return None;
    }
    // From rail to rail: short stitches say nothing about the width.
    let on_rail = |i: usize| sides[i - points.0] != Side::Inner;
    let whole = weave.sweeps.iter().filter(|s| on_rail(s.first) && on_rail(s.last));
    let mut widths: Vec<f64> = whole.map(|s| s.length(track)).collect();
    let width = [0.05, 0.5, 0.95].map(|share| quantile(&mut widths, share));
    let same_side_pitch = pitch(track, weave);
    let explained = match weave.sweeps.len() {
        // Stitches put down by hand happen to go to and fro; a column so short is sewn close.
        0..FEW if same_side_pitch > FEW_PITCH => 0.0,
        0..LEAST => 0.0,
        LEAST..FEWER if width[1] > WIDE_MM && longest_step(&rails) > FEWER_STEP => 0.0,
        _ => explained(&rails, same_side_pitch),
    };
    let closed = is_closed(&rails, same_side_pitch, width[1]);
    let footprint = footprint(track, weave);
    Some(ReadSatin {
        satin: Satin { sides, rails, closed, same_side_pitch, width },
        footprint,
        points,
        explained,
    })
}

/// Usual distance of neighbouring needle points on one rail, mm, as it is along the middle of the column:
/// in a bend they crowd on one rail and part on the other. Over several steps at once, which the tape's
/// grid moves less.
fn pitch(track: &Track, weave: &Weave) -> f64 {
    const STEPS: usize = 4;
    // Every other crossing leads back.
    let steps = if weave.sweeps.len() > 4 * STEPS { STEPS } else { 1 };
    let middles: Vec<Coord<f64>> = weave.sweeps.iter().map(|sweep| sweep.middle(track)).collect();
    let spans = middles.windows(2 * steps + 1);
    median(&mut spans.map(|w| distance(w[0], w[2 * steps]) / steps as f64).collect::<Vec<_>>())
}

/// Side of every top point: sweep ends alternate between the rails, the rest is inner.
fn sides(track: &Track, weave: &Weave, points: (usize, usize)) -> Vec<Side> {
    let mut sides = vec![Side::Inner; points.1 - points.0 + 1];
    let left_first = starts_left(track, weave);
    let lengths: Vec<f64> = weave.sweeps.iter().map(|s| s.length(track)).collect();
    for (j, sweep) in weave.sweeps.iter().enumerate() {
        let (from, to) = if (j % 2 == 0) == left_first {
            (Side::Left, Side::Right)
        } else {
            (Side::Right, Side::Left)
        };
        sides[sweep.first - points.0] = from;
        sides[sweep.last - points.0] = to;
    }
    for j in 0..weave.sweeps.len().saturating_sub(1) {
        if is_short_stitch(&lengths, j) {
            sides[weave.sweeps[j].last - points.0] = Side::Inner;
        }
    }
    sides
}

/// Do both crossings at the end of sweep `j` stop well short of the ones around them? Where every other
/// one on an edge does, as in an inside curve, less is enough.
fn is_short_stitch(lengths: &[f64], j: usize) -> bool {
    let (before, after) = (j.checked_sub(2), j + 3);
    let (Some(before), true) = (before, after < lengths.len()) else {
        return false;
    };
    let usual = lengths[before].min(lengths[after]);
    let short = lengths[j] < SHORT_STITCH * usual && lengths[j + 1] < SHORT_STITCH * usual;
    let next = || [j.checked_sub(EVERY_OTHER), j.checked_add(EVERY_OTHER)];
    usual > 1.2
        && (short
            || is_notch(lengths, j) && next().into_iter().flatten().any(|k| is_notch(lengths, k)))
}

/// Does each crossing at the end of sweep `j` stop short of the next one beside it?
fn is_notch(lengths: &[f64], j: usize) -> bool {
    let stops = |own: usize, beside: usize| {
        lengths[own] < NOTCH * lengths[beside] && lengths[beside] - lengths[own] >= NOTCH_MM
    };
    j >= 1 && j + 2 < lengths.len() && stops(j, j - 1) && stops(j + 1, j + 2)
}

/// Does the first sweep start on the rail to the left of the sewing direction?
fn starts_left(track: &Track, weave: &Weave) -> bool {
    let votes: f64 = weave
        .sweeps
        .windows(2)
        .enumerate()
        .map(|(j, w)| {
            let step = w[1].middle(track) - w[0].middle(track);
            // Looking along the step, a sweep from left to right has the step on its left.
            let side = cross(w[0].chord(track), step);
            if j % 2 == 0 { side } else { -side }
        })
        .sum();
    votes > 0.0
}

/// Longest distance of neighbouring needle points on one rail, mm.
fn longest_step(rails: &[Vec<Coord<f64>>; 2]) -> f64 {
    let steps = rails.iter().flat_map(|rail| rail.windows(2)).map(|w| distance(w[0], w[1]));
    steps.fold(0.0, f64::max)
}

/// Share of the rail steps that are no odd leaps.
fn explained(rails: &[Vec<Coord<f64>>; 2], pitch: f64) -> f64 {
    let limit = (4.0 * pitch).clamp(1.2, LEAP);
    let steps = rails.iter().map(|rail| rail.len() - 1).sum::<usize>();
    let odd = rails
        .iter()
        .flat_map(|rail| rail.windows(2))
        .filter(|w| distance(w[0], w[1]) > limit)
        .count();
    1.0 - odd as f64 / steps as f64
}

/// A ring ends where it began, or a little beyond: its last crossing lies beside one of its first.
fn is_closed(rails: &[Vec<Coord<f64>>; 2], pitch: f64, width: f64) -> bool {
    const OVERLAP: f64 = 5.0;
    let near = (2.5 * pitch).max(1.0);
    rails.iter().all(|rail| {
        let length: f64 = rail.windows(2).map(|w| distance(w[0], w[1])).sum();
        let first = rail.iter().take((OVERLAP / pitch.max(0.1)) as usize + 1);
        let end = rail[rail.len() - 1];
        let nearest = first.map(|c| distance(*c, end)).fold(f64::INFINITY, f64::min);
        nearest < near && length > 3.0 * width + 2.0 * OVERLAP.min(length / 4.0)
    })
}

/// Union of the strips between neighbouring crossings. Beside a short stitch the thread of its
/// neighbours covers the cloth up to the edge: it goes on there as if there were none.
fn footprint(track: &Track, weave: &Weave) -> MultiPolygon<f64> {
    let sweeps = &weave.sweeps;
    let lengths: Vec<f64> = sweeps.iter().map(|s| s.length(track)).collect();
    // On the edge between the ends of the crossings before and after.
    let edge = |j: usize| (track.at[sweeps[j - 1].first] + track.at[sweeps[j + 2].last]) / 2.0;
    let is_short: Vec<bool> = (0..sweeps.len()).map(|j| is_short_stitch(&lengths, j)).collect();
    let end = |j: usize| if is_short[j] { edge(j) } else { track.at[sweeps[j].last] };
    let start = |j: usize| match j.checked_sub(1) {
        Some(before) if is_short[before] => edge(before),
        _ => track.at[sweeps[j].first],
    };
    let ends: Vec<(Coord<f64>, Coord<f64>)> = (0..sweeps.len())
        .map(|j| if j % 2 == 0 { (start(j), end(j)) } else { (end(j), start(j)) })
        .collect();
    strips::between(&ends)
}
