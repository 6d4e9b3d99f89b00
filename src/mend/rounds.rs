//! Plans, builds and proves; takes back what fails and plans again, until a tape stands.

use std::collections::{BTreeMap, BTreeSet};

use geo::Coord;

use super::faults;
use super::{Analysis, BuildError};
use crate::design::{Pt, assemble_linked};
use crate::objects::{ObjectId, Objects};
use crate::passes::{self, Left};
use crate::prove::{Prover, Verdict, Violation, same};
use crate::report::{Change, Undone};
use crate::settings::{PassName, Settings};
use crate::survey::{Finding, Kind, Severity};
use crate::tape::{self, Salvage};

/// Times that what fails is taken back and the rest planned anew; after that all is taken back.
const ROUNDS: u32 = 12;
/// Of those, the first so many may be spent on more overlap for fills that were turned.
const FULL_ROUNDS: u32 = 3;
/// Times that what was taken back is tried again on what stands.
const RETRIES: usize = 3;
/// Times that the passes run, each on the tape that the run before would write, until they find
/// nothing more to do: a repair can make room for another, or leave a rest that only shows after
/// rounding to the grid.
const REPEATS: usize = 4;

/// Begins the reason of what was taken back at one place, not as a whole.
pub const HERE_ONLY: &str = "around one place only";

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
    /// What stays short of the full measure without being a finding.
    pub short: Vec<Left>,
    pub undone: Vec<Undone>,
    pub verdict: Option<Verdict>,
    pub rounds: u32,
    /// Threads of the tape that goes out, where they were named.
    pub colours: Option<Vec<String>>,
}

impl Settled {
    /// For each object of the tape that goes out its id in the original; empty where nothing was changed.
    pub fn names(&self) -> BTreeMap<ObjectId, ObjectId> {
        self.verdict.as_ref().map(|verdict| verdict.names.clone()).unwrap_or_default()
    }
}

/// What all passes together would do to one tape.
struct Plan {
    objects: Objects,
    changes: Vec<Change>,
    left: Vec<Left>,
}

/// Passes touch only what there is a finding for. In the first run an earlier pass may make room
/// or need for a later one; in a further run that is left to the next.
fn plan(objects: &Objects, settings: &Settings, findings: &[Finding], is_first: bool) -> Plan {
    let mut plan = Plan { objects: objects.clone(), changes: Vec::new(), left: Vec::new() };
    for pass in passes::LIST.iter().filter(|pass| settings.passes.contains(&pass.name)) {
        let follows = is_first && !plan.changes.is_empty();
        if !follows && !findings.iter().any(|finding| concerned(finding) == Some(pass.name)) {
            continue;
        }
        let outcome = (pass.run)(&plan.objects, settings);
        plan.objects = outcome.objects;
        plan.changes.extend(outcome.changes);
        plan.left.extend(outcome.left);
    }
    plan
}

/// A tape that would be written, read back.
#[derive(Clone)]
struct Built {
    bytes: Vec<u8>,
    /// For each stop the stop of the original that it was.
    stop_order: Vec<Option<u32>>,
    analysis: Analysis,
    /// Settings with the colours in the new order.
    settings: Settings,
}

fn build(from: &Analysis, objects: &Objects, settings: &Settings) -> Result<Built, BuildError> {
    let link = settings.profile.numbers.link_sewn_max_mm;
    let assembled = assemble_linked(&from.tape, &from.design, objects, link)?;
    let bytes = tape::write(&assembled.tape);
    let (tape, _) = tape::read(&bytes, Salvage::Refuse)?;
    let mut settings = settings.clone();
    settings.colours = settings.colours.map(|colours| {
        let colour = |stop: &Option<u32>| colours.get(stop.unwrap_or(0) as usize).cloned();
        assembled.stop_order.iter().map(|stop| colour(stop).unwrap_or_default()).collect()
    });
    settings.full_overlap.clear();
    let analysis = Analysis::of(tape, &settings);
    Ok(Built { bytes, stop_order: assembled.stop_order, analysis, settings })
}

/// The end of repeated runs of all passes.
#[derive(Clone, Default)]
struct Converged {
    /// None where no pass changed anything.
    built: Option<Built>,
    changes: Vec<Change>,
    left: Vec<Left>,
    /// What a further run would still change.
    restless: Vec<Violation>,
}

