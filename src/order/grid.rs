//! Boxes sorted into the cells of a grid, to find what lies near what.

use geo::Coord;

/// Most rows or columns.
const LINES_MAX: f64 = 512.0;

/// Which boxes reach into each cell of a grid.
pub struct Grid {
    /// First entry of each cell in `entries`, row by row, and the end of the last.
    starts: Vec<u32>,
    /// Numbers of boxes; rising within a cell.
    entries: Vec<u32>,
}

impl Grid {
    /// Sorts boxes, given as lower and upper corner, into cells of at least `cell` mm.
    pub fn new(boxes: &[(Coord<f64>, Coord<f64>)], cell: f64) -> Self {
        let low = boxes.iter().fold(Coord { x: f64::INFINITY, y: f64::INFINITY }, |low, b| Coord {
            x: low.x.min(b.0.x),
            y: low.y.min(b.0.y),
        });
        let size = boxes.iter().fold(Coord::zero(), |size: Coord<f64>, b| Coord {
            x: size.x.max(b.1.x - low.x),
            y: size.y.max(b.1.y - low.y),
        });
        let cell = cell.max(size.x.max(size.y) / LINES_MAX);
        let line = |offset: f64| (offset / cell) as usize;
        let columns = line(size.x) + 1;
        let rows = line(size.y) + 1;
        let cells_of = |(from, to): &(Coord<f64>, Coord<f64>)| {
            let across = line(from.x - low.x)..=line(to.x - low.x);
            let up = line(from.y - low.y)..=line(to.y - low.y);
            up.flat_map(move |row| across.clone().map(move |column| row * columns + column))
        };
        let mut starts = vec![0u32; columns * rows + 1];
        boxes.iter().flat_map(cells_of).for_each(|cell| starts[cell + 1] += 1);
        for cell in 1..starts.len() {
            starts[cell] += starts[cell - 1];
        }
        let mut next = starts.clone();
        let mut entries = vec![0; starts.last().map_or(0, |end| *end as usize)];
        for (number, bounds) in boxes.iter().enumerate() {
            for cell in cells_of(bounds) {
                entries[next[cell] as usize] = number as u32;
                next[cell] += 1;
            }
        }
        Self { starts, entries }
    }

    /// The boxes of every cell that holds any, cell by cell.
    pub fn cells(&self) -> impl Iterator<Item = &[u32]> {
        let ranges = self.starts.windows(2).map(|two| two[0] as usize..two[1] as usize);
        ranges.filter(|range| !range.is_empty()).filter_map(|range| self.entries.get(range))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn boxes_meet_where_they_reach_into_one_cell() {
        let at = |x: f64, y: f64| Coord { x, y };
        let boxes = [
            (at(0.0, 0.0), at(0.5, 0.5)),
            (at(0.4, 0.4), at(1.5, 0.9)),
            (at(9.0, 9.0), at(9.5, 9.5)),
        ];
        let grid = Grid::new(&boxes, 1.0);
        let cells: Vec<&[u32]> = grid.cells().collect();
        assert_eq!(cells, [&[0, 1][..], &[1], &[2]]);
    }

    #[test]
    fn far_apart_or_nothing() {
        let at = |x: f64| Coord { x, y: x };
        let far = Grid::new(&[(at(-1e9), at(-1e9)), (at(1e9), at(1e9))], 1.0);
        assert_eq!(far.cells().count(), 2);
        assert_eq!(Grid::new(&[], 1.0).cells().count(), 0);
    }
}
