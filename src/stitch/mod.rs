//! Stitch generators: run, satin, zigzag, fill, tie; travel routing. Pure geometry in mm; callers
//! round to needle points.

pub mod column;
pub mod column_under;
pub mod coverage;
pub mod fill;
pub mod route;
pub mod run;
pub mod sections;
pub mod spare;
pub mod tie;
pub mod tour;
pub mod underlay;
pub mod zigzag;

use geo::Coord;

use crate::geometry::polyline::without_repeats;

/// A path without repeated positions.
fn tidy(path: Vec<Coord<f64>>) -> Vec<Coord<f64>> {
    without_repeats(&path)
}
