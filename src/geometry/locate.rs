//! Fast point and ray questions about one area.

use geo::{Coord, MultiPolygon};

use super::buckets::{Buckets, Edge};
use super::vector::{cross, distance, dot};

/// A point this close to the boundary (mm) lies on it.
const ON_BOUNDARY_MM: f64 = 1e-9;
/// Largest coordinate, mm.
const FARTHEST_MM: f64 = 1e9;

/// Spatial index over the boundary of one area (mm). An empty area contains nothing and is
/// infinitely far away.
///
/// The area should be well formed: no ring crosses another (what `engine` returns is). Rings with
/// a coordinate that is not finite or beyond 10^9 mm are left out.
#[derive(Debug)]
pub struct Locator {
    edges: Buckets,
}

impl Locator {
    pub fn new(area: &MultiPolygon<f64>) -> Self {
        let rings = area.0.iter().flat_map(|polygon| {
            std::iter::once(polygon.exterior()).chain(polygon.interiors().iter())
        });
        let sound = |c: &Coord<f64>| c.x.abs() <= FARTHEST_MM && c.y.abs() <= FARTHEST_MM;
        let edges = rings
            .enumerate()
            .filter(|(_, line)| line.coords().all(sound))
            .flat_map(|(ring, line)| line.lines().map(move |l| (l.start, l.end, ring)))
            .filter(|(a, b, _)| a != b)
            .map(|(a, b, ring)| Edge { a, b, ring })
            .collect();
        Self { edges: Buckets::new(edges) }
    }

    /// Finds distances to a line (mm). It encloses nothing: nobody may ask what lies inside.
    pub fn of_line(line: &[Coord<f64>]) -> Self {
        let edge = |ends: &[Coord<f64>]| Edge { a: ends[0], b: ends[1], ring: 0 };
        let finite = |c: &Coord<f64>| c.x.is_finite() && c.y.is_finite();
        let sound = |ends: &&[Coord<f64>]| ends.iter().all(finite);
        Self { edges: Buckets::new(line.windows(2).filter(sound).map(edge).collect()) }
    }

    pub fn is_empty(&self) -> bool {
        self.edges.is_empty()
    }

    /// Is the point inside (even-odd rule) or on the boundary (within 1e-9 mm)?
    pub fn contains(&self, at: Coord<f64>) -> bool {
        let mut odd = false;
        let mut on_boundary = false;
        let odd_beyond = self.edges.each_right_of(at, ON_BOUNDARY_MM, |edge| {
            odd ^= edge.crosses(at.y).is_some_and(|x| x > at.x);
            on_boundary = on_boundary || edge.is_within(at, ON_BOUNDARY_MM);
        });
        (odd ^ odd_beyond) || on_boundary
    }

    /// Distance to the boundary in mm, from either side; infinite for an empty area.
    pub fn distance_to_edge(&self, at: Coord<f64>) -> f64 {
        self.nearest_edge(at).map_or(f64::INFINITY, |(nearest, _)| distance(nearest, at))
    }

    /// Distance to the boundary in mm, from either side, where it is less than `most`, else `most`.
    pub fn distance_up_to(&self, at: Coord<f64>, most: f64) -> f64 {
        self.edges.nearest_within(at, most).map_or(most, |edge| distance(edge.nearest(at), at))
    }

    /// Does the point lie inside, at least `mm` away from the boundary?
    pub fn inside_by(&self, at: Coord<f64>, mm: f64) -> bool {
        self.contains(at) && !self.is_near_edge(at, mm - ON_BOUNDARY_MM)
    }

    /// Does the point lie inside or no further than `mm` outside?
    pub fn is_within(&self, at: Coord<f64>, mm: f64) -> bool {
        self.contains(at) || self.is_near_edge(at, mm + ON_BOUNDARY_MM)
    }

    /// Is the boundary nearer than `mm`, from either side?
    pub fn is_near_edge(&self, at: Coord<f64>, mm: f64) -> bool {
        self.edges.is_near(at, mm)
    }

    /// Sorted distances (mm, 0 to `max_mm`) at which a ray crosses the boundary. `unit_dir` has
    /// length 1. A ray that touches a corner or runs along an edge does not cross there; a ray
    /// that starts on the boundary and crosses it has a hit at 0.
    pub fn hits(&self, from: Coord<f64>, unit_dir: Coord<f64>, max_mm: f64) -> Vec<f64> {
        self.along(from, unit_dir, max_mm, |edge| {
            let side_a = cross(unit_dir, edge.a - from);
            let side_b = cross(unit_dir, edge.b - from);
            // Half-open, so that a ray through a vertex counts it once.
            ((side_a > 0.0) != (side_b > 0.0)).then(|| {
                let share = side_a / (side_a - side_b);
                dot(unit_dir, edge.a + (edge.b - edge.a) * share - from)
            })
        })
    }

    /// As `hits`, with every corner that the ray touches as well: the places where a line may
    /// change between inside and outside or begin to run along the boundary.
    pub(super) fn touches(&self, from: Coord<f64>, unit_dir: Coord<f64>, max_mm: f64) -> Vec<f64> {
        let mut found = self.hits(from, unit_dir, max_mm);
        let corners = self.along(from, unit_dir, max_mm, |edge| {
            // Each corner is the first point of one edge.
            let on_ray = cross(unit_dir, edge.a - from).abs() <= ON_BOUNDARY_MM;
            on_ray.then(|| dot(unit_dir, edge.a - from))
        });
        found.extend(corners);
        found.sort_by(f64::total_cmp);
        found
    }

    /// Nearest point of the boundary and the number of its ring (rings are counted polygon by
    /// polygon, the outer ring before its holes); `None` for an empty area.
    pub fn nearest_edge(&self, at: Coord<f64>) -> Option<(Coord<f64>, usize)> {
        let edge = self.edges.nearest(at)?;
        Some((edge.nearest(at), edge.ring))
    }

    fn along(
        &self,
        from: Coord<f64>,
        unit_dir: Coord<f64>,
        max_mm: f64,
        measure: impl Fn(&Edge) -> Option<f64>,
    ) -> Vec<f64> {
        let mut found: Vec<(f64, u32)> = Vec::new();
        self.edges.each_along(from, from + unit_dir * max_mm, ON_BOUNDARY_MM, |number, edge| {
            let on_way = -ON_BOUNDARY_MM..=max_mm + ON_BOUNDARY_MM;
            if let Some(d) = measure(edge).filter(|d| on_way.contains(d)) {
                found.push((d.clamp(0.0, max_mm.max(0.0)), number));
            }
        });
        found.sort_unstable_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
        found.dedup();
        found.into_iter().map(|(d, _)| d).collect()
    }
}

#[cfg(test)]
#[path = "locate_tests.rs"]
mod tests;
