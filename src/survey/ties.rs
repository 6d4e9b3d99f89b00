//! Ties in the middle of sewing.

use super::scene::{Measured, Scene};
use super::{Finding, Kind, Severity};
use crate::objects::Object;
use crate::settings::PassName;
use crate::stitch::spare;

/// Objects with stitches to and fro on one spot where nothing is cut.
pub fn find(scene: &Scene) -> Vec<Finding> {
    let one = |object: &Object| {
        let spots = spare::stray_ties(object);
        let at = |(p, k): &spare::Spot| object.parts[*p].needles[*k].at.mm();
        (!spots.is_empty()).then(|| {
            scene.finding(
                (Kind::StrayTie, Severity::Fault),
                &[object.id],
                scene.place_of(spots.iter().map(at)),
                &Measured { value: spots.len() as f64, limit: "tie_stitch_mm", unit: "stitches" },
                Some(PassName::StrayTies),
                format!("{} has {} stitches of ties where nothing is cut", object.id, spots.len()),
            )
        })
    };
    scene.objects.items.iter().filter_map(one).collect()
}
