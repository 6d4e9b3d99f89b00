//! Areas bounded by matched places on two edges: a satin's rails, the ends of a fill's rows.

use geo::{Coord, LineString, Polygon};

/// Polygons between `ends` in pieces of `piece` intervals; neighbouring pieces share a crossing.
pub fn strips(ends: &[(Coord<f64>, Coord<f64>)], piece: usize) -> Vec<Polygon<f64>> {
    let mut polygons = Vec::new();
    let mut start = 0;
    while start + 1 < ends.len() {
        let stop = (start + piece).min(ends.len() - 1);
        let there = ends[start..=stop].iter().map(|e| e.0);
        let back = ends[start..=stop].iter().rev().map(|e| e.1);
        polygons.push(Polygon::new(LineString::new(there.chain(back).collect()), Vec::new()));
        start = stop;
    }
    polygons
}
