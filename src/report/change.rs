use geo::{BoundingRect, Coord, MultiPolygon};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use crate::geometry::boxes::bounds;
use crate::settings::PassName;

/// How far a change may be applied without asking.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Grade {
    /// Applied by default: the visible look stays.
    #[default]
    Safe,
    /// Alters what can be seen: only when asked for.
    Visible,
    /// For a person to decide.
    Advice,
}

/// Where something lies on the garment.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Place {
    /// Middle of the place, mm to the right of the seam (of the start point where there is none).
    pub x_mm: f64,
    /// Middle of the place, mm above the lowest stitch of the design.
    pub y_mm: f64,
    /// Bounding box in tape coordinates, mm: min x, min y, max x, max y.
    pub bounds_mm: [f64; 4],
}

impl Place {
    /// Place of a bounding box, given the seam and the design's lowest stitch (all mm).
    pub fn of_bounds(bounds: [f64; 4], seam_x: f64, lowest: f64) -> Self {
        let round = |value: f64| (value * 100.0).round() / 100.0;
        Self {
            x_mm: round((bounds[0] + bounds[2]) / 2.0 - seam_x),
            y_mm: round((bounds[1] + bounds[3]) / 2.0 - lowest),
            bounds_mm: bounds.map(round),
        }
    }

    /// Place of several points, mm; the default if there are none.
    pub fn of_points(points: impl Iterator<Item = Coord<f64>>, seam_x: f64, lowest: f64) -> Self {
        bounds(points).map_or_else(Self::default, |b| Self::of_bounds(b, seam_x, lowest))
    }

    pub fn of_area(area: &MultiPolygon<f64>, seam_x: f64, lowest: f64) -> Self {
        match area.bounding_rect() {
            Some(r) => {
                Self::of_bounds([r.min().x, r.min().y, r.max().x, r.max().y], seam_x, lowest)
            }
            None => Self::default(),
        }
    }
}

/// One change of one pass to one object (or to the order).
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Change {
    /// Stable within one plan: pass name and the object's number, e.g. `overlap-o3`.
    pub id: String,
    pub pass: PassName,
    /// Object that is changed first, then the neighbours it was changed for.
    pub objects: Vec<u32>,
    pub place: Place,
    /// The finding in words, with the measured value.
    pub before: String,
    /// The state aimed at, with its value.
    pub after: String,
    /// Why it matters on this garment.
    pub reason: String,
    /// Title of the source, or the mark J.
    pub source: String,
    pub stitches_added: u32,
    pub stitches_removed: u32,
    /// Trims more than before, where a new order cannot do without.
    #[serde(default)]
    pub trims_added: u32,
    pub grade: Grade,
}
