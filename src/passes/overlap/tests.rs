//! Overlap on hand-built objects. What is reached is measured with plain distances to the stitch
//! lines, not with the code under test.

use geo::{Coord, Intersects, Point};

use super::overlap;
use crate::fixtures::{circle, fill, objects, rect, ring, satin, settings};
use crate::objects::{Object, ObjectId, Objects};
use crate::passes::Outcome;

/// Allowance of the finished cap: fill under satin border at least 1.0 mm (E. Campbell,
/// Embroidery at a stretch, Images Feb 2022).
const ALLOWANCE: f64 = 1.0;

fn c(x: f64, y: f64) -> Coord<f64> {
    Coord { x, y }
}

fn to_segment(p: Coord<f64>, a: Coord<f64>, b: Coord<f64>) -> f64 {
    let ab = b - a;
    let l2 = ab.x * ab.x + ab.y * ab.y;
    let t = if l2 == 0.0 { 0.0 } else { ((p - a).x * ab.x + (p - a).y * ab.y) / l2 };
    let n = a + ab * t.clamp(0.0, 1.0);
    (p - n).x.hypot((p - n).y)
}

/// Distance from a place to the nearest top stitch of an object.
fn to_thread(object: &Object, at: Coord<f64>) -> f64 {
    let tops: Vec<_> = object.top().map(|n| n.at.mm()).collect();
    tops.windows(2).map(|w| to_segment(at, w[0], w[1])).fold(f64::INFINITY, f64::min)
}

/// Is there thread of the object, drawn 0.4 mm wide, at this place?
fn sewn(object: &Object, at: Coord<f64>) -> bool {
    to_thread(object, at) <= 0.2 + 0.03
}

/// Share of places along a line where the object is sewn.
fn share(object: &Object, line: impl Iterator<Item = Coord<f64>>) -> f64 {
    let hits: Vec<bool> = line.map(|at| sewn(object, at)).collect();
    hits.iter().filter(|h| **h).count() as f64 / hits.len().max(1) as f64
}

fn straight(a: Coord<f64>, b: Coord<f64>) -> impl Iterator<Item = Coord<f64>> {
    let count = ((b - a).x.hypot((b - a).y) / 0.1) as usize;
    (0..=count).map(move |k| a + (b - a) * (k as f64 / count as f64))
}

/// A circle as places, a tenth of a millimetre apart.
fn round(radius: f64) -> impl Iterator<Item = Coord<f64>> {
    let count = (radius * 63.0) as usize;
    (0..count).map(move |k| {
        let a = std::f64::consts::TAU * k as f64 / count as f64;
        c(radius * a.cos(), radius * a.sin())
    })
}

/// Runs the pass and checks what must hold for every outcome: the second run changes nothing, only
/// the named objects change, what is new lies under later cover or in a gap that is closed, and
/// nothing else moves.
fn mended(name: &str, before: &Objects, changed: &[u32]) -> Outcome {
    let outcome = overlap(before, &settings());
    draw(name, before, &outcome.objects);
    let ids: Vec<u32> = outcome.changes.iter().map(|change| change.objects[0]).collect();
    assert_eq!(ids, changed, "{name}: {:?}", outcome.left);
    for (k, (old, new)) in before.items.iter().zip(&outcome.objects.items).enumerate() {
        if !changed.contains(&old.id.0) {
            assert_eq!(old, new, "{name}");
            continue;
        }
        assert_eq!(old.first().map(|n| n.at), new.first().map(|n| n.at), "{name}: first");
        assert_eq!(old.last().map(|n| n.at), new.last().map(|n| n.at), "{name}: last");
        let over = &before.items[k + 1..];
        let hidden = |at: Coord<f64>| over.iter().any(|o| o.footprint.intersects(&Point::from(at)));
        let to_cover = |at: Coord<f64>| {
            over.iter()
                .flat_map(|o| o.footprint.iter())
                .flat_map(|p| std::iter::once(p.exterior()).chain(p.interiors()))
                .flat_map(|ring| ring.lines())
                .map(|l| to_segment(at, l.start, l.end))
                .fold(f64::INFINITY, f64::min)
        };
        // Needle points that can be seen stay; new ones lie under cover, or in a gap that closes.
        let is_old: std::collections::BTreeSet<_> = old.top().map(|n| n.at).collect();
        let is_new: std::collections::BTreeSet<_> = new.top().map(|n| n.at).collect();
        for at in is_new.symmetric_difference(&is_old).map(|at| at.mm()) {
            assert!(hidden(at) || to_cover(at) < 0.45, "{name}: changed in view at {at:?}");
        }
        let stitches: Vec<_> = new.top().collect();
        for pair in stitches.windows(2) {
            let length = pair[0].at.distance(pair[1].at);
            assert!(length <= 12.1, "{name}: stitch of {length}");
        }
        assert_eq!(new.satin().map(|s| s.sides.len()), new.satin().map(|_| stitches.len()));
        if let Some(rows) = new.fill().map(|f| &f.rows) {
            assert!(rows.iter().all(|r| r.0 < r.1 && (r.1 as usize) < stitches.len()), "{name}");
        }
    }
    let again = overlap(&outcome.objects, &settings());
    assert!(again.changes.is_empty(), "{name}: a second run changes {:?}", again.changes);
    assert_eq!(again.objects, outcome.objects, "{name}");
    outcome
}

