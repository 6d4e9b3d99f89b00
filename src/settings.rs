//! What a caller may choose for one run: garment profile, passes, seam, order rule, vetoes.

use std::collections::BTreeSet;

use geo::Coord;
use serde::{Deserialize, Serialize};

use crate::design::Pt;
use crate::garment::Profile;
use crate::geometry::vector::distance;
use crate::objects::ObjectId;

/// The passes, in the order in which they run: the repairs, then the clean-up.
#[derive(
    Clone,
    Copy,
    Debug,
    PartialEq,
    Eq,
    PartialOrd,
    Ord,
    Hash,
    Serialize,
    Deserialize,
    schemars::JsonSchema,
    clap::ValueEnum,
)]
#[serde(rename_all = "kebab-case")]
pub enum PassName {
    TurnFill,
    WidenThin,
    Overlap,
    EdgeRun,
    Guard,
    Sequence,
    MergeShort,
    ThinCrowded,
    StrayTies,
    JumpRuns,
}

impl PassName {
    pub const ALL: [Self; 10] = [
        Self::TurnFill,
        Self::WidenThin,
        Self::Overlap,
        Self::EdgeRun,
        Self::Guard,
        Self::Sequence,
        Self::MergeShort,
        Self::ThinCrowded,
        Self::StrayTies,
        Self::JumpRuns,
    ];

    pub fn name(self) -> &'static str {
        match self {
            Self::TurnFill => "turn-fill",
            Self::WidenThin => "widen-thin",
            Self::Overlap => "overlap",
            Self::EdgeRun => "edge-run",
            Self::Guard => "guard",
            Self::Sequence => "sequence",
            Self::MergeShort => "merge-short",
            Self::ThinCrowded => "thin-crowded",
            Self::StrayTies => "stray-ties",
            Self::JumpRuns => "jump-runs",
        }
    }
}

/// Where the centre seam runs.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, Deserialize)]
pub enum Seam {
    /// At the start point (x = 0).
    #[default]
    Start,
    /// At this x, in mm from the start point.
    At(f64),
    /// There is none (five-panel fronts, sides, backs, flats).
    None,
}

/// How far the sewing order may change.
#[derive(
    Clone,
    Copy,
    Debug,
    Default,
    PartialEq,
    Eq,
    Serialize,
    Deserialize,
    schemars::JsonSchema,
    clap::ValueEnum,
)]
#[serde(rename_all = "kebab-case")]
pub enum StopRule {
    /// Same number of stops; an object never leaves its stop.
    #[default]
    Keep,
    /// Finish each element in all its colours; stops may be added.
    Element,
}

/// Which side of the drawn design the brim is on.
#[derive(
    Clone,
    Copy,
    Debug,
    Default,
    PartialEq,
    Eq,
    Serialize,
    Deserialize,
    schemars::JsonSchema,
    clap::ValueEnum,
)]
#[serde(rename_all = "kebab-case")]
pub enum Brim {
    #[default]
    Bottom,
    Top,
}

/// What is taken back around a place goes so far, mm (J: a fade to either side, and a thread).
const NEAR_MM: f64 = 2.5;

/// Settings of one run.
#[derive(Clone, Debug, PartialEq)]
pub struct Settings {
    pub profile: Profile,
    /// Passes to run (a subset of `PassName::ALL`; they always run in that order).
    pub passes: BTreeSet<PassName>,
    pub seam: Seam,
    pub brim: Brim,
    pub stops: StopRule,
    /// Thread colour of each stop; without it every stop is its own colour.
    pub colours: Option<Vec<String>>,
    /// Changes not to make: a person's veto or the gate's rollback.
    pub skip: BTreeSet<(PassName, ObjectId)>,
    /// Places around which a pass must leave an object as it is: the gate's rollback of a part.
    pub skip_near: Vec<(PassName, ObjectId, Pt)>,
    /// Changes to make in the other of two ways, since the first has failed: a fill turned to the other
    /// side of horizontal, rows of an extension sewn after the last row.
    pub other_way: BTreeSet<(PassName, ObjectId)>,
    /// Objects that get their full overlap, even where what they have is enough to be left alone, if a
    /// fill is turned: each with that fill.
    pub full_overlap: BTreeSet<(ObjectId, ObjectId)>,
    /// Where two ways are as good as each other and either may fail later, the second is taken.
    pub second_choices: bool,
    /// Read a damaged tape up to the damage.
    pub salvage: bool,
}

impl Settings {
    pub fn new(profile: Profile) -> Self {
        let passes = profile.passes.iter().copied().collect();
        Self {
            profile,
            passes,
            seam: Seam::default(),
            brim: Brim::default(),
            stops: StopRule::default(),
            colours: None,
            skip: BTreeSet::new(),
            skip_near: Vec::new(),
            other_way: BTreeSet::new(),
            full_overlap: BTreeSet::new(),
            second_choices: false,
            salvage: false,
        }
    }

    /// May this pass touch this object?
    pub fn allows(&self, pass: PassName, object: ObjectId) -> bool {
        !self.skip.contains(&(pass, object))
    }

    /// Does this pass do this object in its other way?
    pub fn takes_other_way(&self, pass: PassName, object: ObjectId) -> bool {
        self.other_way.contains(&(pass, object))
    }

    /// Does an object get its full overlap where it has enough to be left alone?
    pub fn gets_full_overlap(&self, object: ObjectId) -> bool {
        let mut own = self.full_overlap.iter().filter(|(under, _)| *under == object);
        own.any(|(_, turned)| self.allows(PassName::TurnFill, *turned))
    }

    /// May this pass touch this object here?
    pub fn allows_at(&self, pass: PassName, object: ObjectId, at: Coord<f64>) -> bool {
        let near = |place: &Pt| distance(place.mm(), at) <= NEAR_MM;
        !self.skip_near.iter().any(|(p, o, place)| (*p, *o) == (pass, object) && near(place))
    }

    /// x of the centre seam in mm, if there is one on this garment.
    pub fn seam_x(&self) -> Option<f64> {
        match self.seam {
            Seam::None => None,
            Seam::Start => self.profile.seam.then_some(0.0),
            Seam::At(x) => Some(x),
        }
    }

    /// Do two stops sew in the same thread colour?
    pub fn same_colour(&self, a: u32, b: u32) -> bool {
        a == b
            || self.colours.as_ref().is_some_and(|colours| {
                let colour = |stop: u32| colours.get(stop as usize);
                colour(a).is_some() && colour(a) == colour(b)
            })
    }
}
