//! Which of many stitches lie near a place: a grid over straight segments.

use geo::Coord;

use super::polyline::{distance, nearest_on_segment};

/// A straight stitch from one needle point to the next, mm.
pub type Segment = [Coord<f64>; 2];

/// Side of a grid cell, mm: about half a stitch.
const CELL: f64 = 2.0;
/// Most cells along one side; wider designs get larger cells.
const CELLS_MAX: f64 = 1000.0;

/// Segments sorted into the cells of a grid.
#[derive(Clone, Debug, Default)]
pub struct SegmentGrid {
    segments: Vec<Segment>,
    min: Coord<f64>,
    cell: f64,
    columns: usize,
    rows: usize,
    /// Where each cell's entries begin in `entries`; one more at the end.
    starts: Vec<u32>,
    entries: Vec<u32>,
}

impl SegmentGrid {
    /// Segments with a coordinate that is not finite are left out of the grid.
    pub fn new(segments: Vec<Segment>) -> Self {
        let finite = |s: &Segment| s.iter().all(|c| c.x.is_finite() && c.y.is_finite());
        let ends = || segments.iter().filter(|s| finite(s)).flatten();
        let low = |value: fn(&Coord<f64>) -> f64| ends().map(value).fold(f64::INFINITY, f64::min);
        let high =
            |value: fn(&Coord<f64>) -> f64| ends().map(value).fold(f64::NEG_INFINITY, f64::max);
        let (min, max) = ((low(|c| c.x), low(|c| c.y)), (high(|c| c.x), high(|c| c.y)));
        if !(min.0 <= max.0 && min.1 <= max.1) {
            return Self::default();
        }
        let cell = CELL.max((max.0 - min.0).max(max.1 - min.1) / CELLS_MAX);
        let count = |span: f64| (span / cell).floor() as usize + 1;
        let mut grid = Self {
            min: Coord { x: min.0, y: min.1 },
            cell,
            columns: count(max.0 - min.0),
            rows: count(max.1 - min.1),
            segments,
            ..Self::default()
        };
        // Counted, summed up, and put in their places: no sorting.
        let mut starts = vec![0_u32; grid.columns * grid.rows + 1];
        grid.each_entry(|cell, _| starts[cell + 1] += 1);
        let mut sum = 0;
        for start in &mut starts {
            sum += *start;
            *start = sum;
        }
        let mut next = starts.clone();
        let mut entries = vec![0; sum as usize];
        grid.each_entry(|cell, segment| {
            entries[next[cell] as usize] = segment;
            next[cell] += 1;
        });
        (grid.starts, grid.entries) = (starts, entries);
        grid
    }

    /// Visits every cell that a segment lies in, segment by segment.
    fn each_entry(&self, mut visit: impl FnMut(usize, u32)) {
        for (i, [a, b]) in self.segments.iter().enumerate() {
            if [a, b].iter().all(|c| c.x.is_finite() && c.y.is_finite()) {
                self.cells(*a, *b, 0.0, |cell| visit(cell, i as u32));
            }
        }
    }

    pub fn segments(&self) -> &[Segment] {
        &self.segments
    }

    pub fn is_empty(&self) -> bool {
        self.segments.is_empty()
    }

    /// Segments within `reach` mm of a position, with the distance; in rising order, once each.
    pub fn near(&self, at: Coord<f64>, reach: f64) -> Vec<(usize, f64)> {
        self.near_where(at, reach, |_| true)
    }

    /// As `near`, of the wanted segments only: what is told more cheaply than a distance.
    pub fn near_where(
        &self,
        at: Coord<f64>,
        reach: f64,
        wanted: impl Fn(usize) -> bool,
    ) -> Vec<(usize, f64)> {
        let mut found: Vec<u32> = Vec::new();
        self.cells(at, at, reach, |cell| {
            found.extend(self.entries_of(cell).iter().filter(|i| wanted(**i as usize)));
        });
        found.sort_unstable();
        found.dedup();
        let off = |i: u32| Some((i as usize, self.within(i, at, reach)?));
        found.into_iter().filter_map(off).collect()
    }

