//! Trims and untrimmed jumps.

use super::scene::{Measured, Scene};
use super::{Finding, Kind, Severity};
use crate::design::Link;
use crate::report::words::count;
use crate::settings::PassName;

pub fn find(scene: &Scene) -> Vec<Finding> {
    let mut findings = Vec::new();
    findings.extend(trims(scene));
    findings.extend(jumps(scene));
    findings.extend(loose(scene));
    findings
}

fn trims(scene: &Scene) -> Option<Finding> {
    let design = scene.design;
    let at: Vec<_> = (1..design.points.len()).filter(|i| design.links[*i] == Link::Trim).collect();
    let per_thousand = at.len() as f64 * 1000.0 / design.points.len().max(1) as f64;
    (per_thousand > scene.numbers().trims_per_1000).then(|| {
        scene.finding(
            (Kind::ManyTrims, Severity::Advice),
            &[],
            scene.place_of(at.iter().map(|i| design.points[*i].mm())),
            &Measured { value: per_thousand, limit: "trims_per_1000", unit: "trims" },
            None,
            format!("{}, {per_thousand:.1} in 1,000 stitches", count(at.len(), "trim")),
        )
    })
}

fn loose(scene: &Scene) -> Option<Finding> {
    let design = scene.design;
    let runs = &design.loose;
    (!runs.is_empty()).then(|| {
        let longest = runs.iter().map(|i| design.records[*i as usize].len()).max().unwrap_or(0);
        scene.finding(
            (Kind::LooseJumps, Severity::Advice),
            &[],
            scene.place_of(runs.iter().map(|i| design.points[*i as usize].mm())),
            &Measured { value: runs.len() as f64, limit: "link_jump_max_mm", unit: "runs" },
            Some(PassName::JumpRuns),
            format!(
                "{} of jumps with more records than the way needs, up to {longest}",
                count(runs.len(), "run")
            ),
        )
    })
}

fn jumps(scene: &Scene) -> Option<Finding> {
    let design = scene.design;
    let limit = scene.numbers().link_jump_max_mm;
    let long: Vec<(usize, f64)> = (1..design.points.len())
        .filter(|i| design.links[*i] == Link::Jump)
        .map(|i| (i, design.points[i - 1].distance(design.points[i])))
        .filter(|(_, length)| *length > limit)
        .collect();
    let longest = long.iter().map(|(_, length)| *length).fold(0.0, f64::max);
    (!long.is_empty()).then(|| {
        scene.finding(
            (Kind::LongJump, Severity::Advice),
            &[],
            scene.place_of(long.iter().map(|(i, _)| design.points[*i].mm())),
            &Measured { value: longest, limit: "link_jump_max_mm", unit: "mm" },
            None,
            format!(
                "{} over {limit:.0} mm without a trim, the longest {longest:.1} mm",
                count(long.len(), "jump")
            ),
        )
    })
}