fn of(outcome: &Outcome, id: u32) -> &Object {
    outcome.objects.get(ObjectId(id)).unwrap()
}

/// A horizontal satin bar, its crossings upright.
fn bar(id: u32, x: (f64, f64), y: (f64, f64), pitch: f64) -> Object {
    satin(id, id, &[(x.0, y.1), (x.1, y.1)], &[(x.0, y.0), (x.1, y.0)], pitch)
}

#[test]
fn fill_under_its_border_on_all_four_sides() {
    for angle in [0.0, 8.0, 90.0, 45.0, 172.0] {
        for reach in [-0.3, 0.0, 0.3, 0.7] {
            let r = reach;
            let ground = fill(1, 0, &rect(-r, -r, 20.0 + r, 14.0 + r), angle, 0.2, 4.0);
            let border =
                ring(2, 1, &rect(-2.5, -2.5, 22.5, 16.5), &rect(0.0, 0.0, 20.0, 14.0), 0.4);
            let name = format!("border-{angle}-{reach}");
            let outcome = mended(&name, &objects(vec![ground, border]), &[1]);
            let d = ALLOWANCE - 0.1;
            for (a, b) in [
                (c(1.0, -d), c(19.0, -d)),
                (c(1.0, 14.0 + d), c(19.0, 14.0 + d)),
                (c(-d, 1.0), c(-d, 13.0)),
                (c(20.0 + d, 1.0), c(20.0 + d, 13.0)),
            ] {
                let share = share(of(&outcome, 1), straight(a, b));
                assert!(share > 0.97, "{name}: {a:?} {share}");
            }
            // 0.3 clear of the far edge.
            assert!(of(&outcome, 1).top().all(|n| {
                let at = n.at.mm();
                at.x >= -1.65 && at.y >= -1.65 && at.x <= 21.65 && at.y <= 15.65
            }));
        }
    }
}

/// Rows of one fill lie on one grid of lines (common practice, no published source): here on y = 0,
/// 0.2, 0.4 … mm, which are points of the tape as well, so a row off the grid shows.
#[test]
fn added_rows_lie_on_the_grid_of_the_fill() {
    let ground = fill(1, 0, &rect(0.0, 0.0, 20.0, 14.0), 0.0, 0.2, 4.0);
    let border = ring(2, 1, &rect(-2.5, -2.5, 22.5, 16.5), &rect(0.0, 0.0, 20.0, 14.0), 0.4);
    let outcome = mended("grid", &objects(vec![ground, border]), &[1]);
    let object = of(&outcome, 1);
    let top: Vec<_> = object.top().map(|n| n.at).collect();
    let rows = &object.fill().unwrap().rows;
    let ends = rows.iter().flat_map(|(a, b)| [top[*a as usize], top[*b as usize]]);
    let added: Vec<_> = ends.filter(|at| at.y < 0 || at.y > 140).collect();
    assert!(added.len() >= 16, "{} ends of added rows", added.len());
    let off: Vec<_> = added.iter().filter(|at| at.y % 2 != 0).collect();
    // The last row may end on the way to what follows.
    assert!(off.len() <= 1, "{off:?} of {}", added.len());
}

