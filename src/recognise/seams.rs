//! Strips between the rows of neighbouring sections of a fill: where one ends and the next begins, the
//! thread lies no further apart than within them.

use geo::{Coord, MultiPolygon};

use super::segment::{Kind, ReadStretch};
use crate::geometry::strips;
use crate::geometry::vector::{direction, dot, left_of};

/// Rows joined in a V leave a gap of up to so many between sections.
const FAR_ROWS: f64 = 3.0;
/// And of so many times the distance between the last two of a gradient.
const FAR_WIDE: f64 = 1.6;
/// Rows are neighbours along no less than this, mm.
const ALONG_MM: f64 = 0.2;

/// A row in the frame of the fill: from left to right, its ends along the rows and across them, mm.
struct Row {
    section: usize,
    is_end: bool,
    /// Where the rows of its section lie ever wider apart: how far its neighbour is, mm.
    apart: f64,
    ends: [(f64, f64); 2],
}

impl Row {
    fn middle(&self) -> f64 {
        (self.ends[0].1 + self.ends[1].1) / 2.0
    }

    /// How far across the rows it lies at a place along them.
    fn height(&self, along: f64) -> f64 {
        let [(a, low), (b, high)] = self.ends;
        if b > a { low + (high - low) * (along - a) / (b - a) } else { low }
    }
}

/// The areas between the first and last rows of straight sections and the rows beside them.
pub fn between(
    stretches: &[ReadStretch],
    sections: &[(usize, usize)],
    angle: f64,
    pitch: f64,
) -> Vec<MultiPolygon<f64>> {
    let along = direction(angle);
    let across = left_of(along);
    let mut rows = rows(stretches, sections, (along, across));
    rows.sort_by(|a, b| a.middle().total_cmp(&b.middle()));
    let far = FAR_ROWS * pitch;
    let at = |(x, y): (f64, f64)| along * x + across * y;
    let mut areas = Vec::new();
    for (i, row) in rows.iter().enumerate().filter(|(_, row)| row.is_end) {
        let far = far.max(FAR_WIDE * row.apart);
        // Rows that slant lie nearer at one end than in the middle.
        let first = rows.partition_point(|other| other.middle() < row.middle() - 2.0 * far);
        let near =
            rows[first..].iter().take_while(|other| other.middle() <= row.middle() + 2.0 * far);
        for (_, other) in near.enumerate().filter(|(k, _)| first + k != i) {
            areas.extend(
                strip(row, other, far)
                    .map(|[a, b, c, d]| strips::between(&[(at(a), at(b)), (at(c), at(d))])),
            );
        }
    }
    areas
}

fn rows(
    stretches: &[ReadStretch],
    sections: &[(usize, usize)],
    (along, across): (Coord<f64>, Coord<f64>),
) -> Vec<Row> {
    let mut rows = Vec::new();
    for (section, &(s, g)) in sections.iter().enumerate() {
        let Kind::Fill(read) = &stretches[s].segments[g].kind else { continue };
        let track = &stretches[s].track;
        let last = read.rows.len().saturating_sub(1);
        let start = rows.len();
        for (i, (from, to)) in read.rows.iter().enumerate().filter(|_| read.straight) {
            let end = |point: usize| (dot(along, track.at[point]), dot(across, track.at[point]));
            let mut ends = [end(*from), end(*to)];
            ends.sort_by(|a, b| a.0.total_cmp(&b.0));
            rows.push(Row { section, is_end: i == 0 || i == last, apart: 0.0, ends });
        }
        if read.is_gradient() && rows.len() - start > 1 {
            let apart = |a: usize, b: usize| (rows[a].middle() - rows[b].middle()).abs();
            let end = rows.len() - 1;
            (rows[start].apart, rows[end].apart) = (apart(start, start + 1), apart(end, end - 1));
        }
    }
    rows
}

/// Corners of the area between two rows, as far as they lie side by side and near.
fn strip(a: &Row, b: &Row, far: f64) -> Option<[(f64, f64); 4]> {
    let left = a.ends[0].0.max(b.ends[0].0);
    let right = a.ends[1].0.min(b.ends[1].0);
    let middle = (left + right) / 2.0;
    let near = (a.height(middle) - b.height(middle)).abs() <= far;
    (a.section != b.section && right - left >= ALONG_MM && near).then(|| {
        let at = |row: &Row, x: f64| (x, row.height(x));
        [at(a, left), at(a, right), at(b, left), at(b, right)]
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn row(section: usize, ends: [(f64, f64); 2]) -> Row {
        Row { section, is_end: true, apart: 0.0, ends }
    }

    #[test]
    fn a_strip_lies_where_rows_of_two_sections_lie_side_by_side() {
        let a = row(0, [(0.0, 0.0), (10.0, 0.0)]);
        // Joined in a V, it rises by half a millimetre over ten.
        let b = row(1, [(4.0, 0.7), (14.0, 1.2)]);
        let found = strip(&a, &b, 1.2).expect("they lie side by side");
        assert_eq!(found, [(4.0, 0.0), (10.0, 0.0), (4.0, 0.7), (10.0, 1.0)]);
        // Further apart than rows may be, rows of one section, and rows that only follow each other.
        assert!(strip(&a, &b, 0.8).is_none());
        assert!(strip(&a, &row(0, b.ends), 1.2).is_none());
        assert!(strip(&a, &row(1, [(10.0, 0.4), (20.0, 0.4)]), 1.2).is_none());
    }
}
