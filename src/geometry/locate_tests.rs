use geo::{Polygon, polygon};

use super::*;

fn c(x: f64, y: f64) -> Coord<f64> {
    Coord { x, y }
}

/// A 10 mm square with a 2 mm hole in its middle.
fn frame() -> MultiPolygon<f64> {
    MultiPolygon(vec![polygon!(
        exterior: [(x: 0., y: 0.), (x: 10., y: 0.), (x: 10., y: 10.), (x: 0., y: 10.)],
        interiors: [[(x: 4., y: 4.), (x: 4., y: 6.), (x: 6., y: 6.), (x: 6., y: 4.)]],
    )])
}

#[test]
fn contains_knows_holes_corners_and_edges() {
    let locator = Locator::new(&frame());
    for inside in [c(1., 1.), c(0., 0.), c(10., 5.), c(4., 5.), c(5., 4.), c(3., 4.), c(3., 6.)] {
        assert!(locator.contains(inside), "{inside:?}");
    }
    for outside in [c(5., 5.), c(-0.1, 0.), c(-3., 10.), c(-1., 4.), c(11., 4.), c(5., 10.1)] {
        assert!(!locator.contains(outside), "{outside:?}");
    }
}

#[test]
fn distances_to_the_boundary_are_exact() {
    let locator = Locator::new(&frame());
    assert_eq!(locator.distance_to_edge(c(1., 5.)), 1.0);
    assert_eq!(locator.distance_to_edge(c(5., 5.)), 1.0);
    assert!((locator.distance_to_edge(c(13., 14.)) - 5.0).abs() < 1e-12);
    assert!(locator.inside_by(c(2., 5.), 2.0));
    assert!(!locator.inside_by(c(2., 5.), 2.1));
    assert!(!locator.inside_by(c(5., 5.), 0.5));
}

#[test]
fn nearest_edge_names_the_ring() {
    let locator = Locator::new(&frame());
    assert_eq!(locator.nearest_edge(c(3.5, 5.)), Some((c(4., 5.), 1)));
    assert_eq!(locator.nearest_edge(c(1., 5.)), Some((c(0., 5.), 0)));
}

#[test]
fn rays_cross_the_boundary_in_order() {
    let locator = Locator::new(&frame());
    assert_eq!(locator.hits(c(-1., 5.), c(1., 0.), 20.0), vec![1.0, 5.0, 7.0, 11.0]);
    assert_eq!(locator.hits(c(-1., 5.), c(1., 0.), 6.0), vec![1.0, 5.0]);
    assert_eq!(locator.hits(c(0., 1.), c(1., 0.), 20.0), vec![0.0, 10.0]);
    let diagonal = std::f64::consts::FRAC_1_SQRT_2;
    let found = locator.hits(c(0., 0.), c(diagonal, diagonal), 20.0);
    let expected = [0.0, 4.0, 6.0, 10.0].map(|side: f64| side * 2f64.sqrt());
    assert_eq!(found.len(), 4, "{found:?}");
    for (found, expected) in found.iter().zip(expected) {
        assert!((found - expected).abs() < 1e-9);
    }
    // Away from the boundary, past a corner, backwards: nothing.
    assert!(locator.hits(c(-1., 5.), c(-1., 0.), 20.0).is_empty());
}

#[test]
fn a_ray_through_a_corner_counts_it_once_and_a_touch_not_at_all() {
    let diamond = MultiPolygon(vec![polygon![
        (x: 0., y: -2.), (x: 2., y: 0.), (x: 0., y: 2.), (x: -2., y: 0.)
    ]]);
    let locator = Locator::new(&diamond);
    assert_eq!(locator.hits(c(-5., 0.), c(1., 0.), 20.0), vec![3.0, 7.0]);
    assert!(locator.contains(c(1., 0.)) && !locator.contains(c(-3., 0.)));
    let touched = locator.hits(c(-5., 2.), c(1., 0.), 20.0);
    assert!(touched.is_empty() || touched == vec![5.0, 5.0], "{touched:?}");
}

