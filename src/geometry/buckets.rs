//! Edges sorted into the cells of a grid. For the few hundred short edges of a footprint this is
//! several times faster than a tree, both to build and to ask.

use geo::Coord;

use super::vector::{distance, dot};

/// Cells are this much larger than the bounding box at each side, so that what lies on its rim
/// falls into a cell whatever the rounding.
const RIM_MM: f64 = 1e-6;
/// Most rows or columns of a grid.
const LINES_MAX: f64 = 1024.0;

/// One edge of a boundary.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Edge {
    pub a: Coord<f64>,
    pub b: Coord<f64>,
    /// Number of the ring that it belongs to.
    pub ring: usize,
}

impl Edge {
    pub fn nearest(&self, at: Coord<f64>) -> Coord<f64> {
        let along = self.b - self.a;
        let length_2 = dot(along, along);
        if length_2 == 0.0 {
            return self.a;
        }
        self.a + along * (dot(at - self.a, along) / length_2).clamp(0.0, 1.0)
    }

    pub fn is_within(&self, at: Coord<f64>, mm: f64) -> bool {
        let (low, high) = (self.low(), self.high());
        let near_box =
            at.x >= low.x - mm && at.x <= high.x + mm && at.y >= low.y - mm && at.y <= high.y + mm;
        near_box && distance(self.nearest(at), at) <= mm
    }

    /// x at which the edge crosses a height; half-open, so that a corner counts once.
    pub fn crosses(&self, y: f64) -> Option<f64> {
        ((self.a.y > y) != (self.b.y > y)).then(|| {
            let share = (y - self.a.y) / (self.b.y - self.a.y);
            self.a.x + (self.b.x - self.a.x) * share
        })
    }

    fn low(&self) -> Coord<f64> {
        Coord { x: self.a.x.min(self.b.x), y: self.a.y.min(self.b.y) }
    }

    fn high(&self) -> Coord<f64> {
        Coord { x: self.a.x.max(self.b.x), y: self.a.y.max(self.b.y) }
    }
}

#[derive(Debug)]
pub(super) struct Buckets {
    edges: Vec<Edge>,
    low: Coord<f64>,
    high: Coord<f64>,
    cell: f64,
    columns: usize,
    rows: usize,
    /// First entry of each cell in `entries`, row by row, and the end of the last.
    starts: Vec<u32>,
    /// Edges (by number) that pass through each cell.
    entries: Vec<u32>,
    /// For each cell: do an odd number of edges cross the middle of its row further right? That
    /// tells whether a cell that no edge passes through lies inside.
    odd: Vec<bool>,
}

impl Buckets {
    pub fn new(edges: Vec<Edge>) -> Self {
        let rim = Coord { x: RIM_MM, y: RIM_MM };
        let infinite = Coord { x: f64::INFINITY, y: f64::INFINITY };
        let (low, high) = edges.iter().fold((infinite, infinite * -1.0), |(low, high), e| {
            let (l, h) = (e.low(), e.high());
            (
                Coord { x: low.x.min(l.x), y: low.y.min(l.y) },
                Coord { x: high.x.max(h.x), y: high.y.max(h.y) },
            )
        });
        let (low, high) =
            if edges.is_empty() { (Coord::zero(), Coord::zero()) } else { (low - rim, high + rim) };
        let size = high - low;
        // About one cell per edge, none finer than an edge is long (a line takes up no area) nor
        // than the longer side allows.
        let count = edges.len().max(1) as f64;
        let even = (size.x * size.y / count).sqrt();
        let mean = edges.iter().map(|edge| distance(edge.a, edge.b)).sum::<f64>() / count;
        let cell = even.max(mean).max(size.x.max(size.y) / LINES_MAX).max(RIM_MM);
        let count = |size: f64| (size / cell).ceil().clamp(1.0, LINES_MAX + 1.0) as usize;
        let (columns, rows) = (count(size.x), count(size.y));
        let (starts, entries, odd) = (vec![], vec![], vec![]);
        let mut buckets = Self { edges, low, high, cell, columns, rows, starts, entries, odd };
        buckets.sort_in();
        buckets
    }

    pub fn is_empty(&self) -> bool {
        self.edges.is_empty()
    }

