//! Joined cells of one kind.

use std::collections::{BTreeMap, BTreeSet};

/// Cells that touch each other by a side, all of one kind.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Region<K> {
    pub kind: K,
    /// Numbers of the cells, in rising order.
    pub cells: Vec<usize>,
}

impl<K> Region<K> {
    /// Is it somewhere at least two cells wide both ways?
    pub fn is_thick(&self, width: usize) -> bool {
        let has = |cell: usize| self.cells.binary_search(&cell).is_ok();
        self.cells.iter().any(|cell| has(cell + 1) && has(cell + width) && has(cell + width + 1))
    }
}

/// The joined regions of cells on a grid with `width` cells to a row, in the order of their first
/// cells.
pub fn joined<K: Copy + PartialEq>(kinds: &BTreeMap<usize, K>, width: usize) -> Vec<Region<K>> {
    let mut open = kinds.clone();
    let mut regions = Vec::new();
    while let Some((first, kind)) = open.pop_first() {
        let mut cells = vec![first];
        let mut next = 0;
        while let Some(cell) = cells.get(next).copied() {
            next += 1;
            let column = cell % width.max(1);
            let beside = [
                (column > 0).then(|| cell - 1),
                (column + 1 < width).then_some(cell + 1),
                cell.checked_sub(width),
                Some(cell + width),
            ];
            for neighbour in beside.into_iter().flatten() {
                if open.get(&neighbour).is_some_and(|other| *other == kind) {
                    open.remove(&neighbour);
                    cells.push(neighbour);
                }
            }
        }
        cells.sort_unstable();
        regions.push(Region { kind, cells });
    }
    regions
}

/// Cells that follow each other with gaps of about `gap` cells at most, whatever their regions.
pub fn lines(cells: impl Iterator<Item = usize>, width: usize, gap: usize) -> Vec<BTreeSet<usize>> {
    // Squares as wide as the gap; a cell claims all that half a gap around it reaches.
    let half = gap / 2;
    let columns = (width + gap) / gap + 1;
    let squares = |cell: usize| {
        let (x, y) = (cell % width + half, cell / width + half);
        let corners = [(x - half, y - half), (x + half, y - half), (x - half, y + half)];
        let square = move |(x, y): (usize, usize)| y / gap * columns + x / gap;
        corners.into_iter().chain([(x + half, y + half)]).map(square)
    };
    let cells: Vec<usize> = cells.collect();
    let claimed = cells.iter().flat_map(|cell| squares(*cell)).map(|square| (square, ()));
    let groups = joined(&claimed.collect(), columns);
    let group_of: BTreeMap<usize, usize> = groups
        .iter()
        .enumerate()
        .flat_map(|(number, group)| group.cells.iter().map(move |square| (*square, number)))
        .collect();
    let mut lines = vec![BTreeSet::new(); groups.len()];
    for cell in cells {
        if let Some(number) = squares(cell).find_map(|square| group_of.get(&square)) {
            lines[*number].insert(cell);
        }
    }
    lines
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn cells_join_by_their_sides_within_rows_and_kinds() {
        // Rows of four: a pair across two rows, a lone diagonal one, another kind beside it, and
        // two that follow each other in number but lie at either end of neighbouring rows.
        let kinds = [(0, 'a'), (4, 'a'), (9, 'a'), (10, 'b'), (15, 'a'), (16, 'a')];
        let regions = joined(&kinds.into_iter().collect(), 4);
        let cells: Vec<_> = regions.into_iter().map(|region| (region.kind, region.cells)).collect();
        let wanted =
            [('a', vec![0, 4]), ('a', vec![9]), ('b', vec![10]), ('a', vec![15]), ('a', vec![16])];
        assert_eq!(cells, wanted);
    }

    #[test]
    fn a_line_goes_on_over_gaps_and_not_across_open_cloth() {
        // Along a diagonal every 7 cells, three times; and one more 40 cells on.
        let width = 200;
        let cells = [(20, 20), (27, 27), (34, 34), (74, 34)].map(|(x, y)| y * width + x);
        let lines = lines(cells.into_iter(), width, 10);
        assert_eq!(lines, [BTreeSet::from_iter(cells[..3].to_vec()), BTreeSet::from([cells[3]])]);
    }

    #[test]
    fn a_slit_is_not_thick_and_a_block_is() {
        let thick = |cells: Vec<usize>| Region { kind: (), cells }.is_thick(10);
        assert!(!thick(vec![11, 12, 13, 14, 24]));
        assert!(!thick(vec![11, 12, 22, 23, 33]));
        assert!(thick(vec![11, 12, 21, 22]));
    }
}
