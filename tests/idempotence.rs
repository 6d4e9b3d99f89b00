//! Mending a mended tape changes nothing, however the tape was rewritten in between: the program
//! recognises its own work from the stitches alone.

mod support;

use crownmend::design::Pt;
use crownmend::garment;
use crownmend::mend::mend;
use crownmend::settings::Settings;
use crownmend::tape::{self, Kind, Record, Salvage, Tape};
use support::{Case, corpus};

fn settings(case: &Case) -> Settings {
    Settings::new(garment::built_in(&case.truth.garment).expect("built in"))
}

/// Corpus cases that truth says are mended; the largest would take too long unoptimised.
fn mended() -> Vec<(Case, Vec<u8>)> {
    corpus()
        .into_iter()
        .filter(|case| case.truth.outcome == "mended" && case.truth.stitch_count < 20_000)
        .map(|case| {
            let out = mend(&case.bytes, &settings(&case)).expect("corpus tapes are whole").bytes;
            (case, out)
        })
        .collect()
}

fn assert_settled(what: &str, rewrite: impl Fn(&Tape) -> Tape) {
    for (case, out) in mended() {
        let (tape, _) = tape::read(&out, Salvage::Refuse).expect("our own tape");
        let rewritten = tape::write(&rewrite(&tape));
        let again = mend(&rewritten, &settings(&case)).expect("our own tape");
        let changes: Vec<&str> = again.log.changes.iter().map(|c| c.id.as_str()).collect();
        assert!(again.bytes == rewritten, "{} {what}: changed again by {changes:?}", case.name);
    }
}

#[test]
fn second_run_changes_nothing() {
    assert_settled("as it was", Tape::clone);
}

/// A tape of which a first run leaves something that a further run would bear.
#[test]
fn what_was_taken_back_stays_so() {
    let root = env!("CARGO_MANIFEST_DIR");
    let bytes = std::fs::read(format!("{root}/corpus/family/0000.dst")).expect("in the corpus");
    for garment in ["finished-cap", "unstructured-cap"] {
        let settings = Settings::new(garment::built_in(garment).expect("built in"));
        let out = mend(&bytes, &settings).expect("a whole tape");
        let again = mend(&out.bytes, &settings).expect("our own tape");
        assert!(again.bytes == out.bytes, "{garment}: {:?}", again.log.changes);
        // Ids are those of the tape that came in.
        let known = out.log.objects.len() as u32;
        let left = out.log.left.iter().flat_map(|left| &left.objects);
        let found = out.log.findings.after.iter().flat_map(|finding| &finding.objects);
        assert!(left.chain(found).all(|id| *id < known), "{garment}");
    }
}

#[test]
fn nothing_is_read_from_the_header() {
    assert_settled("with a blank header", |tape| Tape {
        header: vec![b' '; tape.header.len()],
        ..tape.clone()
    });
}

/// Every record that moves by jumping becomes two.
#[test]
fn split_jumps_change_nothing() {
    assert_settled("with split jumps", |tape| {
        let split = |record: &Record| -> Vec<Record> {
            let by = record.delta();
            let half = Pt::new(by.x / 2, by.y / 2);
            let rest = by - half;
            match (record.kind(), Record::jump(half), Record::jump(rest)) {
                // a marker of tiny jumps is a trim: its form must stay
                (Kind::Jump, Some(a), Some(b)) if by.x.abs().max(by.y.abs()) > 30 => vec![a, b],
                _ => vec![*record],
            }
        };
        Tape { records: tape.records.iter().flat_map(split).collect(), ..tape.clone() }
    });
}

/// Trims that were runs of jumps are asked for by a pair of opposite marker jumps and the move, the
/// other form that files use.
#[test]
fn trims_in_another_form_change_nothing() {
    assert_settled("with marked trims", |tape| {
        let mut records: Vec<Record> = Vec::new();
        for run in tape.records.chunk_by(|a, b| is_jump(a) && is_jump(b)) {
            if run.len() >= 3 && is_jump(&run[0]) {
                records.extend(marked(run));
            } else {
                records.extend(run);
            }
        }
        Tape { records, ..tape.clone() }
    });
}

fn is_jump(record: &Record) -> bool {
    record.kind() == Kind::Jump
}

/// A marker pair, then the way in as few jumps as reach it.
fn marked(run: &[Record]) -> Vec<Record> {
    const MARKER: Pt = Pt { x: 13, y: -1 };
    let mut rest = run.iter().fold(Pt::default(), |sum, jump| sum + jump.delta());
    let mut records = vec![MARKER, Pt::new(-MARKER.x, -MARKER.y)];
    while rest != Pt::default() {
        let step = Pt::new(rest.x.clamp(-121, 121), rest.y.clamp(-121, 121));
        records.push(step);
        rest = rest - step;
    }
    records.into_iter().map(|by| Record::jump(by).expect("in reach")).collect()
}

/// The design shifted against the start point, and so against the seam, by 7 points.
#[test]
fn shifted_design_changes_nothing() {
    assert_settled("shifted", |tape| {
        let there = Record::jump(Pt::new(7, 0)).expect("in reach");
        let back = Record::jump(Pt::new(-7, 0)).expect("in reach");
        let mut records = vec![there];
        records.extend(&tape.records);
        records.push(back);
        Tape { records, ..tape.clone() }
    });
}

#[test]
fn two_runs_give_the_same_bytes() {
    for (case, out) in mended() {
        let again = mend(&case.bytes, &settings(&case)).expect("corpus tapes are whole");
        assert!(again.bytes == out, "{}", case.name);
    }
}

#[test]
fn what_is_sound_or_not_understood_keeps_every_byte() {
    for case in corpus().into_iter().filter(|case| case.truth.outcome == "unchanged") {
        let out = mend(&case.bytes, &settings(&case)).expect("corpus tapes are whole");
        assert!(out.bytes == case.bytes, "{}", case.name);
        assert!(out.log.changes.is_empty(), "{}", case.name);
    }
}
