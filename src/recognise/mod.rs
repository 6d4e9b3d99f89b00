//! From needle points to objects.
//!
//! Each stretch is cut into sweeps ([`track`]), sweeps that go back and forth side by side become
//! weaves ([`weave`]), dense weaves are read as satins ([`satin`]) or fills ([`fill`]). What lies on
//! the lines of a fill's rows ([`grid`]) or goes on beside them is a part of it ([`parts`], [`bent`],
//! [`sections`]), whatever it looks like alone. What is left is judged by what is sewn over it later
//! ([`labels`]). [`build`] puts the pieces together as objects, each owning one span of the tape;
//! [`held`] marks appliqué and foam.

mod bent;
mod build;
mod covered;
mod fill;
mod grid;
mod held;
mod labels;
mod open;
mod parts;
mod rows;
mod satin;
mod seams;
mod sections;
mod segment;
mod tip;
mod tops;
mod track;
mod weave;

use rayon::prelude::*;

use crate::design::Design;
use crate::objects::Objects;
use crate::settings::Settings;
use segment::{ReadStretch, read_stretch};

/// Recognises every object of a design. The objects' needles, in order, are exactly the design's
/// penetrations; what is not understood is an object of class `Unsure`.
pub fn recognise(design: &Design, settings: &Settings) -> Objects {
    let mut stretches: Vec<ReadStretch> =
        design.stretches.par_iter().map(|stretch| read_stretch(design, stretch)).collect();
    sections::adopt(&mut stretches);
    let mut tops = tops::collect(&stretches);
    if open::become_tops(&mut stretches, &tops::Cover::new(&tops)) {
        sections::adopt(&mut stretches);
        // Segments may have new numbers.
        tops = tops::collect(&stretches);
    }
    if sections::drop_lone_rows(&mut stretches, &tops) {
        tops = tops::collect(&stretches);
    }
    if covered::become_underlay(&mut stretches, &tops, &tops::Cover::new(&tops)) {
        tops = tops::collect(&stretches);
        // What was a section of one of those may be alone now.
        if sections::drop_lone_rows(&mut stretches, &tops) {
            tops = tops::collect(&stretches);
        }
    }
    let cover = tops::Cover::new(&tops);

    let mut objects = if open::drop_visible_turns(&mut stretches, &cover) {
        // Segments have new numbers.
        let tops = tops::collect(&stretches);
        build::build(design, &stretches, &tops, &tops::Cover::new(&tops), settings)
    } else {
        build::build(design, &stretches, &tops, &cover, settings)
    };
    held::mark(&mut objects, settings);
    objects
}