/// Runs all passes until they find nothing more to do, from the original on or from what stands.
fn converge(
    before: &Analysis,
    standing: Option<&Converged>,
    prover: &Prover,
    settings: &Settings,
) -> Result<Converged, BuildError> {
    let mut done = standing.cloned().unwrap_or_default();
    for repeat in 0..=REPEATS {
        let found = done.built.as_ref().map_or(&before.findings, |built| &built.analysis.findings);
        if !has_work(found) {
            done.left.clear();
            return Ok(done);
        }
        let (from, own) = match &done.built {
            None => (before, settings.clone()),
            Some(built) => (&built.analysis, skips_of(prover, before, built, settings)),
        };
        let is_first = done.built.is_none();
        let plan = plan(&from.objects, &own, &from.findings, is_first);
        let order = done.built.as_ref().map(|built| built.stop_order.clone());
        let names = order.as_ref().map(|order| prover.names(&from.objects, order));
        done.left = plan.left;
        if let Some(names) = &names {
            done.left.iter_mut().for_each(|left| same::rename(&mut left.objects, names));
        }
        if plan.changes.is_empty() {
            return Ok(done);
        }
        let mut changes = plan.changes;
        if let Some(names) = &names {
            changes.iter_mut().for_each(|change| call_by_original(change, names));
        }
        for change in &changes {
            log::debug!("repeat {repeat}: {} {} -> {}", change.id, change.before, change.after);
        }
        if repeat == REPEATS {
            done.restless = changes.iter().map(restless).collect();
            return Ok(done);
        }
        let mut built = build(from, &plan.objects, &own)?;
        if let Some(order) = order {
            built.stop_order = origins(&built.stop_order, &order);
        }
        done.built = Some(built);
        changes.into_iter().for_each(|change| record(&mut done.changes, change));
    }
    Ok(done)
}

/// For each stop the stop of the original that it was: `stops` gives the stop of a tape in between, and
/// `order` what that was.
pub fn origins(stops: &[Option<u32>], order: &[Option<u32>]) -> Vec<Option<u32>> {
    let origin = |stop: &Option<u32>| stop.and_then(|s| order.get(s as usize).copied()?);
    stops.iter().map(origin).collect()
}

/// Gives a change of a tape that was read back the ids of the original.
pub fn call_by_original(change: &mut Change, names: &BTreeMap<ObjectId, ObjectId>) {
    same::rename(&mut change.objects, names);
    change.id = same::rename_change(&change.id, names);
    for words in [&mut change.before, &mut change.after] {
        *words = same::rename_words(words, names);
    }
}

/// The pass that a finding is for; the one that turns fills also says why it leaves a bent one.
fn concerned(finding: &Finding) -> Option<PassName> {
    finding.pass.or((finding.kind == Kind::UprightFill).then_some(PassName::TurnFill))
}

/// Is there a finding that a pass is for?
pub fn has_work(findings: &[Finding]) -> bool {
    findings.iter().any(|finding| concerned(finding).is_some())
}

fn restless(change: &Change) -> Violation {
    /// What is larger is no one place, mm.
    const PLACE_MM: f64 = 12.0;
    let [x0, y0, x1, y1] = change.place.bounds_mm;
    let is_place = (x1 - x0).max(y1 - y0) <= PLACE_MM;
    let middle = Coord { x: (x0 + x1) / 2.0, y: (y0 + y1) / 2.0 };
    Violation {
        pass: Some(change.pass),
        objects: change.objects.clone(),
        words: format!("a further run would change it again: {}", change.before),
        at: is_place.then_some(middle),
        opens: None,
    }
}

/// The settings for a tape that is read back. A column that reads as rows once it was widened is none to
/// turn.
fn skips_of(prover: &Prover, before: &Analysis, built: &Built, settings: &Settings) -> Settings {
    let names = prover.names(&built.analysis.objects, &built.stop_order);
    let mut own = renumbered(settings, &names);
    own.colours.clone_from(&built.settings.colours);
    let was_column = |id: ObjectId| before.objects.get(id).is_some_and(|o| o.satin().is_some());
    let columns = names.iter().filter(|(_, then)| was_column(**then));
    own.skip.extend(columns.map(|(now, _)| (PassName::TurnFill, *now)));
    own
}

