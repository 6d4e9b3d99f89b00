//! Underlay that is missing: beside the edges, and across the seam.

use super::scene::{Measured, Scene};
use super::{Finding, Kind, Severity};
use crate::settings::PassName;
use crate::stitch::coverage::Coverage;

pub fn find(scene: &Scene) -> Vec<Finding> {
    if !scene.wants(PassName::EdgeRun) {
        return Vec::new();
    }
    let coverage = Coverage::new(scene.objects, scene.numbers());
    let mut edges = Vec::new();
    let mut seams = Vec::new();
    for (place, object) in scene.objects.items.iter().enumerate() {
        let finding = |kind, share: f64, limit, words| {
            scene.finding(
                (kind, Severity::Fault),
                &[object.id],
                scene.place_of_object(object),
                &Measured { value: share, limit, unit: "share" },
                Some(PassName::EdgeRun),
                words,
            )
        };
        if let Some(share) = coverage.edge_run_due(object, place) {
            let words =
                format!("{} has an edge run beside {:.0} % of its edges", object.id, share * 100.0);
            edges.push(finding(Kind::EdgeRunMissing, share, "edge_run_act_below", words));
        }
        let seam = scene.settings.seam_x();
        if let Some(share) = seam.and_then(|x| coverage.seam_due(object, place, x)) {
            let words = format!(
                "{} crosses the seam with crossing underlay under {:.0} % of it",
                object.id,
                share * 100.0
            );
            seams.push(finding(Kind::SeamCrossing, share, "seam_support_share", words));
        }
    }
    edges.extend(seams);
    edges
}
