//! Unsure: stitches that turn without a pattern.

use super::super::track::Track;
use super::facts::SAME_POINT;
use crate::geometry::vector::distance;

/// Fewest corners that tell.
const CORNERS: usize = 5;
/// A sharp corner, degrees.
const SHARP: f64 = 75.0;

/// Points after which a motif may come again.
const REPEAT: std::ops::RangeInclusive<usize> = 3..=12;
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
        .filter(|i| distance(track.at[i - 1], track.at[i + 1]) > SAME_POINT)
        .filter(|i| track.turn(*i).abs() > SHARP)
        .count();
    corners >= CORNERS && sharp * 3 > corners && !is_motif(track, from, to)
}

fn is_motif(track: &Track, from: usize, to: usize) -> bool {
    REPEAT.into_iter().any(|by| repeats(track, from, to, by))
}

fn repeats(track: &Track, from: usize, to: usize, by: usize) -> bool {
    let points = from + 1..to.saturating_sub(by);
    let alike = |i: &usize| {
        let turned = (track.turn(*i) - track.turn(i + by)).rem_euclid(360.0);
        let longer = track.stitch(*i) / track.stitch(i + by);
        turned.min(360.0 - turned) <= ALIKE_TURN && longer.max(1.0 / longer) <= ALIKE_LENGTH
    };
    // Twice at least, else it does not come again.
    points.len() >= by && points.clone().filter(alike).count() as f64 >= ALIKE * points.len() as f64
}
