//! Boxes around things: told apart before anything dearer is asked.

use geo::{Coord, Rect};

/// Are two boxes no further apart than so many mm?
pub fn near(a: Rect<f64>, b: Rect<f64>, far: f64) -> bool {
    a.min().x <= b.max().x + far
        && b.min().x <= a.max().x + far
        && a.min().y <= b.max().y + far
        && b.min().y <= a.max().y + far
}

/// Bounding box of points: least x and y, greatest x and y.
pub fn bounds(points: impl Iterator<Item = Coord<f64>>) -> Option<[f64; 4]> {
    points.fold(None, |bounds: Option<[f64; 4]>, p| {
        let b = bounds.unwrap_or([p.x, p.y, p.x, p.y]);
        Some([b[0].min(p.x), b[1].min(p.y), b[2].max(p.x), b[3].max(p.y)])
    })
}
