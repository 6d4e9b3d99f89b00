use super::*;
use crate::fixtures::{circle, fill, objects, rect, ring, satin, settings};
use crate::geometry::locate::Locator;
use geo::Coord;

/// A horizontal fill under a satin across its top edge.
fn top_border() -> Objects {
    objects(vec![
        fill(1, 0, &rect(0.0, 0.0, 20.0, 10.0), 0.0, 0.2, 4.0),
        satin(2, 1, &[(0.0, 12.0), (20.0, 12.0)], &[(0.0, 9.0), (20.0, 9.0)], 0.4),
    ])
}

fn guards(objects: &Objects) -> Vec<&Object> {
    objects.items.iter().filter(|o| o.class == Class::Guard).collect()
}

#[test]
fn crossing_gets_a_zigzag_before_both() {
    let before = top_border();
    let outcome = guard(&before, &settings());
    let found = guards(&outcome.objects);
    assert_eq!(found.len(), 1);
    assert_eq!(outcome.objects.position(found[0].id), Some(0));
    assert_eq!(found[0].stop, 0, "sewn in the colour of the object sewn first");
    // The top edge, 20 mm, crossed by the edge y = 9 at least every 1.5 mm (design: pitch 1.2).
    let needles: Vec<Coord<f64>> = found[0]
        .parts
        .iter()
        .filter(|p| p.label == Label::Guard)
        .flat_map(|p| p.needles.iter().map(|n| n.at.mm()))
        .collect();
    let crossings: Vec<f64> = needles
        .windows(2)
        .filter(|w| (w[0].y - 9.0) * (w[1].y - 9.0) < 0.0)
        .map(|w| (w[0].x + w[1].x) / 2.0)
        .collect();
    assert!(crossings.windows(2).all(|w| (w[1] - w[0]).abs() <= 1.5), "{crossings:?}");
    assert!(crossings.len() >= 14, "{crossings:?}");
}

/// A place is held by a stitch that reaches half the allowance to either side of the edge and crosses it
/// within half of 1.5 mm (numbers of the profile, J).
#[test]
fn a_crossing_is_held_up_to_the_corners_that_it_ends_in() {
    for width in [7.3, 9.8, 12.1, 20.0] {
        let ground = fill(1, 0, &rect(0.0, 0.0, width, 10.0), 0.0, 0.2, 4.0);
        let rails = [12.0, 9.0].map(|y| [(-5.0, y), (width + 5.0, y)]);
        let above = satin(2, 1, &rails[0], &rails[1], 0.4);
        let outcome = guard(&objects(vec![ground, above]), &settings());
        let needles: Vec<Coord<f64>> =
            guards(&outcome.objects)[0].needles().map(|(_, needle)| needle.at.mm()).collect();
        let crossings = needles.windows(2).filter_map(|stitch| {
            let [a, b] = [stitch[0].y - 9.0, stitch[1].y - 9.0];
            let at = stitch[0].x + (stitch[1].x - stitch[0].x) * a / (a - b);
            (a.min(b) <= -0.45 && a.max(b) >= 0.45).then_some(at)
        });
        let crossings: Vec<f64> = crossings.collect();
        let places = (0..).map(|k| 0.25 + 0.25 * f64::from(k)).take_while(|x| *x <= width - 0.25);
        for place in places {
            let near = crossings.iter().any(|at| (at - place).abs() <= 0.75);
            assert!(near, "{place} of {width}: {crossings:?}");
        }
    }
}

#[test]
fn guard_stays_under_cover_and_returns_to_the_start() {
    let before = top_border();
    let outcome = guard(&before, &settings());
    let found = guards(&outcome.objects)[0];
    let footprints: Vec<&MultiPolygon<f64>> = before.items.iter().map(|o| &*o.footprint).collect();
    let cover = Locator::new(&engine::union_all(&footprints));
    let start = before.items[0].first().map(|n| n.at);
    // The object's own start may lie on its edge; nothing else of the path may.
    let new = found.needles().filter(|(_, n)| n.origin.is_none() && Some(n.at) != start);
    for (label, needle) in new {
        let at = needle.at.mm();
        assert!(cover.inside_by(at, 0.2), "{label:?} at {at:?} may show");
    }
    assert_eq!(found.last().map(|n| n.at), start, "the object's own start is kept");
}

