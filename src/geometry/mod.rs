//! Plane geometry in mm. Only `engine` talks to the clipper and to geo's buffer.

pub mod boxes;
mod buckets;
pub mod engine;
pub mod footprint;
pub mod locate;
pub mod nearest;
pub mod neighbours;
pub mod polyline;
pub mod raster;
pub mod segments;
pub mod strips;
pub mod vector;