#[test]
fn satin_under_satin_straight() {
    for y in [3.3, 3.0, 2.8, 2.3] {
        let before = objects(vec![
            bar(1, (0.0, 20.0), (0.0, 3.0), 0.4),
            bar(2, (0.0, 20.0), (y, y + 3.0), 0.4),
        ]);
        let outcome = mended(&format!("straight-{y}"), &before, &[1]);
        let line = straight(c(1.5, y + ALLOWANCE - 0.1), c(18.5, y + ALLOWANCE - 0.1));
        assert!(share(of(&outcome, 1), line) > 0.99);
        // No more than is aimed for, and the other edge stays.
        assert!(of(&outcome, 1).top().all(|n| n.at.mm().y < y + 1.21 && n.at.y >= 0));
        let change = &outcome.changes[0];
        assert_eq!((change.stitches_added, change.stitches_removed), (0, 0));
        assert_eq!(change.objects, [1, 2]);
    }
}

#[test]
fn enough_overlap_and_wide_gaps_are_left_alone() {
    for y in [2.0, 2.1, 3.5, 4.0] {
        let before = objects(vec![
            bar(1, (0.0, 20.0), (0.0, 3.0), 0.4),
            bar(2, (0.0, 20.0), (y, y + 3.0), 0.4),
        ]);
        let outcome = mended(&format!("alone-{y}"), &before, &[]);
        assert!(outcome.left.is_empty());
    }
}

#[test]
fn enough_overlap_grows_to_the_allowance_where_it_is_asked_for() {
    // Rows across the edge that reach 0.95 mm under a bar: more than the 0.9 that is left alone.
    let ground = fill(0, 0, &rect(0.0, 0.0, 20.0, 10.0), 90.0, 0.25, 4.0);
    let before = objects(vec![ground, bar(1, (0.0, 20.0), (9.05, 12.0), 0.4)]);
    let mut settings = settings();
    assert_eq!(overlap(&before, &settings).changes.len(), 0);
    settings.full_overlap.insert((ObjectId(0), ObjectId(0)));
    let outcome = overlap(&before, &settings);
    let under = straight(c(1.5, 9.05 + ALLOWANCE), c(18.5, 9.05 + ALLOWANCE));
    assert!(share(of(&outcome, 0), under) >= 0.98);
}

#[test]
fn two_fills_end_to_end() {
    let before = objects(vec![
        fill(1, 0, &rect(0.0, 0.0, 15.0, 12.0), 0.0, 0.2, 4.0),
        fill(2, 1, &rect(14.8, 0.0, 30.0, 12.0), 10.0, 0.2, 4.0),
    ]);
    let outcome = mended("fills", &before, &[1]);
    assert!(share(of(&outcome, 1), straight(c(15.7, 1.5), c(15.7, 10.5))) > 0.99);
}

#[test]
fn push_side_beside_push_side_is_left() {
    let before = objects(vec![
        fill(1, 0, &rect(0.0, 0.0, 20.0, 10.0), 0.0, 0.2, 4.0),
        fill(2, 1, &rect(0.0, 9.8, 20.0, 20.0), 0.0, 0.2, 4.0),
    ]);
    mended("push", &before, &[]);
}

#[test]
fn an_open_border_hides_nothing_and_is_left() {
    let before = objects(vec![
        fill(1, 0, &rect(0.0, 0.0, 20.0, 14.0), 8.0, 0.2, 4.0),
        ring(2, 1, &rect(-2.5, -2.5, 22.5, 16.5), &rect(0.2, 0.2, 19.8, 13.8), 1.0),
    ]);
    mended("open", &before, &[]);
}

#[test]
fn a_narrow_cover_hides_what_it_has_room_for() {
    // 1.1 wide less 0.3: 0.8 of room, where 0.2 are covered.
    let before =
        objects(vec![bar(1, (0.0, 20.0), (0.0, 3.0), 0.4), bar(2, (0.0, 20.0), (2.8, 3.9), 0.4)]);
    let outcome = mended("narrow", &before, &[1]);
    assert!(share(of(&outcome, 1), straight(c(1.5, 3.5), c(18.5, 3.5))) > 0.99);
    assert!(of(&outcome, 1).top().all(|n| n.at.mm().y <= 3.65));
    assert_eq!(outcome.left.len(), 1, "the shortfall is told");
}

#[test]
fn ring_in_ring() {
    let before = objects(vec![
        ring(1, 0, &circle((0., 0.), 12., 180), &circle((0., 0.), 9., 180), 0.4),
        ring(2, 1, &circle((0., 0.), 9.2, 180), &circle((0., 0.), 6.2, 180), 0.4),
    ]);
    let outcome = mended("rings", &before, &[1]);
    // No wedge where the ring closes.
    assert!(share(of(&outcome, 1), round(9.2 - ALLOWANCE + 0.1)) > 0.995);
    assert!(of(&outcome, 1).top().all(|n| n.at.mm().x.hypot(n.at.mm().y) > 7.9));
}

