//! Fill junctions that pull apart with nothing beneath them.

use std::collections::BTreeMap;

use super::scene::{Measured, Scene};
use super::{Finding, Kind, Severity, unguarded};
use crate::objects::ObjectId;
use crate::settings::PassName;

pub fn find(scene: &Scene) -> Vec<Finding> {
    if !scene.wants(PassName::Guard) {
        return Vec::new();
    }
    // One finding per pair of neighbours, however many stretches.
    let mut pairs: BTreeMap<(usize, ObjectId, ObjectId), Vec<_>> = BTreeMap::new();
    for stretch in unguarded(scene.objects, scene.settings, scene.junctions) {
        let junction = &scene.junctions[stretch.junction];
        let position = scene.objects.position(junction.under).unwrap_or(usize::MAX);
        pairs.entry((position, junction.under, junction.over)).or_default().push(stretch);
    }
    let mut findings = Vec::new();
    for ((_, under, over), stretches) in pairs {
        let length: f64 = stretches.iter().map(|s| s.length).sum();
        let points = stretches.iter().flat_map(|stretch| {
            let samples = &scene.junctions[stretch.junction].samples;
            stretch.samples.clone().map(|i| samples[i % samples.len()].at)
        });
        let can_guard = stretches.iter().any(|s| s.can_guard);
        let (severity, pass, why) = if can_guard {
            (Severity::Fault, Some(PassName::Guard), "")
        } else {
            (Severity::Advice, None, "; too open to hide a guard")
        };
        findings.push(scene.finding(
            (Kind::UnguardedCrossing, severity),
            &[under, over],
            scene.place_of(points),
            &Measured { value: length, limit: "guard_min_length_mm", unit: "mm" },
            pass,
            format!(
                "{under} and {over} pull apart along {length:.0} mm with no stitches across{why}"
            ),
        ));
    }
    findings
}
