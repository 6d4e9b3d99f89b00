//! Parts of fills that look like something else by themselves; tapes worked by hand.

#[path = "support/by_hand.rs"]
mod by_hand;
#[allow(dead_code)]
#[path = "support/decode.rs"]
mod decode;

use by_hand::{P, count, read, stitches};
use crownmend::objects::{Class, Label};

/// Level rows 12 mm long, 0.4 mm apart, with needle points every 4 mm that stagger by a third.
fn fill() -> Vec<P> {
    let row = |k: i32| {
        let y = 0.4 * f64::from(k);
        let inner = (0..4).map(|i| 4.0 * f64::from(i) + 4.0 / 3.0 * f64::from(k % 3));
        let inner = inner.filter(|x| (1.0..11.0).contains(x));
        let mut xs: Vec<f64> = std::iter::once(0.0).chain(inner).chain([12.0]).collect();
        if k % 2 == 1 {
            xs.reverse();
        }
        xs.into_iter().map(move |x| (x, y)).collect::<Vec<P>>()
    };
    (0..36).flat_map(row).collect()
}

/// A zigzag 2 mm wide, 18 mm to the right of the fill's edge, that advances so much with each crossing.
fn zigzag(advance: f64) -> Vec<P> {
    (0..24).map(|k| (18.0 + 2.0 * f64::from(k % 2), 2.0 + advance * f64::from(k))).collect()
}

#[test]
fn a_narrow_island_on_the_rows_of_a_fill_is_a_part_of_it() {
    let objects = read(&[fill(), zigzag(0.4)]);
    assert_eq!(count(&objects, Class::Satin), 0);
    assert_eq!(count(&objects, Class::Fill), 1, "one fill of two islands");
    assert!(stitches(&objects, Label::Fill) >= 36 * 4 + 20);
}

#[test]
fn a_column_beside_a_fill_stays_a_column() {
    // 0.33 mm from crossing to crossing: its ends lie between the rows as well as on them.
    let objects = read(&[fill(), zigzag(0.33)]);
    assert_eq!(count(&objects, Class::Satin), 1);
    assert_eq!(count(&objects, Class::Fill), 1);
}

#[test]
fn the_second_pass_of_a_fill_is_no_underlay() {
    // Rows 1.2 mm apart there, and back between them: 0.6 mm from row to row.
    let row = |k: i32, aside: f64| {
        let y = 1.2 * f64::from(k) + aside;
        let xs = if k % 2 == 0 { [0.0, 4.1, 8.1, 12.0] } else { [12.0, 8.4, 3.9, 0.0] };
        xs.map(|x| (x, y))
    };
    let there = (0..14).flat_map(|k| row(k, 0.0));
    let back = (0..14).rev().flat_map(|k| row(k, 0.6));
    let objects = read(&[there.chain(back).collect()]);
    assert_eq!(count(&objects, Class::Fill), 1);
    assert!(stitches(&objects, Label::Fill) >= 28 * 3);
    let fill = objects.items.iter().find_map(|object| object.fill()).expect("a fill");
    assert!((fill.row_pitch - 0.6).abs() < 0.02, "{}", fill.row_pitch);
}

#[test]
fn two_rows_that_go_on_beside_a_curved_fill_belong_to_it() {
    // Arcs about one centre, 60 degrees each, 0.4 mm apart.
    let row = |k: i32| {
        let radius = 14.0 + 0.4 * f64::from(k);
        let at = move |i: i32| {
            let step = if k % 2 == 0 { i } else { 6 - i };
            let angle = (60.0 + 10.0 * f64::from(step)).to_radians();
            (radius * angle.cos(), radius * angle.sin())
        };
        (0..=6).map(at)
    };
    let body: Vec<P> = (0..26).flat_map(row).collect();
    let rest: Vec<P> = (26..28).flat_map(row).collect();
    let objects = read(&[body, rest]);
    assert_eq!(count(&objects, Class::CurvedFill), 1);
    assert_eq!(count(&objects, Class::Run), 0);
    assert!(stitches(&objects, Label::Fill) >= 28 * 6);
}