#[test]
fn round_fill_under_its_ring() {
    for angle in [0.0, 8.0, 90.0] {
        let before = objects(vec![
            fill(1, 0, &circle((0., 0.), 10.2, 180), angle, 0.2, 4.0),
            ring(2, 1, &circle((0., 0.), 12.5, 180), &circle((0., 0.), 10., 180), 0.4),
        ]);
        let outcome = mended(&format!("disc-{angle}"), &before, &[1]);
        let share = share(of(&outcome, 1), round(10.0 + ALLOWANCE - 0.1));
        assert!(share > 0.97, "{angle}: {share}");
    }
}

#[test]
fn a_column_that_ends_under_another_gets_more_crossings() {
    // A stem from below, its last crossing 0.2 under the bar.
    let stem = satin(1, 0, &[(8.0, 0.0), (8.0, 10.0)], &[(12.5, 0.0), (12.5, 10.0)], 0.4);
    let before = objects(vec![stem, bar(2, (0.0, 20.0), (9.8, 13.0), 0.4)]);
    let outcome = mended("stem", &before, &[1]);
    assert!(share(of(&outcome, 1), straight(c(8.4, 10.7), c(12.1, 10.7))) > 0.97);
    assert!(outcome.changes[0].stitches_added > 0);
}

#[test]
fn a_long_crossing_is_split_where_it_is_hidden() {
    let before =
        objects(vec![bar(1, (0.0, 20.0), (0.0, 8.5), 0.4), bar(2, (0.0, 20.0), (8.3, 12.0), 0.4)]);
    let outcome = mended("split", &before, &[1]);
    let tops: Vec<_> = of(&outcome, 1).top().collect();
    let grown = tops.windows(2).filter(|w| w[0].at.distance(w[1].at) > 9.05).count();
    assert_eq!(grown, 0, "crossings of 8.5 stay under 9 mm (Printwear Feb 2016: 1.0 to 9.0)");
}

#[test]
fn an_object_under_two_neighbours_is_extended_under_both() {
    let before = objects(vec![
        bar(1, (0.0, 20.0), (0.0, 3.0), 0.4),
        bar(2, (0.0, 20.0), (2.8, 6.0), 0.4),
        bar(3, (0.0, 20.0), (-3.0, 0.3), 0.4),
    ]);
    let outcome = mended("between", &before, &[1]);
    assert!(share(of(&outcome, 1), straight(c(1.5, 3.7), c(18.5, 3.7))) > 0.99);
    assert!(share(of(&outcome, 1), straight(c(1.5, -0.6), c(18.5, -0.6))) > 0.99);
    assert_eq!(outcome.changes[0].objects, [1, 2, 3]);
}

#[test]
fn a_veto_is_respected() {
    let before =
        objects(vec![bar(1, (0.0, 20.0), (0.0, 3.0), 0.4), bar(2, (0.0, 20.0), (2.8, 6.0), 0.4)]);
    let mut settings = settings();
    settings.skip.insert((crate::settings::PassName::Overlap, ObjectId(1)));
    assert_eq!(overlap(&before, &settings).objects, before);
}

/// How often stitches of the top stitching cross each other (neighbours left out).
fn crossings(object: &Object) -> usize {
    let tops: Vec<_> = object.top().map(|n| n.at.mm()).collect();
    let lines: Vec<_> = tops.windows(2).map(|w| (w[0], w[1])).collect();
    let side = |a: Coord<f64>, b: Coord<f64>, p: Coord<f64>| {
        (b.x - a.x) * (p.y - a.y) - (b.y - a.y) * (p.x - a.x)
    };
    let cross = |(a, b): (Coord<f64>, Coord<f64>), (p, q): (Coord<f64>, Coord<f64>)| {
        side(a, b, p) * side(a, b, q) < -1e-9 && side(p, q, a) * side(p, q, b) < -1e-9
    };
    let pairs =
        lines.iter().enumerate().flat_map(|(i, a)| lines[i + 1..].iter().map(move |b| (a, b)));
    pairs.filter(|(a, b)| cross(**a, **b)).count()
}

/// A star of five points.
fn star(outer: f64, inner: f64) -> Vec<(f64, f64)> {
    let corner = |k: u32| {
        let radius = if k.is_multiple_of(2) { outer } else { inner };
        let a = std::f64::consts::TAU * f64::from(k) / 10.0;
        (radius * a.cos(), radius * a.sin())
    };
    (0..10).map(corner).collect()
}

