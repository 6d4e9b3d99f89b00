//! What looks strange and does no harm: it is read, kept byte for byte, and shown safely.

use crownmend::design::{Link, from_tape};
use crownmend::tape::{Kind, Salvage, Warning, inert, read, write};
use pretty_assertions::assert_eq;

use crate::bytes::{END, STOP, corpus, fields, file, header, jump, small, stitch};

/// Reads without salvage, checks that the bytes come back, and gives the warnings.
fn kept(bytes: &[u8]) -> Vec<Warning> {
    let (tape, warnings) = read(bytes, Salvage::Refuse).unwrap();
    assert!(write(&tape) == bytes);
    warnings
}

/// The small tape under a header of its own.
fn under(fields: &str) -> Vec<u8> {
    let mut bytes = header(fields);
    bytes.extend(small().iter().flatten());
    bytes
}

#[test]
fn a_sound_file_gives_no_warning() {
    assert_eq!(kept(&under(&fields(11, 1, [80, 0, 55, 0]))), []);
}

#[test]
fn absurd_counts_are_a_warning() {
    let warnings = kept(&under(&fields(9_999_999, 999, [80, 0, 55, 0])));
    let differs = |field, says, counted| Warning::HeaderDiffers { field, says, counted };
    assert_eq!(warnings, [differs("ST", 9_999_999, 11), differs("CO", 999, 1)]);
    let warnings = kept(&under("LA:X\nST:99999999999999999999999\nCO:one\n"));
    assert!(matches!(&warnings[..], [Warning::HeaderUnreadable { fields }] if fields.len() == 8));
}

#[test]
fn swapped_extents_are_a_warning_of_their_own() {
    assert_eq!(kept(&under(&fields(11, 1, [80, 0, 0, 55]))), [Warning::HeaderSwapped]);
}

#[test]
fn equal_extents_are_not_swapped() {
    let mut bytes = header(&fields(4, 0, [0, 0, 9, 9]));
    bytes.extend([stitch(0, 9), stitch(0, -18), jump(0, 9), END].iter().flatten());
    assert_eq!(kept(&bytes), []);
}

#[test]
fn a_header_of_zeros_or_noise_is_a_warning() {
    for byte in [0x00, 0x0D, 0x1A, 0xFF] {
        let mut bytes = file(&small());
        bytes[..512].fill(byte);
        assert!(matches!(&kept(&bytes)[..], [Warning::HeaderUnreadable { .. }]));
    }
}

#[test]
fn a_hostile_label_is_kept_and_shown_as_escapes() {
    let mut bytes = under(&fields(11, 1, [80, 0, 55, 0]));
    bytes[3..19].copy_from_slice(b"\x1b]0;\x07<b>\xff\xe2\x80\xaeX\0\0\0");
    assert_eq!(kept(&bytes), []);
    let (tape, _) = read(&bytes, Salvage::Refuse).unwrap();
    let label = tape.parsed_header().label;
    assert_eq!(inert(&label), "\\x1B]0;\\x07<b>\\xFF\\u{202E}X");
}

#[test]
fn bytes_after_the_end_are_kept() {
    let mut bytes = under(&fields(11, 1, [80, 0, 55, 0]));
    bytes.push(0x1A);
    assert_eq!(kept(&bytes), []);
    bytes.extend(b" posted by Hadder Lock");
    assert_eq!(kept(&bytes), [Warning::AfterEnd { offset: 545, bytes: 23 }]);
}

#[test]
fn a_dangling_stop_is_no_second_colour() {
    let mut records = small();
    records.insert(10, STOP);
    let (tape, _) = read(&file(&records), Salvage::Refuse).unwrap();
    assert_eq!(tape.count(Kind::Stop), 2);
    let design = from_tape(&tape);
    assert_eq!((design.stop_count(), design.closing), (2, 9..11));
}

#[test]
fn hundreds_of_zero_length_stitches_are_needle_points() {
    let mut records = vec![stitch(0, 0); 700];
    records.push(END);
    let (tape, _) = read(&file(&records), Salvage::Refuse).unwrap();
    let design = from_tape(&tape);
    assert_eq!((design.points.len(), design.stretches.len()), (700, 1));
}

#[test]
fn a_million_jumps_are_one_trim() {
    let mut records = vec![stitch(0, 0)];
    records.extend((0..500_000).flat_map(|_| [jump(121, 0), jump(-121, 0)]));
    records.extend([stitch(0, 0), END]);
    let bytes = file(&records);
    kept(&bytes);
    let design = from_tape(&read(&bytes, Salvage::Refuse).unwrap().0);
    assert_eq!(design.links, [Link::Jump, Link::Trim]);
    assert_eq!(design.records[1].len(), 1_000_001);
}

#[test]
fn corpus_files_that_are_read_are_written_byte_for_byte() {
    for (name, bytes) in corpus() {
        let truth =
            std::fs::read_to_string(std::path::Path::new(&name).with_file_name("truth.json"));
        let refused = truth.unwrap().contains(r#""outcome":"refused""#);
        match read(&bytes, Salvage::Refuse) {
            Ok((tape, _)) => assert!(write(&tape) == bytes && !refused, "{name}"),
            Err(error) => assert!(refused, "{name}: {error}"),
        }
    }
}
