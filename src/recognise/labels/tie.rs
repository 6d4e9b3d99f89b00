//! Tie: the few small stitches that hold the thread at a start or an end.

use super::super::track::{SAME_POINT, Track};
use super::bean;
use crate::geometry::vector::{distance, turn};

/// Longest stitch of a tie, mm. Source: M. Belova, "Quality benchmarks: tie-offs": 1 to 1.5, never
/// over 2.
const TIE_STITCH: f64 = 2.05;
/// Most stitches that one tie has (common practice, no published source): four times there and back.
const TIE_COUNT: usize = 8;
/// A tie stays within this extent, mm.
const TIE_EXTENT: f64 = 2.3;
/// Longest stitch of a tie that is known by its form alone, mm.
const FORM_STITCH: f64 = 1.5;
/// And the shortest that its longest stitch is, mm: the grid hides what is smaller.
const FORM_LEAST: f64 = 0.35;
/// Twice there and back on the same points is no column.
const TWICE: usize = 4;
/// So often back at one point is none either.
const OFTEN: usize = 4;
/// A stitch is like those before within this factor.
const ALIKE: f64 = 1.4;
/// Steps of a tie that is sewn straight, and the longest of them, mm: what is sewn over it goes
/// back the same way.
const STEPS: std::ops::RangeInclusive<usize> = 2..=6;
const STEP_MM: f64 = 0.8;
/// The grid turns such a short step by so much, degrees.
const STEP_TURN: f64 = 40.0;
/// What is sewn back over it has longer stitches, by this factor.
const LONGER: f64 = 1.4;
/// Heading changes from which the thread goes back, degrees.
const BACK: f64 = 120.0;
const BACK_OVER: f64 = 140.0;
/// From so many steps on they may lie beside what is sewn.
const MANY_STEPS: usize = 3;
const ASIDE: f64 = 60.0;

/// Stitches of a tie that begins (or, seen from its last point, ends) a stretch and is known by its
/// form alone: it comes back to where it began, or goes a few steps straight and is sewn over.
pub fn formed(track: &Track, at_end: bool) -> usize {
    let Some(last) = track.len().checked_sub(1) else { return 0 };
    let at = |k: usize| track.at[if at_end { last - k } else { k }];
    let stitch = |k: usize| distance(at(k - 1), at(k));
    let same = |i: usize, k: usize| distance(at(i), at(k)) <= SAME_POINT;
    let again = |k: usize| (2..=k).all(|i| same(i - 2, i));
    // The point of a column goes to and fro as well, ever wider.
    let goes_on_alike = |k: usize| {
        let longest = (1..=k).map(stitch).fold(0.0, f64::max);
        longest < FORM_LEAST
            || !(k >= TWICE && again(k))
                && (2..=k).filter(|i| same(0, *i)).count() < OFTEN
                && k < last
                && turn(at(k) - at(k - 1), at(k + 1) - at(k)).abs() >= BACK
                && (longest / ALIKE..longest * ALIKE).contains(&stitch(k + 1))
    };
    let back = (2..=last.min(TIE_COUNT))
        .take_while(|k| (1..=*k).all(|i| stitch(i) <= FORM_STITCH))
        .filter(|k| same(0, *k) || again(*k))
        .filter(|k| !goes_on_alike(*k) && !bean::begins(*k, last, at))
        .last();
    let straight = |k: usize| {
        let heading = |i: usize| at(i) - at(i - 1);
        let goes_on = |i| turn(heading(i - 1), heading(i)).abs() <= STEP_TURN;
        let longest = (1..=k).map(stitch).fold(0.0, f64::max);
        let turned = turn(at(k) - at(0), heading(k + 1)).abs();
        let longer = stitch(k + 1) >= LONGER * longest;
        let begins = match k {
            ..MANY_STEPS => longer && turned >= BACK_OVER,
            MANY_STEPS => longer && turned >= ASIDE,
            // Nothing else goes on in so many small steps at its very end.
            _ => longer || turned >= ASIDE,
        };
        longest <= STEP_MM && (2..=k).all(goes_on) && begins
    };
    back.or_else(|| STEPS.rev().filter(|k| *k < last).find(|k| straight(*k))).unwrap_or(0)
}

/// Stitches of a tie at the start of the points `from..=to`; 0 where there is none.
pub fn at_start(track: &Track, from: usize, to: usize) -> usize {
    longest(to - from, |k| from + k, track)
}

