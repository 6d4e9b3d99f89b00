//! Travel: gets from one place to another, where it is not seen.

use super::super::track::{Sweep, Track};
use super::facts::Stitch;

/// Every stitch.
const STITCH: f64 = 0.4;
/// Every millimetre that is seen: over 4 mm it is a run.
const SEEN: f64 = 0.5;
/// A stitch of a weave gets nowhere.
const WOVEN: f64 = 0.6;

/// At the start of a stretch: the thread could have been brought there without it.
pub const BEGIN_FIRST: f64 = 1.8;
/// At the end of a stretch: it leads nowhere.
pub const END_LAST: f64 = 4.5;

pub fn price(stitch: &Stitch) -> f64 {
    let seen = if stitch.hidden { 0.0 } else { SEEN * stitch.length };
    let woven = if stitch.weave.is_some() { WOVEN } else { 0.0 };
    STITCH + seen + woven
}

/// Does the thread go straight from one track point to another? The edge of a fill does not, all
/// round.
pub fn is_straight(track: &Track, from: usize, to: usize) -> bool {
    const STRAIGHT: f64 = 0.97;
    let way = Sweep { first: from, last: to };
    way.length(track) >= STRAIGHT * way.sewn(track)
}
