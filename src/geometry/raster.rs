//! Thread drawn on a fine grid: what lies on top, what is covered.

use std::collections::BTreeMap;

use geo::{BoundingRect, Coord, MultiPolygon, Rect};

/// Most cells of one canvas; beyond it the cells get coarser.
const CELLS_MAX: f64 = (1u64 << 26) as f64;

/// A grid of square cells over a bounding box. Each cell holds what was drawn on it last, 0 where
/// nothing was drawn. Cell borders lie on multiples of the cell size, so that canvases with
/// different boxes share one grid; a cell is covered when its middle is.
#[derive(Clone, Debug, PartialEq)]
pub struct Canvas {
    cell: f64,
    /// Grid column and row of the lower left cell.
    origin: (i64, i64),
    width: usize,
    height: usize,
    cells: Vec<u16>,
}

/// One cell in which two canvases differ.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Difference {
    /// Middle of the cell, mm.
    pub at: Coord<f64>,
    pub before: u16,
    pub after: u16,
}

/// How two canvases differ, in cells.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Comparison {
    /// Covered before and after, by another value.
    pub changed: usize,
    pub newly_covered: usize,
    pub uncovered: usize,
    /// Cells per (value before, value after).
    pub pairs: BTreeMap<(u16, u16), usize>,
}

impl Canvas {
    /// An empty canvas over a box (mm), in cells of `cell_mm` (0.1 where that is no size), a
    /// multiple of it where the box would need more than 2^26 cells. A box that is not finite
    /// gives a canvas without cells.
    pub fn new(bounds: Rect<f64>, cell_mm: f64) -> Self {
        let mut cell = if cell_mm.is_finite() && cell_mm > 1e-3 { cell_mm } else { 0.1 };
        let (low, high) = (bounds.min(), bounds.max());
        let sound = [low.x, low.y, high.x, high.y].iter().all(|v| v.abs() < 1e9);
        if !sound {
            return Self { cell, origin: (0, 0), width: 0, height: 0, cells: Vec::new() };
        }
        while ((high.x - low.x) / cell + 2.0) * ((high.y - low.y) / cell + 2.0) > CELLS_MAX {
            cell *= 2.0;
        }
        // A hair of tolerance: 0.3 / 0.1 is a little less than 3.
        let first = |v: f64| (v / cell + 1e-6).floor() as i64;
        let last = |v: f64| (v / cell - 1e-6).ceil() as i64;
        let origin = (first(low.x), first(low.y));
        let width = (last(high.x) - origin.0).max(1) as usize;
        let height = (last(high.y) - origin.1).max(1) as usize;
        Self { cell, origin, width, height, cells: vec![0; width * height] }
    }

    /// An empty canvas on the same cells.
    pub fn alike(&self) -> Self {
        Self { cells: vec![0; self.cells.len()], ..*self }
    }

    /// Size of a cell, mm.
    pub fn cell_mm(&self) -> f64 {
        self.cell
    }

    /// Area of a number of cells, mm².
    pub fn area(&self, cells: usize) -> f64 {
        cells as f64 * self.cell * self.cell
    }

    /// Value of the cell around a point; 0 outside the canvas.
    pub fn get(&self, at: Coord<f64>) -> u16 {
        self.index_of(at).map_or(0, |index| self.cells[index])
    }

    /// Values of all cells, row by row from the lowest, [`Canvas::width`] to a row.
    pub fn cells(&self) -> &[u16] {
        &self.cells
    }

    /// Number of cells in a row.
    pub fn width(&self) -> usize {
        self.width
    }

    /// Number of rows.
    pub fn height(&self) -> usize {
        self.height
    }

    /// Draws a stitch as a stroke with round ends, over whatever lies there.
    pub fn lay_stitch(&mut self, a: Coord<f64>, b: Coord<f64>, width_mm: f64, value: u16) {
        let Some(stroke) = self.stroke(a, b, width_mm) else { return };
        for row in self.rows_of(&stroke) {
            let columns = self.columns_of(&stroke, row);
            self.cells[row * self.width..][columns].fill(value);
        }
    }

