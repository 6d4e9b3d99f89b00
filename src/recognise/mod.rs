//! From needle points to objects.
//!
//! Each stretch is cut into sweeps ([`track`]), sweeps that go back and forth side by side become
//! weaves ([`weave`]), dense weaves are read as satins ([`satin`]) or fills ([`fill`]), and what
//! is left is judged by what is sewn over it later ([`labels`]). [`build`] puts the pieces together
//! as objects, each owning one span of the tape; [`held`] marks appliqué and foam.

mod build;
mod fill;
mod held;
mod labels;
mod open;
mod rows;
mod satin;
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
use segment::{Kind, ReadStretch, read_stretch};

/// Recognises every object of a design. The objects' needles, in order, are exactly the design's
/// penetrations; what is not understood is an object of class `Unsure`.
pub fn recognise(design: &Design, settings: &Settings) -> Objects {
    let mut stretches: Vec<ReadStretch> =
        design.stretches.par_iter().map(|stretch| read_stretch(design, stretch)).collect();
    sections::adopt(&mut stretches);
    let mut tops = tops::collect(&stretches);
    let cover = tops::Cover::new(&tops);
    let opened = open::become_tops(&mut stretches, &cover);
    if covered_runs(&mut stretches, &tops, &cover) || opened {
        tops = tops::collect(&stretches);
    }
    if open::drop_visible_turns(&mut stretches, &tops::Cover::new(&tops)) {
        // Segments have new numbers.
        tops = tops::collect(&stretches);
    }
    let mut objects = build::build(design, &stretches, &tops, settings);
    held::mark(&mut objects, settings);
    objects
}

/// A few runs side by side look like rows: where the next top of their stop lies over nearly all
/// of them they are its underlay. Says whether there are any.
fn covered_runs(stretches: &mut [ReadStretch], tops: &[tops::Top], cover: &tops::Cover) -> bool {
    const FEW: usize = 8;
    const COVERED: f64 = 0.9;
    let mut found = Vec::new();
    for (s, stretch) in stretches.iter().enumerate() {
        for (g, segment) in stretch.segments.iter().enumerate() {
            let (Kind::Fill(_), Some(weave)) = (&segment.kind, &segment.weave) else { continue };
            if weave.sweeps.len() > FEW {
                continue;
            }
            let after = stretch.track.index[segment.points.1];
            let own = tops.iter().position(|top| top.sections.contains(&(s, g)));
            let Some(next) = own.map(|own| own + 1) else { continue };
            let lies_under = |at| cover.later(at, after, 0.0).contains(&next);
            let same_stop = tops.get(next).is_some_and(|top| top.stop == stretch.stop);
            let under =
                weave.sweeps.iter().filter(|s| lies_under(s.middle(&stretch.track))).count();
            if same_stop && under as f64 >= COVERED * weave.sweeps.len() as f64 {
                found.push((s, g));
            }
        }
    }
    let any = !found.is_empty();
    for (s, g) in found {
        stretches[s].segments[g].kind = Kind::Line;
    }
    any
}
