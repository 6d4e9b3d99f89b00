use geo::Coord;

use crate::objects::{ObjectId, Objects};
use crate::settings::Settings;

/// What an object's stitches do at an edge.
#[derive(
    Clone, Copy, Debug, PartialEq, Eq, serde::Serialize, serde::Deserialize, schemars::JsonSchema,
)]
#[serde(rename_all = "kebab-case")]
pub enum Meeting {
    /// Stitches meet the curve (within 30° of its normal): they pull away from it.
    PullEnd,
    /// Stitches run along the curve (within 30° of it): they push towards it.
    PushSide,
    Skew,
}

/// One sample of a shared curve, taken every 0.5 mm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Sample {
    /// Point on the edge of the object sewn later, mm.
    pub at: Coord<f64>,
    /// Unit normal of that edge, pointing into the later object.
    pub inward: Coord<f64>,
    /// How far the earlier object reaches under the later one along `inward`, mm; negative = gap.
    pub overlap: f64,
    /// Can the later object hide the full allowance here?
    pub can_hide: bool,
    /// Deepest reach along `inward` (mm) that stays `far margin` away from the far edge of the
    /// hiding region; 0 where nothing can be hidden.
    pub room: f64,
    /// Direction of the stitches of each object here, degrees in [0, 180).
    pub under_direction: f64,
    pub over_direction: f64,
    pub under_meeting: Meeting,
    pub over_meeting: Meeting,
}

/// Two objects whose edges run alongside each other, cut into samples along one shared curve.
#[derive(Clone, Debug, PartialEq)]
pub struct Junction {
    /// Sewn first.
    pub under: ObjectId,
    /// Sewn later.
    pub over: ObjectId,
    pub samples: Vec<Sample>,
    /// Length of the shared curve, mm.
    pub length: f64,
    /// The curve is a closed loop.
    pub closed: bool,
}

/// All junctions of a design, in a fixed order (under, over, place along the edge).
pub fn junctions(_objects: &Objects, _settings: &Settings) -> Vec<Junction> {
    Vec::new()
}
