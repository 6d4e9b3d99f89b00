//! Centre run: underlay along the middle of a column, or a line through a fill that was sewn for
//! its own sake: there and back, or right after the thread was cut.

use super::facts::{Facts, Spot, Stitch};
use super::{NEVER, edge_run};

pub const BEGIN: f64 = 0.5;
/// Every stitch.
const STITCH: f64 = 0.05;
/// In a fill.
const IN_FILL: f64 = 0.36;
/// Off the middle by this share of the width costs one.
const OFF: f64 = 0.2;
/// The grid moves points in a narrow column, mm.
const GRID: f64 = 0.082;
const MOST: f64 = 0.61;

pub fn price(facts: &Facts, stitch: &Stitch, top: usize) -> f64 {
    if facts.scene.is_fill(top) {
        let near_edge = facts.place(top, stitch, Spot::Middle).depth <= edge_run::REACH;
        let for_its_own_sake = (stitch.first_way || stitch.retraced) && !near_edge;
        return if for_its_own_sake { IN_FILL + stitch.bend() } else { NEVER };
    }
    let off = |spot, less: f64| {
        let place = facts.place(top, stitch, spot);
        let off = ((place.share - 0.5).abs() * place.width - less).max(0.0);
        (off / (OFF * place.width + GRID)).powi(2).min(MOST)
    };
    let ends = (off(Spot::From, 0.0) + off(Spot::To, 0.0)) / 2.0;
    STITCH + ends.max(off(Spot::Middle, sagitta(stitch)))
}

/// How far the middle of a stitch lies inside the bend that it cuts, mm: of an arc that turns by as much
/// as the line does at its ends.
fn sagitta(stitch: &Stitch) -> f64 {
    if stitch.alternates {
        return 0.0;
    }
    let turn = ((stitch.turns.0 + stitch.turns.1) / 2.0).min(90.0).to_radians();
    stitch.length / 2.0 * (turn / 4.0).tan()
}