/// Settings in which what must not be done, which is named by the objects of the original, is named by
/// those of a tape that was read back.
pub fn renumbered(settings: &Settings, names: &BTreeMap<ObjectId, ObjectId>) -> Settings {
    let mut own = settings.clone();
    (own.skip, own.skip_near, own.other_way) = Default::default();
    // It is reached in the first run or not at all.
    own.full_overlap.clear();
    for (&now, &then) in names {
        let skipped = settings.skip.iter().filter(|(_, id)| *id == then);
        own.skip.extend(skipped.map(|(pass, _)| (*pass, now)));
        let near = settings.skip_near.iter().filter(|(_, id, _)| *id == then);
        own.skip_near.extend(near.map(|(pass, _, at)| (*pass, now, *at)));
        let other = settings.other_way.iter().filter(|(_, id)| *id == then);
        own.other_way.extend(other.map(|(pass, _)| (*pass, now)));
    }
    own
}

/// Adds a change to the account; a further change of one pass to one object joins the first.
pub fn record(changes: &mut Vec<Change>, change: Change) {
    let known = changes
        .iter_mut()
        .find(|known| known.pass == change.pass && known.objects.first() == change.objects.first());
    let Some(known) = known else {
        changes.push(change);
        return;
    };
    if known.after != change.after {
        known.after = format!("{}; then {}", known.after, change.after);
    }
    known.trims_added += change.trims_added;
    known.stitches_added += change.stitches_added;
    known.stitches_removed += change.stitches_removed;
    for object in change.objects {
        if !known.objects.contains(&object) {
            known.objects.push(object);
        }
    }
}

/// Repairs until a tape stands that the proof finds nothing against and in which a further run
/// would change nothing. Where faults are left all is done with the second choices too, and the better
/// of the two stands. What was taken back may be borne by what stands in the end: it is tried again
/// there, since a further run would.
pub fn settle(before: &Analysis, prover: &mut Prover, settings: &Settings) -> Settled {
    let ways = [false, true].map(|second_choices| Settings { second_choices, ..settings.clone() });
    let mut best = attempt(before, None, prover, &ways[0]);
    if best.faults(before) > 0 {
        let second = attempt(before, None, prover, &ways[1]);
        if second.faults(before) < best.faults(before) {
            best = Attempt { rounds: best.rounds + second.rounds, ..second };
        }
    }
    for _ in 0..RETRIES {
        if best.end.built.is_none() || best.undone.is_empty() && best.faults(before) == 0 {
            break;
        }
        let mut again = ways.iter().map(|way| attempt(before, Some(&best.end), prover, way));
        let differs = |a: &Attempt| a.bytes().is_some() && a.bytes() != best.bytes();
        let Some(again) = again.find(differs) else { break };
        best = Attempt { rounds: best.rounds + again.rounds, ..again };
    }
    best.settled()
}

/// The end of planning, proving and taking back.
struct Attempt {
    /// Without a tape where nothing stands.
    end: Converged,
    undone: Vec<Undone>,
    verdict: Option<Verdict>,
    rounds: u32,
}

impl Attempt {
    fn bytes(&self) -> Option<&[u8]> {
        Some(&self.end.built.as_ref()?.bytes)
    }

    /// Faults left that a pass is for.
    fn faults(&self, before: &Analysis) -> usize {
        let built = self.end.built.as_ref();
        let found = built.map_or(&before.findings, |built| &built.analysis.findings);
        let is_left = |f: &&Finding| f.severity == Severity::Fault && concerned(f).is_some();
        found.iter().filter(is_left).count()
    }

    fn settled(self) -> Settled {
        let Converged { built, changes, left, .. } = self.end;
        let Some(built) = built else { return unchanged(left, self.undone, self.rounds) };
        Settled {
            bytes: Some(built.bytes),
            after: Some(built.analysis),
            stop_order: built.stop_order,
            changes,
            left,
            short: Vec::new(),
            undone: self.undone,
            verdict: self.verdict,
            rounds: self.rounds,
            colours: built.settings.colours,
        }
    }
}

