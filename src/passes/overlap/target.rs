//! Where an object should reach to: its footprint and the band under its neighbours' edges.

use std::collections::BTreeSet;

use geo::{BoundingRect, Coord, CoordsIter, Intersects, MultiPolygon, Polygon};

use super::layers;
use crate::geometry::engine;
use crate::geometry::footprint::Footprint;
use crate::geometry::locate::Locator;
use crate::geometry::nearest::Nearest;
use crate::geometry::strips::{self, Crossing};
use crate::geometry::vector::{distance, dot, norm};
use crate::objects::{Object, ObjectId};
use crate::survey::{Junction, Lack, Meeting, SAMPLE_MM, Sample};

/// Samples further apart than this are not joined into one band, mm.
const JOIN_MM: f64 = 1.6;

/// The band of a fill goes on beyond the open ends of a curve by the first of these, mm, that the cover
/// hides (J: the fade); that of a column, whose end would become wider than the rest, hardly.
pub const BEYOND_MM: &[f64] = &[1.2, 0.9, 0.6];
pub const BEYOND_COLUMN_MM: &[f64] = &[0.4];

/// A gap up to this width between an object and its cover is bridged, mm (a little more than counts
/// as a thin overlap).
const GAP_MM: f64 = 0.5;

/// Edges this far from another are no junction with it, mm: a little more than the widest gap that
/// counts as one.
const CLEAR_MM: f64 = 0.45;

/// Nothing comes nearer than this to the outer edges of what hides it, mm: half a thread.
const PEEK_MM: f64 = 0.2;

/// Cracks up to this width do not end a reach, mm (J: half a row).
const CRACK_MM: f64 = 0.15;

/// A needle point this far inside the footprint is not on its edge, mm (J: cleaning an outline
/// cuts off less).
const ON_EDGE_MM: f64 = 0.35;

/// Hidden needle points keep this distance from what lies ahead of them, mm (J).
const AHEAD_MM: f64 = 0.2;

/// Hidden stitches may stray this far from the target, mm (J); others by half a thread and rounding.
const BESIDE_MM: f64 = 0.3;
const ASTRAY_MM: f64 = 0.25;

/// Rays start this far inside the edge, mm: rounding may put a needle point just outside.
const STEP_MM: f64 = 0.15;

/// One junction under which an object is to be extended.
pub struct Demand<'a> {
    pub junction: &'a Junction,
    pub lack: &'a Lack,
}

/// What lies around an object.
pub struct Around<'s, 'a> {
    /// Those that it has a junction with from the first.
    pub beside: &'s BTreeSet<ObjectId>,
    /// Nothing may be put where none of these lies.
    pub covers: &'s [&'a Object],
    /// Nor where so many of these lie already.
    pub others: &'s [&'a Footprint],
    pub most: usize,
}

/// How the band is drawn.
#[derive(Clone, Copy, Debug, Default)]
pub struct BandStyle {
    /// It goes on beyond the open ends of a curve by the first of these that is hidden, mm.
    pub beyond: &'static [f64],
    /// The band is deeper by this much where stitches run along the edge and there is room, mm.
    pub deeper: f64,
    /// And by this much where they end there, mm: between two of them the edge lies further back.
    pub ends: f64,
    /// It begins this much further back inside the object, mm: the ends of rows that meet an edge
    /// at a flat angle leave notches.
    pub back: f64,
}

/// The area that an object should fill.
pub struct Target<'a> {
    /// The band under the neighbours' edges, with the gap before it.
    pub band: MultiPolygon<f64>,
    /// The footprint with the band.
    pub whole: MultiPolygon<f64>,
    area: Locator,
    footprint: Footprint,
    covers: Vec<&'a Locator>,
    cover_areas: Vec<&'a MultiPolygon<f64>>,
    inward: Nearest<Coord<f64>>,
}