    /// Numbers of the cells (as in [`Canvas::cells`]) that a stitch would be drawn on.
    pub fn cells_of_stitch(
        &self,
        a: Coord<f64>,
        b: Coord<f64>,
        width_mm: f64,
    ) -> impl Iterator<Item = usize> + '_ {
        self.stroke(a, b, width_mm).into_iter().flat_map(move |stroke| {
            self.rows_of(&stroke).flat_map(move |row| {
                let columns = self.columns_of(&stroke, row);
                row * self.width + columns.start..row * self.width + columns.end
            })
        })
    }

    /// Columns and rows of all cells within `reach_mm` of the box around a stitch, or a few more.
    pub fn around_stitch(
        &self,
        a: Coord<f64>,
        b: Coord<f64>,
        reach_mm: f64,
    ) -> [std::ops::Range<usize>; 2] {
        let (a, b) = (self.to_grid(a), self.to_grid(b));
        // One cell more: rounding may draw a hair further.
        let reach = reach_mm / self.cell + 1.0;
        let along = |a: f64, b: f64, count| clamped(a.min(b) - reach, a.max(b) + reach, count);
        [along(a.x, b.x, self.width), along(a.y, b.y, self.height)]
    }

    fn stroke(&self, a: Coord<f64>, b: Coord<f64>, width_mm: f64) -> Option<Stroke> {
        Stroke::new(self.to_grid(a), self.to_grid(b), width_mm / self.cell)
    }

    fn rows_of(&self, stroke: &Stroke) -> std::ops::Range<usize> {
        let (low, high) = stroke.rows();
        clamped(low, high, self.height)
    }

    fn columns_of(&self, stroke: &Stroke, row: usize) -> std::ops::Range<usize> {
        let (left, right) = stroke.span(row as f64);
        clamped(left, right, self.width)
    }

    /// Fills an area (even-odd over all its rings), over whatever lies there.
    pub fn draw_area(&mut self, area: &MultiPolygon<f64>, value: u16) {
        for (row, spans) in self.spans(area) {
            let cells = &mut self.cells[row * self.width..];
            spans.into_iter().for_each(|span| cells[span].fill(value));
        }
    }

    /// Counts one more area (even-odd over all its rings) in every cell that it covers.
    pub fn count_area(&mut self, area: &MultiPolygon<f64>) {
        for (row, spans) in self.spans(area) {
            let cells = &mut self.cells[row * self.width..];
            for cell in spans.into_iter().flatten() {
                cells[cell] = cells[cell].saturating_add(1);
            }
        }
    }

    /// Number of covered cells.
    pub fn covered(&self) -> usize {
        self.cells.iter().filter(|cell| **cell != 0).count()
    }

    /// Share of the cells with their middle in a window that are covered, 0 to 1; 0 for a window
    /// without cells. Cells outside the canvas are bare.
    pub fn covered_share(&self, window: Rect<f64>) -> f64 {
        let (low, high) = (self.to_grid(window.min()), self.to_grid(window.max()));
        let across = |low: f64, high: f64| (high.floor() - low.ceil() + 1.0).max(0.0);
        let all = across(low.x, high.x) * across(low.y, high.y);
        if !all.is_finite() || all == 0.0 {
            return 0.0;
        }
        let columns = clamped(low.x, high.x, self.width);
        let covered: usize = clamped(low.y, high.y, self.height)
            .map(|row| &self.cells[row * self.width..][columns.clone()])
            .map(|cells| cells.iter().filter(|cell| **cell != 0).count())
            .sum();
        covered as f64 / all
    }

    /// Lowest covered share of any square window of `window_mm` on an area, counting only cells of
    /// the area; windows with less than half of their cells on the area are passed over. Windows
    /// are taken at every half step. `None` where the area holds no such window.
    pub fn worst_window(&self, area: &MultiPolygon<f64>, window_mm: f64) -> Option<f64> {
        let sums = self.sums(area).filter(|sums| sums.width > 0 && sums.height > 0)?;
        let size = (window_mm / self.cell).round().max(1.0) as usize;
        let size = size.min(sums.width).min(sums.height);
        let step = (size / 2).max(1);
        let mut worst = None;
        for row in (0..=sums.height - size).step_by(step) {
            for column in (0..=sums.width - size).step_by(step) {
                let (inside, covered) = sums.window(column, row, size);
                if 2 * inside as usize >= size * size {
                    let share = f64::from(covered) / f64::from(inside);
                    worst = Some(share.min(worst.unwrap_or(1.0)));
                }
            }
        }
        worst
    }

    /// Every cell in which two canvases differ, row by row. Both must be made from one box
    /// ([`Canvas::alike`]); of another canvas, the value around the middle of each cell counts.
    pub fn differences<'a>(&'a self, after: &'a Self) -> impl Iterator<Item = Difference> + 'a {
        let same_grid = (self.cell, self.origin, self.width, self.height)
            == (after.cell, after.origin, after.width, after.height);
        self.cells.iter().enumerate().filter_map(move |(index, before)| {
            let value =
                if same_grid { after.cells[index] } else { after.get(self.middle_of(index)) };
            (*before != value).then(|| Difference {
                at: self.middle_of(index),
                before: *before,
                after: value,
            })
        })
    }

    /// Counts the differences between two canvases (see [`Canvas::differences`]).
    pub fn compare(&self, after: &Self) -> Comparison {
        let mut comparison = Comparison::default();
        for difference in self.differences(after) {
            comparison.add(difference);
        }
        comparison
    }

    /// In cells, with the middles of cells on whole numbers and (0, 0) the lower left cell.
    fn to_grid(&self, at: Coord<f64>) -> Coord<f64> {
        Coord {
            x: at.x / self.cell - self.origin.0 as f64 - 0.5,
            y: at.y / self.cell - self.origin.1 as f64 - 0.5,
        }
    }

    /// Middle of a cell (numbered as in [`Canvas::cells`]), mm.
    pub fn middle_of(&self, index: usize) -> Coord<f64> {
        let (row, column) = (index / self.width, index % self.width);
        Coord {
            x: ((self.origin.0 + column as i64) as f64 + 0.5) * self.cell,
            y: ((self.origin.1 + row as i64) as f64 + 0.5) * self.cell,
        }
    }

    fn index_of(&self, at: Coord<f64>) -> Option<usize> {
        let grid = self.to_grid(at);
        let (x, y) = ((grid.x + 0.5).floor(), (grid.y + 0.5).floor());
        let inside = x >= 0.0 && y >= 0.0 && x < self.width as f64 && y < self.height as f64;
        inside.then(|| y as usize * self.width + x as usize)
    }

    /// The runs of cells in an area, row by row.
    fn spans(&self, area: &MultiPolygon<f64>) -> BTreeMap<usize, Vec<std::ops::Range<usize>>> {
        let mut crossings: BTreeMap<usize, Vec<f64>> = BTreeMap::new();
        let rings = area.0.iter().flat_map(|polygon| {
            std::iter::once(polygon.exterior()).chain(polygon.interiors().iter())
        });
        for line in rings.flat_map(|ring| ring.lines()) {
            let (a, b) = (self.to_grid(line.start), self.to_grid(line.end));
            let (low, high) = if a.y < b.y { (a, b) } else { (b, a) };
            // Half-open, so that a corner on a row counts once.
            for row in clamped(low.y, high.y, self.height).filter(|row| (*row as f64) < high.y) {
                let share = (row as f64 - low.y) / (high.y - low.y);
                crossings.entry(row).or_default().push(low.x + (high.x - low.x) * share);
            }
        }
        let spans = |mut crossings: Vec<f64>| {
            crossings.sort_by(f64::total_cmp);
            crossings.chunks_exact(2).map(|pair| clamped(pair[0], pair[1], self.width)).collect()
        };
        crossings.into_iter().map(|(row, crossings)| (row, spans(crossings))).collect()
    }

    /// Sums of the cells of an area within its bounding box.
    fn sums(&self, area: &MultiPolygon<f64>) -> Option<Sums> {
        let bounds = area.bounding_rect()?;
        let (low, high) = (self.to_grid(bounds.min()), self.to_grid(bounds.max()));
        let columns = clamped(low.x, high.x, self.width);
        let rows = clamped(low.y, high.y, self.height);
        let mut sums = Sums::new(columns.len(), rows.len());
        let mut inside = vec![false; columns.len()];
        let spans = self.spans(area);
        for row in rows.clone() {
            inside.fill(false);
            for span in spans.get(&row).into_iter().flatten() {
                // Rounding may put a crossing a hair outside the bounding box.
                let end = span.end.min(columns.end) - columns.start;
                inside[span.start.saturating_sub(columns.start).min(end)..end].fill(true);
            }
            let cells = &self.cells[row * self.width..][columns.clone()];
            sums.add_row(row - rows.start, inside.iter().zip(cells).map(|(i, c)| (*i, *c != 0)));
        }
        Some(sums)
    }
}

