//! Junctions of hand-built objects: every expected value is read off the drawing.

use super::{Junction, Meeting, elements, junctions};
use crate::fixtures::{circle, fill, objects, rect, ring, run, satin, settings};
use crate::objects::{Object, ObjectId};

fn of(items: Vec<Object>) -> Vec<Junction> {
    junctions(&objects(items), &settings())
}

fn range(junction: &Junction, value: impl Fn(&super::Sample) -> f64) -> (f64, f64) {
    let values = junction.samples.iter().map(value);
    values.fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), v| (l.min(v), h.max(v)))
}

/// A horizontal satin bar.
fn bar(id: u32, x: (f64, f64), y: (f64, f64), pitch: f64) -> Object {
    satin(id, id, &[(x.0, y.1), (x.1, y.1)], &[(x.0, y.0), (x.1, y.0)], pitch)
}

#[test]
fn a_fill_under_its_border_shares_the_whole_inner_edge() {
    // The fill reaches 0.4 mm under a border 2 mm wide.
    let ground = fill(1, 0, &rect(-0.4, -0.4, 20.4, 10.4), 0.0, 0.2, 4.0);
    let border = ring(2, 1, &rect(-2.0, -2.0, 22.0, 12.0), &rect(0.0, 0.0, 20.0, 10.0), 0.4);
    let found = of(vec![ground, border]);
    assert_eq!(found.len(), 1);
    let junction = &found[0];
    assert_eq!((junction.under, junction.over), (ObjectId(1), ObjectId(2)));
    assert!(junction.closed);
    assert!((junction.length - 60.0).abs() < 2.0, "{}", junction.length);
    // On a corner's bisector the same overlap measures up to 0.4 × √2.
    let (low, high) = range(junction, |s| s.overlap);
    assert!(low > 0.39 && high < 0.4 * 1.42, "{low} {high}");
    // 2.0 wide, 0.3 kept clear of the far edge.
    let (low, high) = range(junction, |s| s.room);
    assert!(low > 1.69 && high < 2.0 * 1.42 - 0.29, "{low} {high}");
    assert!(junction.samples.iter().all(|s| s.can_hide));
    // Rows run along the top and bottom edge and end at the sides.
    for sample in &junction.samples {
        let middle = |v: f64, low: f64, high: f64| v > low + 1.0 && v < high - 1.0;
        if middle(sample.at.x, 0.0, 20.0) {
            assert_eq!(sample.under_meeting, Meeting::PushSide, "{sample:?}");
        } else if middle(sample.at.y, 0.0, 10.0) {
            assert_eq!(sample.under_meeting, Meeting::PullEnd, "{sample:?}");
        }
    }
}

#[test]
fn gaps_up_to_the_limit_count_and_wider_ones_do_not() {
    for (gap, found) in [(-0.3, 1), (0.0, 1), (0.3, 1), (0.5, 0), (1.0, 0)] {
        let lower = bar(1, (0.0, 20.0), (0.0, 3.0), 0.4);
        let upper = bar(2, (0.0, 20.0), (3.0 + gap, 6.0 + gap), 0.4);
        let junctions = of(vec![lower, upper]);
        assert_eq!(junctions.len(), found, "gap {gap}");
        for junction in &junctions {
            let (low, high) = range(junction, |s| s.overlap);
            // At the ends the normal turns into the corner and the ray runs a little longer.
            assert!((low + gap).abs() < 0.03 && (high + gap).abs() < 0.03, "{gap}: {low} {high}");
            assert!((junction.length - 20.0).abs() < 1.1, "{}", junction.length);
            assert!(!junction.closed);
            assert!(
                junction.samples.iter().all(|s| s.inward.y > 0.99 || s.at.x < 0.7 || s.at.x > 19.3)
            );
        }
    }
}

#[test]
fn one_row_further_back_does_not_part_a_curve() {
    // The middle 5 mm of the fill's top edge lie 0.55 mm from the bar, its sides 0.3 mm.
    let notched = |depth: f64| {
        let top = [(20.0, 10.0), (12.5, 10.0), (12.5, 10.0 - depth), (7.5, 10.0 - depth)];
        let outline =
            [(0.0, 0.0), (20.0, 0.0)].into_iter().chain(top).chain([(7.5, 10.0), (0.0, 10.0)]);
        of(vec![
            fill(1, 0, &outline.collect::<Vec<_>>(), 0.0, 0.2, 4.0),
            bar(2, (0.0, 20.0), (10.3, 13.3), 0.4),
        ])
    };
    let found = notched(0.25);
    assert_eq!(found.len(), 1);
    assert!((found[0].length - 20.0).abs() < 1.1, "{}", found[0].length);
    let (low, _) = range(&found[0], |s| s.overlap);
    assert!((low + 0.55).abs() < 0.03, "{low}");
    // A notch of 1 mm is part of the design.
    assert_eq!(notched(1.0).len(), 2);
}

