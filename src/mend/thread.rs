//! How far the thread of an object reaches: an outline closes small notches, thread does not.

use geo::Coord;

use crate::geometry::segments::SegmentGrid;
use crate::objects::Object;

/// Places between two rows or crossings are no further from one of them, mm (J: neighbours lie up to
/// twice as far apart).
const BESIDE_MM: f64 = 0.3;
/// From one look along a way to the next, mm: the grid of the needle points.
const STEP_MM: f64 = 0.1;

/// The top stitches of an object.
pub struct Thread(SegmentGrid);

impl Thread {
    pub fn new(object: &Object) -> Self {
        Self(object.top_stitches())
    }

    /// Is there thread all the way from a place (mm) along a unit vector, as far as `depth` mm?
    pub fn reaches(&self, from: Coord<f64>, way: Coord<f64>, depth: f64) -> bool {
        // Just beyond its last stitch there still is one beside.
        let end = depth.max(0.0) + BESIDE_MM - STEP_MM / 2.0;
        let steps = (end / STEP_MM).ceil().max(1.0);
        (0..=steps as u32).all(|k| {
            let at = from + way * (end * f64::from(k) / steps);
            self.0.is_near(at, BESIDE_MM, |_, _| true)
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fixtures::{fill, rect};

    #[test]
    fn thread_ends_where_the_last_row_lies() {
        // Level rows from y = 0 to 10.
        let rows = fill(1, 0, &rect(0.0, 0.0, 20.0, 10.0), 0.0, 0.2, 4.0);
        let thread = Thread::new(&rows);
        let up = |y: f64, depth: f64| {
            thread.reaches(Coord { x: 10.0, y }, Coord { x: 0.0, y: 1.0 }, depth)
        };
        assert!(up(9.0, 0.9) && !up(9.0, 1.2));
        assert!(up(5.0, 4.9));
        // To the right as well: rows end at x = 20.
        let right =
            |depth: f64| thread.reaches(Coord { x: 19.0, y: 5.0 }, Coord { x: 1.0, y: 0.0 }, depth);
        assert!(right(0.9) && !right(1.2));
    }
}
