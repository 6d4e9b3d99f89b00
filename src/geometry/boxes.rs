//! Boxes around things: told apart before anything dearer is asked.

use geo::Rect;

/// Are two boxes no further apart than so many mm?
pub fn near(a: Rect<f64>, b: Rect<f64>, far: f64) -> bool {
    a.min().x <= b.max().x + far
        && b.min().x <= a.max().x + far
        && a.min().y <= b.max().y + far
        && b.min().y <= a.max().y + far
}
