use geo::Coord;

use crate::geometry::vector;

/// A needle position in points (0.1 mm), absolute; x to the right, y away from the brim.
#[derive(
    Clone,
    Copy,
    Debug,
    Default,
    PartialEq,
    Eq,
    PartialOrd,
    Ord,
    Hash,
    serde::Serialize,
    serde::Deserialize,
)]
pub struct Pt {
    pub x: i32,
    pub y: i32,
}

impl Pt {
    pub const fn new(x: i32, y: i32) -> Self {
        Self { x, y }
    }

    /// Position in mm.
    pub fn mm(self) -> Coord<f64> {
        Coord { x: f64::from(self.x) / 10.0, y: f64::from(self.y) / 10.0 }
    }

    /// The needle point nearest to a position in mm. Non-finite or huge input saturates.
    pub fn from_mm(at: Coord<f64>) -> Self {
        Self { x: (at.x * 10.0).round() as i32, y: (at.y * 10.0).round() as i32 }
    }

    /// Distance in mm.
    pub fn distance(self, other: Self) -> f64 {
        vector::distance(self.mm(), other.mm())
    }
}

impl std::ops::Add for Pt {
    type Output = Self;
    fn add(self, rhs: Self) -> Self {
        Self::new(self.x + rhs.x, self.y + rhs.y)
    }
}

impl std::ops::Sub for Pt {
    type Output = Self;
    fn sub(self, rhs: Self) -> Self {
        Self::new(self.x - rhs.x, self.y - rhs.y)
    }
}
