//! From objects back to records.

use crownmend::design::{AssembleError, Design, Link, Pt, assemble, assemble_linked, from_tape};
use crownmend::objects::{Class, Label, Needle, Object, ObjectId, Objects, Part, Shape};
use crownmend::tape::{Kind, Salvage, Tape, read, write};
use pretty_assertions::assert_eq;

use crate::bytes::{END, STOP, corpus, file, jump, small, stitch};

pub fn object(stop: u32, link: Link, needles: Vec<Needle>) -> Object {
    Object {
        id: ObjectId(0),
        class: Class::Unsure,
        stop,
        parts: vec![Part { label: Label::Unsure, link, needles }],
        shape: Shape::Unknown,
        footprint: geo::MultiPolygon(Vec::new()).into(),
        confidence: 0.0,
        element: 0,
        held: false,
        hides: false,
    }
}

/// Needles of a design as they were.
pub fn originals(design: &Design, range: std::ops::Range<usize>) -> Vec<Needle> {
    let needle = |i: usize| Needle { at: design.points[i], origin: Some(i as u32) };
    range.map(needle).collect()
}

/// One object that holds every needle.
pub fn whole(design: &Design) -> Objects {
    let needles = originals(design, 0..design.points.len());
    Objects::from(vec![object(0, Link::Jump, needles)])
}

fn given(records: &[[u8; 3]]) -> (Tape, Design) {
    let tape = read(&file(records), Salvage::Refuse).unwrap().0;
    let design = from_tape(&tape);
    (tape, design)
}

/// Bytes of the records that objects make.
fn made(records: &[[u8; 3]], items: impl Fn(&Design) -> Vec<Object>) -> Vec<[u8; 3]> {
    let (tape, design) = given(records);
    let objects = Objects::from(items(&design));
    let new = assemble(&tape, &design, &objects).unwrap();
    // What is written is a sound tape.
    assert_eq!(read(&write(&new), Salvage::Refuse).unwrap().0, new);
    new.records.iter().map(|record| record.bytes).collect()
}

fn moved(mut needles: Vec<Needle>, index: usize, by: Pt) -> Vec<Needle> {
    needles[index].at = needles[index].at + by;
    needles
}

#[test]
fn untouched_corpus_files_come_out_byte_for_byte() {
    for (name, bytes) in corpus() {
        let Ok((tape, _)) = read(&bytes, Salvage::Refuse) else { continue };
        let design = from_tape(&tape);
        let new = assemble(&tape, &design, &whole(&design)).unwrap();
        assert!(write(&new) == bytes, "{name}");
    }
}

#[test]
fn a_moved_needle_keeps_the_form_of_the_records_around_it() {
    let records = made(&small(), |design| {
        let needles = moved(originals(design, 0..5), 2, Pt::new(6, 3));
        vec![object(0, Link::Jump, needles)]
    });
    assert_eq!(
        records,
        [
            stitch(0, 0),
            stitch(30, 0),
            jump(12, 11),
            jump(12, 11),
            jump(12, 11),
            stitch(0, 0),
            stitch(-6, 22),
            STOP,
            stitch(20, 0),
            jump(-80, -55),
        ]
    );
}

#[test]
fn a_moved_last_needle_still_leads_back_to_the_final_position() {
    let records = made(&small(), |d| {
        vec![object(0, Link::Jump, moved(originals(d, 0..5), 4, Pt::new(60, 0)))]
    });
    // 140 points take two jumps.
    assert_eq!(records[8..], [stitch(80, 0), jump(-70, -27), jump(-70, -28)]);
}

#[test]
fn a_moved_first_needle_is_reached_from_the_start_point() {
    let by = Pt::new(150, 0);
    let records = made(&small(), |d| vec![object(0, Link::Jump, moved(originals(d, 0..5), 0, by))]);
    assert_eq!(records[..4], [jump(75, 0), jump(75, 0), stitch(0, 0), stitch(-120, 0)]);
}

