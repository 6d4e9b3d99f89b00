//! Bean: a visible run whose every stitch is sewn three times or more.

use super::super::track::Track;
use super::facts::SAME_POINT;
use crate::geometry::vector::distance;

/// Fewest corners that tell.
const CORNERS: usize = 4;
/// Fewest stitches of another run before a bean or after it.
const OTHER: usize = 6;

/// The part of the line between two track points that goes back over itself at every other point.
pub fn part(track: &Track, from: usize, to: usize) -> Option<(usize, usize)> {
    let retraced = |i: &usize| distance(track.at[i - 1], track.at[i + 1]) <= SAME_POINT;
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
