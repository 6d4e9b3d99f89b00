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
    fn stitches_thrown_any_way_are_wild() {
        // Every corner is sharp, and none like another.
        let turns = [100.0, -160.0, 85.0, 140.0, -95.0, 170.0, -120.0, 90.0, -80.0, 155.0, 110.0];
        let lengths = [1.0, 3.1, 2.2, 0.9, 4.0, 1.6, 2.9, 1.2, 3.6, 0.8, 2.0];
        let (mut heading, mut at) = (0.0_f64, (0.0, 0.0));
        let walk = turns.iter().zip(lengths).map(|(turn, length)| {
            heading += turn;
            let (sin, cos) = heading.to_radians().sin_cos();
            at = (at.0 + length * cos, at.1 + length * sin);
            at
        });
        let wild = track(walk.collect::<Vec<_>>().into_iter());
        assert!(is_wild(&wild, 0, wild.len() - 1));
    }
}
