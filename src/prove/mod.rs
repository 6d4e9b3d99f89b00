//! Judges what would be written against the original.

use crate::design::Design;
use crate::objects::Objects;
use crate::report::{Change, Proof};
use crate::settings::{PassName, Settings};
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
    /// The figures for the change log.
    pub fn proof(&self, rounds: u32) -> Proof {
        Proof {
            draws: 0,
            exposure: Vec::new(),
            junctions: Vec::new(),
            recoloured_mm2: 0.0,
            newly_covered_mm2: 0.0,
            rounds,
        }
    }
}

/// Judges `after` (the tape that would be written, read back) against `before`. Violations name
/// objects of `before`.
pub fn judge(
    _before: Judged,
    _after: Judged,
    _changes: &[Change],
    _settings: &Settings,
) -> Verdict {
    Verdict::default()
}