#[test]
fn second_run_changes_nothing() {
    for before in [top_border(), disc()] {
        let once = guard(&before, &settings());
        assert!(!once.changes.is_empty());
        let twice = guard(&once.objects, &settings());
        assert_eq!(twice.changes, Vec::new());
        assert_eq!(twice.objects, once.objects);
    }
}

/// A disc with a ring over its edge: both pull at the sides, both cross above and below.
fn disc() -> Objects {
    objects(vec![
        fill(1, 0, &circle((0.0, 0.0), 11.0, 90), 0.0, 0.2, 4.0),
        ring(2, 1, &circle((0.0, 0.0), 13.0, 90), &circle((0.0, 0.0), 10.0, 90), 0.4),
    ])
}

#[test]
fn all_crossings_of_a_disc_share_one_path() {
    let outcome = guard(&disc(), &settings());
    assert_eq!(guards(&outcome.objects).len(), 1);
    assert_eq!(outcome.left, Vec::new());
    let path: Vec<_> = guards(&outcome.objects)[0].needles().map(|(_, n)| n.at).collect();
    let longest = path.windows(2).map(|w| w[0].distance(w[1])).fold(0.0, f64::max);
    assert!(longest <= 3.0, "a link of {longest:.1} mm");
}

#[test]
fn vetoed_and_held_objects_are_left() {
    let before = top_border();
    let mut vetoed = settings();
    vetoed.skip.insert((PassName::Guard, ObjectId(1)));
    assert_eq!(guard(&before, &vetoed).objects, before);
    let mut held = top_border();
    held.items[1].held = true;
    assert_eq!(guard(&held, &settings()).objects, held);
}

#[test]
fn a_crossing_without_room_does_not_cost_the_others_their_guard() {
    // Over the lower edge a border 0.8 mm wide: with the margin there is no room under it for a stitch
    // that holds both sides.
    let mut before = top_border().items;
    before.push(satin(3, 1, &[(0.0, 0.5), (20.0, 0.5)], &[(0.0, -0.3), (20.0, -0.3)], 0.4));
    let outcome = guard(&objects(before), &settings());
    assert_eq!(guards(&outcome.objects).len(), 1);
    assert_eq!(outcome.changes[0].objects, [1, 2]);
    let left: Vec<&[u32]> = outcome.left.iter().map(|left| &*left.objects).collect();
    assert_eq!(left, [[1, 3]]);
    let twice = guard(&outcome.objects, &settings());
    assert_eq!(twice.objects, outcome.objects);
}

/// Where one side has no room at the end of a crossing, the zigzag begins on the other.
#[test]
fn a_zigzag_begins_on_the_side_that_holds_most() {
    let before = top_border();
    let junctions = survey::junctions(&before, &settings());
    let stretches = survey::unguarded(&before, &settings(), &junctions);
    let all = engine::union_all(&[&before.items[0].footprint, &before.items[1].footprint]);
    // No room above the first 0.7 mm of the edge, or below.
    for hole in [rect(-1.0, 9.3, 0.7, 13.0), rect(-1.0, -1.0, 0.7, 8.7)] {
        let hole = fill(9, 0, &hole, 0.0, 0.2, 4.0);
        let cover = engine::difference(&all, &hole.footprint);
        let found = zigzag::along(&junctions[0], &stretches[0], &cover, PITCHES[0], &settings());
        let needles = found.iter().flat_map(|zigzag| zigzag.needles.windows(2));
        let first = needles.map(|w| (w[0].x + w[1].x) / 2.0).fold(f64::INFINITY, f64::min);
        // A stitch holds 0.75 mm to either side (every 1.5 mm, design, J).
        let from = stretches[0].samples.clone().map(|k| junctions[0].samples[k].at.x);
        let from = from.fold(f64::INFINITY, f64::min);
        assert!(first <= from + 0.75, "{first} from {from}");
    }
}