#[test]
fn marker_pairs_stay_where_needles_move_and_make_new_trims() {
    let tape = [
        stitch(0, 0),
        jump(13, -1),
        jump(-13, 1),
        jump(40, 0),
        stitch(0, 0),
        stitch(0, 20),
        stitch(0, 20),
        END,
    ];
    let records = made(&tape, |d| {
        vec![
            object(0, Link::Jump, moved(originals(d, 0..2), 1, Pt::new(-10, 0))),
            object(0, Link::Trim, originals(d, 3..4)),
        ]
    });
    assert_eq!(
        records,
        [
            stitch(0, 0),
            jump(13, -1),
            jump(-13, 1),
            jump(30, 0),
            stitch(0, 0),
            jump(13, -1),
            jump(-13, 1),
            jump(10, 40),
            stitch(0, 0),
        ]
    );
}

#[test]
fn new_links_are_written_by_their_kind() {
    let link = |link| {
        made(&small(), |d| {
            vec![object(0, Link::Jump, originals(d, 0..2)), object(0, link, originals(d, 3..4))]
        })[2..]
            .to_vec()
    };
    let home = [jump(-60, -55)];
    // The original way was a trim of three jumps.
    assert_eq!(link(Link::Sewn), [&[stitch(30, 55)][..], &home].concat());
    assert_eq!(link(Link::Jump), [&[jump(30, 55), stitch(0, 0)][..], &home].concat());
    let trim = [jump(10, 18), jump(10, 19), jump(10, 18), stitch(0, 0)];
    assert_eq!(link(Link::Trim), [&trim[..], &home].concat());
    // Both objects are in one stop, so that there is no colour change to write.
    assert_eq!(link(Link::Stop), link(Link::Trim));
}

#[test]
fn another_stop_is_a_colour_change_whatever_the_link() {
    for link in [Link::Sewn, Link::Jump, Link::Trim, Link::Stop] {
        let records = made(&small(), |d| {
            vec![object(0, Link::Jump, originals(d, 0..1)), object(1, link, originals(d, 1..2))]
        });
        assert_eq!(records[1..4], [STOP, jump(30, 0), stitch(0, 0)]);
    }
}

#[test]
fn sewn_links_are_split_to_the_length_asked_for_and_to_the_reach() {
    let (tape, design) = given(&small());
    let objects = |at| {
        Objects::from(vec![
            object(0, Link::Jump, originals(&design, 0..2)),
            object(0, Link::Sewn, vec![Needle::new(at), Needle::new(at + Pt::new(0, 100))]),
        ])
    };
    let after = |at, link_max| {
        let new = assemble_linked(&tape, &design, &objects(at), link_max).unwrap().tape;
        new.records[2..].iter().map(|record| record.bytes).collect::<Vec<_>>()
    };
    // 7 mm in stitches of at most 3 mm; inside a part a stitch stays whole.
    let split = [stitch(23, 0), stitch(24, 0), stitch(23, 0), stitch(0, 100)];
    assert_eq!(after(Pt::new(100, 0), 3.0)[..4], split);
    assert_eq!(after(Pt::new(100, 0), f64::NAN)[..2], [stitch(70, 0), stitch(0, 100)]);
    // 24.2 mm are two records of 12.1 mm each.
    assert_eq!(after(Pt::new(272, 242), f64::INFINITY)[..2], [stitch(121, 121), stitch(121, 121)]);
}

#[test]
fn a_stop_inside_an_object_outlives_the_needle_behind_it() {
    let mut records = small();
    records.insert(9, stitch(0, 7));
    let records = made(&records, |d| {
        let needles = [originals(d, 0..4), originals(d, 5..6)].concat();
        vec![object(0, Link::Jump, needles)]
    });
    assert_eq!(records[6..], [stitch(0, 25), STOP, jump(20, 7), stitch(0, 0), jump(-80, -55)]);
}

#[test]
fn a_jump_that_grows_does_not_become_a_trim() {
    let tape = [stitch(0, 0), jump(100, 0), jump(100, 0), stitch(100, 0), END];
    let by = Pt::new(60, 0);
    let records = made(&tape, |d| vec![object(0, Link::Jump, moved(originals(d, 0..2), 1, by))]);
    assert_eq!(records[..4], [stitch(0, 0), jump(120, 0), jump(120, 0), stitch(120, 0)]);
}

