//! Rows of a fill that were read as travel before its top: where one row stands alone between an
//! extension and a way, nothing tells it from that way but that no other row covers it.

use geo::Coord;

use crate::geometry::segments::SegmentGrid;
use crate::geometry::vector::{between_lines, distance, line_angle};
use crate::objects::{Fill, Object, Part};

/// Rows run in the fill's direction but for so many degrees, and have stitches of so many mm at least (J).
const ALONG_DEG: f64 = 15.0;
const LEAST_MM: f64 = 1.0;
/// A row's neighbours lie further from it than this share of their distance, but where they meet it in a
/// V (J); what lies beneath rows has one nearer than half of it everywhere.
const BESIDE: f64 = 0.35;
/// Share of a row that is to lie further off (J), and how long that is at least, mm (J: what is shorter is
/// not missed).
const BARE: f64 = 0.5;
const ROW_MM: f64 = 3.0;
/// From one look along a stitch to the next, mm.
const STEP_MM: f64 = 0.3;

/// Finds such rows in the parts of an object that are sewn before its top.
pub struct StrayRows<'a>(Option<(&'a Fill, SegmentGrid)>);

impl<'a> StrayRows<'a> {
    pub fn of(object: &'a Object) -> Self {
        Self(object.fill().map(|fill| (fill, object.top_stitches())))
    }

    pub fn lie_in(&self, part: &Part) -> bool {
        let Some((fill, rows)) = &self.0 else { return false };
        let (mut along, mut bare) = (0.0, 0.0);
        for w in part.needles.windows(2) {
            let (from, to) = (w[0].at.mm(), w[1].at.mm());
            let length = distance(from, to);
            if length >= LEAST_MM && between_lines(line_angle(to - from), fill.angle) <= ALONG_DEG {
                along += length;
                bare += length * bare_share(from, to, fill, rows);
            }
        }
        bare >= ROW_MM && bare >= BARE * along
    }
}

/// Share of a stitch that has no row beside it.
fn bare_share(from: Coord<f64>, to: Coord<f64>, fill: &Fill, rows: &SegmentGrid) -> f64 {
    let steps = (distance(from, to) / STEP_MM).ceil().max(1.0) as u32;
    let is_bare = |k: &u32| {
        let at = from + (to - from) * (f64::from(*k) / f64::from(steps));
        !rows.is_near(at, BESIDE * fill.row_pitch, |_, _| true)
    };
    (0..=steps).filter(is_bare).count() as f64 / f64::from(steps + 1)
}
