//! Rows of a fill that are laid anew: others, with other needle points, but as dense.

use geo::Coord;

use crate::geometry::polyline::distance;
use crate::geometry::segments::{Segment, SegmentGrid};
use crate::geometry::vector::{between_lines, line_angle};
use crate::objects::{Fill, Object};
use crate::prove::sewn::{Sewn, Stitch};

/// So many rows to either side of a place, of which one is a sixth of the thread, and as much of it as must
/// lie there: not one row less (J).
const ROWS: f64 = 4.0;
const LEAST: f64 = 0.86;
/// Rows that meet in a V are off their direction by no more than this, degrees, and their stitches no longer
/// than so many times the usual, by a remainder and an extension: two are not one now (J).
const ALONG_DEG: f64 = 25.0;
const LONGER: f64 = 1.6;
/// What was not recognised has no pitch, mm.
const LEAST_PITCH_MM: f64 = 0.05;

/// The rows of a fill in the original and in the tape that would be written.
pub struct Rows<'a> {
    object: &'a Object,
    fill: &'a Fill,
    was: SegmentGrid,
    is: SegmentGrid,
}

impl<'a> Rows<'a> {
    /// `None` for what is no fill.
    pub fn of(object: &'a Object, stop: u32, before: &Sewn, after: &Sewn) -> Option<Self> {
        let fill = object.fill().filter(|fill| fill.row_pitch > LEAST_PITCH_MM)?;
        let rows = |sewn: &Sewn| {
            let is_row = |s: &&Stitch| {
                let along = || line_angle(s.to.mm() - s.from.mm());
                s.sewn && s.stop == stop && between_lines(along(), fill.angle) <= ALONG_DEG
            };
            let own = |s: &&Stitch| {
                let suspect = sewn.suspect(s.index);
                suspect.owner == Some(object.id) && Object::is_top(suspect.label)
            };
            let rows = sewn.stitches.iter().filter(is_row).filter(own);
            SegmentGrid::new(rows.map(|s| [s.from.mm(), s.to.mm()]).collect())
        };
        Some(Self { object, fill, was: rows(before), is: rows(after) })
    }

    /// Lies as much thread in rows around a place as did before, within the area of then, in stitches no
    /// longer than usual? Where rows are laid anew, others take the place of some.
    pub fn are_as_dense(&self, at: Coord<f64>) -> bool {
        let radius = ROWS * self.fill.row_pitch;
        let near = |rows: &SegmentGrid| -> Vec<Segment> {
            rows.near(at, radius).into_iter().map(|(k, _)| rows.segments()[k]).collect()
        };
        let (was, is) = (near(&self.was), near(&self.is));
        let longest =
            was.iter().map(|[a, b]| distance(*a, *b)).fold(self.fill.stitch * LONGER, f64::max);
        let around = |rows: &[Segment]| -> f64 {
            rows.iter().map(|row| self.length_around(at, radius, *row)).sum()
        };
        let before = around(&was);
        before > 0.0
            && around(&is) >= LEAST * before
            && is.iter().all(|[a, b]| distance(*a, *b) <= longest + 1e-9)
    }

    /// Length of a stitch that lies within `radius` mm of a place and within the area of then.
    fn length_around(&self, at: Coord<f64>, radius: f64, [a, b]: Segment) -> f64 {
        const STEP_MM: f64 = 0.1;
        let area = self.object.footprint.locator();
        let steps = (distance(a, b) / STEP_MM).ceil().max(1.0);
        let place = |k: u32| a + (b - a) * ((f64::from(k) + 0.5) / steps);
        let is_in = |p: &Coord<f64>| distance(*p, at) <= radius && area.contains(*p);
        (0..steps as u32).map(place).filter(is_in).count() as f64 * distance(a, b) / steps
    }
}
