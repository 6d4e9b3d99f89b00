//! Satins too thin or too wide to sew well.

use super::narrow::{ROUNDING_MM, too_thin};
use super::scene::{Measured, Scene};
use super::{Finding, Kind, Severity};
use crate::objects::{Class, Object};
use crate::settings::PassName;

pub fn find(scene: &Scene) -> Vec<Finding> {
    let numbers = scene.numbers();
    let mut findings = Vec::new();
    for object in scene.objects.items.iter().filter(|o| !o.held) {
        let Some(satin) = object.satin() else { continue };
        let [_, median, widest] = satin.width;
        let whole = object.class == Class::Satin;
        let (kind, severity, value, limit, words) =
            if median < numbers.satin_width_fault_mm - ROUNDING_MM {
                let words =
                    format!("{} is {median:.1} mm wide: its needle rows cut the cloth", object.id);
                (Kind::ColumnTooThin, Severity::Fault, median, "satin_width_fault_mm", words)
            } else if whole && widest > numbers.satin_width_split_mm + ROUNDING_MM {
                let words = format!("{} is up to {widest:.1} mm wide and not split", object.id);
                (Kind::ColumnTooWide, Severity::Fault, widest, "satin_width_split_mm", words)
            } else if whole && widest > numbers.satin_width_warn_mm + ROUNDING_MM {
                let words = format!("{} is up to {widest:.1} mm wide: it may snag", object.id);
                (Kind::ColumnTooWide, Severity::Advice, widest, "satin_width_warn_mm", words)
            } else {
                continue;
            };
        findings.push(scene.finding(
            (kind, severity),
            &[object.id],
            scene.place_of_object(object),
            &Measured { value, limit, unit: "mm" },
            if kind == Kind::ColumnTooThin { pass(object, scene) } else { None },
            words,
        ));
    }
    findings
}

/// The pass that widens a column, where what it lacks is so little that the look bears it.
pub fn pass(object: &Object, scene: &Scene) -> Option<PassName> {
    let thin = too_thin(object, scene.settings)?;
    (thin.is_borne(scene.numbers()) && object.class == Class::Satin && !object.held)
        .then_some(PassName::WidenThin)
}
