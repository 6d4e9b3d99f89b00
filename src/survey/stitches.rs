//! Single stitches that are too short or too long.

use geo::Coord;

use super::scene::{Measured, Scene};
use super::{Finding, Kind, Severity};
use crate::design::Link;
use crate::objects::Object;
use crate::settings::PassName;
use crate::stitch::spare;

pub fn find(scene: &Scene) -> Vec<Finding> {
    let mut findings = Vec::new();
    findings.extend(scene.objects.items.iter().filter_map(|object| short(scene, object)));
    findings.extend(too_long(scene));
    findings
}

fn short(scene: &Scene, object: &Object) -> Option<Finding> {
    let numbers = scene.numbers();
    let limit = numbers.stitch_short_fault_mm;
    let short = spare::short_stitches(object, numbers);
    let shortest = short.shortest;
    let severity = if short.is_fault { Severity::Fault } else { Severity::Advice };
    let pass = || (!spare::short(object, numbers).is_empty()).then_some(PassName::MergeShort);
    (!short.places.is_empty()).then(|| {
        let words = match short.places.len() {
            1 => format!("{} has a stitch of {shortest:.1} mm", object.id),
            many => format!("{} has {many} stitches under {limit:.1} mm", object.id),
        };
        scene.finding(
            (Kind::StitchTooShort, severity),
            &[object.id],
            scene.place_of(short.places.iter().copied()),
            &Measured { value: shortest, limit: "stitch_short_fault_mm", unit: "mm" },
            if short.is_fault { pass() } else { None },
            words,
        )
    })
}

/// Stitches in the middle of sewing that are longer than satins may be. A long record right after
/// jumps is the landing of the jump and no stitch.
fn too_long(scene: &Scene) -> Vec<Finding> {
    let numbers = scene.numbers();
    let design = scene.design;
    let mut long: Vec<(Coord<f64>, f64)> = Vec::new();
    let mut over: Vec<(Coord<f64>, f64)> = Vec::new();
    for i in 1..design.points.len() {
        let length = design.points[i - 1].distance(design.points[i]);
        if design.links[i] != Link::Sewn || length <= numbers.satin_width_split_mm {
            continue;
        }
        let list = if length > numbers.stitch_max_mm { &mut over } else { &mut long };
        list.push((design.points[i].mm(), length));
    }
    let cases = [
        (over, Severity::Fault, "stitch_max_mm", "machines sew no stitch that long"),
        (long, Severity::Advice, "satin_width_split_mm", "they may snag"),
    ];
    let mut findings = Vec::new();
    for (list, severity, limit, why) in cases {
        let longest = list.iter().map(|(_, length)| *length).fold(0.0, f64::max);
        if list.is_empty() {
            continue;
        }
        let value = scene.settings.profile.entries.get(limit).map_or(0.0, |e| e.value);
        findings.push(scene.finding(
            (Kind::StitchTooLong, severity),
            &[],
            scene.place_of(list.iter().map(|(at, _)| *at)),
            &Measured { value: longest, limit, unit: "mm" },
            None,
            format!(
                "{} over {value:.1} mm, the longest {longest:.1} mm: {why}",
                if list.len() == 1 {
                    "1 stitch".to_owned()
                } else {
                    format!("{} stitches", list.len())
                }
            ),
        ));
    }
    findings
}
