//! Runs of jumps that hold more than they need are written anew in the file's own form.

use std::collections::BTreeSet;

use super::place;
use crate::objects::{Needle, Object, Objects};
use crate::passes::Outcome;
use crate::passes::parts::source;
use crate::report::words::count;
use crate::report::{Change, Grade};
use crate::settings::{PassName, Settings};

pub fn jump_runs(objects: &Objects, settings: &Settings) -> Outcome {
    let mut outcome = Outcome::unchanged(objects);
    let loose: BTreeSet<u32> = objects.ways.loose.iter().copied().collect();
    for object in &objects.items {
        if !object.is_open() || !settings.allows(PassName::JumpRuns, object.id) {
            continue;
        }
        let origins = object.needles().filter_map(|(_, needle)| needle.origin);
        let mut own: Vec<u32> = origins.filter(|origin| loose.contains(origin)).collect();
        own.sort_unstable();
        if !own.is_empty() {
            outcome.changes.push(change(object, &own, objects, settings));
            outcome.objects.ways.rewritten.extend(own);
        }
    }
    let rewritten: BTreeSet<u32> = outcome.objects.ways.rewritten.iter().copied().collect();
    outcome.objects.ways.loose.retain(|origin| !rewritten.contains(origin));
    outcome
}

fn change(object: &Object, runs: &[u32], objects: &Objects, settings: &Settings) -> Change {
    let is_landing = |n: &Needle| n.origin.is_some_and(|i| runs.binary_search(&i).is_ok());
    let landings = object.needles().filter(|(_, needle)| is_landing(needle));
    Change {
        id: format!("{}-{}", PassName::JumpRuns.name(), object.id),
        pass: PassName::JumpRuns,
        objects: vec![object.id.0],
        place: place(landings.map(|(_, needle)| needle.at.mm()), objects, settings),
        before: format!("{} of jumps with more than they need", count(runs.len(), "run")),
        after: "as few as the way and the file's own trims need".to_owned(),
        reason: "every jump costs the machine a turn".to_owned(),
        source: source(settings, "link_jump_max_mm"),
        stitches_added: 0,
        stitches_removed: 0,
        trims_added: 0,
        grade: Grade::Safe,
    }
}
