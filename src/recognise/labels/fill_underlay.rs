//! Fill underlay: rows, wide apart, under the rows of a fill; a mesh of them before several tops.

use super::super::grid::Grid;
use super::facts::{SHARP, Stitch};
use super::{NEVER, Rows};
use crate::geometry::vector::{between_lines, line_angle, middle};

pub const BEGIN: f64 = 0.3;
/// A stitch of an open weave.
const WOVEN: f64 = 0.03;
/// The same where there are but two or three rows: the edge goes there and back as well.
const FEW: f64 = 0.15;
/// The same where the weave looks like a guard.
const GUARD: f64 = 0.15;
/// A stitch along the rows that lie beneath the same fill.
const ROW: f64 = 0.26;
/// So far off their direction, degrees.
const OFF: f64 = 3.0;
/// A step between two rows, no longer than this, mm: rows lie 1.5 to 3.5 mm apart.
const STEP: f64 = 0.3;
const STEP_MM: f64 = 4.5;
/// Where no rows are known: a stitch across or aslant to the rows of the fill.
const UNKNOWN: f64 = 0.41;
const ACROSS: [f64; 3] = [45.0, 90.0, 135.0];
/// Any other stitch.
const OTHER: f64 = 0.8;
/// A row of a mesh, hidden or not: nothing that is to be seen is sewn so wide apart.
const BARE_ROW: f64 = 0.05;
/// The same of few or short rows, covered later or beside another pass, or not.
const FEW_BARE: f64 = 0.11;
const FEW_SEEN: f64 = 0.85;
/// A top of the same stop lies over it: it is that top's.
const OWN: f64 = 0.1;

/// `rows`: those beneath the same fill.
/// `angle`: that of the fill itself, degrees.
pub fn price(stitch: &Stitch, rows: &[Rows], angle: f64) -> f64 {
    let along = |rows| between_lines(line_angle(stitch.to - stitch.from), rows) <= OFF;
    let step = stitch.length <= STEP_MM && stitch.turns.0 >= SHARP && stitch.turns.1 >= SHARP;
    let is_row =
        |rows: &Rows| along(rows.angle) && rows.grid.is_none_or(|grid| on_line(stitch, &grid));
    let is_step = |rows: &Rows| rows.grid.is_none_or(|grid| joins(stitch, &grid));
    match stitch.weave {
        Some(weave) if weave.guard => GUARD,
        Some(weave) if weave.few => FEW,
        Some(_) => WOVEN,
        None if rows.iter().any(is_row) => ROW,
        None if step && (rows.is_empty() || rows.iter().any(is_step)) => STEP,
        None if rows.is_empty() && is_across(line_angle(stitch.to - stitch.from), angle) => UNKNOWN,
        None => OTHER,
    }
}

/// Do rows lie across or aslant to those of a fill, as underlay does (degrees)?
pub fn is_across(rows: f64, fill: f64) -> bool {
    ACROSS.into_iter().any(|turn| between_lines(rows, fill + turn) <= OFF)
}

/// Does a stitch lie on a line, or lead from one to the next as rows do that are joined in a V?
fn on_line(stitch: &Stitch, grid: &Grid) -> bool {
    grid.is_on(stitch.from) && grid.is_on(stitch.to) || grid.is_on(middle(stitch.from, stitch.to))
}

/// Does a step lead from one line to the next?
fn joins(stitch: &Stitch, grid: &Grid) -> bool {
    let lines = (grid.row(stitch.to) - grid.row(stitch.from)).abs();
    grid.is_on(stitch.from) && grid.is_on(stitch.to) && (0.5..1.5).contains(&lines)
}

/// As underlay of no top in particular.
pub fn bare_price(stitch: &Stitch) -> f64 {
    let own = if stitch.under_own { OWN } else { 0.0 };
    own + match stitch.weave {
        Some(weave) if weave.rows && weave.many => BARE_ROW,
        Some(weave) if weave.rows && (!stitch.covers.is_empty() || weave.few) => FEW_BARE,
        Some(weave) if weave.rows => FEW_SEEN,
        _ => NEVER,
    }
}
