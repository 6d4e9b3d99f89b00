//! Unsure: stitches that turn without a pattern.

use std::collections::BTreeSet;

use super::super::track::Track;
use crate::design::Pt;

/// Fewest corners that tell.
const CORNERS: usize = 5;
/// A sharp corner, degrees.
const SHARP: f64 = 75.0;

/// Points after which a motif may come again.
const REPEAT: std::ops::RangeInclusive<usize> = 3..=12;
/// Fewest points of a motif that tell without the one where it joins the next.
const WITH_JOINT: usize = 4;
/// Share of a line that must be like what comes one repeat later.
const ALIKE: f64 = 0.75;
/// Turns (degrees) and stitches (by a factor) this close are alike: the line may bend on the way.
const ALIKE_TURN: f64 = 25.0;
const ALIKE_LENGTH: f64 = 1.35;

/// Does the line between two track points turn sharply at more than every third point, and not as
/// a motif does, again and again the same way?
pub fn is_wild(track: &Track, from: usize, to: usize) -> bool {
    let corners = to.saturating_sub(from + 1);
    let sharp = (from + 1..to)
        .filter(|i| !track.retraces(*i))
        .filter(|i| track.turn(*i).abs() > SHARP)
        .count();
    corners >= CORNERS
        && sharp * 3 > corners
        && !is_motif(track, from, to)
        && !comes_back(track, from, to)
}

/// Where the end of a line that turns as it will goes on as a motif, if it does.
pub fn motif_from(track: &Track, from: usize, to: usize) -> Option<usize> {
    /// Points of such an end that tell, and how closely its start is looked for.
    const LEAST: usize = 24;
    const STEP: usize = 4;
    /// Longer lines than any motif are not searched.
    const MOST: usize = 2000;
    let last = to.checked_sub(LEAST).filter(|_| to - from <= MOST)?;
    let starts: Vec<usize> = (from + CORNERS..=last).step_by(STEP).collect();
    REPEAT.filter_map(|by| repeats_from(track, &starts, to, by)).min()
}

/// Does the line come back to its own needle points time and again? Motifs do, at their corners and
/// where they cross their line; what is thrown does not.
fn comes_back(track: &Track, from: usize, to: usize) -> bool {
    /// Share of the needle points that were sewn before.
    const AGAIN: f64 = 0.15;
    let mut known = BTreeSet::new();
    let points = track.at[from..=to].iter().map(|at| Pt::from_mm(*at));
    let again = points.filter(|at| {
        // Rounding may set it beside itself.
        let mut near =
            (at.x - 1..=at.x + 1).flat_map(|x| (at.y - 1..=at.y + 1).map(move |y| (x, y)));
        let again = near.any(|at| known.contains(&at));
        known.insert((at.x, at.y));
        again
    });
    let again = again.count();
    again as f64 >= AGAIN * (to + 1 - from) as f64
}

fn is_motif(track: &Track, from: usize, to: usize) -> bool {
    REPEAT.into_iter().any(|by| repeats_from(track, &[from], to, by).is_some())
}

/// The first of some starts, in order, from which a line repeats itself every `by` points up to its end.
/// Goes once over the line, from its end, however many starts there are.
fn repeats_from(track: &Track, starts: &[usize], to: usize, by: usize) -> Option<usize> {
    let end = to.saturating_sub(by);
    // Points that are like the one a repeat later, by their place in the motif.
    let mut alike = vec![0; by];
    let mut counted = end;
    let mut found = None;
    for &start in starts.iter().rev() {
        let points = end.saturating_sub(start + 1);
        while counted > start + 2 {
            counted -= 1;
            alike[counted % by] += usize::from(is_alike(track, counted, by, true));
        }
        // Twice at least, else it does not come again.
        if points < by {
            continue;
        }
        let mut own = alike.clone();
        own[(start + 1) % by] += usize::from(is_alike(track, start + 1, by, false));
        // Where one motif joins the next the line turns as it will.
        let (joint, left_out) = match by >= WITH_JOINT {
            true => (own.iter().copied().min().unwrap_or(0), points / by),
            false => (0, 0),
        };
        let all = own.iter().sum::<usize>() - joint;
        if all as f64 >= ALIKE * (points - left_out) as f64 {
            found = Some(start);
        }
    }
    found
}

