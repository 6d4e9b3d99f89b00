//! Plane vectors: the few operations that `geo` leaves to its users.

use geo::Coord;

pub fn dot(a: Coord<f64>, b: Coord<f64>) -> f64 {
    a.x * b.x + a.y * b.y
}

/// z of the cross product: positive where `b` lies to the left of `a`.
pub fn cross(a: Coord<f64>, b: Coord<f64>) -> f64 {
    a.x * b.y - a.y * b.x
}

/// Length. Lengths in mm are far from where a plain root overflows, and it is several times faster
/// than `hypot`.
pub fn norm(a: Coord<f64>) -> f64 {
    dot(a, a).sqrt()
}

pub fn distance(a: Coord<f64>, b: Coord<f64>) -> f64 {
    norm(b - a)
}

/// Unit vector, or zero for a zero vector.
pub fn unit(a: Coord<f64>) -> Coord<f64> {
    let length = norm(a);
    if length > 0.0 { a / length } else { a }
}

pub fn middle(a: Coord<f64>, b: Coord<f64>) -> Coord<f64> {
    (a + b) / 2.0
}

/// Turned by +90°.
pub fn left_of(a: Coord<f64>) -> Coord<f64> {
    Coord { x: -a.y, y: a.x }
}

/// Direction of a line, degrees in [0, 180).
pub fn line_angle(a: Coord<f64>) -> f64 {
    let angle = a.y.atan2(a.x).to_degrees().rem_euclid(180.0);
    // rem_euclid can round up to the modulus itself
    if angle >= 180.0 { 0.0 } else { angle }
}

/// Unit vector of a line direction in degrees.
pub fn direction(angle_deg: f64) -> Coord<f64> {
    let (y, x) = angle_deg.to_radians().sin_cos();
    Coord { x, y }
}

/// Angle between two line directions, degrees in [0, 90].
pub fn between_lines(a_deg: f64, b_deg: f64) -> f64 {
    let difference = (a_deg - b_deg).rem_euclid(180.0);
    difference.min(180.0 - difference)
}

/// Change of heading from `a` to `b`, degrees in (−180, 180], left positive.
pub fn turn(a: Coord<f64>, b: Coord<f64>) -> f64 {
    cross(a, b).atan2(dot(a, b)).to_degrees()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn angles_of_known_lines() {
        let c = |x, y| Coord { x, y };
        assert_eq!(line_angle(c(1.0, 0.0)), 0.0);
        assert_eq!(line_angle(c(-1.0, 0.0)), 0.0);
        assert!((line_angle(c(0.0, -2.0)) - 90.0).abs() < 1e-12);
        assert!((between_lines(175.0, 5.0) - 10.0).abs() < 1e-12);
        assert!((turn(c(1.0, 0.0), c(0.0, 1.0)) - 90.0).abs() < 1e-12);
        assert!((turn(c(1.0, 0.0), c(-1.0, 0.0)).abs() - 180.0).abs() < 1e-12);
    }
}
