//! Strips between the rows of neighbouring sections of a fill: where one ends and the next begins, the
//! thread lies no further apart than within them. And what a section does not cover where its rows
//! fork: a long row with a short one beside it ends at a flat edge, unless another section begins
//! beside the rest of it; then a hole or a notch lies between the two.

use geo::{Coord, LineString, MultiPolygon, Polygon};

use super::segment::{Kind, ReadStretch};
use crate::geometry::vector::{direction, dot, left_of};
use crate::geometry::{engine, strips};

/// Between sections there is a gap of up to so many rows; where they are joined in a V, which leaves
/// every other one out on either side, of up to twice as many.
const FAR_ROWS: f64 = 2.2;
const FAR_ROWS_V: f64 = 4.0;
/// And of so many times the distance between the last two of a gradient.
const FAR_WIDE: f64 = 1.6;
/// Rows that meet at one end part by so much less there than at the other.
const MEET: f64 = 0.4;
/// Rows are neighbours along no less than this, mm.
const ALONG_MM: f64 = 0.2;

/// Two ends of a row in the frame of the fill, from left to right: along the rows and across them, mm.
#[derive(Clone, Copy)]
struct Ends([(f64, f64); 2]);

impl Ends {
    fn new(a: (f64, f64), b: (f64, f64)) -> Self {
        Self(if a.0 <= b.0 { [a, b] } else { [b, a] })
    }

    /// From where to where it goes along the rows.
    fn span(&self) -> (f64, f64) {
        (self.0[0].0, self.0[1].0)
    }

    fn middle(&self) -> f64 {
        (self.0[0].1 + self.0[1].1) / 2.0
    }

    /// How far across the rows it lies at a place along them.
    fn height(&self, along: f64) -> f64 {
        let [(a, low), (b, high)] = self.0;
        if b > a { low + (high - low) * (along - a) / (b - a) } else { low }
    }
}

struct Row {
    section: usize,
    is_end: bool,
    /// Where the rows of its section lie ever wider apart: how far its neighbour is, mm.
    apart: f64,
    ends: Ends,
    /// The rows of its section sewn before and after it.
    beside: [Option<Ends>; 2],
}

/// How the sections of one fill meet.
pub struct Seams {
    /// The areas between the first and last rows of straight sections and the rows beside them.
    pub strips: Vec<MultiPolygon<f64>>,
    /// For each section what lies beyond its shorter rows where its rows fork.
    pub forks: Vec<MultiPolygon<f64>>,
}

/// Finds how sections with rows of this angle (degrees) and pitch (mm) meet.
pub fn between(
    stretches: &[ReadStretch],
    sections: &[(usize, usize)],
    angle: f64,
    pitch: f64,
) -> Seams {
    let along = direction(angle);
    let across = left_of(along);
    let mut rows = rows(stretches, sections, (along, across));
    rows.sort_by(|a, b| a.ends.middle().total_cmp(&b.ends.middle()));
    let far = if are_joined_in_a_v(&rows) { FAR_ROWS_V } else { FAR_ROWS } * pitch;
    let at = |(x, y): (f64, f64)| along * x + across * y;
    let (mut strips, mut beyond) = (Vec::new(), vec![Vec::new(); sections.len()]);
    for (i, row) in rows.iter().enumerate().filter(|(_, row)| row.is_end) {
        let far = far.max(FAR_WIDE * row.apart);
        let middle = row.ends.middle();
        // Rows that slant lie nearer at one end than in the middle.
        let first = rows.partition_point(|other| other.ends.middle() < middle - 2.0 * far);
        let near =
            rows[first..].iter().take_while(|other| other.ends.middle() <= middle + 2.0 * far);
        for (_, other) in near.enumerate().filter(|(k, _)| first + k != i) {
            let Some([a, b, c, d]) = strip(row, other, far) else { continue };
            strips.push(strips::between(&[(at(a), at(b)), (at(c), at(d))]));
            let forks = forks(row, other, far).map(|corners| corners.map(at).to_vec());
            beyond[other.section]
                .extend(forks.map(|ring| Polygon::new(LineString(ring), Vec::new())));
        }
    }
    Seams { strips, forks: beyond.into_iter().map(engine::union).collect() }
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
            let (ends, is_end) = (Ends::new(end(*from), end(*to)), i == 0 || i == last);
            rows.push(Row { section, is_end, apart: 0.0, ends, beside: [None; 2] });
        }
        for i in start + 1..rows.len() {
            rows[i].beside[0] = Some(rows[i - 1].ends);
            rows[i - 1].beside[1] = Some(rows[i].ends);
        }
        if read.is_gradient() && rows.len() - start > 1 {
            let apart = |a: usize, b: usize| (rows[a].ends.middle() - rows[b].ends.middle()).abs();
            let end = rows.len() - 1;
            (rows[start].apart, rows[end].apart) = (apart(start, start + 1), apart(end, end - 1));
        }
    }
    rows
}

