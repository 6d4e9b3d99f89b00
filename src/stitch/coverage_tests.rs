use super::*;
use crate::fixtures::{circle, fill, objects, rect, ring, run, satin, settings, with_underlay};

fn column(width: f64) -> Object {
    satin(1, 0, &[(0.0, width), (20.0, width)], &[(0.0, 0.0), (20.0, 0.0)], 0.4)
}

fn share(object: Object) -> Option<f64> {
    let settings = settings();
    let all = objects(vec![object]);
    Coverage::new(&all, &settings.profile.numbers).edge_run_share(&all.items[0], 0)
}

fn due(object: Object) -> Option<f64> {
    let settings = settings();
    let all = objects(vec![object]);
    Coverage::new(&all, &settings.profile.numbers).edge_run_due(&all.items[0], 0)
}

fn seam(object: Object) -> Option<f64> {
    let settings = settings();
    let all = objects(vec![object]);
    Coverage::new(&all, &settings.profile.numbers).seam_due(&all.items[0], 0, 10.0)
}

/// Points every 2 mm along level lines, one after another.
fn level(lines: &[(f64, f64, f64)]) -> Vec<(f64, f64)> {
    let mut points = Vec::new();
    for (from, to, y) in lines {
        let steps = ((to - from).abs() / 2.0).ceil();
        points.extend((0..=steps as usize).map(|k| (from + (to - from) * k as f64 / steps, *y)));
    }
    points
}

#[test]
fn no_underlay_is_no_edge_run() {
    assert_eq!(share(column(3.0)), Some(0.0));
    assert_eq!(due(column(3.0)), Some(0.0));
}

#[test]
fn rows_that_leave_cloth_between_them_get_no_underlay() {
    // Threads 0.4 mm wide whose ends lie 0.7 and 0.9 mm apart; gaps over 0.4 mm are seen.
    let rows = |pitch: f64| fill(1, 0, &rect(0.0, 0.0, 20.0, 12.0), 8.0, pitch, 4.0);
    assert_eq!(due(rows(0.35)), Some(0.0));
    assert_eq!(due(rows(0.45)), None);
    assert_eq!(seam(rows(0.45)), None);
}

#[test]
fn runs_beside_both_edges_count_fully() {
    let both = level(&[(0.5, 19.5, 0.6), (19.5, 0.5, 2.4)]);
    let object = with_underlay(column(3.0), Label::EdgeRun, &both);
    assert_eq!(share(object.clone()), Some(1.0));
    assert_eq!(due(object), None);
}

#[test]
fn both_edges_count_and_the_middle_is_nothing() {
    let one = with_underlay(column(3.0), Label::EdgeRun, &level(&[(0.5, 19.5, 0.6)]));
    assert!(share(one).unwrap() < 0.03, "the bare edge counts");
    let middle = with_underlay(column(3.0), Label::CentreRun, &level(&[(0.0, 20.0, 1.5)]));
    assert!(share(middle).unwrap() < 0.03);
}

#[test]
fn too_near_or_too_far_does_not_count() {
    for (y, counts) in [(0.2, false), (0.4, true), (0.6, true), (0.9, true), (1.1, false)] {
        let lines = level(&[(0.0, 20.0, y), (20.0, 0.0, 4.0 - y)]);
        let share = share(with_underlay(column(4.0), Label::EdgeRun, &lines)).unwrap();
        assert_eq!(share > 0.9, counts, "{y}: {share}");
    }
}

#[test]
fn zigzag_is_no_edge_run() {
    let zigzag: Vec<_> =
        (0..=20).map(|k| (f64::from(k), if k % 2 == 0 { 0.6 } else { 2.4 })).collect();
    assert!(share(with_underlay(column(3.0), Label::Zigzag, &zigzag)).unwrap() < 0.2);
}

#[test]
fn a_narrow_column_wants_any_underlay_at_all() {
    assert_eq!(due(column(1.2)), Some(0.0));
    let object = with_underlay(column(1.2), Label::CentreRun, &level(&[(0.0, 20.0, 0.6)]));
    assert_eq!(due(object), None);
}

