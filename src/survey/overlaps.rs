//! Objects that reach too little under the next one: their pull opens a gap.

use super::scene::{Measured, Scene};
use super::thin::{lacks, short_beside};
use super::{Finding, Junction, Kind, Sample, Severity};
use crate::settings::PassName;

pub fn find(scene: &Scene) -> Vec<Finding> {
    if !scene.wants(PassName::Overlap) {
        return Vec::new();
    }
    let mut findings = Vec::new();
    for (junction, lack) in scene.junctions.iter().zip(lacks(scene.junctions, scene.settings)) {
        if lack.length > 0.0 {
            let short: Vec<&Sample> = junction
                .samples
                .iter()
                .zip(&lack.short)
                .filter(|(_, s)| **s)
                .map(|(s, _)| s)
                .collect();
            let words = format!("over {:.0} mm of edge", lack.length);
            findings.push(finding(scene, junction, &short, Severity::Fault, &words));
            continue;
        }
        findings.extend(cannot_be_mended(scene, junction));
    }
    findings
}

/// Thin overlap that no extension can help: under a cover that does not hide, under one that is
/// too narrow, or of two push sides.
fn cannot_be_mended(scene: &Scene, junction: &Junction) -> Option<Finding> {
    let numbers = scene.numbers();
    let hides = scene.objects.get(junction.over).is_some_and(|over| over.hides);
    let thin = |sample: &Sample| sample.overlap < numbers.overlap_act_below_mm;
    let push = junction.closes_itself;
    let of = |wanted: &dyn Fn(&Sample) -> bool| short_beside(junction, wanted, numbers);
    if !hides {
        let short = of(&|s| thin(s) && !push)?;
        let words = "and the stitches over it are too open to hide more";
        return Some(finding(scene, junction, &short, Severity::Fault, words));
    }
    if let Some(short) = of(&|s| thin(s) && !push && !s.can_hide) {
        let room = short.iter().map(|s| s.room).sum::<f64>() / short.len() as f64;
        let words = format!("and the cover is so narrow that it hides {room:.1} mm");
        return Some(finding(scene, junction, &short, Severity::Advice, &words));
    }
    let short = of(&|s| thin(s) && push)?;
    let words = "where both are sewn along the edge: their push closes it";
    Some(finding(scene, junction, &short, Severity::Advice, words))
}

fn finding(
    scene: &Scene,
    junction: &Junction,
    short: &[&Sample],
    severity: Severity,
    why: &str,
) -> Finding {
    let mean = short.iter().map(|s| s.overlap).sum::<f64>() / short.len().max(1) as f64;
    let least = short.iter().map(|s| s.overlap).fold(f64::INFINITY, f64::min);
    let ids = [junction.under, junction.over];
    let can_hide = short.iter().any(|s| s.room > 0.0);
    let pass = (severity == Severity::Fault && can_hide).then_some(PassName::Overlap);
    let reach = if mean < 0.0 {
        format!("{} ends {:.1} mm before {}", ids[0], -mean, ids[1])
    } else {
        format!("{} reaches {mean:.1} mm under {} (least {least:.1})", ids[0], ids[1])
    };
    scene.finding(
        (Kind::ThinOverlap, severity),
        &ids,
        scene.place_of(short.iter().map(|s| s.at)),
        &Measured { value: mean, limit: "overlap_act_below_mm", unit: "mm" },
        pass,
        format!("{reach} {why}"),
    )
}
