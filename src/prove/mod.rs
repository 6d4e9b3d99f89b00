//! Judges what would be written against the original: what machines bear, what can be seen, and
//! how it would sew. Only what is worse than before counts against a tape.

mod appearance;
mod blame;
mod kept;
mod limits;
mod regions;
pub mod same;
mod sew_out;
mod sewn;
#[cfg(test)]
mod tests;

use crate::design::Design;
use crate::objects::Objects;
use crate::report::{Change, Exposure, JunctionProof, Proof, round};
use crate::settings::{PassName, Settings};
use crate::survey::Junction;
use crate::tape::Tape;

use self::blame::Blame;
use self::sewn::Sewn;

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
    /// Exposed cap at each scale of the sew-out model.
    pub exposure: Vec<Exposure>,
    pub junctions: Vec<JunctionProof>,
    /// Visible area whose colour changed beyond what changes declare, mm².
    pub recoloured_mm2: f64,
    pub newly_covered_mm2: f64,
}

impl Verdict {
    /// The figures for the change log; `None` if nothing was judged.
    pub fn proof(&self, rounds: u32) -> Option<Proof> {
        (!self.exposure.is_empty()).then(|| Proof {
            draws: sew_out::DRAWS,
            exposure: self.exposure.clone(),
            junctions: self.junctions.clone(),
            recoloured_mm2: round(self.recoloured_mm2, 2),
            newly_covered_mm2: round(self.newly_covered_mm2, 2),
            rounds,
        })
    }
}

/// Judges `after` (the tape that would be written, read back) against `before`.
///
/// `stop_order` gives for each stop of `after` the stop of `before` that it was. Violations name
/// objects of `before`, and a pass where one of `changes` tells.
pub fn judge(
    before: Judged,
    after: Judged,
    stop_order: &[Option<u32>],
    changes: &[Change],
    settings: &Settings,
) -> Verdict {
    let kept: Vec<Option<u32>> = (0..before.design.stop_count()).map(Some).collect();
    let own = before.objects.items.iter().map(|object| (object.id, object.id)).collect();
    let names = same::objects(before.objects, after.objects, stop_order);
    let mut before = Sewn::new(before, &kept, own);
    let mut after = Sewn::new(after, stop_order, names);
    sewn::mark_known(&mut before, &mut after);
    let blame = Blame::new(changes, before.judged.objects);
    let mut violations = limits::check(&before, &after, &blame, settings);
    violations.extend(kept::check(&before, &after, &blame));
    let look = appearance::compare(&before, &after, &blame, settings);
    violations.extend(look.violations);
    let sewn = sew_out::compare(&before, &after, &blame, settings);
    violations.extend(sewn.violations);
    Verdict {
        violations,
        exposure: sewn.exposure,
        junctions: sewn.junctions,
        recoloured_mm2: look.recoloured_mm2,
        newly_covered_mm2: look.newly_covered_mm2,
    }
}
