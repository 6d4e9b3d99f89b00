//! Areas bounded by matched places on two edges: a satin's rails, the ends of a fill's rows.

use geo::{Coord, Intersects, Line, LineString, MultiPolygon, Polygon};

use super::engine;
use super::segments::SegmentGrid;
use super::vector::cross;

/// A crossing: its end on either edge, mm.
pub type Crossing = (Coord<f64>, Coord<f64>);

/// Most crossings whose area is found at once.
const TOGETHER: usize = 4000;

/// The area between neighbouring crossings.
///
/// Quadrilaterals that run the same way round are chained into one ring, which may lie over itself
/// in a bend or where a ring closes: as each of them counts positive, so does all that it
/// encloses. That is many times faster than a union of the single ones.
pub fn between(ends: &[Crossing]) -> MultiPolygon<f64> {
    if ends.len() <= TOGETHER {
        return engine::union_positive(&chains(ends));
    }
    // A union takes more than twice the time for twice the crossings, and a spiral most of all.
    if let [ring] = chains(ends).as_slice()
        && is_simple(&ring.exterior().0)
    {
        return MultiPolygon(vec![ring.clone()]);
    }
    let middle = ends.len() / 2;
    engine::union_all(&[&between(&ends[..=middle]), &between(&ends[middle..])])
}

/// Does a closed line nowhere touch itself but where its edges follow each other?
fn is_simple(ring: &[Coord<f64>]) -> bool {
    let count = ring.len() - 1;
    let grid = SegmentGrid::new(ring.windows(2).map(|w| [w[0], w[1]]).collect());
    (0..count).all(|i| {
        let mut apart = true;
        let (a, b) = (ring[i], ring[i + 1]);
        grid.each_in_box(a, b, |j| {
            let follows = (i + 1) % count == j || (j + 1) % count == i;
            apart = apart && (j <= i || follows || !touch((a, b), (ring[j], ring[j + 1])));
        });
        apart
    })
}

/// Do two edges have a point in common?
fn touch((a, b): Crossing, (c, d): Crossing) -> bool {
    let boxes = a.x.min(b.x) <= c.x.max(d.x)
        && c.x.min(d.x) <= a.x.max(b.x)
        && a.y.min(b.y) <= c.y.max(d.y)
        && c.y.min(d.y) <= a.y.max(b.y);
    boxes && Line::new(a, b).intersects(&Line::new(c, d))
}

/// The same as rings that run counter-clockwise round all that they enclose.
pub fn chains(ends: &[Crossing]) -> Vec<Polygon<f64>> {
    let mut rings = Vec::new();
    let mut start = 0;
    for stop in 1..ends.len() {
        let quad = quad(ends, stop);
        let goes_on = stop + 1 < ends.len() && quad.is_some() && quad == self::quad(ends, stop + 1);
        if goes_on {
            continue;
        }
        match quad {
            Some(left) => rings.push(ring(&ends[start..=stop], left)),
            None => rings.extend(crossed(ends[stop - 1], ends[stop])),
        }
        start = stop;
    }
    rings
}

/// Does the quadrilateral before a crossing run counter-clockwise from the first edge to the
/// second? `None` if two of its sides cross.
fn quad(ends: &[Crossing], stop: usize) -> Option<bool> {
    let ((a, b), (d, c)) = (ends[stop - 1], ends[stop]);
    let crossed = meet((a, b), (d, c)).or_else(|| meet((a, d), (b, c)));
    crossed.is_none().then(|| cross(b - a, c - a) + cross(c - a, d - a) > 0.0)
}

fn ring(ends: &[Crossing], left: bool) -> Polygon<f64> {
    let there = ends.iter().map(|end| end.1);
    let back = ends.iter().rev().map(|end| end.0);
    let mut ring: Vec<Coord<f64>> = there.chain(back).collect();
    ring.dedup();
    if !left {
        ring.reverse();
    }
    Polygon::new(LineString(ring), Vec::new())
}

/// The two triangles of a quadrilateral two of whose sides cross.
fn crossed((a, b): Crossing, (d, c): Crossing) -> Vec<Polygon<f64>> {
    let parts = match (meet((a, b), (d, c)), meet((a, d), (b, c))) {
        (Some(at), _) => [[a, at, d], [b, at, c]],
        (None, Some(at)) => [[a, b, at], [d, c, at]],
        (None, None) => return Vec::new(),
    };
    parts
        .into_iter()
        .map(|mut corners| {
            if cross(corners[1] - corners[0], corners[2] - corners[0]) < 0.0 {
                corners.reverse();
            }
            Polygon::new(LineString(corners.to_vec()), Vec::new())
        })
        .collect()
}

