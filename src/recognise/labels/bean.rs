//! Bean: a visible run whose every stitch is sewn three times or more.

use super::super::track::Track;
use super::facts::SAME_POINT;
use crate::geometry::vector::distance;

/// Fewest corners that tell.
const CORNERS: usize = 4;

/// Does the line between two track points go back over itself at every other point?
pub fn is_bean(track: &Track, from: usize, to: usize) -> bool {
    let corners = to.saturating_sub(from + 1);
    let retraced =
        (from + 1..to).filter(|i| distance(track.at[i - 1], track.at[i + 1]) <= SAME_POINT).count();
    corners >= CORNERS && retraced * 2 >= corners
}
