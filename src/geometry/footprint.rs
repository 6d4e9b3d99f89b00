//! The area of one object, shared between all that ask about it.

use std::ops::Deref;
use std::sync::{Arc, OnceLock};

use geo::{BoundingRect, MultiPolygon, Rect};

use super::locate::Locator;

/// An area (mm) that does not change, with what is worked out from it once it is asked for. Copies
/// share both.
#[derive(Clone, Debug)]
pub struct Footprint(Arc<Inner>);

#[derive(Debug)]
struct Inner {
    area: MultiPolygon<f64>,
    bounds: OnceLock<Option<Rect<f64>>>,
    locator: OnceLock<Locator>,
}

impl Footprint {
    /// Box around the area; `None` if it is empty.
    pub fn bounding_rect(&self) -> Option<Rect<f64>> {
        *self.0.bounds.get_or_init(|| self.0.area.bounding_rect())
    }

    pub fn locator(&self) -> &Locator {
        self.0.locator.get_or_init(|| Locator::new(&self.0.area))
    }
}

impl Deref for Footprint {
    type Target = MultiPolygon<f64>;

    fn deref(&self) -> &Self::Target {
        &self.0.area
    }
}

impl From<MultiPolygon<f64>> for Footprint {
    fn from(area: MultiPolygon<f64>) -> Self {
        Self(Arc::new(Inner { area, bounds: OnceLock::new(), locator: OnceLock::new() }))
    }
}

impl PartialEq for Footprint {
    fn eq(&self, other: &Self) -> bool {
        Arc::ptr_eq(&self.0, &other.0) || self.0.area == other.0.area
    }
}
