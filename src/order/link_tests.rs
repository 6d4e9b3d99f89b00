use super::link::{Way, hidden_way};
use crate::design::Pt;
use crate::fixtures;
use crate::objects::Object;

fn cover(outline: &[(f64, f64)]) -> Object {
    fixtures::fill(1, 0, outline, 0.0, 0.2, 4.0)
}

fn way(from: (i32, i32), to: (i32, i32), later: &[Object]) -> Option<Way> {
    let numbers = fixtures::settings().profile.numbers;
    hidden_way(Pt::new(from.0, from.1), Pt::new(to.0, to.1), later, &numbers)
}

fn stitches(from: (i32, i32), to: (i32, i32), way: &Way) -> Vec<f64> {
    let Way::Sewn(points) = way else { panic!("{way:?}") };
    let mut all = vec![Pt::new(from.0, from.1)];
    all.extend(points);
    all.push(Pt::new(to.0, to.1));
    all.windows(2).map(|two| two[0].distance(two[1])).collect()
}

#[test]
fn a_straight_way_under_cover_is_sewn_in_run_stitches() {
    let later = [cover(&fixtures::rect(0.0, 0.0, 20.0, 10.0))];
    let found = way((20, 50), (170, 50), &later).unwrap();
    let lengths = stitches((20, 50), (170, 50), &found);
    assert!(lengths.iter().all(|l| (0.3..=3.0).contains(l)), "{lengths:?}");
    assert!((lengths.iter().sum::<f64>() - 15.0).abs() < 0.1);
}

#[test]
fn a_way_goes_round_a_corner_under_cover() {
    let corner = [(0.0, 0.0), (12.0, 0.0), (12.0, 4.0), (4.0, 4.0), (4.0, 12.0), (0.0, 12.0)];
    let later = [cover(&corner)];
    let found = way((20, 110), (110, 20), &later).unwrap();
    let Way::Sewn(points) = &found else { panic!("{found:?}") };
    // 0.3 mm from the edges of the cover, less rounding
    let hidden = |at: &Pt| {
        let (x, y) = (at.mm().x, at.mm().y);
        (0.2..=3.8).contains(&x) && (0.2..=11.8).contains(&y)
            || (0.2..=11.8).contains(&x) && (0.2..=3.8).contains(&y)
    };
    assert!(points.iter().all(hidden), "{points:?}");
    assert!(stitches((20, 110), (110, 20), &found).iter().all(|l| *l <= 3.0));
}

#[test]
fn nothing_shows_a_way() {
    let open = fixtures::fill(1, 0, &fixtures::rect(0.0, 0.0, 20.0, 10.0), 0.0, 0.6, 4.0);
    assert!(!open.hides);
    assert_eq!(way((20, 50), (170, 50), &[open]), None, "an open fill hides nothing");
    assert_eq!(way((20, 50), (170, 50), &[]), None);
    let islands =
        [cover(&fixtures::rect(0.0, 0.0, 6.0, 10.0)), cover(&fixtures::rect(8.0, 0.0, 14.0, 10.0))];
    assert_eq!(way((30, 50), (110, 50), &islands), None, "2 mm of cloth lie between");
    let wide = [cover(&fixtures::rect(0.0, 0.0, 40.0, 10.0))];
    assert_eq!(way((20, 50), (390, 50), &wide), None, "37 mm are dearer than a trim");
}

#[test]
fn along_an_edge_the_thread_lies_loose() {
    // 0.2 mm inside the edge: too near for needle points, near enough for a thread
    let later = [cover(&fixtures::rect(0.0, 0.0, 20.0, 0.5))];
    assert_eq!(way((20, 2), (60, 2), &later), Some(Way::Jump));
    assert_eq!(way((20, 2), (80, 2), &later), None, "6 mm are too long");
}

#[test]
fn the_same_place_needs_no_cut() {
    let later = [cover(&fixtures::rect(0.0, 0.0, 20.0, 10.0))];
    assert_eq!(way((20, 50), (20, 50), &later), Some(Way::Jump));
}
