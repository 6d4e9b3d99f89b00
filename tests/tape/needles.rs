//! From records to needle points, links and stops.

use crownmend::design::{Design, Link, Pt, Summary, TrimForm, from_tape, from_tape_counting};
use crownmend::tape::{Salvage, Tape, read};
use pretty_assertions::assert_eq;

use crate::bytes::{END, STOP, corpus, file, jump, small, stitch};

const TOGGLE: [u8; 3] = [0x00, 0x00, 0x43];

fn tape(records: &[[u8; 3]]) -> Tape {
    read(&file(records), Salvage::Refuse).unwrap().0
}

fn design(records: &[[u8; 3]]) -> Design {
    from_tape(&tape(records))
}

#[test]
fn a_small_tape_is_flattened() {
    let (tape, design) = (tape(&small()), design(&small()));
    let at = |x, y| Pt::new(x, y);
    assert_eq!(design.points, [at(0, 0), at(30, 0), at(60, 30), at(60, 55), at(80, 55)]);
    assert_eq!(design.links, [Link::Jump, Link::Sewn, Link::Trim, Link::Sewn, Link::Stop]);
    assert_eq!(design.records, [0..1, 1..2, 2..6, 6..7, 7..9]);
    assert_eq!(design.stops, [0, 0, 0, 0, 1]);
    assert_eq!(design.stretches, [0..2, 2..4, 4..5]);
    assert_eq!((design.closing.clone(), design.final_position), (9..10, at(0, 0)));
    let summary = Summary::of(&tape, &design);
    assert_eq!(
        summary,
        Summary {
            stitches: 5,
            jumps: 4,
            trims: 1,
            stops: 2,
            changes: 1,
            bounds_mm: [0.0, 0.0, 8.0, 5.5]
        }
    );
}

#[test]
fn a_landing_without_the_jump_flag_is_a_needle_point() {
    let design = design(&[stitch(1, 0), jump(121, 121), stitch(121, 121), END]);
    assert_eq!(design.points, [Pt::new(1, 0), Pt::new(243, 242)]);
    assert_eq!(design.links[1], Link::Jump);
}

#[test]
fn a_trim_is_three_jumps_unless_told_otherwise() {
    let with = |jumps: usize| {
        let mut records = vec![stitch(1, 0)];
        records.extend(vec![jump(9, 0); jumps]);
        records.extend([stitch(0, 0), END]);
        tape(&records)
    };
    let link = |jumps, limit| from_tape_counting(&with(jumps), limit).links[1];
    // Three jumps: common practice, no published source.
    assert_eq!(
        [1, 2, 3, 4].map(|n| from_tape(&with(n)).links[1] == Link::Trim),
        [false, false, true, true]
    );
    assert_eq!((link(4, 5), link(5, 5)), (Link::Jump, Link::Trim));
}

#[test]
fn a_pair_of_tiny_opposite_jumps_is_a_trim_and_the_form_of_the_file() {
    let there_and_back = [jump(13, -1), jump(-13, 1)];
    let mut records = vec![stitch(1, 0)];
    records.extend(there_and_back);
    records.extend([stitch(60, 0), stitch(5, 5), END]);
    let design = design(&records);
    assert_eq!(design.links[1], Link::Trim);
    assert_eq!(design.trim.form, TrimForm::Markers(Pt::new(13, -1)));
}

#[test]
fn long_opposite_jumps_are_moves_and_no_mark() {
    let design = design(&[stitch(1, 0), jump(90, 0), jump(-90, 0), stitch(0, 9), END]);
    assert_eq!((design.links[1], design.trim.form), (Link::Jump, TrimForm::None));
}

#[test]
fn the_form_is_the_least_number_of_jumps_where_fewer_would_do() {
    let mut records = vec![stitch(1, 0)];
    for jumps in [7, 5, 6] {
        records.extend(vec![jump(4, 4); jumps]);
        records.push(stitch(0, 0));
    }
    // A long way that needs all its jumps is no habit.
    records.extend([jump(-121, 0), jump(-121, 0), jump(-121, 0), stitch(0, 0), END]);
    assert_eq!(design(&records).trim.form, TrimForm::Jumps(5));
}

#[test]
fn stops_without_stitches_make_no_colour_block() {
    let design = design(&[STOP, stitch(1, 0), STOP, STOP, stitch(1, 0), STOP, END]);
    assert_eq!((design.stops.clone(), design.stop_count()), (vec![0, 1], 2));
    assert_eq!(design.links, [Link::Stop, Link::Stop]);
}

#[test]
fn jumps_between_sequin_toggles_are_no_trim() {
    let mut records = vec![stitch(1, 0), TOGGLE, stitch(1, 0)];
    records.extend(vec![jump(0, 3); 5]);
    records.extend([stitch(1, 0), TOGGLE, stitch(1, 0), stitch(1, 0), END]);
    let design = design(&records);
    assert_eq!(design.sequin, [false, true, true, true, false]);
    assert!(design.links.iter().all(|link| *link != Link::Trim));
}

#[test]
fn the_corpus_has_as_many_needle_points_and_stops_as_its_truth() {
    for (name, bytes) in corpus() {
        let truth =
            std::fs::read(std::path::Path::new(&name).with_file_name("truth.json")).unwrap();
        let truth: serde_json::Value = serde_json::from_slice(&truth).unwrap();
        let Ok((tape, _)) = read(&bytes, Salvage::Refuse) else { continue };
        let summary = Summary::of(&tape, &from_tape(&tape));
        assert_eq!(Some(summary.stitches as u64), truth["stitch_count"].as_u64(), "{name}");
    }
}
