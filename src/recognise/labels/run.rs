//! Run: a visible line of its own.

use super::facts::{Facts, Stitch};

/// As much as 4 mm of visible travel: a shorter line is a link.
pub const BEGIN: f64 = 2.0;
/// Every stitch.
const STITCH: f64 = 0.027;
/// Every stitch that lies on its own colour or under it: nobody sews what is not seen.
const HIDDEN: f64 = 0.6;

/// But at the end of a stretch, where travel leads nowhere, less tells them apart.
const HIDDEN_LAST: f64 = 0.38;

/// A stitch of rows wide apart is underlay, seen or not.
const ROWS: f64 = 0.15;

pub fn price(facts: &Facts, stitch: &Stitch) -> f64 {
    let rows = if stitch.weave.is_some_and(|weave| weave.rows) { ROWS } else { 0.0 };
    let hidden = if facts.ends && !stitch.under_own { HIDDEN_LAST } else { HIDDEN };
    STITCH + rows + if stitch.hidden { hidden } else { 0.0 }
}
