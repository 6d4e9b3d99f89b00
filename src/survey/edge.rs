//! Samples along the edge of an area, with the normal that points into it.

use geo::{Coord, LineString, MultiPolygon};

use crate::geometry::vector::{cross, distance, left_of, unit};

/// Distance between samples of an edge, mm.
pub const SAMPLE_MM: f64 = 0.5;

/// Half the chord over which the direction of an edge is taken, mm: long enough that needle
/// points rounded to the 0.1 mm grid turn it by a few degrees only.
const CHORD_MM: f64 = 0.6;

/// A point on the edge of an area.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct EdgePoint {
    pub at: Coord<f64>,
    /// Unit normal, pointing into the area.
    pub inward: Coord<f64>,
}

/// Samples along every ring of an area: one list per ring, in the ring's own sense, every
/// `SAMPLE_MM` or a little less.
pub fn sample_rings(area: &MultiPolygon<f64>) -> Vec<Vec<EdgePoint>> {
    let mut rings = Vec::new();
    for polygon in &area.0 {
        rings.push(sample_ring(polygon.exterior(), false));
        rings.extend(polygon.interiors().iter().map(|ring| sample_ring(ring, true)));
    }
    rings
}

fn sample_ring(ring: &LineString<f64>, hole: bool) -> Vec<EdgePoint> {
    let path = ClosedPath::new(ring);
    if path.length < 2.0 * SAMPLE_MM {
        return Vec::new();
    }
    // The area lies to the left of an outer ring that runs counter-clockwise.
    let area_on_left = path.counter_clockwise != hole;
    let count = (path.length / SAMPLE_MM).ceil().max(4.0);
    let step = path.length / count;
    let chord = CHORD_MM.min(path.length / 8.0);
    (0..count as usize)
        .map(|i| {
            let s = (i as f64 + 0.5) * step;
            let along = unit(path.at(s + chord) - path.at(s - chord));
            let left = left_of(along);
            EdgePoint { at: path.at(s), inward: if area_on_left { left } else { left * -1.0 } }
        })
        .collect()
}

/// A ring with its length along.
struct ClosedPath {
    points: Vec<Coord<f64>>,
    /// Distance from the start to each point.
    along: Vec<f64>,
    length: f64,
    counter_clockwise: bool,
}

impl ClosedPath {
    fn new(ring: &LineString<f64>) -> Self {
        let mut points = ring.0.clone();
        points.retain(|p| p.x.is_finite() && p.y.is_finite());
        if let (Some(first), Some(last)) = (points.first().copied(), points.last())
            && first != *last
        {
            points.push(first);
        }
        points.dedup();
        let mut along = Vec::with_capacity(points.len());
        let (mut length, mut twice_area) = (0.0, 0.0);
        for (i, point) in points.iter().enumerate() {
            if i > 0 {
                length += distance(points[i - 1], *point);
                twice_area += cross(points[i - 1] - points[0], *point - points[0]);
            }
            along.push(length);
        }
        Self { points, along, length, counter_clockwise: twice_area > 0.0 }
    }

    /// Point at a distance from the start; distances wrap round.
    fn at(&self, s: f64) -> Coord<f64> {
        let s = s.rem_euclid(self.length);
        let next = self.along.partition_point(|l| *l <= s).clamp(1, self.points.len() - 1);
        let (a, b) = (self.points[next - 1], self.points[next]);
        let (from, to) = (self.along[next - 1], self.along[next]);
        let share = if to > from { (s - from) / (to - from) } else { 0.0 };
        a + (b - a) * share.clamp(0.0, 1.0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use geo::polygon;

    /// Outer square 10 mm, hole 4 mm, both ways round: the normals always point into the area.
    #[test]
    fn normals_point_into_the_area_however_the_rings_run() {
        let square = polygon!(
            exterior: [(x: 0., y: 0.), (x: 10., y: 0.), (x: 10., y: 10.), (x: 0., y: 10.)],
            interiors: [[(x: 3., y: 3.), (x: 7., y: 3.), (x: 7., y: 7.), (x: 3., y: 7.)]],
        );
        let mut turned = square.clone();
        turned.exterior_mut(|ring| ring.0.reverse());
        turned.interiors_mut(|rings| rings[0].0.reverse());
        for area in [square, turned] {
            let rings = sample_rings(&MultiPolygon(vec![area]));
            assert_eq!(rings.iter().map(Vec::len).collect::<Vec<_>>(), [80, 32]);
            let centre = Coord { x: 5.0, y: 5.0 };
            for (ring, towards_centre) in rings.iter().zip([true, false]) {
                for point in ring {
                    let inward = point.at + point.inward * 0.1;
                    assert_eq!(
                        distance(inward, centre) < distance(point.at, centre),
                        towards_centre
                    );
                }
            }
        }
    }

    #[test]
    fn nothing_and_specks_have_no_samples() {
        assert!(sample_rings(&MultiPolygon(vec![])).is_empty());
        let speck = polygon![(x: 0., y: 0.), (x: 0.1, y: 0.), (x: 0.1, y: 0.1)];
        assert!(sample_rings(&MultiPolygon(vec![speck])).iter().all(Vec::is_empty));
    }
}