impl<'a> Target<'a> {
    /// The target of `object` with these demands.
    pub fn new(
        object: &Object,
        demands: &[Demand],
        around: &Around<'_, 'a>,
        style: BandStyle,
    ) -> Self {
        let covers = around.covers;
        let cover_areas: Vec<&MultiPolygon<f64>> =
            covers.iter().map(|cover| &*cover.footprint).collect();
        let covers: Vec<&Locator> = covers.iter().map(|cover| cover.footprint.locator()).collect();
        let hidden = |at: Coord<f64>| covers.iter().any(|cover| cover.contains(at));
        let pieces = pieces_of(demands, style, &hidden);
        // Mostly all of it lies well under a cover or in the object: then nothing can peek out.
        let footprint = object.footprint.clone();
        let own = footprint.locator();
        let corners = pieces.iter().flat_map(|piece| &piece.exterior().0);
        let is_held = |at: &Coord<f64>| {
            own.contains(*at) || covers.iter().any(|c| c.inside_by(*at, PEEK_MM - 0.01))
        };
        let any_peeks = !corners.into_iter().all(is_held);
        let band = engine::union_positive(&pieces);
        let near = strangers(&band, demands, around);
        let band = match style.deeper > 0.0 && !near.0.is_empty() {
            // Coming up to one more neighbour would want another extension, under that.
            true => {
                let plain = pieces_of(demands, BandStyle { deeper: 0.0, ..style }, &hidden);
                let deeper = engine::difference(&band, &near);
                engine::union_all(&[&engine::union_positive(&plain), &deeper])
            }
            false => band,
        };
        let band = match any_peeks {
            true => concealed(&band, &object.footprint, &cover_areas),
            false => band,
        };
        let full = layers::full(&band, around.others, around.most);
        let band = if full.0.is_empty() { band } else { engine::difference(&band, &full) };
        let area = engine::union_all(&[&object.footprint, &band]);
        let samples = demands.iter().flat_map(|d| &d.junction.samples);
        Self {
            area: Locator::new(&area),
            footprint,
            covers,
            cover_areas,
            inward: Nearest::new(samples.map(|s| (s.at, s.inward))),
            band,
            whole: area,
        }
    }

    /// How far the edge can go from a needle point along an axis (a unit vector pointing out of
    /// the object), mm; 0 where it is not to be extended.
    pub fn reach(&self, from: Coord<f64>, axis: Coord<f64>, longest: f64) -> f64 {
        let reach = self.uncovered_reach(from, axis, longest);
        if reach > longest { 0.0 } else { self.covered(from, axis, reach) }
    }

    /// The same as far as `most`, mm, where it could go further.
    pub fn reach_up_to(&self, from: Coord<f64>, axis: Coord<f64>, most: f64) -> f64 {
        let reach = self.uncovered_reach(from, axis, most);
        self.covered(from, axis, reach.min(most))
    }

    /// How far the target area goes, whether its end lies under a cover or not.
    fn uncovered_reach(&self, from: Coord<f64>, axis: Coord<f64>, longest: f64) -> f64 {
        let start = from - axis * STEP_MM;
        if !self.footprint.locator().contains(start) {
            return 0.0;
        }
        let own = self.footprint.locator().hits(start, axis, longest + 1.0);
        let leaves = own.first().map_or(f64::INFINITY, |d| d - STEP_MM);
        if leaves > ON_EDGE_MM {
            return 0.0;
        }
        let mut reach = exit(&self.area.hits(start, axis, longest + 1.0), STEP_MM);
        // Coming upon another part of the object: both parts go half the way.
        let returns = own.iter().map(|d| d - STEP_MM).find(|d| *d > leaves + CRACK_MM);
        if let Some(returns) = returns
            && returns <= reach + CRACK_MM
        {
            reach = (returns / 2.0 - STEP_MM).max(0.0);
        }
        reach
    }

