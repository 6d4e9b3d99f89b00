//! Repairs ready-made embroidery stitch tapes (DST) so that they sew well on finished caps.
//!
//! Data flows one way: bytes → [`tape`] → [`design`] → [`recognise`] → [`survey`] → [`passes`] →
//! [`prove`] → bytes. Everything between the bytes is pure: no I/O, no clock, no global state and
//! no unseeded randomness, so the same input and settings give the same bytes.
//!
//! Units: needle points are exact integers in points (0.1 mm), geometry is `f64` millimetres,
//! x to the right, y away from the brim. Angles are degrees in [0, 180), 0 = horizontal.

pub mod cli;
pub mod design;
pub mod garment;
pub mod geometry;
pub mod mend;
pub mod objects;
pub mod order;
pub mod passes;
pub mod prove;
pub mod recognise;
pub mod report;
pub mod settings;
pub mod stitch;
pub mod survey;
pub mod tape;

#[cfg(test)]
mod fixtures;
