//! Mended tapes against the truth of their originals, by measures that share no code with the
//! program: is every fault that can be repaired repaired, and nothing else harmed?

mod support;

use crownmend::garment;
use crownmend::mend::mend;
use crownmend::settings::Settings;
use support::decode::{Change, Kind, decode};
use support::measure::report::{Sheet, Tally, sheet};
use support::measure::{Trial, all};
use support::world::World;
use support::{Case, Fault, case, corpus};

/// Share of the repairable faults over all files that must be repaired.
const REPAIRED: f64 = 0.97;

fn mended(bytes: &[u8], garment: &str) -> Vec<u8> {
    let profile = garment::built_in(garment).expect("garments of the corpus are built in");
    mend(bytes, &Settings::new(profile)).expect("corpus tapes are whole").bytes
}

fn measured(case: Case, change: &Change, label: &str, repair: impl Fn(&[u8]) -> Vec<u8>) -> Sheet {
    let bytes = if is_plain(change) { case.bytes } else { change.tape(&case.bytes) };
    let world = World::new(case.truth, &bytes, change);
    let trial = Trial::new(&world, &ready_made(label).unwrap_or_else(|| repair(&bytes)));
    sheet(label, &trial, &all(&trial))
}

/// LABEL.dst from the folder CROWNMEND_MENDED, to measure a tape that came from elsewhere.
fn ready_made(label: &str) -> Option<Vec<u8>> {
    let folder = std::env::var_os("CROWNMEND_MENDED")?;
    std::fs::read(std::path::Path::new(&folder).join(format!("{label}.dst"))).ok()
}

fn is_plain(change: &Change) -> bool {
    !change.mirror && change.scale == 1.0 && change.shift == [0, 0]
}

fn show(sheet: &Sheet) {
    println!("{}{}\n", sheet.table, sheet.failures.join("\n"));
}

#[test]
fn crest_is_mended() {
    let sheet = measured(case("crest"), &Change::NONE, "crest", |b| mended(b, "finished-cap"));
    show(&sheet);
    assert!(sheet.failures.is_empty(), "{:#?}", sheet.failures);
}

#[test]
fn crest_variants_are_mended() {
    let variants = [
        ("crest-mirrored", Change { mirror: true, ..Change::NONE }),
        ("crest-shifted", Change { shift: [13, 13], ..Change::NONE }),
        ("crest-at-90", Change { scale: 0.9, ..Change::NONE }),
        ("crest-at-110", Change { scale: 1.1, ..Change::NONE }),
    ];
    let (mut faults, mut rules) = (Tally::default(), Tally::default());
    let mut failures = Vec::new();
    for (label, change) in variants {
        let sheet = measured(case("crest"), &change, label, |b| mended(b, "finished-cap"));
        show(&sheet);
        assert!(sheet.faults.share() >= REPAIRED, "{label}: {:#?}", sheet.failures);
        faults.add(sheet.faults);
        rules.add(sheet.rules);
        failures.extend(sheet.failures);
    }
    println!("{} of {} faults of the variants repaired", faults.met, faults.all);
    assert_eq!(rules.met, rules.all, "{failures:#?}");
}

#[test]
fn faulty_files_are_mended() {
    let (mut faults, mut rules) = (Tally::default(), Tally::default());
    let mut failures = Vec::new();
    for case in corpus().into_iter().filter(|c| c.truth.outcome == "mended" && c.name != "crest") {
        let (name, garment) = (case.name.clone(), case.truth.garment.clone());
        let sheet = measured(case, &Change::NONE, &name, |b| mended(b, &garment));
        show(&sheet);
        faults.add(sheet.faults);
        rules.add(sheet.rules);
        failures.extend(sheet.failures);
    }
    println!(
        "{} of {} faults repaired, {} of {} rules kept",
        faults.met, faults.all, rules.met, rules.all
    );
    assert!(faults.share() >= REPAIRED, "{faults:?}: {failures:#?}");
    assert_eq!(rules.met, rules.all, "{failures:#?}");
}

/// Files in which nothing can be repaired come back byte for byte.
#[test]
fn sound_files_stay() {
    for case in corpus().into_iter().filter(|c| c.truth.outcome == "unchanged") {
        assert!(mended(&case.bytes, &case.truth.garment) == case.bytes, "{} changed", case.name);
    }
}

