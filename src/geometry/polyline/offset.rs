//! Lines moved sideways.

use geo::Coord;

use super::{Measured, SAME, distance, heading, nearest_on_segment, without_repeats};
use crate::geometry::vector::left_of;

/// A mitred corner of an offset reaches at most this many times the offset away.
const MITRE_LIMIT: f64 = 2.0;

/// An open line moved sideways by `by` mm, to the left where positive. Corners are mitred;
/// where the line bends more tightly than the offset allows, the loop is cut away, so that no
/// vertex comes nearer to the old line than the offset (bends within a few offsets of each other
/// are looked at; a line that comes back later is not).
pub fn offset(line: &[Coord<f64>], by: f64) -> Vec<Coord<f64>> {
    offset_of(line, by, false)
}

/// As [`offset`], for a loop whose first vertex is repeated at the end; so is the outcome's.
pub fn offset_closed(line: &[Coord<f64>], by: f64) -> Vec<Coord<f64>> {
    offset_of(line, by, true)
}

fn offset_of(line: &[Coord<f64>], by: f64, closed: bool) -> Vec<Coord<f64>> {
    let line = without_repeats(line);
    if line.len() < 2 || by == 0.0 {
        return line;
    }
    let measured = Measured::new(&line);
    let last = line.len() - 1;
    let way = |i: usize| heading(line[i], line[i + 1]);
    let mut moved = Vec::with_capacity(line.len() + 8);
    for i in 0..=last {
        let before = if i > 0 {
            way(i - 1)
        } else if closed {
            way(last - 1)
        } else {
            None
        };
        let after = if i < last {
            way(i)
        } else if closed {
            way(0)
        } else {
            None
        };
        for at in corner(line[i], before, after, by) {
            if clear_of(&line, &measured, i, at, by.abs(), closed) {
                moved.push(at);
            }
        }
    }
    if closed && let Some(first) = moved.first().copied() {
        moved.push(first);
    }
    without_repeats(&moved)
}

/// Where a vertex goes: one mitred point, or two where the corner is too sharp for a mitre.
fn corner(
    at: Coord<f64>,
    before: Option<Coord<f64>>,
    after: Option<Coord<f64>>,
    by: f64,
) -> Vec<Coord<f64>> {
    let shift = |n: Coord<f64>, d: f64| Coord { x: at.x + n.x * d, y: at.y + n.y * d };
    match (before.map(left_of), after.map(left_of)) {
        (Some(n), Some(m)) => {
            let sum = Coord { x: n.x + m.x, y: n.y + m.y };
            let half = sum.x.hypot(sum.y) / 2.0; // cosine of half the turn
            if half * MITRE_LIMIT < 1.0 {
                return vec![shift(n, by), shift(m, by)];
            }
            let unit = Coord { x: sum.x / (2.0 * half), y: sum.y / (2.0 * half) };
            vec![shift(unit, by / half)]
        }
        (Some(n), None) | (None, Some(n)) => vec![shift(n, by)],
        (None, None) => Vec::new(),
    }
}

/// Does an offset vertex keep its distance from the old line around vertex `i`?
fn clear_of(
    line: &[Coord<f64>],
    measured: &Measured,
    i: usize,
    at: Coord<f64>,
    distance_kept: f64,
    closed: bool,
) -> bool {
    let reach = 4.0 * distance_kept;
    let segments = line.len() - 1;
    let far = |k: usize| {
        let gap = (measured.vertex(k) - measured.vertex(i)).abs();
        let gap = if closed { gap.min(measured.length() - gap) } else { gap };
        gap > reach
    };
    let near_enough = |k: usize| {
        let (on, _) = nearest_on_segment(line[k], line[k + 1], at);
        distance(on, at) < distance_kept - SAME
    };
    let forwards = (i..segments).take_while(|k| !far(*k)).any(near_enough);
    let backwards = (0..i).rev().take_while(|k| !far(k + 1)).any(near_enough);
    let wrapped = closed
        && ((0..segments).take_while(|k| !far(*k)).any(near_enough)
            || (0..segments).rev().take_while(|k| !far(k + 1)).any(near_enough));
    !(forwards || backwards || wrapped)
}

#[cfg(test)]
mod tests {
    use super::super::{length, nearest};
    use super::*;

    fn c(x: f64, y: f64) -> Coord<f64> {
        Coord { x, y }
    }

    #[test]
    fn offset_to_the_left_of_a_corner_is_mitred() {
        let line = [c(0.0, 0.0), c(10.0, 0.0), c(10.0, 10.0)];
        // Left of the way: inside the corner.
        let same = |a: Vec<Coord<f64>>, b: [Coord<f64>; 3]| {
            a.len() == 3 && a.iter().zip(b).all(|(a, b)| distance(*a, b) < 1e-9)
        };
        assert!(same(offset(&line, 1.0), [c(0.0, 1.0), c(9.0, 1.0), c(9.0, 10.0)]));
        assert!(same(offset(&line, -1.0), [c(0.0, -1.0), c(11.0, -1.0), c(11.0, 10.0)]));
    }

    #[test]
    fn offset_of_a_bend_tighter_than_the_offset_makes_no_loop() {
        // Half circle of radius 0.5, offset inwards by 0.8: nothing may remain of the bend.
        let bend = (0..=20).map(|k| {
            let a = std::f64::consts::PI * f64::from(k) / 20.0 - std::f64::consts::FRAC_PI_2;
            c(10.0 + 0.5 * a.cos(), 0.5 + 0.5 * a.sin())
        });
        let line: Vec<_> = std::iter::once(c(0.0, 0.0)).chain(bend).chain([c(5.0, 6.0)]).collect();
        for at in offset(&line, 0.8) {
            assert!(nearest(&line, at).unwrap().distance > 0.79);
        }
    }

    #[test]
    fn closed_offset_of_a_square() {
        let square = [c(0.0, 0.0), c(10.0, 0.0), c(10.0, 10.0), c(0.0, 10.0), c(0.0, 0.0)];
        let inner = offset_closed(&square, 1.0);
        assert_eq!(inner.len(), 5);
        assert!((length(&inner) - 32.0).abs() < 1e-9);
        assert_eq!(inner.first(), inner.last());
    }
}
