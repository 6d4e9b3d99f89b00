use super::*;
use crate::survey::{Meeting, Sample};

/// A probe of 10 mm of an upright curve, its later object to the right, and the edges there.
fn probe(overlap: f64) -> (Probe, Edges) {
    let sample = Sample {
        at: Coord { x: 0.0, y: 0.0 },
        inward: Coord { x: 1.0, y: 0.0 },
        overlap,
        can_hide: true,
        room: 0.0,
        under_direction: 0.0,
        over_direction: 0.0,
        under_meeting: Meeting::PullEnd,
        over_meeting: Meeting::PullEnd,
    };
    let edges = Edges { drawn: -overlap, pulled: 0.0, held: 0.0 };
    (Probe { sample, length: 10.0, growth: 1.0, at_seam: false }, edges)
}

/// What shows at one probe in these draws.
fn seen((probe, edges): (Probe, Edges), drifts: Vec<Drift>, scale: f64) -> Figures {
    sew(&[probe], &[edges], &Draws::new(drifts), scale)
}

fn shifted(x: f64) -> Drift {
    Drift { by: Coord { x, y: 0.3 }, seam: 0.0 }
}

/// Two rectangles whose threads overlap by w, one shifted by d: max(0, d − w) times the length of
/// their edge lies open (worked by hand).
#[test]
fn a_shift_opens_what_the_overlap_does_not_cover() {
    for (overlap, shift, open) in
        [(0.2, 0.5, 3.0), (0.2, 0.1, 0.0), (0.0, 0.4, 4.0), (-0.1, 0.0, 1.0), (1.0, -2.0, 0.0)]
    {
        let figures = seen(probe(overlap), vec![shifted(shift)], 1.0);
        assert!((figures[0].area - open).abs() < 1e-9, "{overlap} {shift}");
    }
    // Scaled by two, 0.2 of overlap and a shift of 0.5 open 0.8 mm.
    let seen = seen(probe(0.2), vec![shifted(0.5)], 2.0)[0];
    assert!((seen.area - 8.0).abs() < 1e-9 && (seen.gap - 0.8).abs() < 1e-9);
}

#[test]
fn pull_guards_seam_and_height_do_what_is_said_of_them() {
    let with = |change: fn(&mut Probe, &mut Edges)| {
        let (mut probe, mut edges) = probe(0.5);
        change(&mut probe, &mut edges);
        let drift = Drift { by: Coord { x: 0.6, y: 0.0 }, seam: 0.2 };
        seen((probe, edges), vec![drift], 1.0)[0].area
    };
    let near = |a: f64, b: f64| assert!((a - b).abs() < 1e-9, "{a} {b}");
    near(with(|_, _| ()), 1.0);
    near(with(|_, e| e.pulled = 0.3), 4.0);
    near(with(|_, e| e.held = 0.4), 0.6);
    near(with(|p, _| p.at_seam = true), 3.0);
    near(with(|p, _| p.growth = 1.5), 4.0);
}

#[test]
fn what_lies_deep_never_opens_and_more_overlap_opens_less() {
    let drifts: Vec<Drift> = (0..DRAWS)
        .map(|number| {
            let [x, y] = random::normals(number, random::Purpose::Stop, 0);
            Drift { by: Coord { x, y } * 0.5, seam: 0.0 }
        })
        .collect();
    let mean = |overlap: f64| {
        let draws = seen(probe(overlap), drifts.clone(), 1.0);
        draws.iter().map(|seen| seen.area).sum::<f64>() / draws.len() as f64
    };
    assert_eq!(mean(5.0), 0.0);
    // A normal shift of sigma 0.5 against no overlap: 0.5 / sqrt(2 pi) of mean gap, over 10 mm.
    assert!((mean(0.0) - 1.995).abs() < 0.5, "{}", mean(0.0));
    assert!(mean(0.0) > mean(0.3) && mean(0.3) > mean(0.6) && mean(0.6) > mean(1.2));
}

/// Each draw keeps its number, whichever order they are looked at in.
#[test]
fn draws_keep_their_numbers() {
    let shifts = [0.1, 0.9, -0.4, 0.3];
    let draws = seen(probe(0.2), shifts.map(shifted).to_vec(), 1.0);
    for (seen, wanted) in draws.iter().zip([0.0, 0.7, 0.0, 0.1]) {
        assert!((seen.gap - wanted).abs() < 1e-9, "{draws:?}");
    }
}

#[test]
fn the_95th_percentile_of_twenty_is_the_nineteenth() {
    let spread = Spread::of((1..=20).rev().map(f64::from).collect());
    assert_eq!((spread.mean, spread.p95), (10.5, 19.0));
    assert_eq!(Spread::of(Vec::new()), Spread::default());
}