impl Comparison {
    pub fn add(&mut self, difference: Difference) {
        match (difference.before, difference.after) {
            (0, _) => self.newly_covered += 1,
            (_, 0) => self.uncovered += 1,
            _ => self.changed += 1,
        }
        *self.pairs.entry((difference.before, difference.after)).or_default() += 1;
    }
}

/// Whole numbers from `low` to `high`, both included, within `0..count`.
fn clamped(low: f64, high: f64, count: usize) -> std::ops::Range<usize> {
    // A cast cuts towards zero and sends what is negative to 0: cheaper than floor and ceil.
    let start = low.max(-1.0) as u32;
    let start = start.saturating_add(u32::from(low > f64::from(start)));
    let end = ((high + 1.0) as u32).min(count as u32);
    let start = start.min(end);
    start as usize..end as usize
}

/// A stitch in cell units, solved row by row: a bar between its ends and a disc around each.
#[derive(Clone, Copy)]
struct Stroke {
    a: Coord<f64>,
    b: Coord<f64>,
    radius: f64,
    /// x per row along the bar's long sides, and where these lie on the row of `a`.
    sides_slope: f64,
    sides: (f64, f64),
    /// The same for its short sides.
    ends_slope: f64,
    ends: (f64, f64),
}

impl Stroke {
    fn new(a: Coord<f64>, b: Coord<f64>, width: f64) -> Option<Self> {
        let (along, radius) = (b - a, width / 2.0);
        let length = along.x.hypot(along.y);
        let sound = length.is_finite() && a.x.is_finite() && a.y.is_finite();
        if !(sound && width > 0.0 && width.is_finite()) {
            return None;
        }
        // A hair off the axes, so that no slope is infinite; a dot is a bar of no length.
        let hair = |v: f64| if v.abs() < 1e-9 { 1e-9 } else { v };
        let length = hair(length);
        let unit = Coord { x: hair(along.x / length), y: hair(along.y / length) };
        let (half, end) = ((radius / unit.y).abs(), length / unit.x);
        Some(Self {
            a,
            b,
            radius,
            sides_slope: unit.x / unit.y,
            sides: (a.x - half, a.x + half),
            ends_slope: -unit.y / unit.x,
            ends: (a.x + end.min(0.0), a.x + end.max(0.0)),
        })
    }

