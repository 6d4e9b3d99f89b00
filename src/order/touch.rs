//! Which objects lie so near each other that their sewing order matters.

use std::borrow::Cow;
use std::collections::BTreeMap;

use geo::{BoundingRect, Contains, ConvexHull, Coord, LineString, MultiPolygon, Point};
use rstar::primitives::{GeomWithData, Rectangle};
use rstar::{AABB, RTree};

use super::grid::Grid;
use super::pairs::Pairs;
use crate::design::Link;
use crate::geometry::polyline::{distance, lerp, nearest_on_segment};
use crate::geometry::vector::cross;
use crate::objects::{Class, Label, Object};

/// Smallest side of a grid cell in mm: about one pair of grown edges.
const CELL_MM: f64 = 3.0;
/// Distances on the tape's grid that equal the reach are within it, whatever rounding does.
const ROUNDING_MM: f64 = 0.01;
/// The grid is made coarser until all lines together pass about this many cells.
const CELLS: f64 = 100_000.0;

/// A straight bit of an object: of its outline, or a stitch that may lie outside it.
#[derive(Clone, Copy)]
struct Bit {
    object: usize,
    from: Coord<f64>,
    to: Coord<f64>,
    /// Part of the way here from the object before: says nothing about that one.
    lead: bool,
}

impl Bit {
    /// Lower and upper corner of the box around it, grown.
    fn bounds(&self, grow: f64) -> (Coord<f64>, Coord<f64>) {
        let (a, b) = (self.from, self.to);
        (
            Coord { x: a.x.min(b.x) - grow, y: a.y.min(b.y) - grow },
            Coord { x: a.x.max(b.x) + grow, y: a.y.max(b.y) + grow },
        )
    }
}

/// Where one object lies.
struct Shape<'a> {
    area: Cow<'a, MultiPolygon<f64>>,
    bits: Vec<Bit>,
}

/// All pairs of objects that come within `reach` mm of each other or lie one on the other, by
/// their place in the sewing order. `reach` is asked with both objects.
///
/// Objects count with their footprint and with every stitch of theirs that is not part of it:
/// underlay, ties and travel must stay hidden as well. Stand-alone underlay counts with its convex
/// hull, so that a mesh comes before what lies between its lines.
pub fn near_pairs(objects: &[Object], reach: impl Fn(&Object, &Object) -> f64) -> Pairs {
    let shapes: Vec<Shape> = (0..objects.len()).map(|at| shape(objects, at)).collect();
    let widest = widest_reach(objects, &reach);
    let mut near = Pairs::new(objects.len());
    mark_close_lines(&shapes, widest, &mut near, |a, b| reach(&objects[a], &objects[b]));
    mark_covered(&shapes, &mut near);
    near
}

/// The largest reach that any pair can have: classes decide it, so one of each is enough.
fn widest_reach(objects: &[Object], reach: &impl Fn(&Object, &Object) -> f64) -> f64 {
    let mut by_class: BTreeMap<Class, &Object> = BTreeMap::new();
    for object in objects {
        by_class.entry(object.class).or_insert(object);
    }
    let all = by_class.values();
    all.clone().flat_map(|a| all.clone().map(|b| reach(a, b))).fold(0.0, f64::max)
}

fn shape(objects: &[Object], at: usize) -> Shape<'_> {
    let object = &objects[at];
    let area = match object.class {
        Class::Underlay => Cow::Owned(hull(object)),
        _ => Cow::Borrowed(&*object.footprint),
    };
    let mut bits = Vec::new();
    let rings = area.iter().flat_map(|p| std::iter::once(p.exterior()).chain(p.interiors()));
    for line in rings.flat_map(LineString::lines) {
        bits.push(Bit { object: at, from: line.start, to: line.end, lead: false });
    }
    let has_area = !area.0.is_empty();
    let lead_in = lead_in(object);
    let mut previous = at.checked_sub(1).and_then(|before| objects[before].last());
    for (index, part) in object.parts.iter().enumerate() {
        for (place, needle) in part.needles.iter().enumerate() {
            let link = if place == 0 { part.link } else { Link::Sewn };
            let in_area = has_area && place > 0 && Object::is_top(part.label);
            if let Some(before) = previous
                && matches!(link, Link::Sewn | Link::Jump)
                && !in_area
            {
                let lead = lead_in.is_some_and(|lead| (index, place) <= (lead, 0));
                bits.push(Bit { object: at, from: before.at.mm(), to: needle.at.mm(), lead });
            }
            previous = Some(*needle);
        }
    }
    if let ([], Some(only)) = (bits.as_slice(), object.first()) {
        bits.push(Bit { object: at, from: only.at.mm(), to: only.at.mm(), lead: false });
    }
    bits.retain(|bit| [bit.from.x, bit.from.y, bit.to.x, bit.to.y].iter().all(|v| v.is_finite()));
    Shape { area, bits }
}

/// Number of travel parts that lead here from the object before, which an uncut thread joins to
/// this one; `None` behind a cut.
pub fn lead_in(object: &Object) -> Option<usize> {
    let link = object.parts.first()?.link;
    let travel = object.parts.iter().take_while(|part| part.label == Label::Travel).count();
    // an object that is all travel leads nowhere else
    let travel = if travel == object.parts.len() { 0 } else { travel };
    matches!(link, Link::Sewn | Link::Jump).then_some(travel)
}

