//! Fast point and ray questions about one area.

use geo::{Coord, LineString, MultiPolygon};
use rstar::{AABB, Envelope, PointDistance, RTree, RTreeObject, SelectionFunction};

use super::vector::{cross, distance, dot};

/// A point this close to the boundary (mm) lies on it.
const ON_BOUNDARY_MM: f64 = 1e-9;

/// One edge of the area's boundary.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Edge {
    a: Coord<f64>,
    b: Coord<f64>,
    ring: usize,
}

impl Edge {
    fn nearest(&self, at: Coord<f64>) -> Coord<f64> {
        let along = self.b - self.a;
        let length_2 = dot(along, along);
        if length_2 == 0.0 {
            return self.a;
        }
        self.a + along * (dot(at - self.a, along) / length_2).clamp(0.0, 1.0)
    }
}

impl RTreeObject for Edge {
    type Envelope = AABB<[f64; 2]>;

    fn envelope(&self) -> Self::Envelope {
        AABB::from_corners([self.a.x, self.a.y], [self.b.x, self.b.y])
    }
}

impl PointDistance for Edge {
    fn distance_2(&self, point: &[f64; 2]) -> f64 {
        let at = Coord { x: point[0], y: point[1] };
        let away = at - self.nearest(at);
        dot(away, away)
    }
}

/// Spatial index over the boundary of one area (mm). An empty area contains nothing and is
/// infinitely far away.
///
/// The area should be well formed: no ring crosses another (what `engine` returns is). Rings with
/// a coordinate that is not finite are left out.
#[derive(Debug)]
pub struct Locator {
    edges: RTree<Edge>,
}

impl Locator {
    pub fn new(area: &MultiPolygon<f64>) -> Self {
        let rings = area.0.iter().flat_map(|polygon| {
            std::iter::once(polygon.exterior()).chain(polygon.interiors().iter())
        });
        let edges = rings.enumerate().flat_map(|(ring, line)| ring_edges(line, ring)).collect();
        Self { edges: RTree::bulk_load(edges) }
    }

    pub fn is_empty(&self) -> bool {
        self.edges.size() == 0
    }

    /// Is the point inside (even-odd rule) or on the boundary (within 1e-9 mm)?
    pub fn contains(&self, at: Coord<f64>) -> bool {
        let Some(bounds) = self.bounds_with(at) else { return false };
        let near = AABB::from_corners(
            [at.x - ON_BOUNDARY_MM, at.y - ON_BOUNDARY_MM],
            [at.x + ON_BOUNDARY_MM, at.y + ON_BOUNDARY_MM],
        );
        let on_boundary = |edge: &Edge| distance(edge.nearest(at), at) <= ON_BOUNDARY_MM;
        if self.edges.locate_in_envelope_intersecting(&near).any(on_boundary) {
            return true;
        }
        // Half-open in y, so that a ray through a vertex counts it once.
        let to_right = AABB::from_corners([at.x, at.y], [bounds.upper()[0], at.y]);
        let crossed = |edge: &&Edge| {
            (edge.a.y > at.y) != (edge.b.y > at.y) && {
                let x =
                    edge.a.x + (edge.b.x - edge.a.x) * (at.y - edge.a.y) / (edge.b.y - edge.a.y);
                x > at.x
            }
        };
        self.edges.locate_in_envelope_intersecting(&to_right).filter(crossed).count() % 2 == 1
    }

    /// Distance to the boundary in mm, from either side; infinite for an empty area.
    pub fn distance_to_edge(&self, at: Coord<f64>) -> f64 {
        self.nearest_edge(at).map_or(f64::INFINITY, |(nearest, _)| distance(nearest, at))
    }

    /// Does the point lie inside, at least `mm` away from the boundary?
    pub fn inside_by(&self, at: Coord<f64>, mm: f64) -> bool {
        self.contains(at) && self.distance_to_edge(at) >= mm - ON_BOUNDARY_MM
    }

    /// Sorted distances (mm, 0 to `max_mm`) at which a ray crosses the boundary. `unit_dir` has
    /// length 1. A ray that touches a corner or runs along an edge does not cross there; a ray
    /// that starts on the boundary and crosses it has a hit at 0.
    pub fn hits(&self, from: Coord<f64>, unit_dir: Coord<f64>, max_mm: f64) -> Vec<f64> {
        let crossing = |edge: &Edge| {
            let side_a = cross(unit_dir, edge.a - from);
            let side_b = cross(unit_dir, edge.b - from);
            // Half-open, so that a ray through a vertex counts it once.
            if (side_a > 0.0) == (side_b > 0.0) {
                return None;
            }
            let share = side_a / (side_a - side_b);
            Some(dot(unit_dir, edge.a + (edge.b - edge.a) * share - from))
        };
        self.along(from, unit_dir, max_mm, |edge, into| into.extend(crossing(edge)))
    }

