//! Judges what would be written against the original: what machines bear, what can be seen, and
//! how it would sew. Only what is worse than before counts against a tape.

mod appearance;
mod blame;
mod kept;
mod limits;
mod quick;
mod regions;
pub mod same;
mod sew_out;
mod sewn;
#[cfg(test)]
mod tests;
mod windows;

use std::cell::OnceCell;
use std::collections::BTreeMap;

use geo::Coord;

use crate::design::Design;
use crate::objects::{ObjectId, Objects};
use crate::report::{Change, Exposure, JunctionProof, Proof, round};
use crate::settings::{PassName, Settings};
use crate::survey::Junction;
use crate::tape::Tape;

use self::blame::Blame;
use self::sewn::{Sewn, StitchIndex};

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
    /// Where it is worst, mm, if it is at one place.
    pub at: Option<Coord<f64>>,
    /// The object that lies under another where cap would show between the two.
    pub opens: Option<ObjectId>,
}

/// What the proof says of a tape that would be written.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Verdict {
    pub violations: Vec<Violation>,
    /// For each object of the tape that was read back its id in the original.
    pub names: BTreeMap<ObjectId, ObjectId>,
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

/// Judges what would be written against one original, of which it keeps what every judgement needs.
pub struct Prover<'a> {
    settings: &'a Settings,
    before: Sewn<'a>,
    // Each made once it is asked for: a sound tape is never judged.
    stitches: OnceCell<StitchIndex>,
    originals: OnceCell<same::Originals>,
    sew_out: OnceCell<sew_out::Model<'a>>,
}

impl<'a> Prover<'a> {
    pub fn new(before: Judged<'a>, settings: &'a Settings) -> Self {
        let kept: Vec<Option<u32>> = (0..before.design.stop_count()).map(Some).collect();
        let own = before.objects.items.iter().map(|object| (object.id, object.id)).collect();
        Self {
            settings,
            before: Sewn::new(before, &kept, own),
            stitches: OnceCell::new(),
            originals: OnceCell::new(),
            sew_out: OnceCell::new(),
        }
    }

    /// For each object of a tape that is read back its id in the original. `stop_order` gives for
    /// each stop the stop of the original that it was.
    pub fn names(&self, now: &Objects, stop_order: &[Option<u32>]) -> BTreeMap<ObjectId, ObjectId> {
        let originals = || same::Originals::of(self.before.judged.objects);
        self.originals.get_or_init(originals).names(now, stop_order)
    }

    /// Judges `after`, the tape that would be written, read back. Violations name objects of the
    /// original, and a pass where one of `changes` tells.
    pub fn judge(
        &mut self,
        after: Judged,
        stop_order: &[Option<u32>],
        changes: &[Change],
    ) -> Verdict {
        let names = self.names(after.objects, stop_order);
        let mut after = Sewn::new(after, stop_order, names.clone());
        let stitches = self.stitches.get_or_init(|| StitchIndex::of(&self.before));
        sewn::mark_known(&mut self.before, stitches, &mut after);
        let (before, settings) = (&self.before, self.settings);
        let blame = Blame::new(changes, before.judged.objects);
        let mut violations = limits::check(before, &after, &blame, settings);
        violations.extend(kept::check(before, &after, &blame));
        let look = appearance::compare(before, &after, &blame, settings);
        violations.extend(look.violations);
        let model = self.sew_out.get_or_init(|| sew_out::Model::of(before, settings));
        let sewn = model.compare(&after, &blame);
        violations.extend(sewn.violations);
        Verdict {
            violations,
            names,
            exposure: sewn.exposure,
            junctions: sewn.junctions,
            recoloured_mm2: look.recoloured_mm2,
            newly_covered_mm2: look.newly_covered_mm2,
        }
    }
}