/// Do the line's turn and stitch at a point come again `by` points later, of the same size or, where a
/// stitch of the line comes before, of the same shape?
fn is_alike(track: &Track, i: usize, by: usize, has_before: bool) -> bool {
    let close = |a: f64, b: f64| (a / b).max(b / a) <= ALIKE_LENGTH;
    let turned = (track.turn(i) - track.turn(i + by)).rem_euclid(360.0);
    let (a, b) = (track.stitch(i), track.stitch(i + by));
    turned.min(360.0 - turned) <= ALIKE_TURN
        && (close(a, b)
            || has_before && close(a / track.stitch(i - 1), b / track.stitch(i + by - 1)))
}

#[cfg(test)]
mod tests {
    use geo::Coord;

    use super::*;

    fn track(points: impl Iterator<Item = (f64, f64)>) -> Track {
        let at: Vec<Coord<f64>> = points.map(|(x, y)| Coord { x, y }).collect();
        Track { index: (0..at.len()).collect(), at }
    }

    #[test]
    fn a_motif_is_not_wild() {
        // A square wave: four corners, again and again.
        let wave = |k: u32| {
            let (step, corner) = (f64::from(k / 4), k % 4);
            (
                4.0 * step + [0.0, 0.0, 2.0, 2.0][corner as usize],
                [0.0, 2.0, 2.0, 0.0][corner as usize],
            )
        };
        let motif = track((0..24).map(wave));
        assert!(!is_wild(&motif, 0, motif.len() - 1));
    }

    #[test]
    fn a_line_of_crosses_is_not_wild() {
        // Aside, back over the line to the other side, back, and on: lengths and turns differ.
        let crosses = (0..6).flat_map(|k| {
            let (x, y) = (3.0 * f64::from(k), 0.4 * f64::from(k * k));
            let arm = 1.0 + 0.3 * f64::from(k % 3);
            let (dx, dy) = [(0.2, 1.0), (-0.6, 0.8), (0.7, 0.7)][k as usize % 3];
            let (dx, dy) = (dx * arm, dy * arm);
            [(x, y), (x + dx, y + dy), (x, y), (x - dx, y - dy), (x, y)]
        });
        let motif = track(crosses.collect::<Vec<_>>().into_iter());
        assert!(!is_wild(&motif, 0, motif.len() - 1));
    }

    #[test]
    fn a_motif_after_stitches_thrown_any_way_is_found() {
        let turns =
            TURNS.into_iter().chain([90.0, 90.0, -90.0, -90.0].into_iter().cycle().take(40));
        let lengths = LENGTHS.into_iter().chain(std::iter::repeat(2.0));
        let line = walk(turns.zip(lengths));
        let to = line.len() - 1;
        assert!(is_wild(&line, 0, 20));
        // Thrown stitches alone lead to none, however many.
        let turn = |k: u64| (k * k * 37 + k * 101) % 200 + 80;
        let thrown = (0..80_u64).map(|k| (turn(k) as f64, 1.0 + (k * 29 % 31) as f64 / 10.0));
        let thrown = walk(thrown);
        assert!(is_wild(&thrown, 0, thrown.len() - 1));
        assert_eq!(motif_from(&thrown, 0, thrown.len() - 1), None);
        let from = motif_from(&line, 0, to).expect("forty corners of a square wave");
        // As many of its points may be unlike what follows as of any motif.
        assert!((5..=12).contains(&from), "{from}");
        assert!(!is_wild(&line, from, to));
        assert_eq!(motif_from(&line, 0, 10), None);
    }

    const TURNS: [f64; 11] =
        [100.0, -160.0, 85.0, 140.0, -95.0, 170.0, -120.0, 90.0, -80.0, 155.0, 110.0];
    const LENGTHS: [f64; 11] = [1.0, 3.1, 2.2, 0.9, 4.0, 1.6, 2.9, 1.2, 3.6, 0.8, 2.0];

    /// Stitches with these turns (degrees) and lengths (mm).
    fn walk(stitches: impl Iterator<Item = (f64, f64)>) -> Track {
        let (mut heading, mut at) = (0.0_f64, (0.0, 0.0));
        let points = stitches.map(|(turn, length)| {
            heading += turn;
            let (sin, cos) = heading.to_radians().sin_cos();
            at = (at.0 + length * cos, at.1 + length * sin);
            at
        });
        track(points.collect::<Vec<_>>().into_iter())
    }

    #[test]
    fn stitches_thrown_any_way_are_wild() {
        // Every corner is sharp, and none like another.
        let wild = walk(TURNS.into_iter().zip(LENGTHS));
        assert!(is_wild(&wild, 0, wild.len() - 1));
    }
}
