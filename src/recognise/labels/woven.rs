//! What each stitch has to do with an open weave.

use super::super::grid::Grid;
use super::super::parts;
use super::super::segment::{Kind, ReadStretch, Segment};
use super::super::track::{Sweep, Track, between_corners, chains};
use super::super::weave::Weave;
use super::{Scene, guard};
use crate::geometry::vector::{between_lines, cross, dot, line_angle, norm, unit};

/// So many rows are underlay by themselves.
const MANY: usize = 4;
const LONG_MM: f64 = 5.0;
/// From one row to the next the thread goes this many lines, this many stitches, and so much further
/// than straight.
const JOIN_LINES: f64 = 1.3;
const JOIN_STITCHES: usize = 4;
const JOIN_BENT: f64 = 1.3;

/// Few rows: a corner between row and step, degrees; how long rows are at least, how far apart, mm,
/// how nearly parallel, degrees, and how straight.
const CORNER: f64 = 6.6;
const ROW_MM: f64 = 2.0;
const APART_MM: (f64, f64) = (1.2, 3.9);
const PARALLEL_DEG: f64 = 2.2;
const STRAIGHT: f64 = 1.01;

/// A stitch's part in an open weave.
#[derive(Clone, Copy)]
pub struct Woven {
    /// The weave is made of rows of several stitches.
    pub rows: bool,
    /// The weave is a guard.
    pub guard: bool,
    /// Enough rows to be underlay by themselves.
    pub many: bool,
    /// Too few for a weave.
    pub few: bool,
}

/// Rows so many and so long that they are underlay by themselves: a motif goes to and fro as well.
pub fn is_mesh(track: &Track, weave: &Weave) -> bool {
    weave.has_rows() && weave.sweeps.len() >= MANY && weave.length(track) >= LONG_MM
}

/// Rows too few for a weave.
pub const FEW_ROWS: Woven = Woven { rows: true, guard: false, many: false, few: true };

/// For each stitch between two track points.
pub fn woven(
    scene: Scene,
    stretch: &ReadStretch,
    (first, last): (usize, usize),
) -> Vec<Option<Woven>> {
    let mut woven = vec![None; last - first];
    let mut grids = Vec::new();
    for segment in stretch.between(first, last) {
        let Segment { kind: Kind::Open(weave), points: (from, to), .. } = segment else { continue };
        let (from, to) = ((*from).max(first), (*to).min(last));
        if from < to {
            let facts = Woven {
                rows: weave.has_rows(),
                guard: guard::is_guard(scene, stretch, weave),
                many: is_mesh(&stretch.track, weave),
                few: false,
            };
            woven[from - first..to - first].fill(Some(facts));
            if facts.rows && !facts.guard {
                grids.extend(Grid::of_wide(&stretch.track, weave).map(|grid| (weave, facts, grid)));
            }
        }
    }
    for (i, (weave, facts, grid)) in grids.iter().enumerate() {
        // Only what lies on the lines belongs to them, and all of it up to the next ones.
        let (from, to) = weave.span();
        woven[from.max(first) - first..to.min(last) - first].fill(None);
        let before = i.checked_sub(1).map_or(first, |i| grids[i].0.span().1);
        let after = grids.get(i + 1).map_or(last, |(weave, ..)| weave.span().0);
        for (from, to) in on_lines(&stretch.track, (before.max(first), after.min(last)), grid) {
            woven[from - first..to - first].fill(Some(*facts));
        }
    }
    woven
}

/// Directions (degrees) of the few rows in which stitches between two track points may lie.
pub fn few_rows(track: &Track, (first, last): (usize, usize)) -> Vec<Option<f64>> {
    let mut few = vec![None; last - first];
    for pin in hairpins(track, (first, last)) {
        few[pin[0].first - first..pin[2].last - first].fill(Some(line_angle(pin[0].chord(track))));
    }
    few
}

/// Two rows side by side, too few for a weave: there, a step aside, and back.
fn hairpins(track: &Track, (first, last): (usize, usize)) -> Vec<[Sweep; 3]> {
    let pieces = between_corners(track, (first, last), CORNER);
    let is_pin = |w: &&[Sweep]| {
        let [there, step, back] = [w[0], w[1], w[2]];
        let (a, b) = (there.chord(track), back.chord(track));
        let turns = track.turn(step.first) * track.turn(step.last);
        let apart = cross(unit(a), step.chord(track)).abs();
        turns > 0.0
            && norm(a).min(norm(b)) >= ROW_MM
            && dot(a, b) < 0.0
            && between_lines(line_angle(a), line_angle(b)) <= PARALLEL_DEG
            && (APART_MM.0..=APART_MM.1).contains(&apart)
            && step.sewn(track) <= JOIN_BENT * step.length(track)
            && [there, back].iter().all(|row| row.sewn(track) <= STRAIGHT * row.length(track))
    };
    pieces.windows(3).filter(is_pin).map(|w| [w[0], w[1], w[2]]).collect()
}

/// Rows on the lines of a grid, together with what joins one to the next; not one alone.
fn on_lines(track: &Track, points: (usize, usize), grid: &Grid) -> Vec<(usize, usize)> {
    let mut chains = chains(parts::rows(track, points, grid), |a, b| joins(track, *a, *b, grid));
    chains.retain(|chain| chain.len() > 1);
    chains.into_iter().map(|sweeps| Weave { sweeps }.span()).collect()
}

/// Does the thread go from the end of a row right to the start of the next?
fn joins(track: &Track, a: Sweep, b: Sweep, grid: &Grid) -> bool {
    let join = Sweep { first: a.last, last: b.first };
    let lines = grid.row(track.at[b.first]) - grid.row(track.at[a.last]);
    join.stitches() <= JOIN_STITCHES
        && lines.abs() <= JOIN_LINES
        && join.sewn(track) <= JOIN_BENT * join.length(track) + 0.1
}
