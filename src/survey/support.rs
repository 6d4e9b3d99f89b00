//! Underlay that is missing: beside the edges, and across the seam.

use super::scene::{Measured, Scene};
use super::{Finding, Kind, Severity};
use crate::objects::Object;
use crate::settings::PassName;
use crate::stitch::coverage::{Coverage, is_open};

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
        edges.extend(open_fill(scene, object));
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

/// A fill so open that underlay would show: it is left without.
fn open_fill(scene: &Scene, object: &Object) -> Option<Finding> {
    let pitch = object.fill().filter(|_| !object.held)?.row_pitch;
    is_open(pitch, scene.numbers()).then(|| {
        scene.finding(
            (Kind::EdgeRunMissing, Severity::Advice),
            &[object.id],
            scene.place_of_object(object),
            &Measured { value: pitch, limit: "sew_cover_closing_mm", unit: "mm" },
            None,
            format!("{} has rows {pitch:.1} mm apart: underlay would show between them", object.id),
        )
    })
}
