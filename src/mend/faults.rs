//! Faults that a repair would bring about.

use std::collections::{BTreeMap, BTreeSet};

use crate::objects::ObjectId;
use crate::prove::{Violation, same};
use crate::report::Change;
use crate::settings::PassName;
use crate::survey::{Finding, Kind, Severity};

/// Passes that may have brought about a fault of an object, the likeliest first.
const LIKELIEST: [PassName; 6] = [
    PassName::EdgeRun,
    PassName::TurnFill,
    PassName::Overlap,
    PassName::WidenThin,
    PassName::Guard,
    PassName::Sequence,
];

/// Kinds of fault of which there are more than before, object by object; what an object had before, it
/// may keep. What a pass would repair that does not run is a matter for that pass. `names` gives for each
/// object its id in the original.
pub fn new(
    (before, after): (&[Finding], &[Finding]),
    names: &BTreeMap<ObjectId, ObjectId>,
    changes: &[Change],
    running: &BTreeSet<PassName>,
) -> Vec<Violation> {
    let had = |kind: Kind, object: u32| {
        faults(before).any(|finding| finding.kind == kind && finding.objects.contains(&object))
    };
    let count =
        |findings: &[Finding], kind: Kind| faults(findings).filter(|f| f.kind == kind).count();
    // An upright fill that was turned does not make up for a column that reads as one now: a further
    // run would turn that.
    let more = |finding: &&Finding| {
        finding.kind == Kind::UprightFill
            || count(after, finding.kind) > count(before, finding.kind)
    };
    let violation = |finding: &Finding| {
        let name = |id: &u32| names.get(&ObjectId(*id)).map(|original| original.0);
        let objects: Vec<u32> = finding.objects.iter().filter_map(name).collect();
        if objects.iter().any(|object| had(finding.kind, *object)) {
            return None;
        }
        // What nothing original is known to be, like a guard, is laid to what was done around it; so is
        // what nothing was done to: a scrap may pass for a part of its neighbour.
        let own =
            |change: &Change| change.objects.first().is_some_and(|first| objects.contains(first));
        let near = |change: &Change| is_near(finding, change);
        let likeliest = |is_guilty: &dyn Fn(&Change) -> bool| {
            let made = |pass| changes.iter().find(|c| c.pass == pass && is_guilty(c));
            LIKELIEST.into_iter().find_map(made)
        };
        let guilty = likeliest(&own).or_else(|| likeliest(&near))?;
        let words = same::rename_words(&finding.words, names);
        let words = format!("it would bring about a new fault: {words}");
        let objects = match own(guilty) {
            true => objects,
            false => guilty.objects.iter().take(1).copied().collect(),
        };
        Some(Violation { pass: Some(guilty.pass), objects, words, at: None, opens: None })
    };
    let due = |finding: &&Finding| finding.pass.is_none_or(|pass| running.contains(&pass));
    faults(after).filter(more).filter(due).filter_map(violation).collect()
}

/// Does a finding lie within the place of a change, or right beside it?
fn is_near(finding: &Finding, change: &Change) -> bool {
    /// What is made wider goes this far beyond its old place, mm (J).
    const BESIDE: f64 = 2.0;
    let [x0, y0, x1, y1] = change.place.bounds_mm;
    let [a0, b0, a1, b1] = finding.place.bounds_mm;
    let across = a0 >= x0 - BESIDE && a1 <= x1 + BESIDE;
    !finding.objects.is_empty() && across && b0 >= y0 - BESIDE && b1 <= y1 + BESIDE
}

fn faults(findings: &[Finding]) -> impl Iterator<Item = &Finding> {
    findings.iter().filter(|finding| finding.severity == Severity::Fault)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::sample;

    fn fault(kind: Kind, object: u32) -> Finding {
        Finding { severity: Severity::Fault, ..sample::finding(kind, object, None) }
    }

    fn same(count: u32) -> BTreeMap<ObjectId, ObjectId> {
        (0..count).map(|id| (ObjectId(id), ObjectId(id))).collect()
    }

    #[test]
    fn a_fault_of_an_object_that_was_changed_is_laid_to_the_change() {
        let changes = [sample::change(PassName::EdgeRun, 1, 1, 1)];
        let after = [fault(Kind::StitchTooShort, 0)];
        let object = changes[0].objects[0];
        let after = [Finding { objects: vec![object], ..after[0].clone() }];
        let all = PassName::ALL.into_iter().collect();
        let found = new((&[], &after), &same(200), &changes, &all);
        assert_eq!((found.len(), found[0].pass), (1, Some(PassName::EdgeRun)));
        // One that was there before is none.
        assert!(new((&after, &after), &same(200), &changes, &all).is_empty());
        // Nor is one where nothing was done; but one within the place of a change to another object is.
        assert!(new((&[], &after), &same(200), &[], &all).is_empty());
        let mut other = sample::change(PassName::Overlap, 1, 1, 1);
        other.objects = vec![object + 1];
        other.place.bounds_mm = [-100.0, -100.0, 100.0, 100.0];
        let found = new((&[], &after), &same(200), std::slice::from_ref(&other), &all);
        assert_eq!((found.len(), found[0].objects.as_slice()), (1, &[object + 1][..]));
        other.place.bounds_mm = [90.0, 90.0, 100.0, 100.0];
        assert!(new((&[], &after), &same(200), &[other], &all).is_empty());
    }
}
