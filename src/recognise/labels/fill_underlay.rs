//! Fill underlay: rows, wide apart, under the rows of a fill; a mesh of them before several tops.

use super::NEVER;
use super::facts::Stitch;

pub const BEGIN: f64 = 0.4;
/// A stitch of an open weave.
const WOVEN: f64 = 0.03;
/// The same where the weave looks like a guard.
const GUARD: f64 = 0.15;
/// Any other stitch: where an area is narrow, rows are single stitches.
const OTHER: f64 = 0.8;
/// A row of a mesh, hidden or not: nothing that is to be seen is sewn so wide apart.
const BARE_ROW: f64 = 0.05;

pub fn price(stitch: &Stitch) -> f64 {
    match stitch.weave {
        Some(weave) if weave.guard => GUARD,
        Some(_) => WOVEN,
        None => OTHER,
    }
}

/// As underlay of no top in particular.
pub fn bare_price(stitch: &Stitch) -> f64 {
    match stitch.weave {
        Some(weave) if weave.rows && weave.many => BARE_ROW,
        Some(weave) if weave.rows => 3.0 * BARE_ROW,
        _ => NEVER,
    }
}
