//! Bean: a visible run whose every stitch is sewn three times or more.

use geo::Coord;

use super::super::track::{SAME_POINT, Track};
use crate::geometry::vector::distance;

/// Fewest corners that tell.
const CORNERS: usize = 4;
/// Fewest stitches of another run before a bean or after it.
const OTHER: usize = 6;

/// The part of the line between two track points that goes back over itself at every other point.
pub fn part(track: &Track, from: usize, to: usize) -> Option<(usize, usize)> {
    let retraced = |i: &usize| track.retraces(*i);
    let corners = from + 1..to;
    let first = corners.clone().find(retraced)?;
    let last = corners.rev().find(retraced)?;
    // What is sewn once at its ends belongs to it, if it is little.
    let first = if first - 1 - from < OTHER { from } else { first - 1 };
    let last = if to - last - 1 < OTHER { to } else { last + 1 };
    let corners = last - first - 1;
    let retraced = (first + 1..last).filter(retraced).count();
    (corners >= CORNERS && retraced * 2 >= corners).then_some((first, last))
}

/// How far a bean between two track points goes on to either side in the points of a line.
pub fn along(
    track: &Track,
    (first, last): (usize, usize),
    (from, to): (usize, usize),
) -> (usize, usize) {
    /// Corners that tell whether it goes on, fewer at an end; one of them may be where it goes to the
    /// next needle point.
    const NEXT: usize = 3;
    let goes_on = |corners: std::ops::Range<usize>| {
        let all = corners.len();
        let retraced = corners.filter(|i| track.retraces(*i)).count();
        retraced > 0 && retraced + 1 >= all
    };
    let (mut first, mut last) = (first, last);
    while goes_on(first.saturating_sub(NEXT - 1).max(from + 1)..first + 1) {
        first -= 1;
    }
    while goes_on(last..(last + NEXT).min(to)) {
        last += 1;
    }
    (first, last)
}

/// Are so many stitches there and back at one place, of points `at(0), …, at(last)`, the begin of a bean
/// and no tie? It goes on with stitches of their length, back over themselves as well.
pub fn begins(stitches: usize, last: usize, at: impl Fn(usize) -> Coord<f64>) -> bool {
    /// Stitches after them that tell, of which one goes on to the next needle point.
    const NEXT: usize = 6;
    /// They are alike within this factor.
    const ALIKE: f64 = 1.4;
    let stitch = |i: usize| distance(at(i - 1), at(i));
    let over = |i: &usize| distance(at(i - 1), at(i + 1)) <= SAME_POINT;
    let alike = |i: usize| (1.0 / ALIKE..ALIKE).contains(&(stitch(i) / stitch(1)));
    let end = stitches + NEXT;
    stitches > 1
        && end <= last
        && (1..=end).all(alike)
        && (1..stitches).all(|i| over(&i))
        && (stitches + 1..end).filter(over).count() + 2 >= NEXT
}