/// Plans and proves from what stands, taking back what fails, until nothing does.
fn attempt(
    before: &Analysis,
    standing: Option<&Converged>,
    prover: &mut Prover,
    settings: &Settings,
) -> Attempt {
    let mut settings = settings.clone();
    let mut tried: BTreeSet<(PassName, ObjectId)> = BTreeSet::new();
    let mut undone: Vec<Undone> = Vec::new();
    let nothing = |left, undone, rounds| {
        let end = Converged { left, ..Converged::default() };
        Attempt { end, undone, verdict: None, rounds }
    };
    for round in 1..=ROUNDS {
        let mut done = match converge(before, standing, prover, &settings) {
            Ok(done) => done,
            Err(error) => {
                log::error!("{error}; everything is taken back");
                return nothing(Vec::new(), undone, round);
            }
        };
        let Some(built) = &done.built else {
            return nothing(done.left, undone, round);
        };
        let after = built.analysis.judged();
        let mut verdict = prover.judge(after, &built.stop_order, &done.changes);
        verdict.violations.append(&mut done.restless);
        let found = (&before.findings[..], &built.analysis.findings[..]);
        verdict.violations.extend(faults::new(
            found,
            &verdict.names,
            &done.changes,
            &settings.passes,
        ));
        if verdict.violations.is_empty() {
            return Attempt { end: done, undone, verdict: Some(verdict), rounds: round };
        }
        // A further run has no such way.
        if standing.is_none() && round <= FULL_ROUNDS && try_full_overlap(&verdict, &mut settings) {
            continue;
        }
        if try_another_way(&done.changes, &verdict, &mut settings, &mut tried) {
            continue;
        }
        if !take_back(&done.changes, &verdict, &mut settings, &mut undone) {
            // All of it was forbidden before, and still stands: the whole pass goes, or everything.
            give_up(&done.changes, &verdict, &mut settings, &mut undone);
        }
    }
    nothing(Vec::new(), undone, ROUNDS)
}

/// The end of a run in which nothing was changed.
pub fn unchanged(left: Vec<Left>, undone: Vec<Undone>, rounds: u32) -> Settled {
    Settled {
        bytes: None,
        after: None,
        stop_order: Vec::new(),
        changes: Vec::new(),
        left,
        short: Vec::new(),
        undone,
        verdict: None,
        rounds,
        colours: None,
    }
}

/// Where a fill that was turned opens a junction, has the object that lies under there extended as far as
/// the allowance, once: row ends open in another way than the sides of rows. Says whether any is now.
fn try_full_overlap(verdict: &Verdict, settings: &mut Settings) -> bool {
    let opened = |violation: &Violation| {
        let turned =
            violation.objects.first().filter(|_| violation.pass == Some(PassName::TurnFill))?;
        Some((violation.opens?, ObjectId(*turned)))
    };
    let mut opened: Vec<_> = verdict.violations.iter().filter_map(opened).collect();
    opened.retain(|(under, _)| settings.allows(PassName::Overlap, *under));
    let known = settings.full_overlap.len();
    settings.full_overlap.extend(opened);
    settings.full_overlap.len() > known
}

/// Has what violations name done in its other way, once, and in the first way again if that fails too:
/// only what fails there is taken back. Says whether anything is done in another way now.
fn try_another_way(
    changes: &[Change],
    verdict: &Verdict,
    settings: &mut Settings,
    tried: &mut BTreeSet<(PassName, ObjectId)>,
) -> bool {
    let did = |(pass, id): &(PassName, u32)| {
        changes.iter().any(|c| c.pass == *pass && c.objects.first() == Some(id))
    };
    let named = verdict.violations.iter().flat_map(|violation| {
        let turned = violation.pass == Some(PassName::TurnFill);
        let pass = if turned { PassName::TurnFill } else { PassName::Overlap };
        violation.objects.iter().map(move |id| (pass, *id))
    });
    let named: BTreeSet<(PassName, u32)> = named.filter(did).collect();
    let mut any = false;
    for change in named.into_iter().map(|(pass, id)| (pass, ObjectId(id))) {
        any |= match tried.insert(change) {
            true => settings.other_way.insert(change),
            false => settings.other_way.remove(&change),
        };
    }
    any
}

/// Keeps the changes that the violations name from being made again: those of the named pass to
/// the named objects, else all of the pass, else everything. Says whether any was not forbidden yet.
fn take_back(
    changes: &[Change],
    verdict: &Verdict,
    settings: &mut Settings,
    undone: &mut Vec<Undone>,
) -> bool {
    let mut any = false;
    for violation in &verdict.violations {
        let pass = violation.pass.map_or("no pass", PassName::name);
        log::info!("proof: {pass} {:?}: {}", violation.objects, violation.words);
        let of_pass = |change: &&Change| violation.pass.is_none_or(|pass| pass == change.pass);
        let named = |change: &&Change| {
            of_pass(change) && change.objects.first().is_some_and(|o| violation.objects.contains(o))
        };
        let mut guilty: Vec<&Change> = changes.iter().filter(named).collect();
        if guilty.is_empty() {
            guilty = changes.iter().filter(of_pass).collect();
        }
        if guilty.is_empty() {
            guilty = changes.iter().collect();
        }
        for change in guilty {
            any |= forbid_here(change, violation, settings, undone)
                || forbid(change, &violation.words, settings, undone);
        }
    }
    any
}

