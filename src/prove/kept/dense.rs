//! Rows of a fill that are laid anew: others, with other needle points, but as dense.

use geo::Coord;

use crate::geometry::polyline::distance;
use crate::geometry::segments::SegmentGrid;
use crate::objects::Object;
use crate::prove::sewn::{Sewn, Stitch};

/// The threads of an object from its first top stitch on.
pub fn thread(sewn: &Sewn, object: &Object, stop: u32) -> SegmentGrid {
    let own = |s: &&Stitch| {
        let suspect = sewn.suspect(s.index);
        s.sewn
            && s.stop == stop
            && suspect.owner == Some(object.id)
            && Object::is_top(suspect.label)
    };
    let own = sewn.stitches.iter().filter(own);
    SegmentGrid::new(own.map(|s| [s.from.mm(), s.to.mm()]).collect())
}

/// Lies as much thread of a fill around a place as did before, within its area of then? Where rows are
/// laid anew, others take the place of some.
pub fn is_as_dense(at: Coord<f64>, object: &Object, [was, is]: &[SegmentGrid; 2]) -> bool {
    /// So many rows to either side: one of them is an eighth of the thread.
    const ROWS: f64 = 5.0;
    /// Less than one row less (J).
    const LEAST: f64 = 0.875;
    const STEP_MM: f64 = 0.1;
    let Some(fill) = object.fill() else { return false };
    let (area, radius) = (object.footprint.locator(), ROWS * fill.row_pitch);
    let around = |threads: &SegmentGrid| -> f64 {
        let inside = |[a, b]: [Coord<f64>; 2]| {
            let steps = (distance(a, b) / STEP_MM).ceil().max(1.0);
            let place = |k: u32| a + (b - a) * ((f64::from(k) + 0.5) / steps);
            let is_in = |p: &Coord<f64>| distance(*p, at) <= radius && area.contains(*p);
            (0..steps as u32).map(place).filter(is_in).count() as f64 * distance(a, b) / steps
        };
        threads.near(at, radius).into_iter().map(|(k, _)| inside(threads.segments()[k])).sum()
    };
    around(is) >= LEAST * around(was)
}
