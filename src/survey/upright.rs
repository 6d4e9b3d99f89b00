//! Fills whose rows run along the seam: it opens them, and the ridge shows.

use super::scene::{Measured, Scene};
use super::{Finding, Kind, Severity};
use crate::geometry::vector::between_lines;
use crate::objects::Class;
use crate::settings::PassName;

pub fn find(scene: &Scene) -> Vec<Finding> {
    if scene.settings.seam_x().is_none() || !scene.wants(PassName::TurnFill) {
        return Vec::new();
    }
    let mut findings = Vec::new();
    for object in scene.objects.items.iter().filter(|o| !o.held) {
        let Some(fill) = object.fill() else { continue };
        let off = between_lines(fill.angle, 90.0);
        if off >= scene.numbers().fill_upright_within_deg {
            continue;
        }
        // A bent fill has no one direction that could be turned.
        let (severity, pass) = match object.class {
            Class::Fill => (Severity::Fault, Some(PassName::TurnFill)),
            _ => (Severity::Advice, None),
        };
        findings.push(scene.finding(
            (Kind::UprightFill, severity),
            &[object.id],
            scene.place_of_object(object),
            &Measured { value: off, limit: "fill_upright_within_deg", unit: "deg off vertical" },
            pass,
            format!("{} has rows at {:.0}°, {off:.0}° off vertical", object.id, fill.angle),
        ));
    }
    findings
}
