//! Zigzags: between two rails (underlay), and across one curve (guard).

use geo::Coord;

use crate::geometry::polyline::{Measured, distance, lerp};
use crate::geometry::vector::middle;

/// Needle points that zigzag between two rails of equally many matched positions, starting on the
/// first rail; `pitch` is the same-side pitch along the middle, mm. Both ends get a needle point.
pub fn between_rails(rails: [&[Coord<f64>]; 2], pitch: f64) -> Vec<Coord<f64>> {
    let centre: Vec<_> = rails[0].iter().zip(rails[1]).map(|(a, b)| middle(*a, *b)).collect();
    if centre.len() < 2 || pitch <= 0.0 {
        return Vec::new();
    }
    let measured = Measured::new(&centre);
    let steps = (measured.length() / pitch * 2.0).round().max(1.0);
    (0..=steps as usize)
        .map(|k| {
            let along = measured.length() * k as f64 / steps;
            let (i, t) = measured.segment(along).unwrap_or((0, 0.0));
            let rail = rails[k % 2];
            lerp(rail[i], rail[i + 1], t)
        })
        .collect()
}

/// Needle points of an open zigzag across a curve: `advance` mm along it from point to point, and
/// to either side as far as `reach` says for the place (mm from the start; `true` = left side),
/// starting on the left.
pub fn across(
    curve: &[Coord<f64>],
    advance: f64,
    reach: impl Fn(f64, bool) -> f64,
) -> Vec<Coord<f64>> {
    let measured = Measured::new(curve);
    let total = measured.length();
    if curve.len() < 2 || total <= 0.0 || advance <= 0.0 {
        return Vec::new();
    }
    let steps = (total / advance).round().max(1.0) as usize;
    let mut points = Vec::with_capacity(steps + 1);
    for k in 0..=steps {
        let along = total * k as f64 / steps as f64;
        let left = k.is_multiple_of(2);
        if let (Some(at), Some(normal)) = (measured.at(along), smooth_normal(&measured, along)) {
            let by = if left { reach(along, true) } else { -reach(along, false) };
            points.push(at + normal * by);
        }
    }
    points
}

/// Normal of the curve over one mm, so that a single bent sample does not throw it.
fn smooth_normal(measured: &Measured, along: f64) -> Option<Coord<f64>> {
    let (a, b) = (measured.at(along - 0.5)?, measured.at(along + 0.5)?);
    let length = distance(a, b);
    if length < 1e-6 {
        return measured.normal(along);
    }
    Some(Coord { x: (a.y - b.y) / length, y: (b.x - a.x) / length })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn c(x: f64, y: f64) -> Coord<f64> {
        Coord { x, y }
    }

    #[test]
    fn zigzag_between_two_level_rails() {
        let rails = [[c(0.0, 2.0), c(10.0, 2.0)], [c(0.0, 0.0), c(10.0, 0.0)]];
        let points = between_rails([&rails[0], &rails[1]], 2.0);
        assert_eq!(points.len(), 11);
        for (k, at) in points.iter().enumerate() {
            assert!((at.x - k as f64).abs() < 1e-9);
            assert!((at.y - if k % 2 == 0 { 2.0 } else { 0.0 }).abs() < 1e-9);
        }
    }

    #[test]
    fn zigzag_across_a_line() {
        let points =
            across(&[c(0.0, 0.0), c(6.0, 0.0)], 1.2, |_, left| if left { 1.0 } else { 0.5 });
        assert_eq!(points.len(), 6);
        assert!((points[1].x - 1.2).abs() < 1e-9 && (points[1].y + 0.5).abs() < 1e-9);
        assert!((points[2].y - 1.0).abs() < 1e-9);
    }
}
