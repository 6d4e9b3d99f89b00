//! Zigzag: underlay that crosses its column to and fro, wide apart.

use super::facts::{Facts, SHARP, Spot, Stitch};

pub const BEGIN: f64 = 0.81;
/// A stitch of an open weave.
const WOVEN: f64 = 0.03;
/// The same where the weave looks like a guard.
const GUARD: f64 = 0.11;
/// A crossing that no weave has taken up, between two sharp corners.
const CROSSING: f64 = 0.25;
/// A stitch that bends to and fro by this much, degrees: in a narrow column zigzag is shallow.
const SHALLOW: f64 = 0.074;
const BEND: f64 = 7.3;
/// And goes over this share of its width: a centre run bends as well.
const SWAY: f64 = 0.049;
/// Any other stitch.
const OTHER: f64 = 0.59;
/// A crossing goes over this share of the column's width.
const ACROSS: f64 = 0.55;

/// `top`: the column, where it covers the stitch.
pub fn price(facts: &Facts, stitch: &Stitch, top: Option<usize>) -> f64 {
    let across = || {
        let share = |spot| top.map_or(0.0, |top| facts.place(top, stitch, spot).share);
        (share(Spot::From) - share(Spot::To)).abs()
    };
    let sharp = stitch.turns.0.max(stitch.turns.1) >= SHARP;
    let bends = stitch.alternates && stitch.turns.0.min(stitch.turns.1) >= BEND;
    match stitch.weave {
        Some(weave) if weave.guard => GUARD,
        Some(_) => WOVEN,
        None if sharp && across() >= ACROSS => CROSSING,
        None if bends && across() >= SWAY => SHALLOW,
        None => OTHER,
    }
}