    /// The longest part of a reach whose end lies well under a cover.
    fn covered(&self, from: Coord<f64>, axis: Coord<f64>, reach: f64) -> f64 {
        let mut reach = reach;
        while reach > 0.0 {
            if self.hidden(from + axis * reach) && self.hidden(from + axis * (reach + AHEAD_MM)) {
                return reach;
            }
            reach -= 0.1;
        }
        0.0
    }

    /// The part of an area that lies under a cover.
    pub fn under_covers(&self, area: &MultiPolygon<f64>) -> MultiPolygon<f64> {
        let parts: Vec<MultiPolygon<f64>> = beside(area, &self.cover_areas)
            .map(|cover| engine::intersection(area, cover))
            .collect();
        engine::union_all(&parts.iter().collect::<Vec<_>>())
    }

    /// Does a cover lie over this place?
    pub fn hidden(&self, at: Coord<f64>) -> bool {
        self.covers.iter().any(|cover| cover.contains(at))
    }

    /// Does the whole of a line lie in the target area, or at most just outside under a cover?
    pub fn holds(&self, from: Coord<f64>, to: Coord<f64>) -> bool {
        let steps = (distance(from, to) / 0.2).ceil().max(1.0) as u32;
        let inside = |at: Coord<f64>| {
            let by = if self.hidden(at) { BESIDE_MM } else { ASTRAY_MM };
            self.area.contains(at) || self.area.is_within(at, by)
        };
        (0..=steps).all(|k| inside(from + (to - from) * (f64::from(k) / f64::from(steps))))
    }

    /// Does an axis point into the band rather than along it? Under 30° to the edge stitches are
    /// not made longer but others put beside them.
    pub fn faces(&self, from: Coord<f64>, axis: Coord<f64>, near: f64) -> bool {
        self.inward.of(from).is_some_and(|(sample, inward)| {
            distance(sample, from) <= near && dot(axis, *inward) >= 0.5
        })
    }

    /// Is a sample of the junctions within this distance?
    pub fn near(&self, at: Coord<f64>, within: f64) -> bool {
        self.inward.of(at).is_some_and(|(sample, _)| distance(sample, at) <= within)
    }
}

/// The pieces that the band is put together from.
fn pieces_of(
    demands: &[Demand],
    style: BandStyle,
    hidden: &dyn Fn(Coord<f64>) -> bool,
) -> Vec<Polygon<f64>> {
    let strips = demands.iter().flat_map(|demand| strips_of(quads(demand, style, hidden)));
    strips.flat_map(|ends| strips::chains(&ends)).collect()
}

/// Places so near to covers that the object has no junction with yet that it would get one.
fn strangers(band: &MultiPolygon<f64>, demands: &[Demand], around: &Around) -> MultiPolygon<f64> {
    let is_known = |cover: &Object| {
        around.beside.contains(&cover.id) || demands.iter().any(|d| d.junction.over == cover.id)
    };
    let comes_near = |cover: &Object| {
        let locator = cover.footprint.locator();
        band.coords_iter().any(|at| locator.is_within(at, CLEAR_MM))
    };
    let others: Vec<&MultiPolygon<f64>> = around
        .covers
        .iter()
        .filter(|cover| !is_known(cover) && comes_near(cover))
        .map(|cover| &*cover.footprint)
        .collect();
    engine::offset(&engine::union_all(&others), CLEAR_MM)
}

/// Areas whose bounds meet those of another.
fn beside<'b>(
    area: &MultiPolygon<f64>,
    others: &'b [&MultiPolygon<f64>],
) -> impl Iterator<Item = &'b MultiPolygon<f64>> {
    let own = area.bounding_rect();
    others.iter().copied().filter(move |other| {
        own.zip(other.bounding_rect()).is_some_and(|(own, other)| own.intersects(&other))
    })
}