/// Does one row in two begin where the one before it ended?
fn are_joined_in_a_v(rows: &[Row]) -> bool {
    let meets = |row: &Row, before: &Ends| {
        let apart = [0, 1].map(|end| (row.ends.0[end].1 - before.0[end].1).abs());
        apart[0].min(apart[1]) < MEET * apart[0].max(apart[1])
    };
    let pairs = || rows.iter().filter_map(|row| Some((row, row.beside[0].as_ref()?)));
    2 * pairs().filter(|(row, before)| meets(row, before)).count() > pairs().count()
}

/// Corners of the area between two rows, as far as they lie side by side and near.
fn strip(a: &Row, b: &Row, far: f64) -> Option<[(f64, f64); 4]> {
    let (of_a, of_b) = (a.ends.span(), b.ends.span());
    let (left, right) = (of_a.0.max(of_b.0), of_a.1.min(of_b.1));
    let middle = (left + right) / 2.0;
    let near = (a.ends.height(middle) - b.ends.height(middle)).abs() <= far;
    (a.section != b.section && right - left >= ALONG_MM && near).then(|| {
        let at = |row: &Row, x: f64| (x, row.ends.height(x));
        [at(a, left), at(a, right), at(b, left), at(b, right)]
    })
}

/// Corners of the triangles between a long row and the end of a shorter one of its section, where
/// `other`, the first or last row of another section, lies on the same side of it and beyond that end.
/// What is sewn next but lies further than `far` mm from the long row is not beside it.
fn forks(other: &Row, long: &Row, far: f64) -> impl Iterator<Item = [(f64, f64); 3]> {
    // Rows slant where they are joined in a V.
    let above = |ends: &Ends| {
        let (from, to) = ends.span();
        ends.middle() - long.ends.height((from + to) / 2.0)
    };
    let short = long.beside.into_iter().flatten();
    let short = short.filter(move |short| {
        let apart = above(short);
        apart.abs() <= far && (apart > 0.0) == (above(&other.ends) > 0.0)
    });
    short.filter_map(|short| {
        let ([left, right], [from, to], other) = (long.ends.0, short.0, other.ends.span());
        let corners =
            |end: (f64, f64), rest: (f64, f64)| [end, (end.0, long.ends.height(end.0)), rest];
        if to.0 < right.0 && other.0 >= to.0 {
            Some(corners(to, right))
        } else if from.0 > left.0 && other.1 <= from.0 {
            Some(corners(from, left))
        } else {
            None
        }
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn row(section: usize, ends: [(f64, f64); 2]) -> Row {
        Row { section, is_end: true, apart: 0.0, ends: Ends(ends), beside: [None; 2] }
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
        assert!(strip(&a, &row(0, b.ends.0), 1.2).is_none());
        assert!(strip(&a, &row(1, [(10.0, 0.4), (20.0, 0.4)]), 1.2).is_none());
    }

    #[test]
    fn rows_fork_where_another_section_begins_beside_the_rest_of_a_long_row() {
        // A row 20 mm long; the next one of its section ends at 6 mm, that of another begins at 14.
        let long = Row {
            beside: [None, Some(Ends([(0.0, 0.5), (6.0, 0.5)]))],
            ..row(0, [(0.0, 0.0), (20.0, 0.0)])
        };
        let of = |other: &Row| forks(other, &long, 1.1).collect::<Vec<_>>();
        let other = row(1, [(14.0, 0.5), (20.0, 0.5)]);
        assert_eq!(of(&other), [[(6.0, 0.5), (6.0, 0.0), (20.0, 0.0)]]);
        // On the other side of the long row, or beside the short one, it says nothing.
        assert!(of(&row(1, [(14.0, -0.5), (20.0, -0.5)])).is_empty());
        assert!(of(&row(1, [(2.0, 0.4), (20.0, 0.4)])).is_empty());
        // Nor does a row that is sewn next, but elsewhere.
        let long = Row { beside: [None, Some(Ends([(0.0, 2.5), (6.0, 2.5)]))], ..long };
        assert_eq!(forks(&other, &long, 1.1).count(), 0);
    }

    #[test]
    fn rows_joined_in_a_v_begin_where_the_one_before_ended() {
        let sewn = |rows: &[[(f64, f64); 2]]| -> Vec<Row> {
            let before = |i: usize| Some(Ends(*rows.get(i.checked_sub(1)?)?));
            let row = |i: usize| Row { beside: [before(i), None], ..row(0, rows[i]) };
            (0..rows.len()).map(row).collect()
        };
        // Out and back from a common end, 0.8 mm on at the other; and 0.4 mm on at either end.
        let v = [[(0.0, 0.0), (9.0, 0.4)], [(0.0, 0.8), (9.0, 0.4)], [(0.0, 0.8), (9.0, 1.2)]];
        assert!(are_joined_in_a_v(&sewn(&v)));
        let square = [0.0, 0.4, 0.8].map(|y| [(0.0, y), (9.0, y)]);
        assert!(!are_joined_in_a_v(&sewn(&square)));
    }
}