    /// As `hits`, with every corner that the ray touches as well: the places where a line may
    /// change between inside and outside or begin to run along the boundary.
    pub(super) fn touches(&self, from: Coord<f64>, unit_dir: Coord<f64>, max_mm: f64) -> Vec<f64> {
        let mut found = self.hits(from, unit_dir, max_mm);
        let corners = self.along(from, unit_dir, max_mm, |edge, into| {
            // Each corner is the first point of one edge.
            if cross(unit_dir, edge.a - from).abs() <= ON_BOUNDARY_MM {
                into.push(dot(unit_dir, edge.a - from));
            }
        });
        found.extend(corners);
        found.sort_by(f64::total_cmp);
        found
    }

    /// Nearest point of the boundary and the number of its ring (rings are counted polygon by
    /// polygon, the outer ring before its holes); `None` for an empty area.
    pub fn nearest_edge(&self, at: Coord<f64>) -> Option<(Coord<f64>, usize)> {
        self.bounds_with(at)?;
        let edge = self.edges.nearest_neighbor(&[at.x, at.y])?;
        Some((edge.nearest(at), edge.ring))
    }

    /// Bounds of the area, if it is not empty and the point is a number.
    fn bounds_with(&self, at: Coord<f64>) -> Option<AABB<[f64; 2]>> {
        (!self.is_empty() && at.x.is_finite() && at.y.is_finite())
            .then(|| self.edges.root().envelope())
    }

    fn along(
        &self,
        from: Coord<f64>,
        unit_dir: Coord<f64>,
        max_mm: f64,
        mut measure: impl FnMut(&Edge, &mut Vec<f64>),
    ) -> Vec<f64> {
        let to = from + unit_dir * max_mm;
        if self.bounds_with(from).is_none() || !to.x.is_finite() || !to.y.is_finite() {
            return Vec::new();
        }
        let mut found = Vec::new();
        for edge in self.edges.locate_with_selection_function(OnRay { from, to }) {
            measure(edge, &mut found);
        }
        found.retain(|d| (-ON_BOUNDARY_MM..=max_mm + ON_BOUNDARY_MM).contains(d));
        found.iter_mut().for_each(|d| *d = d.clamp(0.0, max_mm.max(0.0)));
        found.sort_by(f64::total_cmp);
        found
    }
}

fn ring_edges(line: &LineString<f64>, ring: usize) -> impl Iterator<Item = Edge> + '_ {
    let sound = line.coords().all(|c| c.x.is_finite() && c.y.is_finite());
    line.lines()
        .map(move |l| Edge { a: l.start, b: l.end, ring })
        .filter(move |edge| sound && edge.a != edge.b)
}

/// Selects the tree nodes whose box a line segment meets: much fewer than the segment's own box
/// meets when it runs askew.
struct OnRay {
    from: Coord<f64>,
    to: Coord<f64>,
}

impl OnRay {
    fn meets(&self, bounds: &AABB<[f64; 2]>) -> bool {
        let ray = AABB::from_corners([self.from.x, self.from.y], [self.to.x, self.to.y]);
        let (low, high) = (bounds.lower(), bounds.upper());
        let grown =
            AABB::from_corners(low.map(|v| v - ON_BOUNDARY_MM), high.map(|v| v + ON_BOUNDARY_MM));
        if !grown.intersects(&ray) {
            return false;
        }
        // All four corners on one side of the line: it passes the box by.
        let along = self.to - self.from;
        let slack = ON_BOUNDARY_MM * (along.x.abs() + along.y.abs());
        let side = |x: f64, y: f64| cross(along, Coord { x, y } - self.from);
        let sides = [
            side(low[0], low[1]),
            side(high[0], low[1]),
            side(high[0], high[1]),
            side(low[0], high[1]),
        ];
        sides.iter().any(|s| *s >= -slack) && sides.iter().any(|s| *s <= slack)
    }
}

impl SelectionFunction<Edge> for OnRay {
    fn should_unpack_parent(&self, envelope: &AABB<[f64; 2]>) -> bool {
        self.meets(envelope)
    }

    fn should_unpack_leaf(&self, leaf: &Edge) -> bool {
        self.meets(&leaf.envelope())
    }
}

#[cfg(test)]
mod tests {
    use geo::{Polygon, polygon};

    use super::*;

    fn c(x: f64, y: f64) -> Coord<f64> {
        Coord { x, y }
    }

    /// A 10 mm square with a 2 mm hole in its middle.
    fn frame() -> MultiPolygon<f64> {
        MultiPolygon(vec![polygon!(
            exterior: [(x: 0., y: 0.), (x: 10., y: 0.), (x: 10., y: 10.), (x: 0., y: 10.)],
            interiors: [[(x: 4., y: 4.), (x: 4., y: 6.), (x: 6., y: 6.), (x: 6., y: 4.)]],
        )])
    }

