//! Whole plans on hand-built designs. Expected orders follow from the rules of the trade: sew
//! bottom to top and centre outward (Printwear Oct 2016 p. 61), finish each element (the same).

use std::collections::BTreeSet;

use geo::{Distance, Euclidean, Intersects, MultiPolygon};
use pretty_assertions::assert_eq;
use proptest::prelude::*;

use super::{Plan, Reason, best_order};
use crate::fixtures;
use crate::objects::{Class, Object, ObjectId, Objects};
use crate::settings::{Brim, PassName, StopRule};

/// A filled rectangle of one element.
fn block(id: u32, stop: u32, element: u32, (x0, y0, x1, y1): (f64, f64, f64, f64)) -> Object {
    let mut object = fixtures::fill(id, stop, &fixtures::rect(x0, y0, x1, y1), 0.0, 0.2, 4.0);
    object.element = element;
    object
}

/// A frame of satin round a rectangle, 3 mm wide.
fn frame(id: u32, stop: u32, element: u32, (x0, y0, x1, y1): (f64, f64, f64, f64)) -> Object {
    let outer = fixtures::rect(x0 - 2.0, y0 - 2.0, x1 + 2.0, y1 + 2.0);
    let inner = fixtures::rect(x0 + 1.0, y0 + 1.0, x1 - 1.0, y1 - 1.0);
    let mut object = fixtures::ring(id, stop, &outer, &inner, 0.4);
    object.element = element;
    object
}

const CREST: (f64, f64, f64, f64) = (-15.0, 15.0, 15.0, 45.0);

/// A crest in two colours above a tag line of five blocks, numbered 10 to 14 from left to right.
fn crest_with_tag_line(tag_stop: u32) -> Vec<Object> {
    let mut items = vec![block(0, 0, 0, CREST), frame(1, 1, 0, CREST)];
    for letter in 0..5u32 {
        let x = f64::from(letter) * 8.0 - 20.0;
        items.push(block(10 + letter, tag_stop, 1 + letter, (x, 0.0, x + 6.0, 6.0)));
    }
    items
}

fn ids(plan: &Plan) -> Vec<u32> {
    plan.order.iter().map(|id| id.0).collect()
}

fn plan_of(items: Vec<Object>) -> Plan {
    best_order(&fixtures::objects(items), &fixtures::settings())
}

#[test]
fn a_tag_line_in_its_own_last_stop_has_its_stop_moved_first() {
    let plan = plan_of(crest_with_tag_line(2));
    assert_eq!(plan.stop_permutation, [2, 0, 1]);
    let moved = plan.moves.iter().find(|m| m.stop == Some(2)).expect("the stop moves");
    assert_eq!((moved.from, moved.to, moved.reason), (2, 0, Reason::BottomUp));
    assert!(plan.gain > 10.0 && plan.gain_share > 0.05);
    assert!((plan.cost_before.total() - plan.cost_after.total() - plan.gain).abs() < 1e-9);
    assert!(plan.bound <= plan.cost_after.total() + 1e-9);
}

#[test]
fn a_tag_line_in_the_stop_of_the_border_is_moved_inside_it() {
    let plan = plan_of(crest_with_tag_line(1));
    assert_eq!(plan.stop_permutation, [0, 1]);
    assert_eq!(ids(&plan)[0], 0, "the fill stays in its stop");
    assert_eq!(*ids(&plan).last().unwrap(), 1, "the border comes last");
    assert!(plan.moves.iter().all(|m| m.stop.is_none()));
}

#[test]
fn letters_are_sewn_from_the_centre_outward() {
    let mut line = crest_with_tag_line(2);
    line.drain(..2);
    let order = ids(&plan_of(line));
    let rank = |id: u32| order.iter().position(|o| *o == id).unwrap();
    // blocks 10 and 11 lie left of the centre, 12 astride it, 13 and 14 right of it
    assert!(rank(12) < rank(11) && rank(11) < rank(10));
    assert!(rank(12) < rank(13) && rank(13) < rank(14));
}

#[test]
fn the_other_brim_turns_bottom_and_top() {
    let objects = fixtures::objects(crest_with_tag_line(2));
    let mut settings = fixtures::settings();
    settings.brim = Brim::Top;
    let plan = best_order(&objects, &settings);
    assert_eq!(plan.stop_permutation, [0, 1, 2]);
}

#[test]
fn the_outcome_of_a_plan_needs_no_further_plan() {
    for tag_stop in [1, 2] {
        let objects = fixtures::objects(crest_with_tag_line(tag_stop));
        let settings = fixtures::settings();
        let plan = best_order(&objects, &settings);
        let again = best_order(&reordered(&objects, &plan), &settings);
        assert!(again.is_identity(), "{:?}", again.moves);
        assert!(again.cost_before.total() <= plan.cost_after.total() + 1e-9);
    }
}

