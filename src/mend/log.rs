//! Fills in the change log.

use super::Analysis;
use super::rounds::Settled;
use crate::objects::ObjectId;
use crate::prove::{Verdict, same};
use crate::report::{
    BeforeAfter, FileFacts, InForce, Log, ObjectLine, SCHEMA_VERSION, Sewing, State, StopLine,
    TapeFacts, Tool, cautions,
};
use crate::settings::Settings;
use crate::survey::{Finding, Severity};
use crate::tape::Warning;

pub fn write(
    bytes: &[u8],
    out: &[u8],
    before: &Analysis,
    settled: &Settled,
    warnings: Vec<Warning>,
    settings: &Settings,
) -> Log {
    let after = settled.after.as_ref().unwrap_or(before);
    let numbers = &settings.profile.numbers;
    let facts =
        BeforeAfter { before: TapeFacts::of(&before.design), after: TapeFacts::of(&after.design) };
    let seam = settings.seam_x().unwrap_or(0.0);
    let lowest = facts.before.bounds_mm[1];
    let unsure_share = before.unsure_share();
    let unsure = unsure_share > numbers.unsure_share_max;
    let damaged = warnings.iter().any(Warning::is_loss);
    Log {
        schema_version: SCHEMA_VERSION,
        tool: Tool::this(),
        settings: InForce::of(settings),
        input: FileFacts::of(bytes),
        output: FileFacts::of(out),
        result: state(settled, &after.findings, unsure || damaged),
        tape: facts,
        objects: before
            .objects
            .items
            .iter()
            .map(|object| ObjectLine::of(object, seam, lowest))
            .collect(),
        unsure_share,
        findings: BeforeAfter {
            before: before.findings.clone(),
            after: findings_after(after, settled),
        },
        changes: settled.changes.clone(),
        left: settled.left.clone(),
        short: settled.short.clone(),
        undone: settled.undone.clone(),
        proof: settled.verdict.as_ref().and_then(|verdict| verdict.proof(settled.rounds)),
        stop_order: stop_order(before, after, settled, settings),
        stops_added_if_element: None,
        sewing: BeforeAfter {
            before: Sewing::of(&before.design, numbers),
            after: Sewing::of(&after.design, numbers),
        },
        cautions: cautions(&facts.after, numbers, damaged),
        warnings: warnings.iter().map(ToString::to_string).collect(),
    }
}

/// Findings of the tape that goes out, with the ids that its objects have in the original; what the
/// original does not have, a guard, has none.
fn findings_after(after: &Analysis, settled: &Settled) -> Vec<Finding> {
    let mut findings = after.findings.clone();
    if let Some(Verdict { names, .. }) = &settled.verdict {
        for finding in &mut findings {
            finding.objects.retain(|id| names.contains_key(&ObjectId(*id)));
            same::rename(&mut finding.objects, names);
            finding.words = same::rename_words(&finding.words, names);
        }
    }
    findings
}

fn state(settled: &Settled, left: &[Finding], doubtful: bool) -> State {
    let faults = left.iter().any(|finding| finding.severity == Severity::Fault);
    if faults || doubtful {
        State::NeedsEyes
    } else if settled.after.is_some() {
        State::Mended
    } else {
        State::Sound
    }
}

fn stop_order(
    before: &Analysis,
    after: &Analysis,
    settled: &Settled,
    settings: &Settings,
) -> Vec<StopLine> {
    let header = before.tape.parsed_header();
    let thread = |was: u32| {
        let given =
            settings.colours.as_ref().and_then(|colours| colours.get(was as usize).cloned());
        given.or_else(|| {
            let entry = header.threads.get(was as usize)?;
            Some(format!("{} {}", entry.colour, String::from_utf8_lossy(&entry.description)))
        })
    };
    let mut counts = vec![0_u32; after.design.stop_count() as usize];
    for stop in &after.design.stops {
        counts[*stop as usize] += 1;
    }
    counts
        .iter()
        .enumerate()
        .map(|(stop, count)| {
            let stop = stop as u32;
            let was = settled.stop_order.get(stop as usize).copied().flatten().unwrap_or(stop);
            StopLine::new(stop, was, *count, thread(was).as_deref())
        })
        .collect()
}
