//! Lines that look like something else, beans and motifs among them; tapes worked by hand.

#[path = "support/by_hand.rs"]
mod by_hand;
#[allow(dead_code)]
#[path = "support/decode.rs"]
mod decode;

use by_hand::{P, count, read, stitches};
use crownmend::objects::{Class, Label};

/// Every stitch of a line sewn so many times (an odd number).
fn bean(line: &[P], passes: usize) -> Vec<P> {
    let again = |w: &[P]| (0..passes).map(|k| w[(k + 1) % 2]).collect::<Vec<P>>();
    std::iter::once(line[0]).chain(line.windows(2).flat_map(again)).collect()
}

/// Needle points on an arc about the origin, from 60 to 120 degrees or back.
fn arc(radius: f64, back: bool) -> impl Iterator<Item = P> {
    (0..=6).map(move |i| {
        let angle = (60.0 + 10.0 * f64::from(if back { 6 - i } else { i })).to_radians();
        (radius * angle.cos(), radius * angle.sin())
    })
}

#[test]
fn a_bean_beside_curved_rows_is_none_of_them() {
    // 0.5 mm beyond the last row of a fill whose rows are arcs 0.4 mm apart.
    let body = (0..26).flat_map(|k| arc(14.0 + 0.4 * f64::from(k), k % 2 == 1));
    let line: Vec<P> = arc(24.5, false).collect();
    let objects = read(&[body.collect(), bean(&line, 3)]);
    assert_eq!(count(&objects, Class::CurvedFill), 1);
    assert_eq!(count(&objects, Class::Bean), 1);
    assert_eq!(
        stitches(&objects, Label::Bean),
        19,
        "six stitches, three times, and the first point"
    );
}

#[test]
fn a_bean_stays_one_beneath_a_later_top() {
    // A straight bean of 1.4 mm stitches; a column 6 mm wide is sewn over its middle.
    let line: Vec<P> = (0..=20).map(|i| (1.4 * f64::from(i), 0.3 * f64::from(i % 2))).collect();
    let column = (0..60).map(|k| (11.0 + 6.0 * f64::from(k % 2), -5.0 + 0.2 * f64::from(k)));
    let objects = read(&[bean(&line, 5), column.collect()]);
    assert_eq!(count(&objects, Class::Satin), 1);
    assert_eq!(count(&objects, Class::Bean), 1);
    assert_eq!(stitches(&objects, Label::Bean), 101);
    // It begins there and back at one place, as ties do, and goes on so.
    assert_eq!(stitches(&objects, Label::Tie), 0);
}

#[test]
fn a_line_with_spurs_is_a_run() {
    // Along a spiral, at every second needle point aside to its middle and back.
    let at = |angle: f64, inside: f64| {
        let radius = 2.0 + 0.6 * angle - inside;
        (radius * angle.cos(), radius * angle.sin())
    };
    let mut angle = 0.0;
    let mut line = vec![at(angle, 0.0)];
    for k in 1..60 {
        angle += 1.2 / (2.0 + 0.6 * angle);
        line.push(at(angle, 0.0));
        if k % 2 == 0 {
            line.extend([at(angle + 0.2, 1.4), at(angle, 0.0)]);
        }
    }
    let objects = read(std::slice::from_ref(&line));
    assert_eq!(stitches(&objects, Label::Unsure) + stitches(&objects, Label::Zigzag), 0);
    // But for what its first point may be a tie of.
    assert!(stitches(&objects, Label::Run) >= line.len() - 4);
}

#[test]
fn a_line_after_a_column_is_no_underlay() {
    // It ends its stretch with a tie; a fill is sewn over it later. Underlay leads to its top.
    let first = (0..50).map(|k| (0.25 * f64::from(k), 3.0 * f64::from(k % 2)));
    let line = (1..=5).map(|k| (12.25 + 1.9 * f64::from(k), 1.5 + 1.6 * f64::from(k)));
    let tie = [(21.75, 9.5), (21.3, 9.1), (21.75, 9.5), (21.3, 9.1)];
    let row = |k: i32| {
        let xs = if k % 2 == 0 { [13.0, 17.0, 21.0, 25.0] } else { [25.0, 22.4, 18.4, 13.0] };
        xs.map(|x| (x, 0.4 * f64::from(k)))
    };
    let objects = read(&[first.chain(line).chain(tie).collect(), (0..32).flat_map(row).collect()]);
    assert_eq!(count(&objects, Class::Fill), 1);
    let underlay = [Label::CentreRun, Label::EdgeRun, Label::FillUnderlay, Label::Zigzag];
    let under: usize = underlay.iter().map(|label| stitches(&objects, *label)).sum();
    assert_eq!(under, 0);
}

#[test]
fn a_few_stitches_that_happen_to_lie_beside_each_other_are_no_fill() {
    // Thrown any way, by the generator of the random designs.
    let walk = [
        (0.0, 0.0),
        (-1.8, 0.2),
        (-1.1, 1.3),
        (-0.4, 0.9),
        (0.5, 1.9),
        (2.1, 3.5),
        (1.1, 0.5),
        (-0.2, -1.6),
        (0.8, -1.8),
        (3.6, -0.9),
        (3.8, -1.5),
        (4.7, -2.8),
        (3.9, -0.8),
        (4.8, -2.5),
        (5.9, -1.7),
        (5.2, -0.2),
        (4.4, 0.9),
        (1.5, 1.7),
        (0.1, 0.5),
        (-0.7, -1.2),
        (-2.1, -1.2),
        (-0.2, -2.6),
        (0.7, -4.1),
        (3.7, -3.0),
        (2.7, -4.5),
        (1.9, -4.2),
    ];
    let objects = read(&[walk.to_vec()]);
    assert_eq!(stitches(&objects, Label::Fill), 0);
}
