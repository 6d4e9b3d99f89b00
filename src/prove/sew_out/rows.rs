//! Rows that run along the seam open where they lie on it.

use geo::{Coord, Rect};

use crate::geometry::locate::Locator;
use crate::geometry::vector::between_lines;
use crate::objects::{Object, Objects};
use crate::prove::Settings;
use crate::prove::sewn::Sewn;

/// Step along the seam, mm.
const STEP_MM: f64 = 0.5;
/// Direction of the seam, degrees.
const SEAM_DEG: f64 = 90.0;

/// Rows of one tape along the seam.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Rows {
    /// Length along the seam (mm), and by how much rows overlap there as drawn (mm).
    stretches: Vec<(f64, f64)>,
    opens: f64,
}

impl Rows {
    /// Cap that shows with distortions scaled, mm².
    pub fn opened_mm2(&self, scale: f64) -> f64 {
        let open = |(length, spare): &(f64, f64)| length * (scale * self.opens - spare).max(0.0);
        self.stretches.iter().map(open).sum()
    }
}

/// Rows along the seam in one tape; none if no seam is named.
pub fn all(sewn: &Sewn, settings: &Settings) -> Rows {
    settings.seam_x().map_or_else(Rows::default, |x| along(sewn.judged.objects, x, settings))
}

fn along(objects: &Objects, x: f64, settings: &Settings) -> Rows {
    let numbers = &settings.profile.numbers;
    let on_seam = |object: &&Object| {
        object.footprint.bounding_rect().is_some_and(|rect| rect.min().x <= x && rect.max().x >= x)
    };
    let here: Vec<&Object> = objects.items.iter().filter(on_seam).collect();
    let mut stretches = Vec::new();
    for object in &here {
        let Some(fill) = object.fill() else { continue };
        if between_lines(fill.angle, SEAM_DEG) > numbers.fill_upright_within_deg {
            continue;
        }
        let others: Vec<&Locator> = here
            .iter()
            .filter(|other| other.id != object.id && other.hides)
            .map(|other| other.footprint.locator())
            .collect();
        let own = object.footprint.locator();
        let bare = |at: Coord<f64>| own.contains(at) && !others.iter().any(|o| o.contains(at));
        let Some(rect) = object.footprint.bounding_rect() else { continue };
        let steps = steps(rect).filter(|y| bare(Coord { x, y: *y })).count();
        let spare = (numbers.thread_width_mm - fill.row_pitch).max(0.0);
        stretches.push((steps as f64 * STEP_MM, spare));
    }
    Rows { stretches, opens: numbers.sew_row_open_mm }
}

fn steps(rect: Rect<f64>) -> impl Iterator<Item = f64> {
    let count = (rect.height() / STEP_MM).ceil().clamp(0.0, 1e5) as u32;
    (0..count).map(move |k| rect.min().y + (f64::from(k) + 0.5) * STEP_MM)
}
