//! Areas as truth files give them: polygons of rings, the first outside, mm.

use geo::{Area, BooleanOps, LineString, MultiPolygon, Polygon};

pub type Outline = Vec<Vec<Vec<[f64; 2]>>>;

pub fn area(outline: &Outline) -> MultiPolygon<f64> {
    let ring =
        |r: &Vec<[f64; 2]>| LineString::from(r.iter().map(|c| (c[0], c[1])).collect::<Vec<_>>());
    let polygon = |rings: &Vec<Vec<[f64; 2]>>| {
        Polygon::new(ring(&rings[0]), rings[1..].iter().map(ring).collect())
    };
    MultiPolygon(outline.iter().filter(|rings| !rings.is_empty()).map(polygon).collect())
}

/// Intersection over union; 0 for two empty areas.
pub fn overlap(a: &MultiPolygon<f64>, b: &MultiPolygon<f64>) -> f64 {
    let shared = a.intersection(b).unsigned_area();
    shared / (a.unsigned_area() + b.unsigned_area() - shared).max(f64::MIN_POSITIVE)
}
