//! The footprint after needle points have moved: the old one and the strips that were added.

use geo::{Coord, LineString, MultiPolygon, Polygon};

use super::clip::Growth;
use super::edge::Chain;
use super::edits::{Mark, Stitch};
use crate::design::Pt;
use crate::geometry::engine;
use crate::geometry::strips;
use crate::geometry::vector::distance;

/// Needle points further apart than this on an edge bound no strip, mm (J).
const NEIGHBOUR_MM: f64 = 4.5;

/// Footprint with the strips between neighbouring needle points and their new places. Short
/// stitches do not bound it.
pub fn grown(
    footprint: &MultiPolygon<f64>,
    chains: &[Chain],
    growth: &Growth,
    short: &[Vec<bool>],
) -> MultiPolygon<f64> {
    let mut pieces: Vec<Polygon<f64>> = Vec::new();
    for (c, chain) in chains.iter().enumerate() {
        let long: Vec<usize> = (0..chain.len()).filter(|i| !short[c][*i]).collect();
        let parted = |i: &usize, k: &usize| {
            growth[c][*i] <= 0.0 && growth[c][*k] <= 0.0
                || distance(chain[*i].at, chain[*k].at) > NEIGHBOUR_MM
        };
        let tip = |n: usize| on_grid(chain[n].at + chain[n].axis * growth[c][n]);
        for run in long.chunk_by(|i, k| !parted(i, k)) {
            let ends: Vec<_> = run.iter().map(|n| (chain[*n].at, tip(*n))).collect();
            pieces.extend(strips::chains(&ends));
        }
    }
    engine::union_all(&[footprint, &engine::union_positive(&pieces)])
}

/// Footprint with the strips between the ends of added rows and the needle point before them.
pub fn with_rows(
    footprint: &MultiPolygon<f64>,
    start: Coord<f64>,
    rows: &[Stitch],
) -> MultiPolygon<f64> {
    let ends = rows.iter().filter(|s| s.mark == Mark::AddedRow).map(|s| on_grid(s.at));
    let points: Vec<_> = std::iter::once(start).chain(ends).collect();
    let strips = points.windows(3).map(|p| Polygon::new(LineString(p.to_vec()), vec![]));
    engine::union(footprint.0.iter().cloned().chain(strips))
}

fn on_grid(at: Coord<f64>) -> Coord<f64> {
    Pt::from_mm(at).mm()
}
