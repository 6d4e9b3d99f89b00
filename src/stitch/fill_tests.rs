use geo::line_measures::{Distance, Euclidean};
use geo::{Line, LineString, Polygon};

use super::*;
use crate::fixtures::{circle, rect};
use crate::geometry::engine;
use crate::geometry::locate::Locator;
use crate::geometry::polyline::resample;

fn style(angle: f64) -> FillStyle {
    FillStyle {
        angle,
        row_pitch: 0.21,
        on: None,
        stitch: 4.0,
        stagger: 4,
        least: 1.0,
        travel: 2.0,
        margin: 0.6,
    }
}

fn area(outer: Vec<(f64, f64)>, holes: Vec<Vec<(f64, f64)>>) -> MultiPolygon<f64> {
    let holes = holes.into_iter().map(LineString::from).collect();
    MultiPolygon(vec![Polygon::new(LineString::from(outer), holes)])
}

fn c(x: f64, y: f64) -> Coord<f64> {
    Coord { x, y }
}

type Case = (&'static str, MultiPolygon<f64>, Coord<f64>, Coord<f64>);
/// Index of the needle that a travel stitch ends at, and its two ends.
type Link = (usize, [Coord<f64>; 2]);

/// Shapes with corners, holes, arms and notches, each with a start and an end on its outline.
fn shapes() -> Vec<Case> {
    let comb = vec![
        (0.0, 0.0),
        (30.0, 0.0),
        (30.0, 15.0),
        (24.0, 15.0),
        (24.0, 5.0),
        (18.0, 5.0),
        (18.0, 15.0),
        (12.0, 15.0),
        (12.0, 5.0),
        (6.0, 5.0),
        (6.0, 15.0),
        (0.0, 15.0),
    ];
    let star: Vec<_> = (0..10)
        .map(|k| {
            let a = f64::from(k) * std::f64::consts::PI / 5.0 + std::f64::consts::FRAC_PI_2;
            let r = if k % 2 == 0 { 12.0 } else { 5.0 };
            (r * a.cos(), r * a.sin())
        })
        .collect();
    let holes = vec![circle((-3.0, 0.0), 2.5, 48), circle((4.0, 1.0), 2.0, 48)];
    vec![
        ("rectangle", area(rect(0.0, 0.0, 20.0, 10.0), vec![]), c(0.0, 0.0), c(20.0, 10.0)),
        ("disc", area(circle((0.0, 0.0), 9.0, 96), vec![]), c(-9.0, 0.0), c(9.0, 0.0)),
        ("holes", area(circle((0.0, 0.0), 9.0, 96), holes), c(0.0, 9.0), c(0.0, -9.0)),
        ("comb", area(comb.clone(), vec![]), c(0.0, 0.0), c(30.0, 15.0)),
        ("comb ended in a notch", area(comb, vec![]), c(3.0, 15.0), c(12.0, 9.0)),
        ("star", area(star.clone(), vec![]), c(star[0].0, star[0].1), c(star[4].0, star[4].1)),
    ]
}

/// Lines of the rows and lines of the travel of a fill.
fn row_lines(fill: &Tatami) -> (Vec<LineString<f64>>, Vec<Link>) {
    let line = |(a, b): &(u32, u32)| LineString(fill.needles[*a as usize..=*b as usize].to_vec());
    let rows = fill.rows.iter().map(line).collect();
    let in_row = |i: usize| fill.rows.iter().any(|(a, b)| (*a as usize) < i && i <= *b as usize);
    let travel = (1..fill.needles.len())
        .filter(|i| !in_row(*i))
        .map(|i| (i, [fill.needles[i - 1], fill.needles[i]]))
        .collect();
    (rows, travel)
}

#[test]
fn rows_cover_the_area_and_stay_inside() {
    for angle in [0.0, 8.0, 172.0, 45.0] {
        for (name, shape, start, end) in shapes() {
            let fill = tatami(&shape, &style(angle), start, end, |_, _| 0.0).unwrap();
            let (rows, _) = row_lines(&fill);
            let covered = engine::stroke(&rows, 0.4);
            let missing = engine::area(&engine::difference(&shape, &covered));
            let whole = engine::area(&shape);
            assert!(missing / whole < 0.01, "{name} at {angle}: {missing:.2} of {whole:.1}");
            let grown = Locator::new(&engine::offset(&shape, 0.1));
            let line = resample(&fill.needles, 0.25);
            let outside = line.iter().filter(|at| !grown.contains(**at)).count();
            assert_eq!(outside, 0, "{name} at {angle}");
        }
    }
}

#[test]
fn starts_and_ends_where_asked_without_long_links() {
    for angle in [0.0, 8.0, 172.0] {
        for (name, shape, start, end) in shapes() {
            let fill = tatami(&shape, &style(angle), start, end, |_, _| 0.0).unwrap();
            assert_eq!((fill.needles[0], fill.needles[fill.needles.len() - 1]), (start, end));
            let (_, travel) = row_lines(&fill);
            for (i, [a, b]) in travel {
                assert!(distance(a, b) <= 3.0, "{name} at {angle}: link {i}");
            }
        }
    }
}

#[test]
fn travel_lies_under_rows_sewn_later() {
    for angle in [0.0, 8.0] {
        for (name, shape, start, end) in shapes() {
            let fill = tatami(&shape, &style(angle), start, end, |_, _| 0.0).unwrap();
            let (_, travel) = row_lines(&fill);
            let outline = Locator::new(&shape);
            for (i, link) in travel {
                let later = fill.rows.iter().filter(|(a, _)| *a as usize >= i);
                let later: Vec<_> = later
                    .map(|(a, b)| LineString(fill.needles[*a as usize..=*b as usize].to_vec()))
                    .filter(|row| Euclidean.distance(&Line::new(link[0], link[1]), row) < 1.0)
                    .collect();
                let cover = Locator::new(&engine::stroke(&later, 0.45));
                // Rows that end at a flat edge are joined along it.
                let joins = |at: usize, is_end: bool| {
                    fill.rows.iter().any(|(a, b)| (if is_end { *b } else { *a }) as usize == at)
                };
                let on_edge = |at: &Coord<f64>| outline.is_near_edge(*at, 0.05);
                if joins(i - 1, true) && joins(i, false) && resample(&link, 0.2).iter().all(on_edge)
                {
                    continue;
                }
                // In the very tip of a corner the thread to its end is all the cover there is, and
                // within a row pitch of a row's end it is part of the edge.
                let at_end = |at: Coord<f64>| {
                    distance(at, start).min(distance(at, end)) < 0.5
                        || distance(at, link[0]).min(distance(at, link[1])) < 0.25
                };
                let seen = resample(&link, 0.2);
                let seen = seen.iter().filter(|at| !at_end(**at) && !cover.contains(**at)).count();
                assert_eq!(seen, 0, "{name} at {angle}: link {i} {link:?}");
            }
        }
    }
}

#[test]
fn rows_join_along_an_edge_that_runs_nearly_along_them() {
    let shape = area(rect(0.0, 0.0, 20.0, 10.0), vec![]);
    let farthest = |angle: f64| {
        let fill = tatami(&shape, &style(angle), c(0.0, 0.0), c(20.0, 10.0), |_, _| 0.0).unwrap();
        let thread = Locator::of_line(&fill.needles);
        let places = (0..=24).flat_map(|k| [0.0, 10.0].map(|y| c(4.0 + 0.5 * f64::from(k), y)));
        places.map(|at| thread.distance_to_edge(at)).fold(0.0, f64::max)
    };
    // A V leaves notches as deep as two rows are apart, a way along the edge half of that at most.
    let pitch = style(0.0).row_pitch;
    assert!(farthest(8.0) < pitch, "{}", farthest(8.0));
    assert!(farthest(25.0) > pitch, "{}", farthest(25.0));
}

#[test]
fn stitches_inside_rows_keep_length_and_stagger() {
    let shape = area(rect(0.0, 0.0, 30.0, 10.0), vec![]);
    let fill = tatami(&shape, &style(0.0), c(0.0, 0.0), c(30.0, 10.0), |_, _| 0.0).unwrap();
    let mut phases = std::collections::BTreeSet::new();
    for (a, b) in &fill.rows {
        let row = &fill.needles[*a as usize..=*b as usize];
        let lengths: Vec<_> = row.windows(2).map(|p| distance(p[0], p[1])).collect();
        assert!(lengths.iter().all(|l| (1.0..=5.0).contains(l)), "{lengths:?}");
        let inner = &lengths[2..lengths.len() - 2];
        assert!(inner.iter().all(|l| (l - 4.0).abs() < 0.01), "{lengths:?}");
        phases.insert((row[3].x.rem_euclid(4.0) * 10.0).round() as i32 % 40);
    }
    // A quarter of the stitch length from row to row (Printwear Jul 2019 p. 24).
    assert_eq!(phases.into_iter().collect::<Vec<_>>(), [0, 10, 20, 30]);
    let joined = fill.rows.windows(2).filter(|p| p[0].1 == p[1].0).count();
    assert_eq!(joined, fill.rows.len() - 1, "rows join in a V");
}

#[test]
fn row_ends_go_as_far_beyond_the_outline_as_asked() {
    let shape = area(rect(0.0, 0.0, 30.0, 10.0), vec![]);
    let by = |at: Coord<f64>, _| if at.x > 15.0 { 0.125 } else { 0.0 };
    let fill = tatami(&shape, &style(0.0), c(0.0, 0.0), c(30.0, 10.0), by).unwrap();
    let high = fill.needles.iter().map(|p| p.x).fold(f64::MIN, f64::max);
    let low = fill.needles.iter().map(|p| p.x).fold(f64::MAX, f64::min);
    assert!((high - 30.125).abs() < 1e-9 && low.abs() < 1e-9);
}

#[test]
fn separate_pieces_are_refused() {
    let mut shape = area(rect(0.0, 0.0, 5.0, 5.0), vec![]);
    shape.0.extend(area(rect(9.0, 0.0, 14.0, 5.0), vec![]).0);
    let none = |_, _| 0.0;
    assert_eq!(tatami(&shape, &style(0.0), c(0.0, 0.0), c(9.0, 0.0), none), Err(FillError::Apart));
    assert_eq!(
        tatami(&MultiPolygon(vec![]), &style(0.0), c(0.0, 0.0), c(9.0, 0.0), none),
        Err(FillError::Empty)
    );
}

/// "Maximum about 5" for a standard stitch of 4 mm (Printwear, Feb 2016, p. 63): so much may a stitch
/// grow by a remainder too short for one of its own.
#[test]
fn a_short_remainder_is_left_to_the_stitch_beside_it() {
    let points = |length: f64| inner_points(0.0, length, 0, &style(0.0));
    assert_eq!(points(8.6), [4.0]);
    // 4 and 1 mm are two stitches; with a share of 4.9 mm each half is long enough, too.
    assert_eq!(points(9.0), [4.0, 8.0]);
    // The same at the beginning: row 1 is shifted by a quarter of 4 mm, here to 0.6 mm after it.
    assert_eq!(inner_points(0.4, 12.0, 1, &style(0.0)), [5.0, 9.0]);
    // Where 5 mm would not do, both stitches get half.
    let long = FillStyle { stitch: 3.0, ..style(0.0) };
    assert_eq!(inner_points(0.0, 6.9, 0, &long), [3.0, 4.95]);
}