fn hull(object: &Object) -> MultiPolygon<f64> {
    let needles: LineString<f64> = object.needles().map(|(_, needle)| needle.at.mm()).collect();
    MultiPolygon(vec![needles.convex_hull()])
}

/// Marks pairs whose bits come within reach, cell by cell of a grid.
fn mark_close_lines(
    shapes: &[Shape],
    widest: f64,
    near: &mut Pairs,
    reach: impl Fn(usize, usize) -> f64,
) {
    let all = || shapes.iter().flat_map(|shape| &shape.bits);
    let grow = widest / 2.0 + ROUNDING_MM;
    let length: f64 = all().map(|bit| distance(bit.from, bit.to) + grow).sum();
    let cell = CELL_MM.max(2.0 * grow).max(length / CELLS);
    // Long bits go in piece by piece, so that a slanting one does not fill a rectangle of cells.
    let pieces: Vec<Bit> = all().flat_map(|bit| pieces(*bit, 2.0 * cell)).collect();
    let boxes: Vec<_> = pieces.iter().map(|piece| piece.bounds(grow)).collect();
    let grid = Grid::new(&boxes, cell);
    let object_of = |number: &u32| pieces[*number as usize].object;
    let mut runs: Vec<&[u32]> = Vec::new();
    for in_cell in grid.cells() {
        runs.clear();
        runs.extend(in_cell.chunk_by(|a, b| object_of(a) == object_of(b)));
        for (place, earlier) in runs.iter().enumerate() {
            for later in &runs[place + 1..] {
                let (a, b) = (object_of(&earlier[0]), object_of(&later[0]));
                if near.has(a, b) {
                    continue;
                }
                let limit = reach(a, b) + ROUNDING_MM;
                let close = |p: &u32, q: &u32| {
                    let (p, q) = (&pieces[*p as usize], &pieces[*q as usize]);
                    !(q.lead && a + 1 == b) && bits_within(p, q, limit)
                };
                if earlier.iter().any(|p| later.iter().any(|q| close(p, q))) {
                    near.mark(a, b);
                }
            }
        }
    }
}

/// A bit cut into equal pieces no longer than `longest`.
fn pieces(bit: Bit, longest: f64) -> impl Iterator<Item = Bit> {
    let count = (distance(bit.from, bit.to) / longest).ceil().max(1.0);
    let at = move |piece: f64| lerp(bit.from, bit.to, piece / count);
    (0..count as u32).map(move |piece| {
        let piece = f64::from(piece);
        Bit { from: at(piece), to: at(piece + 1.0), ..bit }
    })
}

fn bits_within(p: &Bit, q: &Bit, limit: f64) -> bool {
    let gap =
        |a0: f64, a1: f64, b0: f64, b1: f64| (b0.min(b1) - a0.max(a1)).max(a0.min(a1) - b0.max(b1));
    if gap(p.from.x, p.to.x, q.from.x, q.to.x) > limit
        || gap(p.from.y, p.to.y, q.from.y, q.to.y) > limit
    {
        return false;
    }
    let side = |a: &Bit, at: Coord<f64>| cross(a.to - a.from, at - a.from) > 0.0;
    let parts = |a: &Bit, b: &Bit| side(a, b.from) != side(a, b.to);
    let to_line = |a: &Bit, at: Coord<f64>| distance(nearest_on_segment(a.from, a.to, at).0, at);
    parts(p, q) && parts(q, p)
        || to_line(p, q.from) <= limit
        || to_line(p, q.to) <= limit
        || to_line(q, p.from) <= limit
        || to_line(q, p.to) <= limit
}

/// Marks pairs that lie one on the other although no lines of theirs are close: then every piece
/// of one lies wholly inside or wholly outside the other, so one point of each tells.
fn mark_covered(shapes: &[Shape], near: &mut Pairs) {
    let boxes = shapes.iter().enumerate().filter_map(|(at, shape)| {
        let bounds = shape.area.bounding_rect()?;
        let corners = (bounds.min(), bounds.max());
        let corners = ([corners.0.x, corners.0.y], [corners.1.x, corners.1.y]);
        Some(GeomWithData::new(Rectangle::from_corners(corners.0, corners.1), at))
    });
    let tree = RTree::bulk_load(boxes.collect());
    for (guest, shape) in shapes.iter().enumerate() {
        for at in probes(shape) {
            let here = AABB::from_point([at.x, at.y]);
            for host in tree.locate_in_envelope_intersecting(&here).map(|found| found.data) {
                let known = host == guest || near.has(host, guest);
                if !known && shapes[host].area.contains(&Point(at)) {
                    near.mark(host, guest);
                }
            }
        }
    }
}

/// One point of every connected piece of a shape: lines that follow each other share theirs.
fn probes(shape: &Shape) -> Vec<Coord<f64>> {
    let mut points: Vec<Coord<f64>> = Vec::new();
    let mut end = None;
    for bit in shape.bits.iter().filter(|bit| !bit.lead) {
        if end != Some(bit.from) {
            points.push(bit.from);
        }
        end = Some(bit.to);
    }
    points
}
