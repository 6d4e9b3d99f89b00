//! What is sewn after something that it should come before.

use super::scene::{Measured, Scene};
use super::{Finding, Kind, Severity};
use crate::objects::Object;
use crate::order::{self, Move, Reason};
use crate::report::words::count;
use crate::settings::PassName;

/// One finding for each move that the best order would make: the order is at fault only where the
/// pass would change it.
pub fn find(scene: &Scene) -> Vec<Finding> {
    if !scene.wants(PassName::Sequence) {
        return Vec::new();
    }
    let plan = order::best_order(scene.objects, scene.settings);
    plan.moves.iter().map(|m| finding(scene, m, plan.gain)).collect()
}

fn finding(scene: &Scene, moved: &Move, gain: f64) -> Finding {
    let objects: Vec<&Object> =
        moved.objects.iter().filter_map(|id| scene.objects.get(*id)).collect();
    let points = objects.iter().flat_map(|o| o.needles()).map(|(_, needle)| needle.at.mm());
    let what = match moved.stop {
        Some(stop) => format!("stop {} with {}", stop + 1, count(objects.len(), "object")),
        None => objects.first().map_or_else(String::new, |object| object.id.to_string()),
    };
    let why = match moved.reason {
        Reason::BottomUp => "it should be sewn before what lies above it",
        Reason::CentreOut => "it should be sewn before what lies further out",
        Reason::Element => "its element is left unfinished",
    };
    scene.finding(
        (Kind::OutOfOrder, Severity::Fault),
        &moved.objects,
        scene.place_of(points),
        &Measured { value: gain, limit: "order_gain_min_s", unit: "s of the order's price" },
        Some(PassName::Sequence),
        format!("{what} is sewn as number {}: {why}", moved.from + 1),
    )
}
