//! What every kind of finding looks at, and how findings are made out.

use geo::Coord;

use super::{Finding, Junction, Kind, Severity};
use crate::design::Design;
use crate::garment::Numbers;
use crate::objects::{Object, ObjectId, Objects};
use crate::report::{Place, round};
use crate::settings::{PassName, Settings};

/// One design under survey.
pub struct Scene<'a> {
    pub design: &'a Design,
    pub objects: &'a Objects,
    pub junctions: &'a [Junction],
    pub settings: &'a Settings,
    /// Height of the lowest needle point, mm.
    lowest: f64,
}

/// A measured value against the limit that it misses.
pub struct Measured {
    pub value: f64,
    /// Name of the limit among the garment's numbers.
    pub limit: &'static str,
    pub unit: &'static str,
}

impl<'a> Scene<'a> {
    pub fn new(
        design: &'a Design,
        objects: &'a Objects,
        junctions: &'a [Junction],
        settings: &'a Settings,
    ) -> Self {
        let lowest = design.points.iter().map(|p| p.y).min().unwrap_or(0);
        Self { design, objects, junctions, settings, lowest: f64::from(lowest) / 10.0 }
    }

    pub fn numbers(&self) -> &Numbers {
        &self.settings.profile.numbers
    }

    /// Does this garment want what the pass repairs?
    pub fn wants(&self, pass: PassName) -> bool {
        self.settings.profile.passes.contains(&pass)
    }

    pub fn place(&self, bounds: [f64; 4]) -> Place {
        Place::of_bounds(bounds, self.settings.seam_x().unwrap_or(0.0), self.lowest)
    }

    /// Place of several points; of the origin if there are none.
    pub fn place_of(&self, points: impl Iterator<Item = Coord<f64>>) -> Place {
        Place::of_points(points, self.settings.seam_x().unwrap_or(0.0), self.lowest)
    }

    pub fn place_of_object(&self, object: &Object) -> Place {
        match object.footprint.bounding_rect() {
            Some(r) => self.place([r.min().x, r.min().y, r.max().x, r.max().y]),
            None => self.place_of(object.needles().map(|(_, n)| n.at.mm())),
        }
    }

    /// A finding; the limit's value and source come from the garment.
    pub fn finding(
        &self,
        (kind, severity): (Kind, Severity),
        objects: &[ObjectId],
        place: Place,
        measured: &Measured,
        pass: Option<PassName>,
        words: String,
    ) -> Finding {
        let entry = self.settings.profile.entries.get(measured.limit);
        Finding {
            kind,
            severity,
            objects: objects.iter().map(|id| id.0).collect(),
            place,
            measured: round(measured.value, 2),
            limit: entry.map_or(0.0, |e| round(e.value, 2)),
            unit: measured.unit.to_owned(),
            source: entry.map_or_else(String::new, |e| format!("{:?}: {}", e.mark, e.source)),
            pass,
            words,
        }
    }
}
