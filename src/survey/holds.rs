//! Stops that must stay as they are.

use super::scene::{Measured, Scene};
use super::{Finding, Kind, Severity};
use crate::objects::ObjectId;

pub fn find(scene: &Scene) -> Option<Finding> {
    let held: Vec<_> = scene.objects.items.iter().filter(|o| o.held).collect();
    let ids: Vec<ObjectId> = held.iter().map(|o| o.id).collect();
    let mut stops: Vec<u32> = held.iter().map(|o| o.stop + 1).collect();
    stops.dedup();
    let list = stops.iter().map(ToString::to_string).collect::<Vec<_>>().join(", ");
    (!held.is_empty()).then(|| {
        scene.finding(
            (Kind::HeldStop, Severity::Advice),
            &ids,
            scene.place_of(held.iter().flat_map(|o| o.needles()).map(|(_, n)| n.at.mm())),
            &Measured { value: held.len() as f64, limit: "foam_pitch_mm", unit: "objects" },
            None,
            format!("appliqué or foam in stop {list}: nothing there is moved, widened or crossed"),
        )
    })
}
