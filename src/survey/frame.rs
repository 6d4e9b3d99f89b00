//! Size of the design against the sewing field, and where its start point lies.

use super::scene::{Measured, Scene};
use super::{Finding, Kind, Severity};
use crate::geometry::boxes::bounds;
use crate::settings::{Brim, Seam};

pub fn size(scene: &Scene) -> Vec<Finding> {
    let Some(b) = bounds(scene.design.points.iter().map(|p| p.mm())) else { return Vec::new() };
    let numbers = scene.numbers();
    let directions = [
        (
            "high",
            b[3] - b[1],
            (numbers.frame_height_mm, "frame_height_mm"),
            (numbers.frame_height_warn_mm, "frame_height_warn_mm"),
        ),
        (
            "wide",
            b[2] - b[0],
            (numbers.frame_width_mm, "frame_width_mm"),
            (numbers.frame_width_warn_mm, "frame_width_warn_mm"),
        ),
    ];
    let mut findings = Vec::new();
    for (word, value, (limit, limit_name), (warn, warn_name)) in directions {
        let (severity, limit, name, words) = if value > limit {
            let words = format!("{value:.1} mm {word}, over the field of {limit:.1} mm");
            (Severity::Fault, limit, limit_name, words)
        } else {
            let words = format!("{value:.1} mm {word}; up to {warn:.1} mm sews easily");
            (Severity::Advice, warn, warn_name, words)
        };
        if value > limit {
            let measured = Measured { value, limit: name, unit: "mm" };
            let place = scene.place(b);
            findings.push(scene.finding(
                (Kind::OverFrame, severity),
                &[],
                place,
                &measured,
                None,
                words,
            ));
        }
    }
    findings
}

/// The operator lines the start point up with the seam, at the lower edge: advise where the file
/// looks as if it meant something else.
pub fn start(scene: &Scene) -> Vec<Finding> {
    if scene.settings.seam_x().is_none() || scene.settings.seam != Seam::Start {
        return Vec::new();
    }
    let Some(b) = bounds(scene.design.points.iter().map(|p| p.mm())) else { return Vec::new() };
    let middle = (b[0] + b[2]) / 2.0;
    let mut findings = Vec::new();
    let mut advise = |value: f64, words: String| {
        findings.push(scene.finding(
            (Kind::OffCentre, Severity::Advice),
            &[],
            scene.place(b),
            &Measured { value, limit: "seam_offset_advise_mm", unit: "mm" },
            None,
            words,
        ));
    };
    if middle.abs() > scene.numbers().seam_offset_advise_mm {
        let side = if middle > 0.0 { "right" } else { "left" };
        let off = middle.abs();
        advise(
            off,
            format!(
                "the seam is taken to be at the start point; the design's middle lies {off:.1} mm to the {side} of it"
            ),
        );
    }
    // The start point is the origin.
    let (above, below) = (b[3].max(0.0), (-b[1]).max(0.0));
    let upside_down = match scene.settings.brim {
        Brim::Bottom => below > above,
        Brim::Top => above > below,
    };
    if upside_down {
        advise(
            above.min(below) - above.max(below),
            "the start point lies on the side away from the brim: is the art turned by 180°?"
                .to_owned(),
        );
    }
    findings
}
