use serde::{Deserialize, Serialize};

use super::{Design, Link};
use crate::tape::{Kind, Tape};

/// Counts and size of a tape, for reports.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct Summary {
    /// Needle penetrations.
    pub stitches: usize,
    /// Jump records, those of trims and colour changes included.
    pub jumps: usize,
    /// Places between two needle points at which the machine cuts, colour changes left out.
    pub trims: usize,
    /// Colour blocks that hold a needle point.
    pub stops: u32,
    /// Stop records on the tape.
    pub changes: usize,
    /// Box around all needle points in tape coordinates, mm: min x, min y, max x, max y.
    pub bounds_mm: [f64; 4],
}

impl Summary {
    pub fn of(tape: &Tape, design: &Design) -> Self {
        Self {
            stitches: design.points.len(),
            jumps: tape.count(Kind::Jump),
            trims: design.links.iter().skip(1).filter(|link| **link == Link::Trim).count(),
            stops: design.stop_count(),
            changes: tape.count(Kind::Stop),
            bounds_mm: design.bounds_mm().unwrap_or_default(),
        }
    }
}

impl Design {
    /// Box around all needle points, mm: min x, min y, max x, max y; `None` without any.
    pub fn bounds_mm(&self) -> Option<[f64; 4]> {
        let (xs, ys) = (|| self.points.iter().map(|p| p.x), || self.points.iter().map(|p| p.y));
        let bounds = [xs().min()?, ys().min()?, xs().max()?, ys().max()?];
        Some(bounds.map(|points| f64::from(points) / 10.0))
    }
}