/// The objects in the planned order, stops renumbered.
fn reordered(objects: &Objects, plan: &Plan) -> Objects {
    let mut items: Vec<Object> = Vec::new();
    let mut old = None;
    for id in &plan.order {
        let mut object = objects.get(*id).unwrap().clone();
        let here = object.stop;
        object.stop = items.last().map_or(0, |o| o.stop + u32::from(old != Some(here)));
        old = Some(here);
        items.push(object);
    }
    fixtures::objects(items)
}

/// Blocks found by the property test below: those that came first in a stop kept that link where they
/// were moved to, and the order found was not its own best.
#[test]
fn an_order_is_planned_again_with_the_links_that_it_asks_for() {
    let objects = fixtures::objects(vec![
        block(1, 0, 1, (12.1, 28.8, 24.1, 33.4)),
        block(2, 0, 4, (19.3, 25.3, 33.1, 27.5)),
        block(3, 0, 1, (0.0, 19.9, 1.0, 20.9)),
        block(5, 1, 1, (-14.1, 20.4, -1.9, 29.3)),
        block(6, 1, 0, (0.0, 10.2, 1.0, 11.2)),
        block(7, 1, 2, (2.3, 1.0, 6.8, 5.4)),
        block(8, 1, 3, (6.4, 20.4, 7.4, 34.5)),
        block(0, 2, 0, (0.0, 17.9, 1.0, 18.9)),
        block(4, 2, 4, (0.0, 21.1, 5.1, 33.9)),
        block(9, 2, 0, (0.1, 0.0, 5.1, 14.9)),
    ]);
    let plan = best_order(&objects, &fixtures::settings());
    assert!(!plan.is_identity());
    assert!(best_order(&reordered(&objects, &plan), &fixtures::settings()).is_identity());
}

#[test]
fn nothing_crosses_a_held_stop() {
    let mut items = crest_with_tag_line(2);
    items[1].held = true;
    let plan = plan_of(items);
    assert_eq!(plan.stop_permutation, [0, 1, 2]);
    assert_eq!(ids(&plan)[..2], [0, 1]);
}

#[test]
fn nothing_crosses_a_vetoed_object() {
    let objects = fixtures::objects(crest_with_tag_line(2));
    let mut settings = fixtures::settings();
    for letter in 10..15 {
        settings.skip.insert((PassName::Sequence, ObjectId(letter)));
    }
    assert!(best_order(&objects, &settings).is_identity());
}

#[test]
fn nothing_near_passes_an_unsure_stretch() {
    // a line of unknown stitches from the crest down to 0.9 mm above the middle of the tag line
    let with_unsure = |class: Class| {
        let mut items = crest_with_tag_line(2);
        let mut line = fixtures::run(5, 1, &[(0.0, 6.9), (0.0, 9.0), (0.0, 11.0)]);
        line.class = class;
        line.element = 9;
        items.insert(2, line);
        plan_of(items)
    };
    assert_eq!(with_unsure(Class::Unsure).stop_permutation, [0, 1, 2]);
    // the same line, once it is understood, is 0.3 mm too far away to matter
    assert_eq!(with_unsure(Class::Run).stop_permutation, [2, 0, 1]);
}

#[test]
fn an_unsure_object_keeps_the_neighbour_it_hangs_on() {
    let mut items = crest_with_tag_line(1);
    items[3].class = Class::Unsure;
    let mut objects = fixtures::objects(items);
    objects.items[3].parts[0].link = crate::design::Link::Sewn;
    let order = ids(&best_order(&objects, &fixtures::settings()));
    let place = order.iter().position(|id| *id == 11).unwrap();
    assert_eq!(order[place - 1], 10);
}

#[test]
fn a_sound_order_stays() {
    let mut items = crest_with_tag_line(2);
    items.rotate_left(2);
    // from the middle outward, one side after the other
    items[..5].sort_by_key(|o| [4, 3, 0, 1, 2][o.id.0 as usize - 10]);
    for (place, object) in items.iter_mut().enumerate() {
        object.stop = [0, 0, 0, 0, 0, 1, 2][place];
    }
    let plan = plan_of(items);
    assert!(plan.is_identity() && plan.gain == 0.0, "{:?}", plan.moves);
    assert_eq!(plan.cost_before.below, 0.0);
    assert_eq!(plan.cost_before.outward, 0.0);
}

