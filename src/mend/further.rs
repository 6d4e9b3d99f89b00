//! What a further run would change is done in this one: it judges against the tape that goes out, and
//! may bear there what the first run took back.

use super::Analysis;
use super::faults;
use super::rounds::{
    self, HERE_ONLY, Settled, call_by_original, has_work, origins, record, renumbered, tell,
};
use crate::passes::Left;
use crate::prove::{Prover, same};
use crate::report::Undone;
use crate::settings::{PassName, Settings};

/// Further runs; mostly none is needed, hardly ever a second.
const MOST: usize = 3;

/// Repairs until a further run would change nothing.
pub fn settle(before: &Analysis, settings: &Settings) -> Settled {
    let mut prover = Prover::new(before.judged(), settings);
    let mut settled = rounds::settle(before, &mut prover, settings);
    for _ in 0..MOST {
        let Some(now) = settled.after.as_ref() else { break };
        if !has_work(&now.findings) {
            break;
        }
        let own = renumbered(settings, &settled.names());
        let own = Settings { colours: settled.colours.clone(), ..own };
        let further = rounds::settle(now, &mut Prover::new(now.judged(), &own), &own);
        if further.bytes.is_none() {
            break;
        }
        settled = joined((before, settled), further, &mut prover, settings);
    }
    settled
}

/// Both runs as one, judged against the original: what the further run bears and the first would not
/// have is told to a person.
fn joined(
    (before, first): (&Analysis, Settled),
    mut further: Settled,
    prover: &mut Prover,
    settings: &Settings,
) -> Settled {
    let names = first.names();
    let mut changes = first.changes;
    let mut undone = first.undone;
    for mut change in further.changes {
        call_by_original(&mut change, &names);
        undone.retain(|undone| undone.change != change.id || undone.reason.starts_with(HERE_ONLY));
        record(&mut changes, change);
    }
    for Undone { change, reason } in further.undone {
        let change = same::rename_change(&change, &names);
        tell(&mut undone, Undone { change, reason: same::rename_words(&reason, &names) });
    }
    further.left.iter_mut().for_each(|left| same::rename(&mut left.objects, &names));
    let stop_order = origins(&further.stop_order, &first.stop_order);
    let verdict = further.after.as_ref().map(|after| {
        let mut verdict = prover.judge(after.judged(), &stop_order, &changes);
        let found = (&before.findings[..], &after.findings[..]);
        let new = faults::new(found, &verdict.names, &changes, &settings.passes);
        let borne = verdict.violations.drain(..).chain(new);
        further.left.extend(borne.map(|violation| Left {
            pass: violation.pass.unwrap_or(PassName::Sequence),
            objects: violation.objects,
            reason: format!("borne in the second of two runs only: {}", violation.words),
        }));
        verdict
    });
    Settled {
        changes,
        undone,
        stop_order,
        verdict,
        rounds: first.rounds + further.rounds,
        ..further
    }
}
