use super::*;
use crate::fixtures::{circle, fill, objects, rect, ring, satin, settings, with_underlay};
use crate::geometry::locate::Locator;
use crate::geometry::polyline::distance;
use crate::objects::Label;
use crate::passes::parts::Cut;
use crate::settings::Seam;
use crate::stitch::coverage::Coverage;

fn upright(outline: &[(f64, f64)]) -> Object {
    with_underlay(
        fill(1, 0, outline, 88.0, 0.21, 4.0),
        Label::FillUnderlay,
        &[(0.5, 0.5), (3.0, 0.5), (5.5, 0.5)],
    )
}

fn run_pass(items: Vec<Object>) -> (Objects, Outcome) {
    let all = objects(items);
    let outcome = turn_fill(&all, &settings());
    (all, outcome)
}

fn lines(object: &Object, label: Label) -> Vec<geo::LineString<f64>> {
    let parts = object.parts.iter().filter(|part| part.label == label);
    parts.map(|part| part.needles.iter().map(|n| n.at.mm()).collect()).collect()
}

#[test]
fn an_upright_fill_is_turned_to_eight_degrees() {
    let (before, outcome) = run_pass(vec![upright(&rect(0.0, 0.0, 30.0, 20.0))]);
    let new = &outcome.objects.items[0];
    let shape = new.fill().unwrap();
    // 5–15 off horizontal: E. Campbell, Embroidery at a stretch, Images Feb 2022.
    assert_eq!(shape.angle, 8.0);
    assert_eq!((shape.row_pitch, shape.stitch, shape.stagger), (0.21, 4.0, 4));
    let needles: Vec<_> = new.top().map(|n| n.at.mm()).collect();
    let chord = |(a, b): &(u32, u32)| {
        let along = needles[*b as usize] - needles[*a as usize];
        (along.x.hypot(along.y) > 10.0)
            .then(|| along.y.atan2(along.x).to_degrees().rem_euclid(180.0))
    };
    let chords: Vec<f64> = shape.rows.iter().filter_map(chord).collect();
    assert!(chords.len() > 60);
    let mean = chords.iter().sum::<f64>() / chords.len() as f64;
    assert!((mean - 8.0).abs() < 1.0, "{mean}");
    assert_eq!(outcome.changes.len(), 1);
    assert_eq!(outcome.changes[0].objects, [1]);
    assert!(outcome.changes[0].before.starts_with("rows at 88°, 2°"));
    let counts = (outcome.changes[0].stitches_added, outcome.changes[0].stitches_removed);
    let total = before.stitch_count() as i64 + i64::from(counts.0) - i64::from(counts.1);
    assert_eq!(total, outcome.objects.stitch_count() as i64);
}

/// Rows of 9 mm end in a short stitch more often than those of 30 mm did: without longer stitches the
/// fill would take a quarter more of them.
#[test]
fn short_rows_take_as_many_stitches_as_long_ones() {
    let (before, outcome) = run_pass(vec![upright(&rect(0.0, 0.0, 9.0, 30.0))]);
    let of_rows = |object: &Object| {
        let top: Vec<_> = object.top().map(|needle| needle.at).collect();
        top.windows(2).filter(|two| two[0].distance(two[1]) >= 0.8).count() as f64
    };
    let (old, new) = (&before.items[0], &outcome.objects.items[0]);
    let ratio = of_rows(new) / of_rows(old);
    assert!((0.9..=1.15).contains(&ratio), "{ratio}");
    // Printwear Feb 2016 p. 63: standard 4, maximum about 5
    let stitch = new.fill().unwrap().stitch;
    assert!(stitch > 4.0 && stitch <= 5.0, "{stitch}");
    assert!(outcome.changes[0].after.contains("to be as many"), "{:?}", outcome.changes);
}

#[test]
fn it_begins_and_ends_where_it_did() {
    let (before, outcome) = run_pass(vec![upright(&circle((10.0, 10.0), 10.0, 96))]);
    let (old, new) = (&before.items[0], &outcome.objects.items[0]);
    assert_eq!(new.first(), old.first());
    assert_eq!(new.parts[0].link, old.parts[0].link);
    assert_eq!(new.last(), old.last());
    let top = |o: &Object| (o.top().next(), o.top().next_back());
    assert_eq!(top(new), top(old));
}

#[test]
fn rows_end_at_the_outline_and_only_free_ends_reach_over_it() {
    // A border covers the left edge.
    let border = satin(2, 1, &[(-2.0, -1.0), (-2.0, 21.0)], &[(1.0, -1.0), (1.0, 21.0)], 0.4);
    let (_, outcome) = run_pass(vec![upright(&rect(0.0, 0.0, 30.0, 20.0)), border]);
    let new = &outcome.objects.items[0];
    let ends: Vec<f64> = new.top().map(|n| n.at.mm().x).collect();
    let right = ends.iter().copied().fold(f64::MIN, f64::max);
    let left = ends.iter().copied().fold(f64::MAX, f64::min);
    // Half of the 0.25 mm total at a free end, none under the border; the grid adds half a point.
    assert!((30.05..=30.2).contains(&right), "{right}");
    assert!((-0.05..=0.05).contains(&left), "{left}");
}