/// The measures themselves: on the faulty originals every fault is found, and every rule holds.
#[test]
fn measures_see_the_faults_of_the_originals() {
    for case in corpus().into_iter().filter(|c| c.truth.outcome == "mended") {
        let name = case.name.clone();
        let sheet = measured(case, &Change::NONE, &name, |b| b.to_vec());
        show(&sheet);
        assert_eq!(sheet.faults.met, 0, "{name}: a fault of the original passes\n{}", sheet.table);
        assert_eq!(sheet.rules.met, sheet.rules.all, "{name}: {:#?}", sheet.failures);
    }
}

/// A sound design passes every measure when it is asked about the faults that it has not.
#[test]
fn measures_pass_what_is_sound() {
    let mut sound = case("sound");
    let fault = |kind: &str, objects: &[&str], note: String| Fault {
        kind: kind.to_owned(),
        objects: objects.iter().map(|s| (*s).to_owned()).collect(),
        repairable: true,
        note,
    };
    let none = String::new;
    let letters: Vec<String> = sound
        .truth
        .objects
        .iter()
        .map(|o| o.id.clone())
        .filter(|id| id.starts_with("letter"))
        .collect();
    let letters: Vec<&str> = letters.iter().map(String::as_str).collect();
    let reaches = "reaches 1.30 to 1.30 mm under along 34.2 mm".to_owned();
    sound.truth.faults = vec![
        fault("upright fill", &["disc"], none()),
        fault("thin overlap", &["disc", "border"], reaches),
        fault("unguarded crossing", &["disc", "border"], none()),
        fault("out of order", &letters, none()),
    ];
    for id in ["disc", "border"] {
        sound.truth.faults.push(fault("edge run missing", &[id], none()));
        sound.truth.faults.push(fault("seam crossing", &[id], none()));
    }
    let sheet = measured(sound, &Change::NONE, "sound", |b| b.to_vec());
    show(&sheet);
    assert_eq!(sheet.faults.all, 8);
    assert!(sheet.failures.is_empty(), "{:#?}", sheet.failures);
}

/// Known records (the published examples and values worked out from the bit table).
#[test]
fn the_second_decoder_reads_published_records() {
    let known: [([u8; 3], Kind, [i32; 2]); 10] = [
        ([0xA8, 0x12, 0x23], Kind::Stitch, [-12, 64]),
        ([0xA8, 0x12, 0xA3], Kind::Jump, [-12, 64]),
        ([0x00, 0x00, 0xC3], Kind::Change, [0, 0]),
        ([0x06, 0x02, 0x03], Kind::Stitch, [5, 0]),
        ([0x95, 0x81, 0x83], Kind::Jump, [13, -5]),
        ([0x55, 0x55, 0x03], Kind::Stitch, [40, -40]),
        ([0x0A, 0x0A, 0x0B], Kind::Stitch, [-121, 0]),
        ([0xA0, 0xA0, 0xA3], Kind::Jump, [0, 121]),
        ([0xA5, 0xA5, 0x27], Kind::Stitch, [121, 121]),
        ([0x5A, 0x5A, 0x9B], Kind::Jump, [-121, -121]),
    ];
    let mut tape = vec![b' '; 512];
    tape.extend(known.iter().flat_map(|(bytes, ..)| bytes));
    tape.extend([0x00, 0x00, 0xF3, 0x1A]);
    let read = decode(&tape);
    for (record, (_, kind, by)) in read.records.iter().zip(&known) {
        assert_eq!((record.kind, record.by), (*kind, *by));
    }
    assert_eq!(read.rest, [0x1A]);
}

/// Reading and writing every tape of the corpus gives its records back, and the needle points are
/// as many as the generator counted.
#[test]
fn the_second_writer_gives_the_records_back() {
    for case in corpus() {
        let again = Change::NONE.tape(&case.bytes);
        assert!(again[512..] == case.bytes[512..], "{}", case.name);
        assert_eq!(decode(&again).needles.len(), case.truth.stitch_count, "{}", case.name);
    }
}
/// The top of every object of an original is found where the generator sewed it, but for a few
/// crossings that a ring's last ones or a neighbour hide.
#[test]
fn tops_are_found_where_they_were_sewn() {
    for case in corpus() {
        let name = case.name.clone();
        let world = World::new(case.truth, &case.bytes, &Change::NONE);
        let trial = Trial::new(&world, &case.bytes);
        // What shows through an open satin may be taken for it.
        let tops = world.pieces.iter().enumerate();
        for (k, piece) in tops.filter(|(_, p)| !p.area.rings.is_empty() && p.hides) {
            let start = trial.start(k).unwrap_or_else(|| panic!("{name}: no {}", piece.id));
            let found = (piece.first..=piece.first + 15).contains(&start);
            assert!(found, "{name}: {} starts at {}, found {start}", piece.id, piece.first);
        }
    }
}
