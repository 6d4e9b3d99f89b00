//! The direction in which an object's stitches run at a place.

use geo::Coord;

use crate::geometry::nearest::Nearest;
use crate::geometry::vector::line_angle;
use crate::objects::{Class, Object, Shape, Side};

/// Stitch directions of one object.
pub enum Directions {
    /// The same everywhere (fills with parallel rows).
    Fixed(f64),
    /// Axis of the crossing at each needle point (satins), or of the stitches there (bent fills).
    Local(Nearest<f64>),
}

impl Directions {
    pub fn new(object: &Object) -> Self {
        match &object.shape {
            Shape::Fill(fill) if object.class == Class::Fill => Self::Fixed(fill.angle),
            Shape::Satin(satin) => {
                let on_rail = |(needle, side): (_, &Side)| (*side != Side::Inner).then_some(needle);
                let tops = object.top().map(|needle| needle.at.mm());
                Self::local(tops.zip(&satin.sides).filter_map(on_rail).collect())
            }
            _ => Self::local(object.top().map(|needle| needle.at.mm()).collect()),
        }
    }

    fn local(points: Vec<Coord<f64>>) -> Self {
        let axis = |i: usize| {
            let before = i.checked_sub(1).map(|b| points[i] - points[b]);
            let after = points.get(i + 1).map(|next| *next - points[i]);
            mean_line(before.into_iter().chain(after))
        };
        let entry = |i: usize| (points[i], line_angle(axis(i)));
        Self::Local(Nearest::new((0..points.len()).map(entry)))
    }

    /// Direction at a place, degrees in [0, 180).
    pub fn at(&self, at: Coord<f64>) -> f64 {
        match self {
            Self::Fixed(angle) => *angle,
            Self::Local(lines) => lines.of(at).map_or(0.0, |(_, line)| *line),
        }
    }
}

/// Mean of undirected lines, weighted by their length: vectors are turned to agree with the first.
fn mean_line(lines: impl Iterator<Item = Coord<f64>>) -> Coord<f64> {
    lines.fold(Coord { x: 0.0, y: 0.0 }, |sum, line| {
        let agrees = sum.x * line.x + sum.y * line.y >= 0.0;
        if agrees { sum + line } else { sum - line }
    })
}
