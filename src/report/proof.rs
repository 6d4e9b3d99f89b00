use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::BeforeAfter;

/// Mean and 95th percentile over the draws of the sew-out model.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Spread {
    pub mean: f64,
    pub p95: f64,
}

/// Exposed cap over all junctions with the model's distortions scaled.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Exposure {
    /// 0.5, 1 or 2.
    pub scale: f64,
    /// Exposed area, mm².
    pub area_mm2: BeforeAfter<Spread>,
    /// Widest gap anywhere, mm.
    pub widest_gap_mm: BeforeAfter<Spread>,
}

/// Exposed cap at one junction, unscaled.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct JunctionProof {
    /// Object sewn first and object sewn later.
    pub under: u32,
    pub over: u32,
    pub length_mm: f64,
    pub area_mm2: BeforeAfter<Spread>,
    /// Widest gap along it, mm.
    pub widest_gap_mm: BeforeAfter<Spread>,
}

/// What the proof measured on the tape that would be written.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Proof {
    /// Draws of the sew-out model, the same random numbers before and after.
    pub draws: u32,
    pub exposure: Vec<Exposure>,
    pub junctions: Vec<JunctionProof>,
    /// Visible area whose colour changed, and area newly covered, less what changes declare, mm².
    pub recoloured_mm2: f64,
    pub newly_covered_mm2: f64,
    /// Times the whole was proved until it stood.
    pub rounds: u32,
}
