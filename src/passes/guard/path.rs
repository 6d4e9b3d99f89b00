//! One hidden path through all zigzags of an object, back to where it began.

use geo::{Coord, MultiPolygon};

use super::zigzag::Zigzag;
use crate::design::{Link, Pt};
use crate::geometry::vector::distance;
use crate::objects::{Label, Needle, Part};
use crate::passes::parts::CROWDED;
use crate::settings::Settings;
use crate::stitch::route::Router;
use crate::stitch::run::{RunStyle, run};

/// Travel keeps this far inside the cover where there is room, mm (J).
const MARGIN: f64 = 0.3;

/// The path, and the length of edge that its zigzags hold, mm.
pub struct Toured {
    pub parts: Vec<Part>,
    pub length: f64,
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
    let mut toured = Toured { parts: Vec::new(), length: 0.0 };
    let mut at = home.mm();
    while let Some(nearest) = nearest(&zigzags, at) {
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
        toured.travel(&path, settings, 1);
        toured.push(Label::Guard, &zigzag.needles);
        toured.length += zigzag.length;
        at = end;
    }
    if !toured.parts.is_empty()
        && let Some(path) = router.route(at, home.mm(), MARGIN)
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
        if !rounded.is_empty() {
            let needles = rounded.into_iter().map(Needle::new).collect();
            self.parts.push(Part { label, link: Link::Sewn, needles });
        }
    }
}