/// Keeps a change that is made place by place from being made again around the place of a violation.
/// Says whether that is so, and was not forbidden yet.
fn forbid_here(
    change: &Change,
    violation: &Violation,
    settings: &mut Settings,
    undone: &mut Vec<Undone>,
) -> bool {
    /// So many places of one object: more, and the whole of it is taken back.
    const MOST: usize = 4;
    let by_place = matches!(change.pass, PassName::Overlap | PassName::Guard);
    let (Some(at), Some(first)) = (violation.at.filter(|_| by_place), change.objects.first())
    else {
        return false;
    };
    let object = ObjectId(*first);
    let own = settings.skip_near.iter().filter(|(p, o, _)| (*p, *o) == (change.pass, object));
    if own.count() >= MOST || !settings.allows_at(change.pass, object, at) {
        return false;
    }
    settings.skip_near.push((change.pass, object, Pt::from_mm(at)));
    let reason = format!("{HERE_ONLY}: {}", violation.words);
    tell(undone, Undone { change: change.id.clone(), reason });
    true
}

/// Forbids every change to the objects that violations name, and the whole pass that they name.
fn give_up(
    changes: &[Change],
    verdict: &Verdict,
    settings: &mut Settings,
    undone: &mut Vec<Undone>,
) {
    let mut any = false;
    for violation in &verdict.violations {
        let named = |change: &&Change| change.objects.iter().any(|o| violation.objects.contains(o));
        for change in changes.iter().filter(named) {
            any |= forbid(change, &violation.words, settings, undone);
        }
    }
    if any {
        return;
    }
    for violation in &verdict.violations {
        match violation.pass {
            Some(pass) => settings.passes.retain(|other| *other != pass),
            None => settings.passes.clear(),
        };
        for change in changes.iter().filter(|c| violation.pass.is_none_or(|pass| pass == c.pass)) {
            forbid(change, &violation.words, settings, undone);
        }
    }
}

/// Says whether the change was not forbidden yet.
fn forbid(change: &Change, words: &str, settings: &mut Settings, undone: &mut Vec<Undone>) -> bool {
    // A change is made to its first object; the others are neighbours that it was made for.
    let objects: Vec<u32> = match change.pass {
        PassName::Sequence => change.objects.clone(),
        _ => change.objects.iter().take(1).copied().collect(),
    };
    let mut new = false;
    for object in objects {
        new |= settings.skip.insert((change.pass, ObjectId(object)));
    }
    if new {
        tell(undone, Undone { change: change.id.clone(), reason: words.to_owned() });
    }
    new
}

/// Says once that a change was taken back, and why.
pub fn tell(undone: &mut Vec<Undone>, line: Undone) {
    if !undone.contains(&line) {
        undone.push(line);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fixtures::settings;

    #[test]
    fn a_junction_that_a_turned_fill_opens_gets_its_full_overlap_once() {
        let violation = |pass, opens| Violation {
            pass: Some(pass),
            objects: vec![4],
            words: String::new(),
            at: None,
            opens,
        };
        let tries = |violation: Violation, settings: &mut Settings| {
            let verdict = Verdict { violations: vec![violation], ..Verdict::default() };
            try_full_overlap(&verdict, settings)
        };
        let (under, fill) = (ObjectId(2), ObjectId(4));
        let opened = || violation(PassName::TurnFill, Some(under));
        let mut own = settings();
        assert!(tries(opened(), &mut own) && own.gets_full_overlap(under));
        assert!(!own.gets_full_overlap(fill));
        assert!(!tries(opened(), &mut own));
        own.skip.insert((PassName::TurnFill, fill));
        assert!(!own.gets_full_overlap(under), "the fill is not turned any more");
        // Not what another pass opens, nor where nothing opens, nor against a veto.
        assert!(!tries(violation(PassName::EdgeRun, Some(under)), &mut settings()));
        assert!(!tries(violation(PassName::TurnFill, None), &mut settings()));
        let mut vetoed = settings();
        vetoed.skip.insert((PassName::Overlap, under));
        assert!(!tries(opened(), &mut vetoed));
    }
}