    fn rows(&self) -> (f64, f64) {
        (self.a.y.min(self.b.y) - self.radius, self.a.y.max(self.b.y) + self.radius)
    }

    /// Leftmost and rightmost x on the row at `y`; left > right where there is none.
    fn span(&self, y: f64) -> (f64, f64) {
        let up = y - self.a.y;
        let mut left =
            (self.sides.0 + up * self.sides_slope).max(self.ends.0 + up * self.ends_slope);
        let mut right =
            (self.sides.1 + up * self.sides_slope).min(self.ends.1 + up * self.ends_slope);
        if left > right {
            (left, right) = (f64::INFINITY, f64::NEG_INFINITY);
        }
        for end in [self.a, self.b] {
            let up = y - end.y;
            if up.abs() <= self.radius {
                let half = (self.radius * self.radius - up * up).max(0.0).sqrt();
                left = left.min(end.x - half);
                right = right.max(end.x + half);
            }
        }
        (left, right)
    }
}

/// Running sums of cells on an area, and of those that are covered.
struct Sums {
    width: usize,
    height: usize,
    sums: Vec<(u32, u32)>,
}

impl Sums {
    fn new(width: usize, height: usize) -> Self {
        Self { width, height, sums: vec![(0, 0); (width + 1) * (height + 1)] }
    }

    fn add_row(&mut self, row: usize, cells: impl Iterator<Item = (bool, bool)>) {
        let stride = self.width + 1;
        let mut run = (0, 0);
        for (column, (inside, covered)) in cells.enumerate() {
            run.0 += u32::from(inside);
            run.1 += u32::from(inside && covered);
            let below = self.sums[row * stride + column + 1];
            self.sums[(row + 1) * stride + column + 1] = (below.0 + run.0, below.1 + run.1);
        }
    }

    /// Cells on the area and covered cells in a square window.
    fn window(&self, column: usize, row: usize, size: usize) -> (u32, u32) {
        let at = |column: usize, row: usize| self.sums[row * (self.width + 1) + column];
        let corners = [
            at(column + size, row + size),
            at(column, row),
            at(column + size, row),
            at(column, row + size),
        ];
        let sum = |pick: fn(&(u32, u32)) -> u32| {
            pick(&corners[0]) + pick(&corners[1]) - pick(&corners[2]) - pick(&corners[3])
        };
        (sum(|s| s.0), sum(|s| s.1))
    }
}

#[cfg(test)]
#[path = "raster_tests.rs"]
mod tests;
