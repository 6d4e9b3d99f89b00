//! Tape reader and writer, needle points and assembling, through the public library.

mod tape_bytes;

use crownmend::design::Pt;
use crownmend::tape::{Kind, Record, Salvage, TapeError, Warning, read, write};
use pretty_assertions::assert_eq;
use tape_bytes::{END, STOP, file, jump, stitch};

/// Bytes of a move as published or derived from the published bit table: "DST", achatina.de.
const VECTORS: [(i32, i32, [u8; 3], [u8; 3]); 16] = [
    (-12, 64, [0xA8, 0x12, 0x23], [0xA8, 0x12, 0xA3]),
    (0, 0, [0x00, 0x00, 0x03], [0x00, 0x00, 0x83]),
    (1, 0, [0x01, 0x00, 0x03], [0x01, 0x00, 0x83]),
    (-1, 0, [0x02, 0x00, 0x03], [0x02, 0x00, 0x83]),
    (0, 1, [0x80, 0x00, 0x03], [0x80, 0x00, 0x83]),
    (0, -1, [0x40, 0x00, 0x03], [0x40, 0x00, 0x83]),
    (2, 0, [0x02, 0x01, 0x03], [0x02, 0x01, 0x83]),
    (5, 0, [0x06, 0x02, 0x03], [0x06, 0x02, 0x83]),
    (13, -5, [0x95, 0x81, 0x03], [0x95, 0x81, 0x83]),
    (40, -40, [0x55, 0x55, 0x03], [0x55, 0x55, 0x83]),
    (121, 0, [0x05, 0x05, 0x07], [0x05, 0x05, 0x87]),
    (-121, 0, [0x0A, 0x0A, 0x0B], [0x0A, 0x0A, 0x8B]),
    (0, 121, [0xA0, 0xA0, 0x23], [0xA0, 0xA0, 0xA3]),
    (0, -121, [0x50, 0x50, 0x13], [0x50, 0x50, 0x93]),
    (121, 121, [0xA5, 0xA5, 0x27], [0xA5, 0xA5, 0xA7]),
    (-121, -121, [0x5A, 0x5A, 0x1B], [0x5A, 0x5A, 0x9B]),
];

#[test]
fn published_moves_are_read_and_written() {
    for (dx, dy, as_stitch, as_jump) in VECTORS {
        let by = Pt::new(dx, dy);
        assert_eq!(Record::stitch(by).unwrap().bytes, as_stitch, "stitch {by:?}");
        assert_eq!(Record::jump(by).unwrap().bytes, as_jump, "jump {by:?}");
        assert_eq!(Record { bytes: as_stitch }.delta(), by);
        assert_eq!(Record { bytes: as_jump }.kind(), Kind::Jump);
    }
}

#[test]
fn every_move_within_the_reach_round_trips() {
    for x in -121..=121 {
        for y in -121..=121 {
            let record = Record::stitch(Pt::new(x, y)).unwrap();
            assert_eq!(record.bytes, stitch(x, y), "{x}, {y}");
            assert_eq!((record.delta(), record.kind()), (Pt::new(x, y), Kind::Stitch));
            let record = Record::jump(Pt::new(x, y)).unwrap();
            assert_eq!(record.bytes, jump(x, y), "{x}, {y}");
            assert_eq!((record.delta(), record.kind()), (Pt::new(x, y), Kind::Jump));
        }
    }
}

fn refusal(bytes: &[u8]) -> TapeError {
    read(bytes, Salvage::Refuse).unwrap_err()
}

/// A small sound tape: two stitches, a trim of three jumps, a stop, the way home.
fn small() -> Vec<[u8; 3]> {
    vec![
        stitch(0, 0),
        stitch(30, 0),
        jump(10, 10),
        jump(10, 10),
        jump(10, 10),
        stitch(0, 0),
        stitch(0, 25),
        STOP,
        stitch(20, 0),
        jump(-80, -55),
        END,
    ]
}

#[test]
fn an_empty_file_is_refused() {
    assert_eq!(refusal(&[]), TapeError::Empty);
    assert_eq!(read(&[], Salvage::UpToDamage).unwrap_err(), TapeError::Empty);
}

#[test]
fn a_file_cut_off_in_the_header_is_refused_at_its_end() {
    assert_eq!(refusal(&[b' '; 511]), TapeError::ShortHeader { offset: 511 });
    assert!(refusal(b"LA:X").to_string().starts_with("byte 4: "));
}

#[test]
fn a_header_alone_is_refused() {
    assert_eq!(refusal(&file(&[])), TapeError::HeaderOnly);
}

#[test]
fn a_partial_last_record_is_refused_at_its_offset() {
    let mut bytes = file(&small()[..3]);
    bytes.extend([0x00, 0x00]);
    assert_eq!(refusal(&bytes), TapeError::PartialRecord { offset: 512 + 9, bytes: 2 });
    let (tape, warnings) = read(&bytes, Salvage::UpToDamage).unwrap();
    assert_eq!(tape.records.len(), 3);
    assert_eq!(
        warnings[..2],
        [
            Warning::Dropped { offset: 521, bytes: 2, damage: refusal(&bytes) },
            Warning::EndAdded { offset: 521 }
        ]
    );
}

#[test]
fn a_tape_without_an_end_record_is_refused_where_it_stops() {
    let bytes = file(&small()[..10]);
    assert_eq!(refusal(&bytes), TapeError::MissingEnd { offset: 542 });
    let (tape, _) = read(&bytes, Salvage::UpToDamage).unwrap();
    assert_eq!(write(&tape), file(&small()));
}

#[test]
fn impossible_low_bits_are_refused_at_their_record() {
    for low in [0x00, 0x01, 0x02] {
        let mut records = small();
        records[4][2] = 0x80 | low;
        let bytes = file(&records);
        let damage = TapeError::NoRecord { offset: 512 + 12, bytes: records[4] };
        assert_eq!(refusal(&bytes), damage);
        let (tape, warnings) = read(&bytes, Salvage::UpToDamage).unwrap();
        assert_eq!(tape.records.len(), 4);
        assert_eq!(warnings[0], Warning::Dropped { offset: 524, bytes: 21, damage });
    }
}

/// Every stitch file of the corpus: its name and bytes, in the order of names.
fn corpus() -> Vec<(String, Vec<u8>)> {
    let root = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("corpus");
    let mut files = Vec::new();
    for folder in std::fs::read_dir(&root).unwrap() {
        for file in std::fs::read_dir(folder.unwrap().path()).into_iter().flatten() {
            let path = file.unwrap().path();
            if path.extension().is_some_and(|extension| extension == "dst") {
                files.push((path.display().to_string(), std::fs::read(&path).unwrap()));
            }
        }
    }
    files.sort();
    assert!(!files.is_empty(), "no stitch files under {}", root.display());
    files
}

#[test]
fn corpus_files_that_are_read_are_written_byte_for_byte() {
    for (name, bytes) in corpus() {
        let (tape, _) = read(&bytes, Salvage::Refuse).unwrap_or_else(|e| panic!("{name}: {e}"));
        assert!(write(&tape) == bytes, "{name}");
    }
}
