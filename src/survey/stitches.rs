//! Single stitches that are too short or too long.

use geo::Coord;

use super::scene::{Measured, Scene};
use super::{Finding, Kind, Severity};
use crate::design::Link;
use crate::objects::{Label, Object, Shape};

/// More short stitches than this share of an object make it a fault, not a detail (J).
const SHORT_SHARE: f64 = 0.1;

pub fn find(scene: &Scene) -> Vec<Finding> {
    let mut findings = Vec::new();
    findings.extend(scene.objects.items.iter().filter_map(|object| short(scene, object)));
    findings.extend(too_long(scene));
    findings
}

/// Ordinary stitches of an object that are too short. Ties are short on purpose, doubled points
/// are one hole, and the steps from row to row of a fill are as long as its row pitch.
fn short(scene: &Scene, object: &Object) -> Option<Finding> {
    let limit = scene.numbers().stitch_short_fault_mm;
    let is_fill = matches!(object.shape, Shape::Fill(_));
    let mut before: Option<Coord<f64>> = None;
    let mut places = Vec::new();
    let mut shortest = f64::INFINITY;
    let mut count = 0_usize;
    for part in &object.parts {
        for (i, needle) in part.needles.iter().enumerate() {
            let at = needle.at.mm();
            let from = before.replace(at);
            let sewn = i > 0 || part.link == Link::Sewn;
            let step = part.label == Label::Tie || is_fill && part.label == Label::Fill;
            let Some(from) = from.filter(|_| sewn && !step) else { continue };
            let length = (at - from).x.hypot((at - from).y);
            count += 1;
            if length > 1e-9 && length < limit - 1e-9 {
                shortest = shortest.min(length);
                places.push(at);
            }
        }
    }
    let share = places.len() as f64 / count.max(1) as f64;
    let severity = if share > SHORT_SHARE { Severity::Fault } else { Severity::Advice };
    (!places.is_empty()).then(|| {
        let words = match places.len() {
            1 => format!("{} has a stitch of {shortest:.1} mm", object.id),
            many => format!("{} has {many} stitches under {limit:.1} mm", object.id),
        };
        scene.finding(
            (Kind::StitchTooShort, severity),
            &[object.id],
            scene.place_of(places.iter().copied()),
            &Measured { value: shortest, limit: "stitch_short_fault_mm", unit: "mm" },
            None,
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