#[test]
fn crossings_do_not_meet_in_concave_corners() {
    let square = |r: f64| rect(-r, -r, r, r);
    let cases = [
        (
            "square",
            ring(1, 0, &square(10.0), &square(6.0), 0.4),
            ring(2, 1, &square(6.2), &square(3.0), 0.4),
        ),
        (
            "star",
            ring(1, 0, &star(15.0, 11.0), &star(10.0, 6.0), 0.4),
            ring(2, 1, &star(10.3, 6.2), &star(6.0, 2.5), 0.4),
        ),
    ];
    for (name, under, over) in cases {
        let before = objects(vec![under, over]);
        let outcome = mended(name, &before, &[1]);
        assert!(crossings(of(&outcome, 1)) <= crossings(&before.items[0]), "{name}");
        // Square to each edge of the cover; within 2.4 mm of its points both sides meet halfway.
        let edge = if name == "square" { square(6.2) } else { star(10.3, 6.2) };
        let places = edge.iter().zip(edge.iter().cycle().skip(1)).flat_map(|(a, b)| {
            let (a, b) = (c(a.0, a.1), c(b.0, b.1));
            let along = (b - a) / (b - a).x.hypot((b - a).y);
            let inward = c(-along.y, along.x) * (ALLOWANCE - 0.1);
            straight(a + along * 2.4 + inward, b - along * 2.4 + inward)
        });
        let share = share(of(&outcome, 1), places);
        assert!(share > 0.95, "{name}: {share}");
    }
}

#[test]
fn along_an_l() {
    // Two columns that turn a corner side by side: the outer one, sewn first, lacks 0.2 mm.
    let corner = |r: f64| vec![(-r, 20.0), (-r, -r), (20.0, -r)];
    let before = objects(vec![
        satin(1, 0, &corner(4.0), &corner(0.0), 0.4),
        satin(2, 1, &corner(-0.2), &corner(-3.4), 0.4),
    ]);
    let outcome = mended("l", &before, &[1]);
    assert!(crossings(of(&outcome, 1)) <= crossings(&before.items[0]));
    // Square to both arms, the fade at their ends and 2.4 mm at the corner left out.
    let reach = 0.2 + ALLOWANCE - 0.1;
    let upright = straight(c(reach, 18.8), c(reach, 2.6));
    let level = straight(c(2.6, reach), c(18.8, reach));
    let share = share(of(&outcome, 1), upright.chain(level));
    assert!(share > 0.98, "{share}");
}

/// A wavy line, shifted up.
fn wave(up: f64) -> Vec<(f64, f64)> {
    (0..=160).map(|k| f64::from(k) / 8.0).map(|x| (x, up + 2.0 * (x / 2.5).sin())).collect()
}

#[test]
fn along_an_s_curve() {
    let before = objects(vec![
        satin(1, 0, &wave(3.0), &wave(0.0), 0.4),
        satin(2, 1, &wave(6.0), &wave(2.8), 0.4),
    ]);
    let outcome = mended("s-curve", &before, &[1]);
    // The shift is upright: square to the curve it is less on its flanks.
    let places =
        wave(2.8 + 0.75).into_iter().filter(|p| p.0 > 1.5 && p.0 < 18.5).map(|p| c(p.0, p.1));
    let share = share(of(&outcome, 1), places);
    assert!(share > 0.99, "{share}");
    assert!(crossings(of(&outcome, 1)) <= crossings(&before.items[0]));
}

#[test]
fn along_a_column_that_tapers() {
    let upper: Vec<_> = (0..=80)
        .map(|k| f64::from(k) / 4.0)
        .map(|x| (x, 4.0 - 3.6 * ((x - 10.0) / 10.0).powi(2)))
        .collect();
    let before = objects(vec![
        satin(1, 0, &upper, &[(0.0, 0.0), (20.0, 0.0)], 0.4),
        bar(2, (-2.0, 22.0), (-3.0, 0.2), 0.4),
    ]);
    let outcome = mended("taper", &before, &[1]);
    assert!(share(of(&outcome, 1), straight(c(1.5, -0.7), c(18.5, -0.7))) > 0.98);
}