#[test]
fn dangling_and_doubled_stops_keep_their_number() {
    let tape =
        [STOP, stitch(1, 0), STOP, STOP, stitch(1, 0), STOP, stitch(1, 0), jump(-3, 0), STOP, END];
    let stops = |order: [usize; 3]| {
        let records = made(&tape, |d| {
            let item = |(new, old): (usize, &usize)| {
                object(new as u32, Link::Stop, originals(d, *old..old + 1))
            };
            order.iter().enumerate().map(item).collect()
        });
        records.iter().filter(|record| **record == STOP).count()
    };
    for order in [[0, 1, 2], [0, 2, 1], [1, 0, 2], [1, 2, 0], [2, 0, 1], [2, 1, 0]] {
        assert_eq!(stops(order), 5, "{order:?}");
    }
}

#[test]
fn new_needles_before_the_first_of_a_stop_come_after_the_colour_change() {
    let records = made(&small(), |d| {
        let mut second = originals(d, 4..5);
        second.insert(0, Needle::new(Pt::new(70, 55)));
        vec![object(0, Link::Jump, originals(d, 0..4)), object(1, Link::Trim, second)]
    });
    assert_eq!(records[7..11], [STOP, jump(10, 0), stitch(0, 0), stitch(10, 0)]);
}

#[test]
fn the_new_stop_order_names_the_old_stops() {
    let (tape, design) = given(&small());
    let items = vec![
        object(0, Link::Jump, originals(&design, 4..5)),
        object(1, Link::Stop, originals(&design, 0..4)),
        object(2, Link::Stop, vec![Needle::new(Pt::new(0, 0))]),
    ];
    let assembled = assemble_linked(&tape, &design, &Objects::from(items), f64::INFINITY).unwrap();
    assert_eq!(assembled.stop_order, [Some(1), Some(0), None]);
    assert_eq!(assembled.tape.count(Kind::Stop), 2);
}

#[test]
fn objects_that_do_not_fit_are_refused() {
    let (tape, design) = given(&small());
    let with = |needle| {
        let mut objects = whole(&design);
        objects.items[0].parts[0].needles.push(needle);
        assemble(&tape, &design, &objects).unwrap_err()
    };
    let far = Pt::new(i32::MAX, i32::MIN + 1);
    assert_eq!(with(Needle::new(far)), AssembleError::OutOfReach { at: far });
    let strange = Needle { at: Pt::default(), origin: Some(u32::MAX) };
    assert_eq!(with(strange), AssembleError::UnknownOrigin { origin: u32::MAX });
    assert_eq!(assemble(&tape, &design, &Objects::default()), Err(AssembleError::NoNeedle));
}

#[test]
fn sequins_are_never_taken_apart() {
    let toggle = [0x00, 0x00, 0x43];
    let records =
        [stitch(1, 0), toggle, stitch(9, 0), jump(0, 3), stitch(1, 0), toggle, stitch(1, 0), END];
    let (tape, design) = given(&records);
    let outcome =
        |needles| assemble(&tape, &design, &Objects::from(vec![object(0, Link::Jump, needles)]));
    assert_eq!(outcome(originals(&design, 0..4)).unwrap(), tape);
    let shifted = moved(originals(&design, 0..4), 2, Pt::new(1, 0));
    assert_eq!(outcome(shifted), Err(AssembleError::Sequin { origin: 2 }));
    assert_eq!(outcome(originals(&design, 0..3)), Err(AssembleError::SequinsMissing));
    assert_eq!(outcome(originals(&design, 2..4)), Err(AssembleError::Sequin { origin: 2 }));

    // A toggle after the last needle keeps that needle too.
    let (tape, design) = given(&[stitch(1, 0), stitch(9, 0), toggle, jump(-10, 0), END]);
    let objects = |needles| Objects::from(vec![object(0, Link::Jump, needles)]);
    let shifted = objects(moved(originals(&design, 0..2), 1, Pt::new(1, 0)));
    assert_eq!(assemble(&tape, &design, &shifted), Err(AssembleError::SequinsMissing));
}