#[test]
fn an_empty_area_is_nowhere() {
    for area in [MultiPolygon(vec![]), MultiPolygon(vec![Polygon::empty()])] {
        let locator = Locator::new(&area);
        assert!(locator.is_empty());
        assert!(!locator.contains(c(0., 0.)));
        assert_eq!(locator.distance_to_edge(c(0., 0.)), f64::INFINITY);
        assert!(!locator.inside_by(c(0., 0.), 0.0));
        assert!(locator.hits(c(0., 0.), c(1., 0.), 5.0).is_empty());
        assert_eq!(locator.nearest_edge(c(0., 0.)), None);
    }
}

#[test]
fn no_number_is_no_panic() {
    let locator = Locator::new(&frame());
    let nan = c(f64::NAN, 0.);
    assert!(!locator.contains(nan));
    assert_eq!(locator.distance_to_edge(nan), f64::INFINITY);
    assert!(locator.hits(nan, c(1., 0.), 5.0).is_empty());
    assert!(locator.hits(c(0., 0.), c(1., 0.), f64::INFINITY).is_empty());
    let broken = MultiPolygon(vec![polygon![
        (x: 0., y: 0.), (x: f64::NAN, y: 1.), (x: 1., y: 1.)
    ]]);
    assert!(!Locator::new(&broken).contains(c(-5., 0.5)));
}

/// Every answer agrees with asking each edge in turn.
#[test]
fn answers_agree_with_asking_every_edge() {
    use proptest::prelude::*;
    use proptest::test_runner::{Config, TestRunner};
    let tenth = |range: std::ops::Range<i32>| range.prop_map(|v| f64::from(v) / 10.0);
    let outline = proptest::collection::vec((tenth(-90..90), tenth(-30..30)), 3..60);
    let asked = (tenth(-120..120), tenth(-50..50), 0.0f64..std::f64::consts::TAU, tenth(0..150));
    let config = Config { failure_persistence: None, ..Config::with_cases(400) };
    let checked =
        TestRunner::new(config).run(&(outline, asked), |(outline, (x, y, angle, max))| {
            let outline = Polygon::new(outline.into_iter().collect(), vec![]);
            let area = crate::geometry::engine::union([outline]);
            let locator = Locator::new(&area);
            let (at, dir) = (c(x, y), c(angle.cos(), angle.sin()));
            let edges: Vec<_> = area
                .iter()
                .flat_map(|p| std::iter::once(p.exterior()).chain(p.interiors()))
                .flat_map(|r| r.lines())
                .map(|l| Edge { a: l.start, b: l.end, ring: 0 })
                .collect();
            let nearest =
                edges.iter().map(|e| distance(e.nearest(at), at)).fold(f64::INFINITY, f64::min);
            let found = locator.distance_to_edge(at);
            prop_assert!(found == nearest || (found - nearest).abs() < 1e-9, "{found} {nearest}");
            let right = |e: &&Edge| {
                (e.a.y > y) != (e.b.y > y)
                    && e.a.x + (e.b.x - e.a.x) * (y - e.a.y) / (e.b.y - e.a.y) > x
            };
            let inside = nearest <= 1e-9 || edges.iter().filter(right).count() % 2 == 1;
            prop_assert_eq!(locator.contains(at), inside);
            let crossed = |e: &Edge| {
                let (a, b) = (cross(dir, e.a - at), cross(dir, e.b - at));
                let d = dot(dir, e.a + (e.b - e.a) * (a / (a - b)) - at);
                ((a > 0.0) != (b > 0.0) && (-1e-9..=max + 1e-9).contains(&d))
                    .then(|| d.clamp(0.0, max))
            };
            let mut hits: Vec<_> = edges.iter().filter_map(crossed).collect();
            hits.sort_by(f64::total_cmp);
            prop_assert_eq!(locator.hits(at, dir, max), hits);
            Ok(())
        });
    checked.unwrap();
}
