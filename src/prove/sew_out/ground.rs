//! What is the same for all places of a design: bottom centre, seam, what lies beneath.

use geo::{Coord, Rect};

use crate::geometry::locate::Locator;
use crate::geometry::vector::distance;
use crate::objects::{Object, Objects};
use crate::prove::Settings;
use crate::prove::sewn::Sewn;
use crate::settings::Brim;
use crate::survey::{Junction, Sample};

/// A third object covers a place if it reaches this far to both sides of the curve, mm (J: more
/// than objects move).
const BENEATH_MM: f64 = 1.0;

/// The ground that a design is sewn on.
pub struct Ground<'a> {
    pub settings: &'a Settings,
    objects: &'a Objects,
    bottom_centre: Coord<f64>,
}

impl<'a> Ground<'a> {
    pub fn of(before: &Sewn<'a>, settings: &'a Settings) -> Self {
        let objects = before.judged.objects;
        let [x0, y0, x1, y1] = before.judged.design.bounds_mm().unwrap_or_default();
        let x = settings.seam_x().unwrap_or((x0 + x1) / 2.0);
        let y = if settings.brim == Brim::Bottom { y0 } else { y1 };
        Self { settings, objects, bottom_centre: Coord { x, y } }
    }

    /// What displacements are multiplied by at a place.
    pub fn growth(&self, at: Coord<f64>) -> f64 {
        let far = self.settings.profile.numbers.sew_far_mm;
        if far > 0.0 { 1.0 + distance(at, self.bottom_centre) / far } else { 1.0 }
    }

    /// Is the seam near enough to move what is sewn here across it?
    pub fn at_seam(&self, at: Coord<f64>) -> bool {
        let zone = self.settings.profile.numbers.sew_seam_zone_mm;
        self.settings.seam_x().is_some_and(|x| (at.x - x).abs() <= zone)
    }

    /// Objects that may lie beneath a whole junction.
    pub fn thirds(&self, junction: &Junction) -> Vec<&Locator> {
        let samples = &junction.samples;
        let reaches = |rect: &Rect<f64>| {
            samples.iter().any(|s| {
                s.at.x >= rect.min().x
                    && s.at.x <= rect.max().x
                    && s.at.y >= rect.min().y
                    && s.at.y <= rect.max().y
            })
        };
        let beneath = |object: &&Object| {
            object.hides
                && object.id != junction.under
                && object.id != junction.over
                && object.footprint.bounding_rect().is_some_and(|rect| reaches(&rect))
        };
        let thirds = self.objects.items.iter().filter(beneath);
        thirds.map(|object| object.footprint.locator()).collect()
    }
}

/// Does one of the objects beneath cover a place, on both sides of the curve?
pub fn beneath(sample: &Sample, thirds: &[&Locator]) -> bool {
    let reach = sample.inward * BENEATH_MM;
    let places = [sample.at - reach, sample.at, sample.at + reach];
    thirds.iter().any(|third| places.iter().all(|at| third.contains(*at)))
}
