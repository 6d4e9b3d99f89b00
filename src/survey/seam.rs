//! Thin upright detail on the seam: the ridge pushes it aside.

use geo::Coord;

use super::scene::{Measured, Scene};
use super::{Finding, Kind, Severity};
use crate::garment::Numbers;
use crate::geometry::vector::{distance, middle};
use crate::objects::{Object, Side};

/// A column this near to vertical is upright: tangent of 30° (J).
const UPRIGHT_SLOPE: f64 = 0.577;

pub fn find(scene: &Scene) -> Vec<Finding> {
    let Some(seam) = scene.settings.seam_x() else { return Vec::new() };
    let mut findings = Vec::new();
    for object in &scene.objects.items {
        let Some((width, points)) = thin_upright(object, seam, scene.numbers()) else { continue };
        findings.push(scene.finding(
            (Kind::ThinDetailOnSeam, Severity::Fault),
            &[object.id],
            scene.place_of(points.into_iter()),
            &Measured { value: width, limit: "seam_thin_width_mm", unit: "mm" },
            super::columns::pass(object, scene),
            format!("{} is an upright satin only {width:.1} mm wide on the seam", object.id),
        ));
    }
    findings
}

/// Mean width and places of the thin upright stretch of a satin near the seam, if it is as long
/// as a junction must be.
pub fn thin_upright(
    object: &Object,
    seam: f64,
    numbers: &Numbers,
) -> Option<(f64, Vec<Coord<f64>>)> {
    let satin = object.satin()?;
    let rails: Vec<_> =
        object.top().zip(&satin.sides).filter(|(_, s)| **s != Side::Inner).collect();
    let crossings: Vec<(Coord<f64>, f64)> = rails
        .windows(3)
        .filter(|w| w[0].1 == w[2].1 && w[0].1 != w[1].1)
        .map(|w| {
            let (a, b) = (middle(w[0].0.at.mm(), w[2].0.at.mm()), w[1].0.at.mm());
            (middle(a, b), distance(a, b))
        })
        .collect();
    // Column direction from crossings about a millimetre apart, so that rounding does not turn it.
    let apart = (1.0 / satin.same_side_pitch.max(0.1)).ceil() as usize;
    let mut stretch: Vec<(Coord<f64>, f64)> = Vec::new();
    for (i, &(at, width)) in crossings.iter().enumerate() {
        let from = crossings[i.saturating_sub(apart)].0;
        let to = crossings[(i + apart).min(crossings.len() - 1)].0;
        let along = to - from;
        let upright = along.x.abs() <= UPRIGHT_SLOPE * along.y.abs();
        let near = (at.x - seam).abs() - width / 2.0 <= numbers.seam_thin_within_mm;
        if upright && near && width < numbers.seam_thin_width_mm - 0.05 {
            stretch.push((at, width));
        }
    }
    let length = stretch.len() as f64 * satin.same_side_pitch / 2.0;
    let mean = stretch.iter().map(|(_, w)| w).sum::<f64>() / stretch.len().max(1) as f64;
    (length >= numbers.junction_min_length_mm)
        .then(|| (mean, stretch.into_iter().map(|(at, _)| at).collect()))
}