/// Stitches of a tie at the end of the points `from..=to`; 0 where there is none.
pub fn at_end(track: &Track, from: usize, to: usize) -> usize {
    longest(to - from, |k| to - k, track)
}

/// Longest count of stitches, walking over `point(0), point(1), …`, that huddle and turn back.
fn longest(available: usize, point: impl Fn(usize) -> usize, track: &Track) -> usize {
    let mut tie = 0;
    let mut turned = false;
    // The stitch after a tie is longer: it already belongs to what follows.
    let longest =
        (1.45 * distance(track.at[point(0)], track.at[point(available.min(1))])).min(TIE_STITCH);
    for k in 1..=available.min(TIE_COUNT) {
        let (here, before) = (track.at[point(k)], track.at[point(k - 1)]);
        let strays = (0..k).any(|i| distance(track.at[point(i)], here) > TIE_EXTENT);
        if distance(here, before) > longest || strays {
            break;
        }
        // What goes on straight after the last turn belongs to what follows as well.
        let back = k >= 2 && reverses(track, point(k - 2), point(k - 1), point(k));
        turned |= back;
        let again = || (0..k - 1).any(|i| distance(track.at[point(i)], here) <= SAME_POINT);
        if back || turned && again() {
            tie = k;
        }
    }
    if bean::begins(tie, available, |k| track.at[point(k)]) { 0 } else { tie }
}

fn reverses(track: &Track, a: usize, b: usize, c: usize) -> bool {
    turn(track.at[b] - track.at[a], track.at[c] - track.at[b]).abs() > BACK
}

#[cfg(test)]
mod tests {
    use geo::Coord;

    use super::*;

    /// A tie and two stitches after it (mm); forms as they are sewn: common practice, no published
    /// source.
    fn begun(tie: &[(f64, f64)], on: &[(f64, f64)]) -> usize {
        let points = tie.iter().chain(on);
        let at: Vec<Coord<f64>> = points.map(|(x, y)| Coord { x: *x, y: *y }).collect();
        let track = Track { index: (0..at.len()).collect(), at };
        let mut back = Track { index: track.index.clone(), at: track.at.clone() };
        back.at.reverse();
        assert_eq!(formed(&track, false), formed(&back, true), "the same from either end");
        formed(&track, false)
    }

    #[test]
    fn ties_are_known_by_their_form() {
        let run = [(2.5, 0.0), (5.0, 0.0)];
        assert_eq!(begun(&[(0.0, 0.0), (1.0, 0.0), (0.0, 0.0)], &run), 2, "there and back");
        let twice = [(0.0, 0.0), (1.0, 0.0), (0.1, 0.0), (1.0, 0.1), (0.0, 0.0)];
        assert_eq!(begun(&twice, &run), 4, "twice there and back");
        let triangle = [(0.0, 0.0), (0.8, 0.0), (0.4, 0.6), (0.0, 0.0)];
        assert_eq!(begun(&triangle, &run), 3, "triangle");
        let star =
            [(0.0, 0.0), (0.5, 0.0), (0.0, 0.0), (0.0, 0.5), (0.0, 0.0), (-0.5, 0.0), (0.0, 0.0)];
        assert_eq!(begun(&star, &run), 6, "star");
        let straight = [(1.2, 0.0), (0.8, 0.0), (0.4, 0.0), (0.0, 0.0)];
        assert_eq!(begun(&straight, &run), 3, "sewn over");
    }

    #[test]
    fn other_starts_are_no_ties() {
        assert_eq!(begun(&[(0.0, 0.0)], &[(2.5, 0.0), (5.0, 0.0)]), 0, "a run");
        // A column 1.2 mm wide, 0.4 mm from crossing to crossing on one edge.
        let column: Vec<_> = (0..8).map(|i| (0.2 * f64::from(i), 1.2 * f64::from(i % 2))).collect();
        assert_eq!(begun(&column, &[]), 0, "a column");
        // It begins in a point and widens by 0.15 mm with every crossing.
        let point: Vec<_> =
            (0..8).map(|i| (0.15 * f64::from(i), 0.15 * f64::from(i * (i % 2)))).collect();
        assert_eq!(begun(&point, &[]), 0, "a column that begins in a point");
    }
}
