//! One hidden path through all zigzags of an object, back to where it began.

use geo::{Coord, MultiPolygon};

use super::zigzag::Zigzag;
use crate::design::{Link, Pt};
use crate::geometry::vector::distance;
use crate::objects::{Label, Needle, Part};
use crate::passes::parts::{CROWDED, SHORTEST};
use crate::settings::Settings;
use crate::stitch::route::Router;
use crate::stitch::run::{RunStyle, run};

/// Travel keeps this far inside the cover where there is room, mm (J).
const MARGIN: f64 = 0.3;

/// The path, and the length of edge that its zigzags hold, mm.
pub struct Toured {
    pub parts: Vec<Part>,
    pub length: f64,
    /// The needle's place.
    at: Pt,
}

/// Sews the zigzags one after the other, always the nearest next, each from its nearer end.
/// Zigzags that no hidden path reaches are left out.
pub fn tour(
    home: Pt,
    mut zigzags: Vec<Zigzag>,
    cover: &MultiPolygon<f64>,
    settings: &Settings,
) -> Toured {
    let router = Router::new(cover);
    let mut toured = Toured { parts: Vec::new(), length: 0.0, at: home };
    while let Some(nearest) = nearest(&zigzags, toured.at.mm()) {
        let at = toured.at.mm();
        let mut zigzag = zigzags.swap_remove(nearest);
        let (first, last) = (zigzag.needles[0], zigzag.needles[zigzag.needles.len() - 1]);
        if distance(at, last) < distance(at, first) {
            zigzag.needles.reverse();
        }
        let Some(path) = router.route(at, zigzag.needles[0], MARGIN) else { continue };
        let end = zigzag.needles[zigzag.needles.len() - 1];
        // No way on means no way home: the zigzag would leave the needle astray.
        if router.route(end, home.mm(), MARGIN).is_none() {
            continue;
        }
        if distance(at, zigzag.needles[0]) >= CROWDED {
            toured.travel(&path, settings, 1);
        }
        toured.push(Label::Guard, &zigzag.needles);
        toured.length += zigzag.length;
    }
    if !toured.parts.is_empty()
        && let Some(path) = router.route(toured.at.mm(), home.mm(), MARGIN)
    {
        toured.travel(&path, settings, 0);
    }
    toured
}

fn nearest(zigzags: &[Zigzag], at: Coord<f64>) -> Option<usize> {
    let off = |zigzag: &Zigzag| {
        let (first, last) = (zigzag.needles[0], zigzag.needles[zigzag.needles.len() - 1]);
        distance(at, first).min(distance(at, last))
    };
    (0..zigzags.len()).min_by(|&a, &b| off(&zigzags[a]).total_cmp(&off(&zigzags[b])))
}

impl Toured {
    /// Run stitches along a path whose first point is the needle's place already; the last `keep`
    /// points are left to what follows.
    fn travel(&mut self, path: &[Coord<f64>], settings: &Settings, keep: usize) {
        let needles = run(path, RunStyle::of(settings.profile.numbers.run_stitch_mm));
        let end = needles.len().saturating_sub(keep).max(1);
        self.push(Label::Travel, &needles[1.min(end)..end]);
    }

    fn push(&mut self, label: Label, needles: &[Coord<f64>]) {
        let mut rounded: Vec<Pt> = needles.iter().map(|c| Pt::from_mm(*c)).collect();
        rounded.dedup_by(|at, before| at.distance(*before) < CROWDED);
        // The needle's place stands for a point right beside it.
        if rounded.first().is_some_and(|first| first.distance(self.at) < SHORTEST) {
            rounded.remove(0);
        }
        if let Some(last) = rounded.last() {
            self.at = *last;
            let needles = rounded.into_iter().map(Needle::new).collect();
            self.parts.push(Part { label, link: Link::Sewn, needles });
        }
    }
}

#[cfg(test)]
mod tests {
    use geo::{LineString, Polygon};

    use super::*;
    use crate::fixtures::{rect, settings};

    #[test]
    fn zigzags_that_end_beside_each_other_go_on_without_a_way_between() {
        let c = |x: f64, y: f64| Coord { x, y };
        let zigzag = |needles: [(f64, f64); 3]| Zigzag {
            needles: needles.map(|(x, y)| c(x, y)).to_vec(),
            length: 2.4,
        };
        let cover = MultiPolygon(vec![Polygon::new(
            LineString::from(rect(-10.0, -5.0, 10.0, 5.0)),
            Vec::new(),
        )]);
        let pair = vec![
            zigzag([(0.0, 1.0), (1.2, -1.0), (2.4, 1.0)]),
            zigzag([(2.6, 1.0), (3.8, -1.0), (5.0, 1.0)]),
        ];
        let toured = tour(Pt::from_mm(c(-1.0, 1.0)), pair, &cover, &settings());
        let points: Vec<Coord<f64>> =
            toured.parts.iter().flat_map(|part| &part.needles).map(|n| n.at.mm()).collect();
        let shortest =
            points.windows(2).map(|w| distance(w[0], w[1])).fold(f64::INFINITY, f64::min);
        assert!(shortest >= 0.3, "{shortest}: {points:?}");
        let after = points.iter().position(|at| distance(*at, c(2.4, 1.0)) < 1e-9).unwrap();
        assert!(distance(points[after + 1], c(3.8, -1.0)) < 1e-9, "{points:?}");
    }
}
