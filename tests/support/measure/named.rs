//! Does the log say that a fault is left, and why? What it says of other objects does not count.

use crownmend::objects::Class;
use crownmend::report::Log;
use crownmend::settings::PassName;
use crownmend::survey::Kind;

use super::super::world::{Piece, World};
use super::Verdict;

/// The pass that repairs a kind of fault, and the finding that tells it.
fn repair(fault: &str) -> (PassName, Kind) {
    match fault {
        "upright fill" => (PassName::TurnFill, Kind::UprightFill),
        "thin overlap" => (PassName::Overlap, Kind::ThinOverlap),
        "edge run missing" => (PassName::EdgeRun, Kind::EdgeRunMissing),
        "unguarded crossing" => (PassName::Guard, Kind::UnguardedCrossing),
        "out of order" => (PassName::Sequence, Kind::OutOfOrder),
        "seam crossing" => (PassName::EdgeRun, Kind::SeamCrossing),
        other => panic!("'{other}' is no fault"),
    }
}

/// Is a fault that was not repaired told: in the findings after, as left by its pass, as short of the
/// full measure, as taken back by the proof, or because an object of it was not to be touched?
pub fn is_named(log: &Log, world: &World, verdict: &Verdict) -> bool {
    let (pass, kind) = repair(&verdict.kind);
    let ids: Vec<Vec<u32>> = verdict.pieces.iter().map(|k| ids(log, &world.pieces[*k])).collect();
    let all_in = |objects: &[u32]| ids.iter().all(|own| own.iter().any(|id| objects.contains(id)));
    let any_in = |objects: &[u32]| ids.iter().flatten().any(|id| objects.contains(id));
    let untouched = log.objects.iter().any(|o| {
        ids.iter().flatten().any(|id| *id == o.id) && (o.held || o.class == Class::Unsure)
    });
    let found = log.findings.after.iter().any(|f| f.kind == kind && all_in(&f.objects));
    let left = log.left.iter().chain(&log.short);
    let told = left.filter(|l| l.pass == pass).any(|l| all_in(&l.objects));
    // A change is named after its pass and its first object.
    let undone = log.undone.iter().any(|u| {
        let name = u.change.strip_prefix(pass.name()).and_then(|rest| rest.strip_prefix("-o"));
        name.and_then(|id| id.parse().ok()).is_some_and(|id: u32| any_in(&[id]))
    });
    untouched || found || told || undone
}

/// Objects of the log that are, for their most part or for most of it, the object of the truth.
fn ids(log: &Log, piece: &Piece) -> Vec<u32> {
    let same = log.objects.iter().filter(|o| {
        let (Some(first), Some(last)) = (o.first, o.last) else { return false };
        let (first, last) = (first as usize, last as usize);
        let both = (last.min(piece.last) + 1).saturating_sub(first.max(piece.first));
        2 * both > last + 1 - first || 2 * both > piece.last + 1 - piece.first
    });
    same.map(|o| o.id).collect()
}