/// A fill of horizontal rows with a hole, sewn in sections: below, left, travel, right, above.
fn fill_with_hole() -> Object {
    let mut object = fill(1, 0, &rect(0.0, 0.0, 20.0, 14.0), 0.0, 0.2, 4.0);
    let mut points: Vec<Coord<f64>> = Vec::new();
    let mut rows: Vec<(u32, u32)> = Vec::new();
    let mut section = |from: u32, to: u32, low: f64, high: f64| {
        for k in from..=to {
            let y = f64::from(k) * 0.2;
            let (a, b) = if k.is_multiple_of(2) { (low, high) } else { (high, low) };
            let count = ((high - low) / 4.0).ceil();
            let first = points.len() as u32;
            points.extend((0..=count as u32).map(|i| c(a + (b - a) * f64::from(i) / count, y)));
            rows.push((first, points.len() as u32 - 1));
        }
        points.push(c((low + high) / 2.0, f64::from(to) * 0.2 - 1.0));
    };
    section(0, 25, 0.0, 20.0);
    section(26, 44, 0.0, 7.0);
    section(26, 44, 13.0, 20.0);
    section(45, 70, 0.0, 20.0);
    points.pop();
    object.parts[0].needles = points
        .iter()
        .map(|p| crate::objects::Needle::new(crate::design::Pt::from_mm(*p)))
        .collect();
    if let crate::objects::Shape::Fill(shape) = &mut object.shape {
        shape.rows = rows;
    }
    let ring = |x0, y0, x1, y1| geo::LineString::from(rect(x0, y0, x1, y1));
    object.footprint = geo::MultiPolygon(vec![geo::Polygon::new(
        ring(0.0, 0.0, 20.0, 14.0),
        vec![ring(7.0, 5.0, 13.0, 9.0)],
    )])
    .into();
    object
}

#[test]
fn a_hole_is_narrowed_under_its_border() {
    let border = ring(2, 1, &rect(6.7, 4.7, 13.3, 9.3), &rect(9.0, 6.5, 11.0, 7.5), 0.4);
    let outcome = mended("hole", &objects(vec![fill_with_hole(), border]), &[1]);
    let edge = [c(7.6, 5.6), c(12.4, 5.6), c(12.4, 8.4), c(7.6, 8.4), c(7.6, 5.6)];
    let places = edge.windows(2).flat_map(|w| straight(w[0], w[1]));
    let share = share(of(&outcome, 1), places);
    assert!(share > 0.95, "{share}");
}

/// Draws before and after side by side into the folder that CROWNMEND_DRAW names.
fn draw(name: &str, before: &Objects, after: &Objects) {
    let Some(folder) = std::env::var_os("CROWNMEND_DRAW") else { return };
    let all = || [before, after].into_iter().flat_map(|o| &o.items).flat_map(|o| o.needles());
    let fold = |f: fn(f64, f64) -> f64, start: f64, axis: fn(Coord<f64>) -> f64| {
        all().map(|(_, n)| axis(n.at.mm())).fold(start, f)
    };
    let (x0, x1) = (fold(f64::min, 1e9, |p| p.x) - 1.0, fold(f64::max, -1e9, |p| p.x) + 1.0);
    let (y0, y1) = (fold(f64::min, 1e9, |p| p.y) - 1.0, fold(f64::max, -1e9, |p| p.y) + 1.0);
    let (w, h) = (x1 - x0, y1 - y0);
    let mut svg = format!(
        "<svg xmlns='http://www.w3.org/2000/svg' viewBox='0 0 {} {h}' width='{}'><rect width='100%' height='100%' fill='white'/>",
        2.0 * w,
        2.0 * w * 40.0
    );
    for (shift, objects) in [(0.0, before), (w, after)] {
        for (k, object) in objects.items.iter().enumerate() {
            let points: Vec<_> = object
                .needles()
                .map(|(_, n)| format!("{},{}", n.at.mm().x - x0 + shift, y1 - n.at.mm().y))
                .collect();
            let colour = ["#c33", "#36c", "#292"][k % 3];
            let opacity = if k == 0 { 1.0 } else { 0.35 };
            svg += &format!(
                "<polyline points='{}' fill='none' stroke='{colour}' stroke-width='0.06' opacity='{opacity}'/>",
                points.join(" ")
            );
            for point in &points {
                let (x, y) = point.split_once(',').unwrap();
                svg += &format!("<circle cx='{x}' cy='{y}' r='0.07' fill='{colour}'/>");
            }
        }
    }
    svg += "</svg>";
    std::fs::write(std::path::Path::new(&folder).join(format!("{name}.svg")), svg).unwrap();
}