#[test]
fn elements_are_finished_in_all_their_colours_only_when_asked() {
    let letters = || -> Vec<Object> {
        let at = |i: u32| (f64::from(i) * 16.0 - 16.0, 0.0, f64::from(i) * 16.0 - 4.0, 12.0);
        // centre, right, left, so that only the colours are out of order
        let fills = [1, 2, 0].map(|i| block(i, 0, i, at(i)));
        let frames = [1, 2, 0].map(|i| frame(10 + i, 1, i, at(i)));
        fills.into_iter().chain(frames).collect()
    };
    let objects = fixtures::objects(letters());
    let mut settings = fixtures::settings();
    let kept = best_order(&objects, &settings);
    assert!(kept.is_identity(), "{:?}", kept.moves);
    assert_eq!(kept.stops_added_if_element, 4);
    settings.stops = StopRule::Element;
    let plan = best_order(&objects, &settings);
    assert_eq!(plan.stop_permutation, [0, 1, 0, 1, 0, 1]);
    for pair in ids(&plan).chunks(2) {
        assert_eq!(pair[0] + 10, pair[1]);
    }
    assert!(plan.moves.iter().all(|m| m.reason == Reason::Element));
    let again = best_order(&reordered(&objects, &plan), &settings);
    assert!(again.is_identity());
    assert_eq!(again.stops_added_if_element, 0);
}

#[test]
fn nothing_to_plan() {
    assert!(plan_of(Vec::new()).is_identity());
    let mut empty = crest_with_tag_line(2);
    empty[3].parts.clear();
    assert!(plan_of(empty).is_identity());
    let mut torn = crest_with_tag_line(2);
    torn[0].stop = 7;
    assert!(plan_of(torn).is_identity());
}

/// Distance between two objects by geo alone, mm.
fn apart(a: &MultiPolygon<f64>, b: &MultiPolygon<f64>) -> f64 {
    if a.intersects(b) { 0.0 } else { Euclidean.distance(a, b) }
}

fn random_blocks() -> impl Strategy<Value = Vec<Object>> {
    let one = (-300i32..300, 0i32..400, 10i32..150, 10i32..150, 0u32..3, 0u32..5);
    proptest::collection::vec(one, 1..14).prop_map(|rows| {
        let mut items: Vec<Object> = rows
            .into_iter()
            .enumerate()
            .map(|(id, (x, y, w, h, stop, element))| {
                let mm = |v: i32| f64::from(v) / 10.0;
                block(id as u32, stop, element, (mm(x), mm(y), mm(x + w), mm(y + h)))
            })
            .collect();
        items.sort_by_key(|object| object.stop);
        items
    })
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 150, ..ProptestConfig::default() })]

    #[test]
    fn layers_never_flip(items in random_blocks(), element_rule: bool) {
        let objects = fixtures::objects(items);
        let mut settings = fixtures::settings();
        settings.stops = if element_rule { StopRule::Element } else { StopRule::Keep };
        let plan = best_order(&objects, &settings);
        let known: BTreeSet<ObjectId> = objects.items.iter().map(|o| o.id).collect();
        prop_assert_eq!(plan.order.len(), objects.items.len());
        prop_assert_eq!(plan.order.iter().copied().collect::<BTreeSet<_>>(), known);
        let rank = |id: ObjectId| plan.order.iter().position(|o| *o == id).unwrap();
        for (at, a) in objects.items.iter().enumerate() {
            for b in &objects.items[at + 1..] {
                // twice the 0.3 mm that each is grown by
                if apart(&a.footprint, &b.footprint) <= 0.599 {
                    prop_assert!(rank(a.id) < rank(b.id), "{} and {} flipped", a.id, b.id);
                }
            }
        }
        if !element_rule {
            let stops: Vec<u32> =
                plan.order.iter().map(|id| objects.get(*id).unwrap().stop).collect();
            let runs = 1 + stops.windows(2).filter(|s| s[0] != s[1]).count();
            prop_assert_eq!(runs, stops.iter().collect::<BTreeSet<_>>().len());
        }
        prop_assert!(plan.gain >= 0.0);
        prop_assert!(plan.bound <= plan.cost_after.total() + 1e-6);
        let again = best_order(&reordered(&objects, &plan), &settings);
        prop_assert!(again.is_identity(), "moves again: {:?}", again.moves);
    }

    #[test]
    fn near_pairs_are_those_that_geo_finds(items in random_blocks()) {
        let near = super::touch::near_pairs(&items, |_, _| 0.6);
        for (a, one) in items.iter().enumerate() {
            for (b, other) in items.iter().enumerate().skip(a + 1) {
                let gap = apart(&one.footprint, &other.footprint);
                // within the rounding that is allowed for (0.01 mm) either answer is right
                if (0.6 + 1e-9..0.61 + 1e-9).contains(&gap) {
                    continue;
                }
                prop_assert_eq!(near.has(a, b), gap < 0.6 + 1e-9, "{} mm apart", gap);
            }
        }
    }
}
