//! What is refused, where, and what a salvage makes of it.

use crownmend::tape::{Record, Salvage, TapeError, Warning, read, write};
use pretty_assertions::assert_eq;

use crate::bytes::{END, STOP, file, jump, small, stitch};

fn refusal(bytes: &[u8]) -> TapeError {
    read(bytes, Salvage::Refuse).unwrap_err()
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

#[test]
fn random_bytes_are_refused() {
    // A text, whose first three letters end in 0x6F with its two low bits set, by chance.
    let text: Vec<u8> = b"Ossel Quay rows at dawn. ".repeat(60);
    assert!(matches!(refusal(&text), TapeError::NoRecord { .. } | TapeError::OutOfReach { .. }));
}

#[test]
fn a_needle_beyond_three_metres_is_refused_where_it_gets_there() {
    // 30,000 = 247 x 121 + 113: the 248th move is the first beyond.
    for (dx, dy) in [(121, 0), (-121, 0), (0, 121), (0, -121)] {
        let mut records = vec![stitch(dx, dy); 300];
        records.push(END);
        let bytes = file(&records);
        let TapeError::OutOfReach { offset, at } = refusal(&bytes) else { panic!() };
        assert_eq!((offset, at.x, at.y), (512 + 3 * 247, 248 * dx, 248 * dy));
        let (tape, _) = read(&bytes, Salvage::UpToDamage).unwrap();
        assert_eq!(tape.records.len(), 247);
    }
}

#[test]
fn a_tape_without_a_needle_point_is_refused() {
    let bytes = file(&[jump(10, 0), STOP, jump(-10, 0), END]);
    for salvage in [Salvage::Refuse, Salvage::UpToDamage] {
        assert_eq!(read(&bytes, salvage).unwrap_err(), TapeError::NoNeedle { offset: 521 });
    }
}

#[test]
fn an_end_record_with_sewing_after_it_is_refused() {
    let mut records = small();
    records[7] = END;
    let bytes = file(&records);
    assert_eq!(refusal(&bytes), TapeError::EarlyEnd { offset: 533, sewing: 536 });
    // The tape goes on soundly to another end record: that is a colour change.
    let (tape, warnings) = read(&bytes, Salvage::UpToDamage).unwrap();
    assert_eq!(warnings[0], Warning::EndReadAsStop { offset: 533, count: 1 });
    assert_eq!(write(&tape), file(&small()));
}

#[test]
fn an_end_record_before_damaged_sewing_is_the_end_for_a_salvage() {
    let mut records = small();
    records[7] = END;
    let bytes = file(&records[..10]);
    let damage = TapeError::EarlyEnd { offset: 533, sewing: 536 };
    assert_eq!(refusal(&bytes), damage);
    let (tape, warnings) = read(&bytes, Salvage::UpToDamage).unwrap();
    assert_eq!(warnings[0], Warning::Dropped { offset: 533, bytes: 9, damage });
    assert_eq!(tape.records.len(), 7);
    assert_eq!(tape.tail, Record::END);
}

#[test]
fn end_records_and_still_ones_after_the_end_are_no_sewing() {
    let mut records = small();
    records.extend([END, stitch(0, 0), STOP, [0x1A, 0x1A, 0x1A], stitch(5, 5)]);
    let bytes = file(&records);
    let (tape, warnings) = read(&bytes, Salvage::Refuse).unwrap();
    assert_eq!(tape.records.len(), 10);
    assert_eq!(warnings[0], Warning::AfterEnd { offset: 545, bytes: 15 });
    assert_eq!(write(&tape), bytes);
}

#[test]
fn every_refusal_names_its_byte_and_a_remedy() {
    let damaged =
        [file(&small()[..10]), file(&[END]), file(&[]), vec![0; 3], vec![], vec![b' '; 900]];
    for bytes in damaged {
        let words = refusal(&bytes).to_string();
        assert!(words.starts_with("byte "), "{words}");
        assert!(words.contains("again"), "{words}");
    }
}
