//! Guard: a short zigzag under a junction, sewn before both neighbours.

use super::super::segment::ReadStretch;
use super::super::weave::{Weave, median};
use super::facts::{self, Stitch};
use super::{NEVER, Scene};
use crate::geometry::vector::{left_of, unit};

pub const BEGIN: f64 = 0.4;
/// A stitch of a weave that is a guard.
const STITCH: f64 = 0.02;
/// Share of the sweeps that must lie under one top.
const UNDER: f64 = 0.8;
/// Guard stitches are no longer than this under a fill, and lie no deeper, mm.
const LENGTH_MAX: f64 = 3.4;
const DEPTH_MAX: f64 = 1.7;
/// In a column they lie this far off the middle, as a share of its width.
const OFF_MIDDLE: f64 = 0.22;
/// Share of sweeps with several stitches from which there are rows.
const ROWS: f64 = 0.3;
/// How far a column can reach across, mm.
const FAR: f64 = 30.0;

pub fn price(stitch: &Stitch) -> f64 {
    match stitch.weave {
        Some(weave) if weave.guard => STITCH,
        _ => NEVER,
    }
}

/// Does an open weave follow the edge of its cover, rather than span it, or lie under tops of other
/// stops?
pub fn is_guard(scene: Scene, stretch: &ReadStretch, weave: &Weave) -> bool {
    if weave.rows_share() > ROWS {
        return false;
    }
    let count = weave.sweeps.len() as f64;
    match facts::over_weave(scene, stretch, weave) {
        (Some((top, under)), _) if under as f64 >= UNDER * count => {
            follows_edge(scene, stretch, weave, top)
        }
        (_, hidden) => hidden as f64 >= UNDER * count,
    }
}

fn follows_edge(scene: Scene, stretch: &ReadStretch, weave: &Weave, top: usize) -> bool {
    let track = &stretch.track;
    if scene.is_fill(top) {
        let mut lengths: Vec<f64> = weave.sweeps.iter().map(|s| s.length(track)).collect();
        return median(&mut lengths) <= LENGTH_MAX
            && facts::depth_of(scene, stretch, weave, top) <= DEPTH_MAX;
    }
    // Zigzag underlay lies in the middle of its column, seen square to the way that it goes: its
    // stitches slant.
    let middles: Vec<_> = weave.sweeps.iter().map(|sweep| sweep.middle(track)).collect();
    let locator = scene.tops[top].footprint.locator();
    let share = |m: &[geo::Coord<f64>]| {
        let square = left_of(unit(m[2] - m[0]));
        let left = *locator.hits(m[1], square, FAR).first()?;
        let right = *locator.hits(m[1], square * -1.0, FAR).first()?;
        (left + right > 0.0).then(|| (right / (left + right) - 0.5).abs())
    };
    let mut off: Vec<f64> = middles.windows(3).filter_map(share).collect();
    !off.is_empty() && median(&mut off) > OFF_MIDDLE
}