#[test]
fn rows_that_meet_the_edge_at_a_flat_angle_are_no_column() {
    // A band 2 mm high, its rows at 30 degrees, joined by steps of 0.7 mm along the edges: as long as
    // crossings, and in one or two stitches as those are where a column is split.
    let across = 2.0 / 30_f64.to_radians().tan();
    let row = |k: i32| {
        let left = 0.7 * f64::from(k);
        let at = |share: f64| (left + across * share, 2.0 * share);
        let shares = match k % 4 {
            0 => vec![0.0, 0.45, 1.0],
            1 => vec![1.0, 0.55, 0.0],
            2 => vec![0.0, 1.0],
            _ => vec![1.0, 0.0],
        };
        shares.into_iter().map(at).collect::<Vec<P>>()
    };
    let objects = read(&[(0..34).flat_map(row).collect()]);
    assert_eq!(count(&objects, Class::Fill), 1);
    assert_eq!(objects.items.len(), 1);
}

#[test]
fn a_line_that_ends_on_its_own_column_is_a_run() {
    // A column 7 mm wide; from its end a line leads back inside it, turns and goes nowhere else.
    let column = (0..100).map(|k| (7.0 * f64::from(k % 2), 0.25 * f64::from(k)));
    let back = (1..=8).map(|k| (7.0 - 0.6 * f64::from(k), 24.75 - 2.0 * f64::from(k)));
    let line = (1..=6).map(|k| (2.2 + 0.5 * f64::from(k), 8.75 + 1.8 * f64::from(k)));
    let tie = [(4.5, 18.9), (5.2, 19.55), (4.5, 18.9), (5.2, 19.55)];
    let objects = read(&[column.chain(back).chain(line).chain(tie).collect()]);
    assert_eq!(count(&objects, Class::Satin) + count(&objects, Class::SplitSatin), 1);
    assert_eq!(stitches(&objects, Label::Run), 6);
    assert_eq!(stitches(&objects, Label::Travel), 8);
}

#[test]
fn a_few_rows_beside_a_fill_go_on_with_it() {
    // Rows 10 mm long at 61 degrees, joined in a V, 0.56 mm from one to the next; from the last of them,
    // after a trim, four more at one side only: crossings as wide apart as those of an open zigzag.
    let (sin, cos) = 61_f64.to_radians().sin_cos();
    let turned = |(x, y): P| (x * cos - y * sin, x * sin + y * cos);
    let end = |k: i32, right: f64| (right * f64::from(k % 2), 0.56 * f64::from(k));
    let row = |k: i32| {
        let (from, to) = (end(k, 10.0), end(k + 1, 10.0));
        let stagger = 0.09 * f64::from(k % 3);
        [0.0, 0.32 + stagger, 0.65 + stagger]
            .map(|share| (from.0 + (to.0 - from.0) * share, from.1 + 0.56 * share))
    };
    let body = (0..12).flat_map(row).chain([end(12, 10.0)]).map(turned);
    let rest = (13..18).map(|k| end(k, 3.5)).map(turned);
    let objects = read(&[body.collect(), rest.collect()]);
    assert_eq!(count(&objects, Class::Fill), 1);
    assert_eq!(objects.items.len(), 1);
}

#[test]
fn what_is_sewn_along_the_rows_right_after_them_is_no_run() {
    // Over the rows, 0.2 mm apart, to where the thread ends; and a tie.
    let back = [(0.0, 12.5), (8.0, 12.5), (0.3, 12.9), (1.0, 13.5), (0.3, 12.9), (1.0, 13.5)];
    let objects = read(&[fill().into_iter().chain(back).collect()]);
    assert_eq!(objects.items.len(), 1);
    assert_eq!(stitches(&objects, Label::Run), 0);
}

