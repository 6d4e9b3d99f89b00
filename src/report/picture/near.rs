//! Which objects lie so near to each other that their tints must differ.

use geo::{BoundingRect, Coord, MultiPoint, Rect};

use super::objects::is_area;
use crate::geometry::boxes::near;
use crate::geometry::polyline::resample;
use crate::objects::Object;

/// Objects up to this far apart are neighbours, and their edges are looked at in steps of it, mm.
const NEAR_MM: f64 = 1.0;

/// For every object its neighbours among those before it.
pub fn neighbours(objects: &[Object]) -> Vec<Vec<usize>> {
    let looks: Vec<Look> = objects.iter().map(Look::of).collect();
    let before = |(index, look): (usize, &Look)| {
        let near = |other: &usize| looks[*other].is_near(look);
        (0..index).filter(near).collect()
    };
    looks.iter().enumerate().map(before).collect()
}

struct Look<'a> {
    object: &'a Object,
    bounds: Option<Rect<f64>>,
    /// Points along all edges of an area; empty for lines.
    edge: Vec<Coord<f64>>,
}

impl<'a> Look<'a> {
    fn of(object: &'a Object) -> Self {
        if !is_area(object) {
            let points = object.needles().map(|(_, needle)| geo::Point(needle.at.mm()));
            let bounds = MultiPoint(points.collect()).bounding_rect();
            return Self { object, bounds, edge: Vec::new() };
        }
        let rings = object.footprint.iter().flat_map(|polygon| {
            std::iter::once(polygon.exterior()).chain(polygon.interiors().iter())
        });
        let edge = rings.flat_map(|ring| resample(&ring.0, NEAR_MM)).collect();
        Self { object, bounds: object.footprint.bounding_rect(), edge }
    }

    /// Lines go by their boxes, areas by their edges.
    fn is_near(&self, other: &Self) -> bool {
        let (Some(a), Some(b)) = (self.bounds, other.bounds) else { return false };
        let is_line = self.edge.is_empty() || other.edge.is_empty();
        near(a, b, NEAR_MM) && (is_line || self.reaches(other) || other.reaches(self))
    }

    fn reaches(&self, other: &Self) -> bool {
        let area = other.object.footprint.locator();
        self.edge.iter().any(|at| area.is_within(*at, NEAR_MM))
    }
}
