//! Columns that are thinner than they may be.

use super::seam::thin_upright;
use crate::garment::Numbers;
use crate::objects::Object;
use crate::settings::Settings;

/// Needle points are rounded by up to half a point at each end, mm.
pub const ROUNDING_MM: f64 = 0.1;

/// Rounding its edges outward adds this to a widened column, mm.
pub const ROUNDED_OUT_MM: f64 = 0.1;

/// A column that is too thin.
#[derive(Clone, Debug, PartialEq)]
pub struct Thin {
    /// Its width now, and the one that it should have, mm.
    pub width: f64,
    pub wanted: f64,
    /// It is so for the place where it stands.
    pub on_seam: bool,
    /// Name of the limit among the garment's numbers.
    pub limit: &'static str,
}

impl Thin {
    /// Does the look bear it to be so much wider as it should, rounding counted in?
    pub fn is_borne(&self, numbers: &Numbers) -> bool {
        self.wanted - self.width + ROUNDED_OUT_MM <= numbers.widen_max_mm + ROUNDING_MM / 4.0
    }
}

/// Is an object a column too thin to sew, or to stand on the seam?
pub fn too_thin(object: &Object, settings: &Settings) -> Option<Thin> {
    let numbers = &settings.profile.numbers;
    let on_seam = settings.seam_x().and_then(|seam| thin_upright(object, seam, numbers));
    if let Some((width, _)) = on_seam {
        let (wanted, limit) = (numbers.seam_thin_width_mm, "seam_thin_width_mm");
        return Some(Thin { width, wanted, on_seam: true, limit });
    }
    let width = object.satin()?.width[1];
    let (wanted, limit) = (numbers.satin_width_fault_mm, "satin_width_fault_mm");
    (width < wanted - ROUNDING_MM).then_some(Thin { width, wanted, on_seam: false, limit })
}
