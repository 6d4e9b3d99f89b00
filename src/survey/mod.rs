//! What will sew badly, measured and located. Changes nothing; useful on any file.

mod columns;
mod crossings;
mod crowding;
mod cuts;
mod direction;
mod edge;
mod element;
mod frame;
mod guarding;
mod holds;
mod junction;
#[cfg(test)]
mod junction_tests;
mod narrow;
mod order;
mod overlaps;
mod parent;
mod scene;
mod seam;
mod stitches;
mod support;
#[cfg(test)]
mod tests;
mod thin;
mod ties;
mod upright;

pub use edge::SAMPLE_MM;
pub use element::elements;
pub use guarding::{OPEN_MAX, UnguardedStretch, may_pull_apart, unguarded, unguarded_beyond};
pub use junction::{
    DEEPEST_MM, Junction, Meeting, Sample, junctions, junctions_among, junctions_where,
};
pub use narrow::{ROUNDED_OUT_MM, Thin, too_thin};
pub use parent::parents;
pub use thin::{Lack, lacks};

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use self::scene::Scene;
use crate::design::Design;
use crate::objects::Objects;
use crate::report::Place;
use crate::settings::{PassName, Settings};

/// Kinds of finding, named after the defect.
#[derive(
    Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, JsonSchema,
)]
#[serde(rename_all = "kebab-case")]
pub enum Kind {
    UprightFill,
    ThinOverlap,
    EdgeRunMissing,
    UnguardedCrossing,
    OutOfOrder,
    ThinDetailOnSeam,
    SeamCrossing,
    OverFrame,
    ColumnTooThin,
    ColumnTooWide,
    StitchTooShort,
    StitchTooLong,
    Crowded,
    StrayTie,
    ManyTrims,
    LongJump,
    LooseJumps,
    /// A stop that must not be moved or widened (appliqué, foam), or art turned by 180°.
    HeldStop,
    OffCentre,
}

/// How much a finding matters.
#[derive(
    Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize, JsonSchema,
)]
#[serde(rename_all = "kebab-case")]
pub enum Severity {
    /// Worth knowing; needs no repair (does not count for the exit code).
    Advice,
    /// Will sew badly.
    Fault,
}

/// One measured, located finding.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Finding {
    pub kind: Kind,
    pub severity: Severity,
    /// Objects it concerns, the one to repair first.
    pub objects: Vec<u32>,
    pub place: Place,
    /// Measured value and the limit it misses, in the unit named in `unit`.
    pub measured: f64,
    pub limit: f64,
    pub unit: String,
    /// Mark and source of the limit, e.g. `S: …title…` or `J`.
    pub source: String,
    /// Pass that would act on it, if any.
    pub pass: Option<PassName>,
    /// One plain sentence.
    pub words: String,
}

/// Everything that will sew badly, in a fixed order: by kind as below, then by sewing order.
pub fn survey(
    design: &Design,
    objects: &Objects,
    junctions: &[Junction],
    settings: &Settings,
) -> Vec<Finding> {
    let scene = Scene::new(design, objects, junctions, settings);
    let mut findings = upright::find(&scene);
    findings.extend(overlaps::find(&scene));
    findings.extend(support::find(&scene));
    findings.extend(crossings::find(&scene));
    findings.extend(order::find(&scene));
    findings.extend(seam::find(&scene));
    findings.extend(frame::size(&scene));
    findings.extend(columns::find(&scene));
    findings.extend(stitches::find(&scene));
    findings.extend(crowding::find(&scene));
    findings.extend(ties::find(&scene));
    findings.extend(cuts::find(&scene));
    findings.extend(holds::find(&scene));
    findings.extend(frame::start(&scene));
    findings
}