/// The part of a band where thread peeks out nowhere: inside the object and its covers together,
/// off their outer edges.
fn concealed(
    band: &MultiPolygon<f64>,
    footprint: &MultiPolygon<f64>,
    covers: &[&MultiPolygon<f64>],
) -> MultiPolygon<f64> {
    let all: Vec<_> = std::iter::once(footprint).chain(beside(band, covers)).collect();
    let closed = engine::offset(&engine::union_all(&all), GAP_MM / 2.0);
    let inside = engine::offset(&closed, -GAP_MM / 2.0 - PEEK_MM);
    engine::intersection(band, &engine::union_all(&[&inside, footprint]))
}

/// First place where a ray leaves an area for good, cracks stepped over.
fn exit(hits: &[f64], start: f64) -> f64 {
    let mut k = 0;
    while k + 1 < hits.len() && hits[k + 1] - hits[k] <= CRACK_MM {
        k += 2;
    }
    hits.get(k).map_or(f64::INFINITY, |d| d - start)
}

/// Four-sided pieces that follow each other, joined to strips.
fn strips_of(quads: impl Iterator<Item = [Crossing; 2]>) -> Vec<Vec<Crossing>> {
    let mut strips: Vec<Vec<Crossing>> = Vec::new();
    for [from, to] in quads {
        match strips.last_mut() {
            Some(strip) if strip.last() == Some(&from) => strip.push(to),
            _ => strips.push(vec![from, to]),
        }
    }
    strips
}

/// The band of one junction, one four-sided piece per pair of neighbouring samples, from just
/// before the edge of the object sewn first to the depth that is wanted. The first and the last
/// sample stand for half a step beyond them, and for more where the cover goes on: the fade lies
/// there.
fn quads<'a>(
    demand: &'a Demand,
    style: BandStyle,
    hidden: &'a dyn Fn(Coord<f64>) -> bool,
) -> impl Iterator<Item = [Crossing; 2]> + 'a {
    let samples = &demand.junction.samples;
    let count = samples.len();
    let closed = demand.junction.closed;
    let pairs = if closed { count } else { count.saturating_sub(1) };
    (0..pairs).filter_map(move |i| {
        let k = (i + 1) % count;
        let (a, b) = (&samples[i], &samples[k]);
        let depth = |k: usize| {
            let (sample, wanted) = (&samples[k], demand.lack.wanted[k]?);
            let along = sample.under_meeting != Meeting::PullEnd;
            let deeper = if along { style.deeper } else { style.ends };
            let deeper = if demand.lack.short[k] { deeper } else { 0.0 };
            Some((wanted + deeper).min(sample.room.max(wanted)))
        };
        let (from, to) = (depth(i)?, depth(k)?);
        let step = b.at - a.at;
        let beyond = |end: bool, sample: &Sample, depth: f64, way: f64| {
            let length = norm(step).max(1e-6);
            let by = |mm: f64| step * (way * mm / length);
            let goes_on = |mm: &&f64| {
                [0.3, depth.max(0.3)]
                    .iter()
                    .all(|d| hidden(sample.at + by(**mm) + sample.inward * *d))
            };
            match style.beyond.iter().find(goes_on) {
                _ if !end || closed => step * 0.0,
                Some(mm) => by(*mm),
                None => step * (0.5 * way),
            }
        };
        let before = beyond(i == 0, a, from, -1.0);
        let after = beyond(k == count - 1, b, to, 1.0);
        let edge = |sample: &Sample, depth: f64, by: Coord<f64>| {
            let gap = (-sample.overlap).max(0.0) + 0.1 + style.back;
            let at = |depth: f64| sample.at + by + sample.inward * depth;
            // Beyond the object the band keeps off the cover's edge.
            let near = if norm(by) > SAMPLE_MM { PEEK_MM.min(depth) } else { -gap };
            (at(near), at(depth.max(0.0)))
        };
        let joined = norm(step) <= JOIN_MM;
        joined.then(|| [edge(a, from, before), edge(b, to, after)])
    })
}