#[test]
fn held_and_unsure_objects_want_nothing() {
    let mut held = column(3.0);
    held.held = true;
    assert_eq!(due(held), None);
    let mut unsure = column(3.0);
    (unsure.class, unsure.shape) = (Class::Unsure, Shape::Unknown);
    assert_eq!(due(unsure), None);
    assert_eq!(share(run(1, 0, &[(0.0, 0.0), (2.0, 0.0)])), None);
}

#[test]
fn a_fill_needs_its_outline_and_its_holes() {
    let bare = fill(1, 0, &rect(0.0, 0.0, 20.0, 10.0), 0.0, 0.21, 4.0);
    assert_eq!(share(bare.clone()), Some(0.0));
    let around = [(0.6, 0.6), (19.4, 0.6), (19.4, 9.4), (0.6, 9.4), (0.6, 0.6)];
    assert!(share(with_underlay(bare, Label::EdgeRun, &around)).unwrap() > 0.98);
}

#[test]
fn shared_underlay_sewn_before_counts() {
    let settings = settings();
    let mut mesh = run(2, 0, &level(&[(0.5, 19.5, 0.6), (19.5, 0.5, 2.4)]));
    mesh.class = Class::Underlay;
    mesh.parts[0].label = Label::Unsure;
    let all = objects(vec![mesh, column(3.0)]);
    let coverage = Coverage::new(&all, &settings.profile.numbers);
    assert_eq!(coverage.edge_run_share(&all.items[1], 1), Some(1.0));
    assert_eq!(coverage.edge_run_share(&all.items[1], 0), Some(0.0));
}

#[test]
fn only_what_crosses_the_seam_wants_support_there() {
    assert_eq!(seam(column(3.0)), Some(0.0));
    let aside = satin(1, 0, &[(0.0, 3.0), (9.0, 3.0)], &[(0.0, 0.0), (9.0, 0.0)], 0.4);
    assert_eq!(seam(aside), None);
    let astride = satin(1, 0, &[(8.0, 3.0), (12.0, 3.0)], &[(8.0, 0.0), (12.0, 0.0)], 0.4);
    assert_eq!(seam(astride), Some(0.0), "2.0 mm to either side are far enough");
    assert_eq!(seam(column(0.8)), None, "too narrow for a zigzag");
    let zigzag = |low: f64, high: f64| -> Vec<(f64, f64)> {
        (10..=30).map(|k| (f64::from(k) / 2.0, if k % 2 == 0 { low } else { high })).collect()
    };
    let with = |width, points: &[(f64, f64)]| with_underlay(column(width), Label::Zigzag, points);
    assert_eq!(seam(with(3.0, &zigzag(0.6, 2.4))), None);
    assert_eq!(seam(column(1.1)), Some(0.0), "room for half a millimetre");
    assert_eq!(seam(with(1.1, &zigzag(0.3, 0.8))), None);
    let edges = level(&[(0.5, 19.5, 0.6), (19.5, 0.5, 2.4)]);
    assert_eq!(seam(with_underlay(column(3.0), Label::EdgeRun, &edges)), Some(0.0));
}

#[test]
fn a_fill_is_supported_by_rows_across_its_own() {
    let bare = fill(1, 0, &rect(0.0, 0.0, 20.0, 10.0), 0.0, 0.21, 4.0);
    assert_eq!(seam(bare.clone()), Some(0.0));
    let mut across = Vec::new();
    for (k, x) in [6.0, 8.0, 10.0, 12.0, 14.0].into_iter().enumerate() {
        let (a, b) = if k % 2 == 0 { (0.6, 9.4) } else { (9.4, 0.6) };
        across.extend([(x, a), (x, b)]);
    }
    assert_eq!(seam(with_underlay(bare, Label::FillUnderlay, &across)), None);
}

#[test]
fn a_ring_with_two_loops_is_fully_supported() {
    let object = ring(1, 0, &circle((0.0, 0.0), 10.0, 72), &circle((0.0, 0.0), 7.0, 72), 0.4);
    let mut loops = circle((0.0, 0.0), 9.4, 36);
    loops.push(loops[0]);
    loops.extend(circle((0.0, 0.0), 7.6, 30));
    loops.push((7.6, 0.0));
    assert!(share(with_underlay(object, Label::EdgeRun, &loops)).unwrap() > 0.98);
}
