use std::f64::consts::PI;

use geo::polygon;

use super::*;
use crate::geometry::engine;

fn c(x: f64, y: f64) -> Coord<f64> {
    Coord { x, y }
}

fn canvas(side: f64) -> Canvas {
    Canvas::new(Rect::new(c(0., 0.), c(side, side)), 0.1)
}

fn square(x: f64, y: f64, side: f64) -> MultiPolygon<f64> {
    MultiPolygon(vec![polygon![
        (x: x, y: y), (x: x + side, y: y), (x: x + side, y: y + side), (x: x, y: y + side)
    ]])
}

#[test]
fn a_flat_stitch_covers_its_cells_exactly() {
    let mut canvas = canvas(10.0);
    canvas.lay_stitch(c(2., 5.), c(6., 5.), 0.4, 7);
    // Four rows of cells: 40 between the ends in each, and at each end the cells whose middle is
    // within 0.2: at heights ±0.05 one at 0.05 and one at 0.15 away, at ±0.15 one at 0.05.
    assert_eq!(canvas.covered(), 4 * 40 + 2 * (2 * 2 + 2));
    assert_eq!(canvas.get(c(4., 5.15)), 7);
    assert_eq!(canvas.get(c(4., 5.25)), 0);
    assert_eq!(canvas.get(c(-1., 5.)), 0);
}

/// What is drawn agrees with the area of the stroke by another way, at any slant.
#[test]
fn strokes_agree_with_the_buffer() {
    for (i, width) in (0..48).map(|i| (f64::from(i), 0.3 + 0.02 * f64::from(i))) {
        let (sin, cos) = (i * PI / 24.0).sin_cos();
        let (a, b) = (c(10.03, 9.91), c(10.03 + 6.0 * cos, 9.91 + 6.0 * sin));
        let mut canvas = canvas(20.0);
        canvas.lay_stitch(a, b, width, 1);
        let drawn = canvas.area(canvas.covered());
        let exact = 6.0 * width + PI * width * width / 4.0;
        // A cell counts whole or not at all: half a cell along the rim, on average far less.
        assert!((drawn - exact).abs() < 0.05 * (12.0 + PI * width), "{i}: {drawn} {exact}");
        let cover = engine::stroke(&[vec![a, b].into()], width);
        let locator = crate::geometry::locate::Locator::new(&cover);
        for index in (0..canvas.cells.len()).step_by(7) {
            let at = canvas.middle_of(index);
            if locator.distance_to_edge(at) > 0.01 {
                assert_eq!(canvas.get(at) == 1, locator.contains(at), "{i}: {at:?}");
            }
        }
    }
}

#[test]
fn later_stitches_lie_over_earlier_ones() {
    let mut canvas = canvas(10.0);
    canvas.lay_stitch(c(1., 5.), c(9., 5.), 0.4, 1);
    canvas.lay_stitch(c(5., 1.), c(5., 9.), 0.4, 2);
    assert_eq!(canvas.get(c(5., 5.)), 2);
    assert_eq!(canvas.get(c(2., 5.)), 1);
    // A dot.
    canvas.lay_stitch(c(2., 5.), c(2., 5.), 0.4, 3);
    assert_eq!(canvas.get(c(2., 5.)), 3);
}

#[test]
fn stitches_outside_are_cut_off() {
    let mut canvas = canvas(10.0);
    canvas.lay_stitch(c(-5., 5.), c(15., 5.), 0.4, 1);
    assert_eq!(canvas.covered(), 4 * 100);
    canvas.lay_stitch(c(-5., -5.), c(-1., -3.), 0.4, 1);
    canvas.lay_stitch(c(0., 50.), c(10., 50.), 0.4, 1);
    canvas.lay_stitch(c(f64::NAN, 5.), c(15., 5.), 0.4, 1);
    canvas.lay_stitch(c(0., 5.), c(f64::INFINITY, 5.), 0.4, 1);
    canvas.lay_stitch(c(0., 8.), c(9., 8.), -1.0, 1);
    assert_eq!(canvas.covered(), 4 * 100);
}

#[test]
fn areas_with_holes_are_filled() {
    let mut canvas = canvas(12.0);
    let frame = engine::difference(&square(1., 1., 10.), &square(4., 4., 2.));
    canvas.draw_area(&frame, 5);
    // 100 − 4 mm² in whole cells.
    assert_eq!(canvas.covered(), 9600);
    assert_eq!((canvas.get(c(5., 5.)), canvas.get(c(3., 5.))), (0, 5));
}