/// Where two lines cross, neither of them only touching the other.
fn meet((a, b): Crossing, (c, d): Crossing) -> Option<Coord<f64>> {
    let (along, other) = (b - a, d - c);
    let parts = |u: f64, v: f64| u < 0.0 && v > 0.0 || u > 0.0 && v < 0.0;
    let (of_c, of_d) = (cross(along, c - a), cross(along, d - a));
    let (of_a, of_b) = (cross(other, a - c), cross(other, b - c));
    (parts(of_c, of_d) && parts(of_a, of_b)).then(|| a + along * (of_a / (of_a - of_b)))
}

#[cfg(test)]
mod tests {
    use std::f64::consts::TAU;

    use geo::Area;

    use super::*;

    fn at(x: f64, y: f64) -> Coord<f64> {
        Coord { x, y }
    }

    fn circle(from: f64, to: f64, radii: (f64, f64)) -> Vec<Crossing> {
        let steps = 720;
        (0..=steps)
            .map(|k| from + (to - from) * f64::from(k) / f64::from(steps))
            .map(|turn| at(turn.cos(), turn.sin()))
            .map(|out| (out * radii.0, out * radii.1))
            .collect()
    }

    #[test]
    fn a_ring_that_closes_over_itself_keeps_its_hole_whichever_way_it_runs() {
        // A tenth of a turn lies double.
        for (from, to) in [(0.0, 1.1 * TAU), (1.1 * TAU, 0.0)] {
            for radii in [(5.0, 7.0), (7.0, 5.0)] {
                let area = between(&circle(from, to, radii));
                assert_eq!(area.0.len(), 1);
                assert_eq!(area.0[0].interiors().len(), 1);
                // Area of the annulus: pi (7² - 5²).
                assert!((area.unsigned_area() - 75.398).abs() < 0.05, "{}", area.unsigned_area());
            }
        }
    }

    #[test]
    fn a_long_spiral_has_the_area_of_its_strips() {
        // 6,000 crossings from radius 10 outwards, 2 mm long, turns 3 mm apart: they nowhere meet.
        let spiral: Vec<Crossing> = (0..6000)
            .map(|k| f64::from(k) / 6000.0 * 5.0 * TAU)
            .map(|turn| (at(turn.cos(), turn.sin()), 10.0 + 3.0 * turn / TAU))
            .map(|(out, radius)| (out * radius, out * (radius + 2.0)))
            .collect();
        let area = between(&spiral);
        // By integration: the sum over all turns of ((r + 2)² - r²) / 2 = 2 r + 2.
        let expected = 5.0 * TAU * (2.0 * 17.5 + 2.0);
        assert!(
            (area.unsigned_area() - expected).abs() < 0.5,
            "{} {expected}",
            area.unsigned_area()
        );
        assert_eq!((area.0.len(), area.0[0].interiors().len()), (1, 0));
        // A tenth of a turn over itself, as many crossings: a ring with a hole.
        let ring: Vec<Crossing> = (0..6000)
            .map(|k| f64::from(k) / 6000.0 * 1.1 * TAU)
            .map(|turn| at(turn.cos(), turn.sin()))
            .map(|out| (out * 5.0, out * 7.0))
            .collect();
        let area = between(&ring);
        assert_eq!((area.0.len(), area.0[0].interiors().len()), (1, 1));
    }

    #[test]
    fn sides_that_cross_enclose_both_triangles() {
        // Two triangles of 2 x 1 / 2 each, whichever sides cross.
        let bow = [(at(0.0, 0.0), at(2.0, 0.0)), (at(2.0, 2.0), at(0.0, 2.0))];
        assert!((between(&bow).unsigned_area() - 2.0).abs() < 1e-9);
        let tie = [(at(0.0, 0.0), at(0.0, 2.0)), (at(2.0, 2.0), at(2.0, 0.0))];
        assert!((between(&tie).unsigned_area() - 2.0).abs() < 1e-9);
        // And with sound neighbours on either side.
        let four = [(at(-3.0, 0.0), at(-3.0, 2.0)), tie[0], tie[1], (at(3.0, 2.0), at(3.0, 0.0))];
        assert!((between(&four).unsigned_area() - 10.0).abs() < 1e-9);
    }

    #[test]
    fn one_crossing_bounds_nothing() {
        assert!(between(&[]).0.is_empty());
        assert!(between(&[(at(0.0, 0.0), at(1.0, 0.0))]).0.is_empty());
        let flat = [(at(0.0, 0.0), at(1.0, 0.0)), (at(0.0, 0.0), at(1.0, 0.0))];
        assert!(between(&flat).0.is_empty());
    }
}