    /// Visits the edges that a ray from a point to the right may cross or that pass within `slack`
    /// of the point, each once, as far as the first empty cell; is that cell inside (even-odd)?
    pub fn each_right_of(&self, at: Coord<f64>, slack: f64, mut visit: impl FnMut(&Edge)) -> bool {
        let inside =
            at.x >= self.low.x && at.x <= self.high.x && at.y >= self.low.y && at.y <= self.high.y;
        if self.is_empty() || !inside {
            return false;
        }
        let row = self.row(at.y);
        let first = self.column(at.x - slack);
        // An edge may pass through several cells of a row: it is named in its first one only.
        for column in first..self.columns {
            let entries = self.entries_between(column, column, row);
            if entries.is_empty() {
                return self.odd[row * self.columns + column];
            }
            for number in entries {
                let edge = &self.edges[*number as usize];
                if at.y < edge.low().y - slack || at.y > edge.high().y + slack {
                    continue;
                }
                let (left, _) = self.reach_in_row(edge, row);
                if column == self.column(left).max(first) {
                    visit(edge);
                }
            }
        }
        false
    }

    /// Does an edge pass nearer than `mm`?
    pub fn is_near(&self, at: Coord<f64>, mm: f64) -> bool {
        if self.is_empty() || !at.x.is_finite() || !at.y.is_finite() || mm <= 0.0 {
            return false;
        }
        (self.row(at.y - mm)..=self.row(at.y + mm)).any(|row| {
            let near = self.entries_between(self.column(at.x - mm), self.column(at.x + mm), row);
            near.iter().any(|number| distance(self.edges[*number as usize].nearest(at), at) < mm)
        })
    }

    /// Every edge that passes within `slack` of a line, with its number; some come more than once.
    pub fn each_along(
        &self,
        from: Coord<f64>,
        to: Coord<f64>,
        slack: f64,
        mut visit: impl FnMut(u32, &Edge),
    ) {
        let finite = |c: Coord<f64>| c.x.is_finite() && c.y.is_finite();
        if self.is_empty() || !finite(from) || !finite(to) {
            return;
        }
        let line = Edge { a: from, b: to, ring: 0 };
        let (low, high) = (line.low(), line.high());
        let apart = high.x < self.low.x - slack
            || low.x > self.high.x + slack
            || high.y < self.low.y - slack
            || low.y > self.high.y + slack;
        if apart {
            return;
        }
        for row in self.row(low.y - slack)..=self.row(high.y + slack) {
            let (left, right) = self.reach_in_row(&line, row);
            let columns = self.column(left - slack)..=self.column(right + slack);
            for number in self.entries_between(*columns.start(), *columns.end(), row) {
                visit(*number, &self.edges[*number as usize]);
            }
        }
    }

    /// The edge nearest to a point; the first of several.
    pub fn nearest(&self, at: Coord<f64>) -> Option<&Edge> {
        self.nearest_within(at, f64::INFINITY)
    }

    /// The same, of edges nearer than `mm`.
    pub fn nearest_within(&self, at: Coord<f64>, mm: f64) -> Option<&Edge> {
        if self.is_empty() || !at.x.is_finite() || !at.y.is_finite() {
            return None;
        }
        let (column, row) = (self.column(at.x), self.row(at.y));
        let mut best = (mm * mm, u32::MAX);
        for ring in 0..self.columns.max(self.rows) {
            // Nothing in this ring of cells is nearer than its inner side.
            let beyond = self.beyond(at, column, row, ring);
            if best.0 < beyond * beyond {
                break;
            }
            let rows = row.saturating_sub(ring)..=(row + ring).min(self.rows - 1);
            for in_row in rows {
                let whole = in_row.abs_diff(row) == ring;
                for (first, last) in columns_of(column, ring, whole, self.columns) {
                    for number in self.entries_between(first, last, in_row) {
                        let away = self.edges[*number as usize].nearest(at) - at;
                        best = nearer(best, (dot(away, away), *number));
                    }
                }
            }
        }
        self.edges.get(best.1 as usize)
    }