    #[test]
    fn contains_knows_holes_corners_and_edges() {
        let locator = Locator::new(&frame());
        for inside in [c(1., 1.), c(0., 0.), c(10., 5.), c(4., 5.), c(5., 4.), c(3., 4.), c(3., 6.)]
        {
            assert!(locator.contains(inside), "{inside:?}");
        }
        for outside in [c(5., 5.), c(-0.1, 0.), c(-3., 10.), c(-1., 4.), c(11., 4.), c(5., 10.1)] {
            assert!(!locator.contains(outside), "{outside:?}");
        }
    }

    #[test]
    fn distances_to_the_boundary_are_exact() {
        let locator = Locator::new(&frame());
        assert_eq!(locator.distance_to_edge(c(1., 5.)), 1.0);
        assert_eq!(locator.distance_to_edge(c(5., 5.)), 1.0);
        assert!((locator.distance_to_edge(c(13., 14.)) - 5.0).abs() < 1e-12);
        assert!(locator.inside_by(c(2., 5.), 2.0));
        assert!(!locator.inside_by(c(2., 5.), 2.1));
        assert!(!locator.inside_by(c(5., 5.), 0.5));
    }

    #[test]
    fn nearest_edge_names_the_ring() {
        let locator = Locator::new(&frame());
        assert_eq!(locator.nearest_edge(c(3.5, 5.)), Some((c(4., 5.), 1)));
        assert_eq!(locator.nearest_edge(c(1., 5.)), Some((c(0., 5.), 0)));
    }

    #[test]
    fn rays_cross_the_boundary_in_order() {
        let locator = Locator::new(&frame());
        assert_eq!(locator.hits(c(-1., 5.), c(1., 0.), 20.0), vec![1.0, 5.0, 7.0, 11.0]);
        assert_eq!(locator.hits(c(-1., 5.), c(1., 0.), 6.0), vec![1.0, 5.0]);
        assert_eq!(locator.hits(c(0., 1.), c(1., 0.), 20.0), vec![0.0, 10.0]);
        let diagonal = std::f64::consts::FRAC_1_SQRT_2;
        let found = locator.hits(c(0., 0.), c(diagonal, diagonal), 20.0);
        let expected = [0.0, 4.0, 6.0, 10.0].map(|side: f64| side * 2f64.sqrt());
        assert_eq!(found.len(), 4, "{found:?}");
        for (found, expected) in found.iter().zip(expected) {
            assert!((found - expected).abs() < 1e-9);
        }
        // Away from the boundary, past a corner, backwards: nothing.
        assert!(locator.hits(c(-1., 5.), c(-1., 0.), 20.0).is_empty());
    }

    #[test]
    fn a_ray_through_a_corner_counts_it_once_and_a_touch_not_at_all() {
        let diamond = MultiPolygon(vec![polygon![
            (x: 0., y: -2.), (x: 2., y: 0.), (x: 0., y: 2.), (x: -2., y: 0.)
        ]]);
        let locator = Locator::new(&diamond);
        assert_eq!(locator.hits(c(-5., 0.), c(1., 0.), 20.0), vec![3.0, 7.0]);
        assert!(locator.contains(c(1., 0.)) && !locator.contains(c(-3., 0.)));
        let touched = locator.hits(c(-5., 2.), c(1., 0.), 20.0);
        assert!(touched.is_empty() || touched == vec![5.0, 5.0], "{touched:?}");
    }

    #[test]
    fn an_empty_area_is_nowhere() {
        for area in [MultiPolygon(vec![]), MultiPolygon(vec![Polygon::empty()])] {
            let locator = Locator::new(&area);
            assert!(locator.is_empty());
            assert!(!locator.contains(c(0., 0.)));
            assert_eq!(locator.distance_to_edge(c(0., 0.)), f64::INFINITY);
            assert!(!locator.inside_by(c(0., 0.), 0.0));
            assert!(locator.hits(c(0., 0.), c(1., 0.), 5.0).is_empty());
            assert_eq!(locator.nearest_edge(c(0., 0.)), None);
        }
    }

    #[test]
    fn no_number_is_no_panic() {
        let locator = Locator::new(&frame());
        let nan = c(f64::NAN, 0.);
        assert!(!locator.contains(nan));
        assert_eq!(locator.distance_to_edge(nan), f64::INFINITY);
        assert!(locator.hits(nan, c(1., 0.), 5.0).is_empty());
        assert!(locator.hits(c(0., 0.), c(1., 0.), f64::INFINITY).is_empty());
        let broken = MultiPolygon(vec![polygon![
            (x: 0., y: 0.), (x: f64::NAN, y: 1.), (x: 1., y: 1.)
        ]]);
        assert!(!Locator::new(&broken).contains(c(-5., 0.5)));
    }
}
