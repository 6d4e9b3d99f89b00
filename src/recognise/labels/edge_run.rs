//! Edge run: underlay that follows an edge of its top a little inside.

use super::facts::{Facts, Stitch};

pub const BEGIN: f64 = 0.5;
/// Every stitch.
const STITCH: f64 = 0.04;
/// An edge run lies this far inside at most, mm.
pub const REACH: f64 = 1.3;
/// Depths that differ this much cost one, mm.
const UNEVEN: f64 = 0.5;
/// In the middle of a column, which is as deep as an edge run may lie.
const MIDDLE: f64 = 0.15;
/// Most that one measure costs.
const MOST: f64 = 0.8;

pub fn price(facts: &Facts, stitch: &Stitch, top: usize) -> f64 {
    let depth = |at| facts.place(top, at).depth;
    let (a, b) = (depth(stitch.from), depth(stitch.to));
    let mid = depth((stitch.from + stitch.to) / 2.0);
    let uneven = ((a - b).abs().max((mid - (a + b) / 2.0).abs()) / UNEVEN).powi(2);
    let beyond = ((mid - REACH).max(0.0) / UNEVEN).powi(2);
    let middle =
        if facts.place(top, (stitch.from + stitch.to) / 2.0).is_middle() { MIDDLE } else { 0.0 };
    let woven = if stitch.weave.is_some() { 0.5 } else { 0.0 };
    STITCH + uneven.min(MOST) + beyond.min(MOST) + middle + woven
}
