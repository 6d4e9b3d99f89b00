//! The way from one object to the next: hidden travel, a bare jump, or a cut.

use geo::{Coord, MultiPolygon, Rect};

use crate::design::Pt;
use crate::garment::Numbers;
use crate::geometry::boxes::near;
use crate::geometry::engine;
use crate::geometry::locate::Locator;
use crate::geometry::polyline::{distance, lerp, resample};
use crate::objects::Object;
use crate::stitch::route::Router;

/// Distance of the places at which a way is tested, mm.
const PROBE_MM: f64 = 0.1;
/// Rounding to the tape's grid moves a needle point by less than this, mm.
const GRID_MM: f64 = 0.08;
/// A stitch shorter than this is none: the machine cannot form it (J: under the 0.5 mm that count
/// as a fault, over what rounding makes).
const SHORTEST_MM: f64 = 0.3;

/// A way that saves a cut.
#[derive(Clone, Debug, PartialEq)]
pub enum Way {
    /// Run stitches through these needle points (both ends left out).
    Sewn(Vec<Pt>),
    /// The thread lies loose under what is sewn later.
    Jump,
}

/// The way from a needle point to the next object's first one that nothing will show of, if there
/// is one. `later` is everything that is sewn after it, the next object included.
///
/// Travel stays `overlap_far_margin_mm` inside the edges of what hides it, except at its very ends,
/// and no longer than `link_travel_max_mm`; jumps are at most `link_jump_max_mm` long.
pub fn hidden_way(from: Pt, to: Pt, later: &[Object], numbers: &Numbers) -> Option<Way> {
    let (a, b) = (from.mm(), to.mm());
    let gap = distance(a, b);
    if gap > numbers.link_travel_max_mm.max(numbers.link_jump_max_mm) {
        return None;
    }
    let cover = Cover::new(a, b, later, numbers)?;
    if gap < SHORTEST_MM {
        return (gap == 0.0 || cover.lies_under(a, b, 0.0)).then_some(Way::Jump);
    }
    let straight = [a, b];
    if let Some(points) = cover.travel(&straight, numbers) {
        return Some(Way::Sewn(points));
    }
    if let Some(points) = cover.route(a, b).and_then(|path| cover.travel(&path, numbers)) {
        return Some(Way::Sewn(points));
    }
    let margin = numbers.overlap_far_margin_mm;
    (gap <= numbers.link_jump_max_mm && cover.lies_under(a, b, margin)).then_some(Way::Jump)
}

/// What later objects hide around a way.
struct Cover {
    area: Locator,
    deep: MultiPolygon<f64>,
    deep_inside: Locator,
    margin: f64,
}

impl Cover {
    /// `None` if nothing that hides lies at both ends of the way.
    fn new(a: Coord<f64>, b: Coord<f64>, later: &[Object], numbers: &Numbers) -> Option<Self> {
        let reach = numbers.link_travel_max_mm / 2.0;
        let zone = Rect::new(
            Coord { x: a.x.min(b.x) - reach, y: a.y.min(b.y) - reach },
            Coord { x: a.x.max(b.x) + reach, y: a.y.max(b.y) + reach },
        );
        let margin = numbers.overlap_far_margin_mm;
        let covers: Vec<(&Object, Rect<f64>)> = later
            .iter()
            .filter(|object| object.hides)
            .filter_map(|object| Some((object, object.footprint.bounding_rect()?)))
            .filter(|(_, bounds)| near(*bounds, zone, 0.0))
            .collect();
        let near = |at: Coord<f64>| covers.iter().any(|(_, bounds)| within(bounds, at, margin));
        if !near(a) || !near(b) {
            return None;
        }
        let areas: Vec<&MultiPolygon<f64>> = covers.iter().map(|(o, _)| &*o.footprint).collect();
        let area = engine::union_all(&areas);
        let deep = engine::offset(&area, -margin);
        let (area, deep_inside) = (Locator::new(&area), Locator::new(&deep));
        Some(Self { area, deep, deep_inside, margin })
    }

    /// Needle points of hidden travel along a path, its ends left out; `None` if any of it shows.
    fn travel(&self, path: &[Coord<f64>], numbers: &Numbers) -> Option<Vec<Pt>> {
        let length: f64 = path.windows(2).map(|leg| distance(leg[0], leg[1])).sum();
        if length > numbers.link_travel_max_mm {
            return None;
        }
        let step = numbers.run_stitch_mm.min(numbers.link_sewn_max_mm).max(SHORTEST_MM);
        let points: Vec<Pt> = resample(path, step).into_iter().map(Pt::from_mm).collect();
        let (from, to) = (*path.first()?, *path.last()?);
        let hidden = points.windows(2).all(|stitch| {
            let (a, b) = (stitch[0].mm(), stitch[1].mm());
            (SHORTEST_MM..=numbers.link_sewn_max_mm).contains(&distance(a, b))
                && probes(a, b).all(|at| {
                    let at_end = distance(at, from).min(distance(at, to)) <= self.margin;
                    let place = if at_end { &self.area } else { &self.deep_inside };
                    inside(place, at)
                })
        });
        hidden.then(|| points[1..points.len() - 1].to_vec())
    }

    fn route(&self, a: Coord<f64>, b: Coord<f64>) -> Option<Vec<Coord<f64>>> {
        Router::new(&self.deep).route(a, b, self.margin)
    }

    /// Does a straight line lie under the cover, but for `spare` mm at either end?
    fn lies_under(&self, a: Coord<f64>, b: Coord<f64>, spare: f64) -> bool {
        probes(a, b).all(|at| {
            distance(at, a).min(distance(at, b)) <= spare + GRID_MM || inside(&self.area, at)
        })
    }
}

fn inside(area: &Locator, at: Coord<f64>) -> bool {
    area.is_within(at, GRID_MM)
}

fn probes(a: Coord<f64>, b: Coord<f64>) -> impl Iterator<Item = Coord<f64>> {
    let count = (distance(a, b) / PROBE_MM).ceil().max(1.0);
    (0..=count as u32).map(move |place| lerp(a, b, f64::from(place) / count))
}

fn within(bounds: &Rect<f64>, at: Coord<f64>, grow: f64) -> bool {
    let (low, high) = (bounds.min(), bounds.max());
    (low.x - grow..=high.x + grow).contains(&at.x) && (low.y - grow..=high.y + grow).contains(&at.y)
}
