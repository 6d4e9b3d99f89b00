//! Judges what would be written against the original.

use crate::design::Design;
use crate::objects::Objects;
use crate::report::{Change, Proof};
use crate::settings::{PassName, Settings, StopRule};
use crate::survey::Junction;
use crate::tape::Tape;

/// One tape with what was read out of it.
#[derive(Clone, Copy)]
pub struct Judged<'a> {
    pub tape: &'a Tape,
    pub design: &'a Design,
    pub objects: &'a Objects,
    pub junctions: &'a [Junction],
}

/// Something that is worse than before.
#[derive(Clone, Debug, PartialEq)]
pub struct Violation {
    /// Pass that did it, where that is known.
    pub pass: Option<PassName>,
    /// Objects of the original that it concerns; empty where none can be named.
    pub objects: Vec<u32>,
    pub words: String,
}

/// What the proof says of a tape that would be written.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Verdict {
    pub violations: Vec<Violation>,
}

impl Verdict {
    /// The figures for the change log, once the sew-out model and the visible look are measured.
    pub fn proof(&self, _rounds: u32) -> Option<Proof> {
        None
    }
}

/// A design may grow by this much, mm: hidden edges grow inwards, free row ends by less.
const GROWTH_MM: f64 = 0.3;

/// Judges `after` (the tape that would be written, read back) against `before`. Violations name
/// objects of `before`.
pub fn judge(before: Judged, after: Judged, _changes: &[Change], settings: &Settings) -> Verdict {
    let mut verdict = Verdict::default();
    let mut whole = |words: String| {
        verdict.violations.push(Violation { pass: None, objects: Vec::new(), words });
    };
    let (was, is) = (before.design, after.design);
    if was.final_position != is.final_position {
        whole("the needle would not end where it did".to_owned());
    }
    if settings.stops == StopRule::Keep && was.stop_count() != is.stop_count() {
        whole(format!("{} stops would become {}", was.stop_count(), is.stop_count()));
    }
    if let (Some(old), Some(new)) = (was.bounds_mm(), is.bounds_mm()) {
        let grown = [old[0] - new[0], old[1] - new[1], new[2] - old[2], new[3] - old[3]];
        let most = grown.into_iter().fold(0.0, f64::max);
        if most > GROWTH_MM {
            whole(format!("the design would grow by {most:.1} mm to one side"));
        }
    }
    verdict
}