#[test]
fn the_open_end_of_a_gradient_is_a_part_of_it() {
    // Ever wider apart, from 0.3 to 1.3 mm; after a trim, two rows further and at one side only, four
    // rows 1.4 mm apart.
    let row = |k: i32, y: f64, right: f64| {
        let xs = [0.0, right * 0.35, right * 0.7, right];
        let x = move |i: usize| if k % 2 == 0 { xs[i] } else { xs[3 - i] };
        (0..4).map(move |i| (x(i), y))
    };
    let height = |k: i32| 0.3 * f64::from(k) + 0.02 * f64::from(k * k);
    let body = (0..26).flat_map(|k| row(k, height(k), 12.0));
    let end = (0..4).flat_map(|k| row(k, height(25) + 1.4 * f64::from(k + 2), 3.5));
    let objects = read(&[body.collect(), end.collect()]);
    assert_eq!(objects.items.len(), 1);
    assert_eq!(count(&objects, Class::Fill), 1);
}

#[test]
fn a_column_has_its_first_crossing_where_zigzag_leads_into_it() {
    // Zigzag 4 mm wide to the column's end; from its last needle point a short step to an edge, and
    // the column goes back over it, 5 mm wide.
    let zigzag = (0..32).map(|k| (f64::from(k), if k % 2 == 0 { 18.2 } else { 22.0 }));
    let crossing = |k: i32| {
        let x = 31.5 - 0.4 * f64::from(k);
        [(x, 22.6), (x - 0.1, 17.5)]
    };
    let column: Vec<P> = (0..70).flat_map(crossing).collect();
    let crossings = column.len() - 1;
    let objects = read(&[zigzag.chain(column).collect()]);
    assert_eq!((objects.items.len(), count(&objects, Class::Satin)), (1, 1));
    assert_eq!(stitches(&objects, Label::Satin), crossings);
}

/// Two flat fields that touch, half a pitch off each other's rows; the second may have an edge run before
/// its rows, most of which runs along the rows of both.
fn two_fields(underlay: &[P]) -> Vec<P> {
    let field = |low: f64| {
        let row = move |k: i32| {
            let y = low + 0.4 * f64::from(k);
            let mut xs: Vec<f64> =
                (0..=7).map(|i| 4.0 * f64::from(i) - 4.0 / 3.0 * f64::from(k % 3)).collect();
            (xs[0], xs[7]) = (0.0, 28.0);
            xs.retain(|x| (0.0..=28.0).contains(x));
            if k % 2 == 1 {
                xs.reverse();
            }
            xs.into_iter().map(move |x| (x, y)).collect::<Vec<P>>()
        };
        (0..16).flat_map(row).collect::<Vec<P>>()
    };
    let mut all = field(0.0);
    all.extend(underlay);
    all.extend(field(6.6));
    all
}

/// Common practice, no published source: underlay comes before the object that it holds.
#[test]
fn a_field_with_an_edge_run_of_its_own_is_an_object_of_its_own() {
    let side = |from: P, to: P| {
        let length = f64::hypot(to.0 - from.0, to.1 - from.1);
        let count = (length / 2.3).round() as i32;
        let at = move |k: i32| f64::from(k) / f64::from(count);
        (1..=count)
            .map(move |k| (from.0 + (to.0 - from.0) * at(k), from.1 + (to.1 - from.1) * at(k)))
    };
    let corners = [(0.7, 12.0), (0.7, 7.2), (27.3, 7.2), (27.3, 12.0), (0.7, 12.0)];
    let edge: Vec<P> = corners.windows(2).flat_map(|w| side(w[0], w[1])).collect();
    assert_eq!(count(&read(&[two_fields(&edge)]), Class::Fill), 2);
    assert_eq!(count(&read(&[two_fields(&[])]), Class::Fill), 1);
}
