//! The header is put right in place, in the manner of the file that it came from.

use crownmend::design::{Link, assemble, from_tape};
use crownmend::objects::Objects;
use crownmend::tape::{Salvage, Tape, read};
use pretty_assertions::assert_eq;

use crate::assemble::{object, originals};
use crate::bytes::{fields, header, small};

/// The small tape under these header fields.
fn tape(fields: &str) -> Tape {
    let mut bytes = header(fields);
    bytes.extend(small().iter().flatten());
    read(&bytes, Salvage::Refuse).unwrap().0
}

/// Header text, its carriage returns as line ends, without padding.
fn text(tape: &Tape) -> String {
    assert_eq!(tape.header.len(), 512);
    String::from_utf8(tape.header.clone()).unwrap().replace('\r', "\n").trim_end().to_owned()
}

/// Header of the tape without its last stop, which leaves 8 records and reaches 60 to the right.
fn shortened(fields: &str) -> String {
    let tape = tape(fields);
    let design = from_tape(&tape);
    let items = vec![object(0, Link::Jump, originals(&design, 0..4))];
    text(&assemble(&tape, &design, &Objects::from(items)).unwrap())
}

#[test]
fn counts_and_extents_are_renewed_and_all_else_is_kept() {
    let before = fields(11, 1, [80, 0, 55, 0]) + "ZZ:unknown  \n";
    let after = fields(9, 0, [60, 0, 55, 0]) + "ZZ:unknown  \n\u{1a}";
    assert_eq!(shortened(&before), after);
}

#[test]
fn the_manner_of_writing_numbers_stays() {
    // Zeros, digits at the left, signs before the padding, and colours counted for changes.
    let before = "LA:X\nST:0000010\nCO:2  \n+X:+  80\n-X:-   0\n+Y:  +55\nAX:-00007\n";
    let after = "LA:X\nST:0000008\nCO:1  \n+X:+  60\n-X:-   0\n+Y:  +55\nAX:+00000\n\u{1a}";
    assert_eq!(shortened(before), after);
}

#[test]
fn swapped_extents_stay_swapped() {
    let before = fields(11, 1, [80, 0, 0, 55]);
    assert_eq!(shortened(&before), fields(9, 0, [60, 0, 0, 55]) + "\u{1a}");
}

#[test]
fn a_field_too_narrow_for_its_number_stays() {
    assert_eq!(shortened("ST:\nCO:x\n+X:1\n"), "ST:\nCO:0\n+X:1\n\u{1a}");
}

#[test]
fn a_field_name_inside_the_label_is_no_field() {
    let hostile =
        fields(11, 1, [80, 0, 55, 0]).replacen("OSSEL QUAY      ", "A\nST:      1\nCO:", 1);
    let parsed = tape(&hostile).parsed_header();
    assert_eq!((parsed.records, parsed.changes), (Some(11), Some(1)));
}

const THREADS: &str = "#C81E28,Signal red,1147\n#102060,Quay blue,1166\n#FFFFFF,Spare,1001\n";

/// The two stops of the small tape, the second first; then, if `split`, part of it again.
fn reordered(fields: &str, split: bool) -> Tape {
    let tape = tape(fields);
    let design = from_tape(&tape);
    let mut items = vec![
        object(0, Link::Jump, originals(&design, 4..5)),
        object(1, Link::Stop, originals(&design, 0..2)),
    ];
    items.push(object(1 + u32::from(split), Link::Trim, originals(&design, 2..4)));
    assemble(&tape, &design, &Objects::from(items)).unwrap()
}

#[test]
fn thread_entries_follow_their_stops() {
    let base = fields(11, 1, [80, 0, 55, 0]);
    let new = reordered(&(base.clone() + THREADS), false);
    let colours: Vec<String> =
        new.parsed_header().threads.into_iter().map(|thread| thread.colour).collect();
    assert_eq!(colours, ["#102060", "#C81E28", "#FFFFFF"]);
    let entry = &new.parsed_header().threads[0];
    assert_eq!((&entry.description[..], &entry.number[..]), (&b"Quay blue"[..], &b"1166"[..]));
    assert_eq!(new.header[511], b' ');
    assert!(text(&new).ends_with("1001\n\u{1a}"));
}

#[test]
fn a_stop_that_is_split_has_its_thread_noted_twice() {
    let base = fields(11, 1, [80, 0, 55, 0]);
    let new = reordered(&(base + THREADS), true);
    let threads = new.parsed_header().threads;
    let numbers: Vec<&[u8]> = threads.iter().map(|thread| &thread.number[..]).collect();
    // The split happens between neighbours whose way was a trim: now a colour change.
    assert_eq!(numbers, [b"1166", b"1147", b"1147", b"1001"]);
    assert!(text(&new).ends_with("1001\n\u{1a}"));
}

#[test]
fn thread_notes_without_room_or_knowledge_end_early() {
    let base = fields(11, 1, [80, 0, 55, 0]);
    let one = reordered(&(base.clone() + "#C81E28,Signal red,1147\n"), false);
    assert_eq!(one.parsed_header().threads, []);
    let long = "x".repeat(355);
    let full = format!("{base}#C81E28,{long},1\n#102060,,\n");
    assert_eq!(tape(&full).header.len(), 512);
    let new = reordered(&full, true);
    let threads = new.parsed_header().threads;
    assert_eq!(threads.len(), 2);
    assert_eq!(threads[0].colour, "#102060");
    // The end of the fields is still there, behind the last whole entry.
    assert!(text(&new).ends_with("x,1\n\u{1a}"));
}
