//! Edge run: underlay that follows an edge of its top a little inside.

use super::facts::{Facts, Spot, Stitch};

pub const BEGIN: f64 = 0.5;
/// Every stitch.
const STITCH: f64 = 0.14;
/// An edge run lies this far inside at most, mm.
pub const REACH: f64 = 1.1;
/// And so far at least; else its thread would show beside the top.
const LEAST_DEPTH: f64 = 0.11;
const OUTSIDE: f64 = 0.25;
/// Depths that differ this much cost one, mm.
const UNEVEN: f64 = 0.68;
/// In the middle of a column, which is as deep as an edge run may lie.
const MIDDLE: f64 = 0.27;
/// Most that one measure costs.
const MOST: f64 = 0.8;

pub fn price(facts: &Facts, stitch: &Stitch, top: usize) -> f64 {
    let at = |spot| facts.place(top, stitch, spot);
    let places = [at(Spot::From), at(Spot::Middle), at(Spot::To)];
    // It may run on to the end of a column, or along it.
    let beside_rail = beside(places.map(|place| place.from_rail));
    let beside_edge = beside(places.map(|place| place.depth));
    let outside = if places[1].depth < LEAST_DEPTH { OUTSIDE } else { 0.0 };
    let middle = if places[1].is_middle() { MIDDLE } else { 0.0 };
    STITCH + beside_rail.min(beside_edge) + outside + middle
}

/// What it costs to lie so deep at the start, in the middle and at the end.
fn beside([a, mid, b]: [f64; 3]) -> f64 {
    let uneven = ((a - b).abs().max((mid - (a + b) / 2.0).abs()) / UNEVEN).powi(2);
    let beyond = ((mid - REACH).max(0.0) / UNEVEN).powi(2);
    uneven.min(MOST) + beyond.min(MOST)
}