#[test]
fn comparison_counts_by_kind_and_pair() {
    let before = {
        let mut canvas = canvas(10.0);
        canvas.draw_area(&square(0., 0., 4.), 1);
        canvas
    };
    let mut after = before.alike();
    after.draw_area(&square(2., 0., 4.), 2);
    let comparison = before.compare(&after);
    // 2 × 4 mm each: bare now, recoloured, new.
    assert_eq!(
        (comparison.uncovered, comparison.changed, comparison.newly_covered),
        (800, 800, 800)
    );
    let pairs = BTreeMap::from([((0, 2), 800), ((1, 0), 800), ((1, 2), 800)]);
    assert_eq!(comparison.pairs, pairs);
    assert_eq!(before.compare(&before), Comparison::default());
    // Another box, same grid: the cells of the first count.
    let mut larger = Canvas::new(Rect::new(c(-3., -3.), c(12., 12.)), 0.1);
    larger.draw_area(&square(2., 0., 4.), 2);
    assert_eq!(before.compare(&larger), comparison);
}

#[test]
fn covered_shares() {
    let mut canvas = canvas(10.0);
    canvas.draw_area(&square(0., 0., 5.), 1);
    let window = |x0, y0, x1, y1| Rect::new(c(x0, y0), c(x1, y1));
    assert_eq!(canvas.covered_share(window(0., 0., 5., 5.)), 1.0);
    assert_eq!(canvas.covered_share(window(0., 0., 10., 5.)), 0.5);
    assert_eq!(canvas.covered_share(window(-5., 0., 5., 5.)), 0.5);
    assert_eq!(canvas.covered_share(window(7., 7., 8., 8.)), 0.0);
    assert_eq!(canvas.covered_share(window(0.01, 0.01, 0.02, 0.02)), 0.0);
}

#[test]
fn the_worst_window_finds_a_hole_in_the_cover() {
    let mut canvas = canvas(20.0);
    let area = square(2., 2., 10.);
    canvas.draw_area(&area, 1);
    assert_eq!(canvas.worst_window(&area, 0.5), Some(1.0));
    // A slit 0.1 wide and 3 long.
    canvas.lay_stitch(c(5., 6.05), c(8., 6.05), 0.1, 0);
    assert_eq!(canvas.worst_window(&area, 0.5), Some(0.8));
    // What lies beside the area does not count.
    assert_eq!(canvas.worst_window(&square(2., 7., 4.), 0.5), Some(1.0));
    // Two members with bare rows between them.
    let apart = MultiPolygon([square(2., 2., 3.).0, square(2., 8., 3.).0].concat());
    assert_eq!(canvas.worst_window(&apart, 0.5), Some(1.0));
    assert_eq!(canvas.worst_window(&MultiPolygon(vec![]), 0.5), None);
    assert_eq!(canvas.worst_window(&square(30., 30., 5.), 0.5), None);
}

/// Rows 0.2 apart with 0.4 wide thread hide; rows 0.6 apart do not.
#[test]
fn dense_rows_hide_and_open_rows_do_not() {
    let area = square(1., 1., 8.);
    let share = |pitch: f64| {
        let mut canvas = canvas(10.0);
        let rows = (8.0 / pitch).round() as i32;
        for row in 0..=rows {
            let y = 1.0 + f64::from(row) * pitch;
            canvas.lay_stitch(c(1., y), c(9., y), 0.4, 1);
        }
        canvas.worst_window(&area, 0.5)
    };
    assert_eq!(share(0.2), Some(1.0));
    assert!(share(0.8).is_some_and(|s| s <= 0.8), "{:?}", share(0.8));
}

#[test]
fn absurd_boxes_are_survived() {
    let none = Canvas::new(Rect::new(c(f64::NAN, 0.), c(1., 1.)), 0.1);
    assert_eq!((none.covered(), none.get(c(0., 0.))), (0, 0));
    let huge = Canvas::new(Rect::new(c(0., 0.), c(1e8, 1e8)), 0.1);
    assert!(huge.cells.len() <= 1 << 26 && huge.cell_mm() > 0.1);
    let mut flat = Canvas::new(Rect::new(c(1., 1.), c(1., 1.)), 0.0);
    flat.lay_stitch(c(0., 1.05), c(2., 1.05), 0.4, 1);
    assert_eq!(flat.covered(), 1);
}