    fn sort_in(&mut self) {
        let mut cells: Vec<(u32, u32)> = Vec::with_capacity(self.edges.len() * 2);
        let mut crossed = vec![false; self.columns * self.rows];
        for (number, edge) in self.edges.iter().enumerate() {
            for row in self.row(edge.low().y - RIM_MM)..=self.row(edge.high().y + RIM_MM) {
                if let Some(x) = edge.crosses(self.low.y + (row as f64 + 0.5) * self.cell) {
                    crossed[row * self.columns + self.column(x)] ^= true;
                }
                let (left, right) = self.reach_in_row(edge, row);
                for column in self.column(left)..=self.column(right) {
                    cells.push(((row * self.columns + column) as u32, number as u32));
                }
            }
        }
        let mut starts = vec![0u32; self.columns * self.rows + 1];
        cells.iter().for_each(|(cell, _)| starts[*cell as usize + 1] += 1);
        (1..starts.len()).for_each(|i| starts[i] += starts[i - 1]);
        let mut next = starts.clone();
        let mut entries = vec![0; cells.len()];
        for (cell, number) in cells {
            let place = &mut next[cell as usize];
            entries[*place as usize] = number;
            *place += 1;
        }
        self.starts = starts;
        self.entries = entries;
        self.odd = crossed;
        for row in self.odd.chunks_exact_mut(self.columns) {
            let mut beyond = false;
            for cell in row.iter_mut().rev() {
                beyond ^= std::mem::replace(cell, beyond);
            }
        }
    }

    fn row(&self, y: f64) -> usize {
        (((y - self.low.y) / self.cell).max(0.0) as usize).min(self.rows - 1)
    }

    fn column(&self, x: f64) -> usize {
        (((x - self.low.x) / self.cell).max(0.0) as usize).min(self.columns - 1)
    }

    fn entries_between(&self, first: usize, last: usize, row: usize) -> &[u32] {
        let (from, to) = (row * self.columns + first, row * self.columns + last + 1);
        &self.entries[self.starts[from] as usize..self.starts[to] as usize]
    }

    /// Smallest and largest x of an edge within a row of cells, with a rim.
    fn reach_in_row(&self, edge: &Edge, row: usize) -> (f64, f64) {
        let (low, high) = if edge.a.y <= edge.b.y { (edge.a, edge.b) } else { (edge.b, edge.a) };
        let bottom = self.low.y + row as f64 * self.cell - RIM_MM;
        let top = bottom + self.cell + 2.0 * RIM_MM;
        let rise = high.y - low.y;
        let at = |y: f64| {
            if rise > 0.0 { low.x + (high.x - low.x) * ((y - low.y) / rise) } else { low.x }
        };
        let enter = if low.y < bottom { at(bottom) } else { low.x };
        let leave = if high.y > top { at(top) } else { high.x };
        (enter.min(leave) - RIM_MM, enter.max(leave) + RIM_MM)
    }

    /// Least distance from a point to the cells of a square ring around its cell.
    fn beyond(&self, at: Coord<f64>, column: usize, row: usize, ring: usize) -> f64 {
        let within = |v: f64, low: f64, index: usize| {
            let start = low + index as f64 * self.cell;
            // A point outside the grid is nearer to no cell than to the one it is sorted into.
            (v - start).min(start + self.cell - v).max(0.0)
        };
        let inner = within(at.x, self.low.x, column).min(within(at.y, self.low.y, row));
        if ring == 0 { 0.0 } else { inner + (ring - 1) as f64 * self.cell }
    }
}

/// The columns (first, last) that a square ring around a column takes up in one row: all of them
/// in its `whole` top and bottom rows, else the two at its ends.
fn columns_of(
    column: usize,
    ring: usize,
    whole: bool,
    count: usize,
) -> impl Iterator<Item = (usize, usize)> {
    let left = column.checked_sub(ring).map(|c| (c, c));
    let right = (column + ring < count).then_some((column + ring, column + ring));
    let all = (column.saturating_sub(ring), (column + ring).min(count - 1));
    let parts = if whole { [Some(all), None] } else { [left, right] };
    parts.into_iter().flatten()
}

/// The smaller distance, of equal ones the smaller number.
fn nearer(a: (f64, u32), b: (f64, u32)) -> (f64, u32) {
    if b.0 < a.0 || (b.0 == a.0 && b.1 < a.1) { b } else { a }
}