#[test]
fn the_area_stays_covered_and_underlay_stays_beneath() {
    for outline in [rect(0.0, 0.0, 30.0, 20.0), circle((10.0, 10.0), 10.0, 96)] {
        let (before, outcome) = run_pass(vec![upright(&outline)]);
        let (old, new) = (&before.items[0], &outcome.objects.items[0]);
        let top = engine::stroke(&lines(new, Label::Fill), 0.4);
        let bare = engine::area(&engine::difference(&old.footprint, &top));
        assert!(bare < 0.01 * engine::area(&old.footprint), "{bare}");
        let locator = Locator::new(&old.footprint);
        let cut = Cut::of(new).unwrap();
        for part in &cut.under {
            for needle in part.needles.iter().filter(|n| n.origin.is_none()) {
                assert!(locator.inside_by(needle.at.mm(), 0.3), "{:?}", needle.at);
            }
        }
        let steps: Vec<_> = cut.under.iter().flat_map(|p| &p.needles).map(|n| n.at.mm()).collect();
        assert!(steps.windows(2).all(|p| distance(p[0], p[1]) <= 3.0));
        let settings = settings();
        let coverage = Coverage::new(&outcome.objects, &settings.profile.numbers);
        assert!(coverage.edge_run_share(new, 0).unwrap() >= 0.98);
        assert_eq!(coverage.seam_due(new, 0, 10.0), None);
    }
}

#[test]
fn a_turned_fill_is_left_alone() {
    let (_, outcome) = run_pass(vec![upright(&rect(0.0, 0.0, 30.0, 20.0))]);
    let again = turn_fill(&outcome.objects, &settings());
    assert_eq!(again.objects, outcome.objects);
    assert!(again.changes.is_empty() && again.left.is_empty());
}

#[test]
fn what_is_not_upright_or_not_wanted_stays_as_it_is() {
    let level = fill(1, 0, &rect(0.0, 0.0, 30.0, 20.0), 45.0, 0.21, 4.0);
    let (before, outcome) = run_pass(vec![level]);
    assert_eq!(outcome, Outcome::unchanged(&before));

    let all = objects(vec![upright(&rect(0.0, 0.0, 30.0, 20.0))]);
    let mut vetoed = settings();
    vetoed.skip.insert((PassName::TurnFill, ObjectId(1)));
    assert_eq!(turn_fill(&all, &vetoed), Outcome::unchanged(&all));
    let mut flat = settings();
    flat.seam = Seam::None;
    assert_eq!(turn_fill(&all, &flat), Outcome::unchanged(&all));

    let mut held = upright(&rect(0.0, 0.0, 30.0, 20.0));
    held.held = true;
    let (before, outcome) = run_pass(vec![held]);
    assert_eq!(outcome, Outcome::unchanged(&before));
}

#[test]
fn curved_fills_are_reported_and_left() {
    let mut curved = upright(&rect(0.0, 0.0, 30.0, 20.0));
    curved.class = Class::CurvedFill;
    let (before, outcome) = run_pass(vec![curved]);
    assert_eq!(outcome.objects, before);
    assert_eq!(outcome.left.len(), 1);
    assert_eq!(outcome.left[0].objects, [1]);
}

#[test]
fn the_sign_that_crosses_fewer_neighbours_steeply_wins() {
    // Crossings at 64° meet rows at 8° by 56° and rows at 172° by 72°; at 116° the other way
    // round. Steep is 60° and more.
    for (direction, expected) in [(64.0_f64, 8.0), (116.0, 172.0)] {
        let rise = 2.5 * direction.to_radians().tan();
        let ground = fill(1, 0, &rect(0.0, 0.0, 20.0, 20.0), 90.0, 0.21, 4.0);
        let right = [(22.0, rise), (22.0, 20.0 + rise)];
        let border = satin(2, 1, &[(19.5, 0.0), (19.5, 20.0)], &right, 0.4);
        let (_, outcome) = run_pass(vec![ground, border]);
        assert_eq!(outcome.objects.items[0].fill().unwrap().angle, expected);
    }
}

#[test]
fn a_ring_around_the_fill_takes_its_compensation() {
    let border = ring(2, 1, &rect(-1.5, -1.5, 31.5, 21.5), &rect(0.7, 0.7, 29.3, 19.3), 0.4);
    let (_, outcome) = run_pass(vec![upright(&rect(0.0, 0.0, 30.0, 20.0)), border]);
    let xs: Vec<f64> = outcome.objects.items[0].top().map(|n| n.at.mm().x).collect();
    assert!(xs.iter().all(|x| (-0.06..=30.06).contains(x)));
}