#[test]
fn order_decides_on_whose_edge_the_curve_lies() {
    let lower = || bar(1, (0.0, 20.0), (0.0, 3.0), 0.4);
    let upper = || bar(2, (0.0, 20.0), (2.5, 5.5), 0.4);
    let found = of(vec![upper(), lower()]);
    assert_eq!((found[0].under, found[0].over), (ObjectId(2), ObjectId(1)));
    assert!(found[0].samples.iter().all(|s| s.at.y > 2.9));
    let found = of(vec![lower(), upper()]);
    assert!(found[0].samples.iter().all(|s| s.at.y < 2.6));
}

#[test]
fn detail_on_a_fill_lies_deep_on_both_edges() {
    let ground = fill(1, 0, &rect(0.0, 0.0, 40.0, 30.0), 0.0, 0.2, 4.0);
    let found = of(vec![ground, bar(2, (10.0, 30.0), (13.0, 16.0), 0.4)]);
    assert_eq!(found.len(), 1);
    assert!(found[0].closed);
    let (low, _) = range(&found[0], |s| s.overlap);
    assert_eq!(low, super::DEEPEST_MM);
}

#[test]
fn what_lies_wholly_beneath_is_no_neighbour() {
    // Its edge runs 0.2 mm inside the edge of the cover.
    let hidden = bar(1, (1.0, 19.0), (0.2, 1.0), 0.4);
    assert!(of(vec![hidden, bar(2, (0.0, 20.0), (0.0, 3.0), 0.4)]).is_empty());
}

#[test]
fn an_open_satin_hides_nothing() {
    let found =
        of(vec![bar(1, (0.0, 20.0), (0.0, 3.0), 0.4), bar(2, (0.0, 20.0), (2.8, 5.8), 1.0)]);
    assert!(found[0].samples.iter().all(|s| !s.can_hide && s.room == 0.0));
}

#[test]
fn a_narrow_cover_has_little_room() {
    // 1.2 wide less 0.3 leaves 0.9 of the 1.0 that is wanted.
    let found =
        of(vec![bar(1, (0.0, 20.0), (0.0, 3.0), 0.4), bar(2, (0.0, 20.0), (2.8, 4.0), 0.4)]);
    for sample in found[0].samples.iter().filter(|s| s.at.x > 1.5 && s.at.x < 18.5) {
        assert!((sample.room - 0.9).abs() < 0.05 && !sample.can_hide, "{sample:?}");
    }
}

#[test]
fn a_ring_in_a_ring_is_one_closed_junction() {
    let outer = ring(1, 0, &circle((0., 0.), 12., 90), &circle((0., 0.), 9., 90), 0.4);
    let inner = ring(2, 1, &circle((0., 0.), 9.2, 90), &circle((0., 0.), 6.2, 90), 0.4);
    let found = of(vec![outer, inner]);
    assert_eq!(found.len(), 1);
    assert!(found[0].closed);
    assert!((found[0].length - std::f64::consts::TAU * 9.2).abs() < 0.5);
    let (low, high) = range(&found[0], |s| s.overlap);
    assert!(low > 0.15 && high < 0.25, "{low} {high}");
    let pull = |s: &&super::Sample| {
        s.under_meeting == Meeting::PullEnd && s.over_meeting == Meeting::PullEnd
    };
    assert!(found[0].samples.iter().all(|s| pull(&s)));
}

#[test]
fn short_meetings_held_objects_and_lines_have_no_junction() {
    let stub = || bar(1, (0.0, 2.4), (0.0, 3.0), 0.4);
    let top = || bar(2, (0.0, 20.0), (2.8, 5.8), 0.4);
    assert!(of(vec![stub(), top()]).is_empty());
    let mut held = bar(1, (0.0, 20.0), (0.0, 3.0), 0.4);
    held.held = true;
    assert!(of(vec![held, top()]).is_empty());
    assert!(of(vec![run(1, 0, &[(0.0, 2.9), (20.0, 2.9)]), top()]).is_empty());
}

#[test]
fn elements_are_what_hangs_together() {
    let ground = fill(1, 0, &rect(0.0, 0.0, 20.0, 10.0), 0.0, 0.2, 4.0);
    let apart = bar(2, (40.0, 60.0), (0.0, 3.0), 0.4);
    let border = ring(3, 1, &rect(-2.0, -2.0, 22.0, 12.0), &rect(0.3, 0.3, 19.7, 9.7), 0.4);
    let line = run(4, 1, &[(41.0, 1.0), (45.0, 2.0), (50.0, 1.0)]);
    let all = objects(vec![ground, apart, border, line]);
    assert_eq!(elements(&all, &junctions(&all, &settings())), [0, 1, 0, 1]);
}

#[test]
fn nothing_has_no_junctions() {
    assert!(of(vec![]).is_empty());
    assert!(elements(&objects(vec![]), &[]).is_empty());
}
