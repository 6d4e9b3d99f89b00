//! Plans, builds and proves; takes back what fails and plans again, until a tape stands.

use super::{Analysis, BuildError};
use crate::design::assemble_linked;
use crate::objects::{ObjectId, Objects};
use crate::passes::{self, Left};
use crate::prove::{self, Verdict};
use crate::report::{Change, Undone};
use crate::settings::{PassName, Settings};
use crate::tape::{self, Salvage, Tape};

/// Times a plan is proved; after that everything is taken back.
const ROUNDS: u32 = 8;

/// The tape that stands.
pub struct Settled {
    /// None where nothing was changed.
    pub bytes: Option<Vec<u8>>,
    /// What the tape that goes out holds; None where nothing was changed.
    pub after: Option<Analysis>,
    /// For each stop of the tape that goes out the stop of the original that it was.
    pub stop_order: Vec<Option<u32>>,
    pub changes: Vec<Change>,
    pub left: Vec<Left>,
    pub undone: Vec<Undone>,
    pub verdict: Option<Verdict>,
    pub rounds: u32,
}

/// What all passes together would do.
struct Plan {
    objects: Objects,
    changes: Vec<Change>,
    left: Vec<Left>,
}

fn plan(objects: &Objects, settings: &Settings) -> Plan {
    let mut plan = Plan { objects: objects.clone(), changes: Vec::new(), left: Vec::new() };
    for pass in passes::LIST.iter().filter(|pass| settings.passes.contains(&pass.name)) {
        let outcome = (pass.run)(&plan.objects, settings);
        plan.objects = outcome.objects;
        plan.changes.extend(outcome.changes);
        plan.left.extend(outcome.left);
    }
    plan
}

/// A tape that would be written, read back.
struct Built {
    bytes: Vec<u8>,
    stop_order: Vec<Option<u32>>,
    analysis: Analysis,
    settings: Settings,
}

fn build(before: &Analysis, objects: &Objects, settings: &Settings) -> Result<Built, BuildError> {
    let link = settings.profile.numbers.link_sewn_max_mm;
    let assembled = assemble_linked(&before.tape, &before.design, objects, link)?;
    let bytes = tape::write(&assembled.tape);
    let (tape, _): (Tape, _) = tape::read(&bytes, Salvage::Refuse)?;
    let mut settings = settings.clone();
    settings.colours = settings.colours.map(|colours| {
        let colour = |stop: &Option<u32>| colours.get(stop.unwrap_or(0) as usize).cloned();
        assembled.stop_order.iter().map(|stop| colour(stop).unwrap_or_default()).collect()
    });
    settings.skip.clear();
    let analysis = Analysis::of(tape, &settings);
    Ok(Built { bytes, stop_order: assembled.stop_order, analysis, settings })
}

/// Repairs until a tape stands that the proof finds nothing against and in which a second run
/// would change nothing.
pub fn settle(before: &Analysis, settings: &Settings) -> Settled {
    let mut settings = settings.clone();
    let mut undone: Vec<Undone> = Vec::new();
    for round in 1..=ROUNDS {
        let plan = plan(&before.objects, &settings);
        if plan.changes.is_empty() {
            return unchanged(plan.left, undone, round);
        }
        let (built, verdict) = match build(before, &plan.objects, &settings) {
            Ok(built) => {
                let verdict = judge(before, &plan, &built, &settings);
                (built, verdict)
            }
            Err(error) => {
                log::error!("{error}; everything is taken back");
                break;
            }
        };
        if verdict.violations.is_empty() {
            return Settled {
                bytes: Some(built.bytes),
                after: Some(built.analysis),
                stop_order: built.stop_order,
                changes: plan.changes,
                left: plan.left,
                undone,
                verdict: Some(verdict),
                rounds: round,
            };
        }
        take_back(&plan, &verdict, &mut settings, &mut undone);
    }
    let plan = plan(&before.objects, &settings);
    undone.extend(plan.changes.iter().map(|change| Undone {
        change: change.id.clone(),
        reason: format!("no tape stood after {ROUNDS} rounds"),
    }));
    unchanged(plan.left, undone, ROUNDS)
}

fn unchanged(left: Vec<Left>, undone: Vec<Undone>, rounds: u32) -> Settled {
    Settled {
        bytes: None,
        after: None,
        stop_order: Vec::new(),
        changes: Vec::new(),
        left,
        undone,
        verdict: None,
        rounds,
    }
}

/// The proof, and what a second run would still do.
fn judge(before: &Analysis, plan: &Plan, built: &Built, settings: &Settings) -> Verdict {
    let (was, is) = (before.judged(), built.analysis.judged());
    let mut verdict = prove::judge(was, is, &plan.objects, &plan.changes, settings);
    let again = self::plan(&built.analysis.objects, &built.settings);
    for change in &again.changes {
        let objects = planned_objects(change, &built.analysis.objects, &plan.objects);
        log::debug!("a second run would still: {} {} ({})", change.id, change.before, change.after);
        verdict.violations.push(prove::Violation {
            pass: Some(change.pass),
            objects,
            words: format!("a second run would change it again: {}", change.before),
        });
    }
    verdict
}

/// The objects of the plan whose needles the objects of a change on the tape read back hold.
fn planned_objects(change: &Change, read: &Objects, planned: &Objects) -> Vec<u32> {
    let mut found: Vec<u32> = change
        .objects
        .iter()
        .filter_map(|id| read.get(ObjectId(*id)))
        .filter_map(|object| {
            let middle = object.needles().nth(object.stitch_count() / 2)?.1.at;
            planned
                .items
                .iter()
                .find(|o| o.stop == object.stop && o.needles().any(|(_, n)| n.at == middle))
        })
        .map(|object| object.id.0)
        .collect();
    found.dedup();
    found
}

/// Keeps the changes that the violations name from being made again: those of the named pass to
/// the named objects, else all of the pass, else everything.
fn take_back(plan: &Plan, verdict: &Verdict, settings: &mut Settings, undone: &mut Vec<Undone>) {
    let mut taken: Vec<(&Change, &str)> = Vec::new();
    for violation in &verdict.violations {
        let named = |change: &&Change| {
            violation.pass.is_none_or(|pass| pass == change.pass)
                && change.objects.iter().any(|o| violation.objects.contains(o))
        };
        let mut guilty: Vec<&Change> = plan.changes.iter().filter(named).collect();
        if guilty.is_empty() {
            let of_pass = |change: &&Change| violation.pass.is_none_or(|p| p == change.pass);
            guilty = plan.changes.iter().filter(of_pass).collect();
        }
        if guilty.is_empty() {
            guilty = plan.changes.iter().collect();
        }
        taken.extend(guilty.into_iter().map(|change| (change, violation.words.as_str())));
    }
    for (change, words) in taken {
        let key: (PassName, Vec<u32>) = (change.pass, change.objects.clone());
        let mut new = false;
        for object in &key.1 {
            new |= settings.skip.insert((key.0, ObjectId(*object)));
        }
        if new {
            undone.push(Undone { change: change.id.clone(), reason: words.to_owned() });
        }
    }
}
