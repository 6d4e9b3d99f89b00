use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::{Place, round};
use crate::geometry::boxes::bounds;
use crate::objects::{Class, Object};

/// One recognised object.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct ObjectLine {
    pub id: u32,
    pub class: Class,
    /// Stop it is sewn in, counted from 0.
    pub stop: u32,
    /// First and last needle point of the tape that came in, counted from 0, both included;
    /// underlay and ties with it. None where it holds new stitches only.
    pub first: Option<u32>,
    pub last: Option<u32>,
    /// 0 to 1: how well the object rebuilt from its parameters matches its stitches.
    pub confidence: f64,
    /// Belongs to an appliqué or foam stop and is left alone.
    pub held: bool,
    pub place: Place,
}

impl ObjectLine {
    /// `seam_x` and `lowest` (the design's lowest stitch) in mm.
    pub fn of(object: &Object, seam_x: f64, lowest: f64) -> Self {
        let origins = || object.needles().filter_map(|(_, needle)| needle.origin);
        Self {
            id: object.id.0,
            class: object.class,
            stop: object.stop,
            first: origins().min(),
            last: origins().max(),
            confidence: round(object.confidence, 3),
            held: object.held,
            place: Place::of_bounds(needle_bounds(object), seam_x, lowest),
        }
    }
}

/// Bounding box of the top stitching, mm (of all stitching where there is no top).
fn needle_bounds(object: &Object) -> [f64; 4] {
    let top = bounds(object.top().map(|needle| needle.at.mm()));
    let all = || bounds(object.needles().map(|(_, needle)| needle.at.mm()));
    top.or_else(all).unwrap_or_default()
}
