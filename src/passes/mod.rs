//! The repairs, and the clean-up. Each is one plain function `(&Objects, &Settings) -> Outcome`,
//! testable on a hand-built `Objects`; passes never call each other. A new pass touches its own file and [`LIST`].

mod clean;
mod edge_run;
mod guard;
mod overlap;
mod parts;
mod relay;
mod sequence;
mod turn_fill;
mod widen_thin;

use crate::objects::Objects;
use crate::report::Change;
use crate::settings::{PassName, Settings};

/// What a pass gives back: the objects after it, and every change it made.
#[derive(Clone, Debug, PartialEq)]
pub struct Outcome {
    pub objects: Objects,
    pub changes: Vec<Change>,
    /// What the pass would have repaired but could not, in words, with the object.
    pub left: Vec<Left>,
}

/// A finding that a pass could not repair, and why.
#[derive(Clone, Debug, PartialEq, serde::Serialize, serde::Deserialize, schemars::JsonSchema)]
pub struct Left {
    pub pass: PassName,
    pub objects: Vec<u32>,
    pub reason: String,
}

/// A pass as a table row.
pub struct Pass {
    pub name: PassName,
    pub run: fn(&Objects, &Settings) -> Outcome,
}

/// The passes in running order. Fills turn first because turning changes which edges pull; the
/// overlap must be known before underlay and guards are hidden under it; order comes last because
/// the passes before it decide who lies under whom. What is cleaned up must be there first.
pub const LIST: [Pass; 10] = [
    Pass { name: PassName::TurnFill, run: turn_fill::turn_fill },
    Pass { name: PassName::WidenThin, run: widen_thin::widen_thin },
    Pass { name: PassName::Overlap, run: overlap::overlap },
    Pass { name: PassName::EdgeRun, run: edge_run::edge_run },
    Pass { name: PassName::Guard, run: guard::guard },
    Pass { name: PassName::Sequence, run: sequence::sequence },
    Pass { name: PassName::MergeShort, run: clean::merge_short::merge_short },
    Pass { name: PassName::ThinCrowded, run: clean::thin_crowded::thin_crowded },
    Pass { name: PassName::StrayTies, run: clean::stray_ties::stray_ties },
    Pass { name: PassName::JumpRuns, run: clean::jump_runs::jump_runs },
];

impl Outcome {
    /// Nothing to do.
    pub fn unchanged(objects: &Objects) -> Self {
        Self { objects: objects.clone(), changes: Vec::new(), left: Vec::new() }
    }
}