    /// Does a wanted segment, told by its number and distance, lie within `reach` mm of a position?
    pub fn is_near(&self, at: Coord<f64>, reach: f64, wanted: impl Fn(usize, f64) -> bool) -> bool {
        let mut found = false;
        let near = |i: &u32| self.within(*i, at, reach).is_some_and(|off| wanted(*i as usize, off));
        self.cells(at, at, reach, |cell| {
            found = found || self.entries_of(cell).iter().any(near);
        });
        found
    }

    /// Visits the segments that may meet the box around two positions; some come more than once.
    pub fn each_in_box(&self, a: Coord<f64>, b: Coord<f64>, mut visit: impl FnMut(usize)) {
        self.cells(a, b, 0.0, |cell| {
            self.entries_of(cell).iter().for_each(|i| visit(*i as usize));
        });
    }

    fn entries_of(&self, cell: usize) -> &[u32] {
        &self.entries[self.starts[cell] as usize..self.starts[cell + 1] as usize]
    }

    /// Distance of a segment, if it is no farther off than `reach`.
    fn within(&self, segment: u32, at: Coord<f64>, reach: f64) -> Option<f64> {
        let [a, b] = self.segments[segment as usize];
        let nearest = nearest_on_segment(a, b, at).0;
        let off = nearest - at;
        // Squares settle most cases; the exact distance is dear.
        let near = off.x * off.x + off.y * off.y <= reach * reach * (1.0 + 1e-9);
        near.then(|| distance(nearest, at)).filter(|off| *off <= reach)
    }

    /// Visits the cells of the box around two positions, grown by `reach`.
    fn cells(&self, a: Coord<f64>, b: Coord<f64>, reach: f64, mut visit: impl FnMut(usize)) {
        if self.columns == 0 || !(a.x.is_finite() && a.y.is_finite()) {
            return;
        }
        let index = |value: f64, min: f64, count: usize| {
            (((value - min) / self.cell).floor().max(0.0) as usize).min(count - 1)
        };
        let x = |value| index(value, self.min.x, self.columns);
        let y = |value| index(value, self.min.y, self.rows);
        for row in y(a.y.min(b.y) - reach)..=y(a.y.max(b.y) + reach) {
            for column in x(a.x.min(b.x) - reach)..=x(a.x.max(b.x) + reach) {
                visit(row * self.columns + column);
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn c(x: f64, y: f64) -> Coord<f64> {
        Coord { x, y }
    }

    #[test]
    fn finds_what_a_plain_search_finds() {
        // A fixed scatter of segments (linear congruential numbers).
        let mut state = 12345u64;
        let mut next = || {
            state = state.wrapping_mul(6364136223846793005).wrapping_add(1442695040888963407);
            (state >> 33) as f64 / f64::from(1u32 << 31) * 60.0
        };
        let segments: Vec<Segment> = (0..400)
            .map(|_| {
                let a = c(next(), next());
                [a, c(a.x + next() / 10.0 - 3.0, a.y + next() / 10.0 - 3.0)]
            })
            .collect();
        let grid = SegmentGrid::new(segments.clone());
        for _ in 0..50 {
            let (at, reach) = (c(next(), next()), 2.5);
            let plain: Vec<usize> = segments
                .iter()
                .enumerate()
                .filter(|(_, [a, b])| distance(nearest_on_segment(*a, *b, at).0, at) <= reach)
                .map(|(i, _)| i)
                .collect();
            let found: Vec<usize> = grid.near(at, reach).into_iter().map(|(i, _)| i).collect();
            assert_eq!(found, plain);
        }
    }

    #[test]
    fn empty_and_odd_input_is_harmless() {
        assert!(SegmentGrid::new(vec![]).near(c(0.0, 0.0), 1.0).is_empty());
        let odd = SegmentGrid::new(vec![[c(f64::NAN, 0.0), c(1.0, 1.0)]]);
        assert!(odd.near(c(1.0, 1.0), 1.0).is_empty());
    }
}
