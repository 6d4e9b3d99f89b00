//! Guard: a short zigzag under a junction, sewn before both neighbours.

use super::super::segment::ReadStretch;
use super::super::track::Sweep;
use super::super::weave::{Weave, median};
use super::facts::{self, Stitch};
use super::place::Place;
use super::{NEVER, Scene};

pub const BEGIN: f64 = 0.4;
/// A stitch of a weave that is a guard.
const STITCH: f64 = 0.02;
/// Share of the sweeps that must lie under one top.
const UNDER: f64 = 0.59;
/// Guard stitches are no longer than this under a fill, and lie no deeper, mm.
const LENGTH_MAX: f64 = 3.4;
const DEPTH_MAX: f64 = 2.6;
/// In a column they lie this far off the middle, as a share of its width.
const OFF_MIDDLE: f64 = 0.22;
/// Share of sweeps with several stitches from which there are rows.
const ROWS: f64 = 0.3;

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
            let at = |sweep: &Sweep| scene.places.of(top, sweep.middle(&stretch.track));
            let middle = |of: fn(Place) -> f64| {
                let mut values: Vec<f64> = weave.sweeps.iter().map(|s| of(at(s))).collect();
                median(&mut values)
            };
            if scene.is_fill(top) {
                weave.length(&stretch.track) <= LENGTH_MAX && middle(|p| p.depth) <= DEPTH_MAX
            } else {
                // Zigzag underlay lies in the middle of its column.
                middle(|p| (p.share - 0.5).abs()) > OFF_MIDDLE
            }
        }
        (_, hidden) => hidden as f64 >= UNDER * count,
    }
}
