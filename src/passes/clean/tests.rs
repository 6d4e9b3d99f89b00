use super::jump_runs::jump_runs;
use super::merge_short::merge_short;
use super::stray_ties::stray_ties;
use super::thin_crowded::thin_crowded;
use crate::design::{self, Link, Pt};
use crate::fixtures::settings;
use crate::geometry::vector::distance;
use crate::objects::{Class, Label, Needle, Object, ObjectId, Objects, Part, Shape};
use crate::passes::Outcome;
use crate::tape::{self, Record, Salvage};

/// A run through these points (0.1 mm).
fn run(points: &[(i32, i32)]) -> Object {
    let needles = points.iter().map(|(x, y)| Needle::new(Pt::new(*x, *y))).collect();
    Object {
        id: ObjectId(0),
        class: Class::Run,
        stop: 0,
        parts: vec![Part { label: Label::Run, link: Link::Jump, needles }],
        shape: Shape::Line,
        footprint: geo::MultiPolygon(Vec::new()).into(),
        confidence: 1.0,
        element: 0,
        held: false,
        hides: false,
    }
}

fn points(outcome: &Outcome) -> Vec<(i32, i32)> {
    outcome.objects.items[0].needles().map(|(_, needle)| (needle.at.x, needle.at.y)).collect()
}

/// Runs a pass, and once more on its own outcome, which must change nothing.
fn cleaned(pass: fn(&Objects, &crate::settings::Settings) -> Outcome, object: Object) -> Outcome {
    let outcome = pass(&Objects::from(vec![object]), &settings());
    let again = pass(&outcome.objects, &settings());
    assert_eq!((&again.objects, again.changes.len()), (&outcome.objects, 0));
    outcome
}

#[test]
fn a_short_stitch_on_the_way_is_merged() {
    // 0.3 mm, 0.1 mm off the line between its neighbours.
    let outcome = cleaned(merge_short, run(&[(0, 0), (20, 0), (23, 1), (43, 0), (60, 0)]));
    assert_eq!(points(&outcome), [(0, 0), (23, 1), (43, 0), (60, 0)]);
    assert_eq!(outcome.changes[0].stitches_removed, 1);
}

#[test]
fn a_short_stitch_that_makes_a_corner_stays() {
    // The corner at (20, 3) stands 0.3 mm off the way; without (20, 0) the thread would cut it.
    let corner = [(0, 0), (20, 0), (20, 4), (40, 4)];
    assert_eq!(points(&cleaned(merge_short, run(&corner))), corner);
    // The ends of an object stay where they are.
    let ends = [(0, 0), (3, 0), (30, 0)];
    assert_eq!(points(&cleaned(merge_short, run(&ends))), [(0, 0), (30, 0)]);
}

#[test]
fn what_is_unsure_or_held_stays_as_it_is() {
    let line = [(0, 0), (20, 0), (23, 0), (43, 0)];
    let unsure = Object { class: Class::Unsure, ..run(&line) };
    let held = Object { held: true, ..run(&line) };
    for object in [unsure, held] {
        assert_eq!(points(&cleaned(merge_short, object)), line);
    }
}

#[test]
fn doubled_needle_points_go_where_too_many_stand() {
    // Six penetrations of one hole: four are borne.
    let stacked = [(0, 0), (20, 0), (20, 0), (20, 0), (20, 0), (20, 0), (20, 0), (40, 0)];
    let outcome = cleaned(thin_crowded, run(&stacked));
    assert_eq!(points(&outcome).iter().filter(|at| **at == (20, 0)).count(), 4);
    // A doubled fold point is a habit, and borne.
    let doubled = [(0, 0), (20, 0), (20, 0), (40, 0)];
    assert_eq!(points(&cleaned(thin_crowded, run(&doubled))), doubled);
}

#[test]
fn a_tie_in_the_middle_of_a_run_goes() {
    let before = [(0, 0), (25, 0), (50, 0), (75, 0), (100, 0), (125, 0), (150, 0)];
    let tie = [(160, 0), (150, 0), (160, 0)];
    let after = [(175, 0), (200, 0), (225, 0), (250, 0), (275, 0), (300, 0), (325, 0)];
    let line: Vec<_> = before.into_iter().chain(tie).chain(after).collect();
    let found = points(&cleaned(stray_ties, run(&line)));
    // Once over the way is enough: (150, 0) and (160, 0) stay.
    assert_eq!(found.iter().filter(|at| (150..=160).contains(&at.0)).count(), 2);
    assert!(found.windows(2).all(|w| w[0].0 < w[1].0), "{found:?}");
}

#[test]
fn a_bean_and_a_run_sewn_back_are_no_ties() {
    let there: Vec<(i32, i32)> = (0..8).map(|k| (15 * k, 0)).collect();
    let back: Vec<_> = there.iter().chain(there.iter().rev().skip(1)).copied().collect();
    assert_eq!(points(&cleaned(stray_ties, run(&back))), back);
    let bean: Vec<_> =
        there.windows(2).flat_map(|w| [w[0], w[1], w[0]]).chain([(105, 0)]).collect();
    assert_eq!(points(&cleaned(stray_ties, run(&bean))), bean);
}

#[test]
fn a_run_of_many_jumps_is_written_with_as_few_as_the_trims_of_the_file_have() {
    let jump = |x| Record::jump(Pt::new(x, 0)).expect("within reach");
    let sew = |x| Record::stitch(Pt::new(x, 0)).expect("within reach");
    let mut records = vec![sew(10), sew(20)];
    // The usual trim of this file: three jumps.
    records.extend([jump(10), jump(10), jump(10), sew(0), sew(20)]);
    // The same way in nine.
    records.extend((0..9).map(|_| jump(4)));
    records.extend([sew(0), sew(20)]);
    let bytes: Vec<u8> = records.iter().flat_map(|record: &Record| record.bytes).collect();
    let bytes = [vec![b' '; 512], bytes, Record::END.to_vec()].concat();
    let (tape, _) = tape::read(&bytes, Salvage::Refuse).expect("a whole tape");
    let design = design::from_tape(&tape);
    assert_eq!(design.loose, [4]);
    let needles = design.points.iter().enumerate();
    let needles = needles.map(|(i, at)| Needle { at: *at, origin: Some(i as u32) }).collect();
    let mut object = run(&[]);
    object.parts[0].needles = needles;
    let mut objects = Objects::from(vec![object]);
    objects.ways.loose = design.loose.clone();
    let outcome = jump_runs(&objects, &settings());
    let written = design::assemble(&tape, &design, &outcome.objects).expect("it fits");
    assert_eq!(written.records.len(), tape.records.len() - 6);
    let again = design::from_tape(&written);
    assert_eq!((&again.points, &again.links), (&design.points, &design.links));
    assert!(again.loose.is_empty());
    let way: f64 = again.points.windows(2).map(|w| distance(w[0].mm(), w[1].mm())).sum();
    assert!((way - 12.6).abs() < 1e-9, "{way}");
}
