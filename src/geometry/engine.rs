//! Areas: union, intersection, difference, offset; and the area that stitch lines cover.
//!
//! Everything is in mm, rounded by us to whole micrometres on the way in and out. Closed outlines
//! go to the clipper as integers (its float interface truncates towards zero; geo's overlay was
//! seen to lose track of outlines that touch themselves), open lines to geo's buffer (the clipper
//! loses flat two-point lines). Both are guarded: a ring with a coordinate that is not finite or
//! beyond 2^30 µm, or with fewer than three points, is left out; empty in, empty out. Outer rings
//! of results run counter-clockwise, holes clockwise.

use geo::algorithm::buffer::{Buffer, BufferStyle, LineCap, LineJoin};
use geo::{Area, Coord, LineString, MultiLineString, MultiPolygon, Polygon};
use geo_clipper::{ClipperInt, EndType, JoinType};

use super::locate::Locator;
use super::vector::{cross, distance};

const PER_MM: f64 = 1000.0;
/// Largest coordinate, µm. Far beyond it the clipper ends the whole process.
const LIMIT: f64 = (1u64 << 30) as f64;
/// Farthest offset, mm: wider than any sewing field.
const OFFSET_MAX_MM: f64 = 1000.0;
/// Thinnest stroke, mm: below a micrometre the buffer's own grid overflows.
const STROKE_MIN_MM: f64 = 0.001;
/// How far a chord may run inside the arc that it stands for, mm: in drawn strokes (J: a twentieth of
/// a point) and round the corners of offsets (J: a fifth of a point).
const STROKE_ARC_MM: f64 = 0.005;
const OFFSET_ARC_MM: f64 = 0.02;
/// Outlines with more points than this are thinned before an offset, which gets slow there.
const THIN_ABOVE: usize = 5000;
/// By how much thinning may move an outline, mm: half a point.
const THIN_BY_MM: f64 = 0.05;
/// How many points in a row thinning may drop; bounds its cost.
const THIN_RUN: usize = 32;

/// How many pieces are united in one go.
const UNITE_AT_ONCE: usize = 48;
/// How many united groups are united in one go.
const GROUPS_AT_ONCE: usize = 8;
/// Rings thinner than this, µm, are slits left by rounding.
const SLIVER_UM: f64 = 2.0;

type Ring = LineString<i64>;

/// Union of any polygons. They may overlap, touch or cross themselves and run either way round:
/// every piece that a ring encloses counts.
pub fn union(areas: impl IntoIterator<Item = Polygon<f64>>) -> MultiPolygon<f64> {
    let polygons: Vec<_> = areas.into_iter().collect();
    out(normal(&polygons))
}

/// Union of several areas.
pub fn union_all(areas: &[&MultiPolygon<f64>]) -> MultiPolygon<f64> {
    out(normal(areas.iter().flat_map(|area| &area.0)))
}

/// Union of rings that may lie over themselves and each other but enclose nothing clockwise.
pub fn union_positive(rings: &[Polygon<f64>]) -> MultiPolygon<f64> {
    let sound = |ring: &Polygon<f64>| Some(Polygon::new(ring_in(ring.exterior())?, vec![]));
    let rings: MultiPolygon<i64> = rings.iter().filter_map(sound).collect();
    if rings.0.is_empty() {
        return MultiPolygon(vec![]);
    }
    out(without_slivers(ClipperInt::union(&rings, &MultiPolygon(vec![]))))
}

/// What lies in both areas.
pub fn intersection(a: &MultiPolygon<f64>, b: &MultiPolygon<f64>) -> MultiPolygon<f64> {
    let (a, b) = (pieces(&a.0), pieces(&b.0));
    if a.0.is_empty() || b.0.is_empty() {
        return MultiPolygon(vec![]);
    }
    out(ClipperInt::intersection(&a, &b))
}

/// What lies in `a` and not in `b`.
pub fn difference(a: &MultiPolygon<f64>, b: &MultiPolygon<f64>) -> MultiPolygon<f64> {
    let (a, b) = (pieces(&a.0), pieces(&b.0));
    if a.0.is_empty() {
        return MultiPolygon(vec![]);
    }
    out(ClipperInt::difference(&a, &b))
}

/// The area grown (positive) or shrunk (negative) by `mm`, with round joins. Beyond 1,000 mm the
/// result is empty.
pub fn offset(area: &MultiPolygon<f64>, mm: f64) -> MultiPolygon<f64> {
    // Overlapping or doubled outlines would cancel each other out without the union.
    out(offset_normal(normal(&area.0), mm))
}

/// Fills gaps and notches up to 2 `mm` wide.
pub fn close(area: &MultiPolygon<f64>, mm: f64) -> MultiPolygon<f64> {
    out(offset_normal(offset_normal(normal(&area.0), mm.abs()), -mm.abs()))
}

/// Removes whatever is up to 2 `mm` narrow.
pub fn open(area: &MultiPolygon<f64>, mm: f64) -> MultiPolygon<f64> {
    out(offset_normal(offset_normal(normal(&area.0), -mm.abs()), mm.abs()))
}

/// Fills gaps up to 2 `gap` mm wide, then removes whatever is up to 2 `spur` mm narrow.
pub fn close_and_open(area: &MultiPolygon<f64>, gap: f64, spur: f64) -> MultiPolygon<f64> {
    let grown = offset_normal(normal(&area.0), gap.abs());
    let shrunk = offset_normal(grown, -gap.abs() - spur.abs());
    out(offset_normal(shrunk, spur.abs()))
}

/// Area that lines cover when drawn `width_mm` wide with round ends and joins; a single point
/// gives a dot. Widths under 0.002 mm or over 2 m cover nothing.
pub fn stroke(lines: &[LineString<f64>], width_mm: f64) -> MultiPolygon<f64> {
    let radius = width_mm / 2.0;
    if !(STROKE_MIN_MM..=OFFSET_MAX_MM).contains(&radius) {
        return MultiPolygon(vec![]);
    }
    let lines: Vec<_> = lines.iter().flat_map(guarded_lines).collect();
    if lines.is_empty() {
        return MultiPolygon(vec![]);
    }
    let step = 2.0 * (1.0 - STROKE_ARC_MM / radius).clamp(-1.0, 1.0).acos();
    // At least an octagon for the finest lines.
    let step = step.clamp(0.01, std::f64::consts::FRAC_PI_4);
    let style =
        BufferStyle::new(radius).line_cap(LineCap::Round(step)).line_join(LineJoin::Round(step));
    MultiLineString(lines).buffer_with_style(style)
}

/// The parts of lines inside an area or on its boundary, in the order and direction of the lines.
///
/// Cut segment by segment: an overlay of whole lines merges what is sewn twice along one line and
/// takes another way where a line crosses itself.
pub fn clip_lines(lines: &[LineString<f64>], area: &MultiPolygon<f64>) -> Vec<LineString<f64>> {
    let locator = Locator::new(&out(normal(&area.0)));
    let mut inside = Vec::new();
    for line in lines.iter().flat_map(guarded_lines) {
        clip_line(&line, &locator, &mut inside);
    }
    inside
}

/// Area in mm². Members are summed, so overlaps count twice before a union.
pub fn area(area: &MultiPolygon<f64>) -> f64 {
    area.unsigned_area()
}

fn clip_line(line: &LineString<f64>, locator: &Locator, inside: &mut Vec<LineString<f64>>) {
    let mut current: Vec<Coord<f64>> = Vec::new();
    let mut finish = |current: &mut Vec<Coord<f64>>| {
        if current.len() > 1 {
            inside.push(LineString(std::mem::take(current)));
        }
        current.clear();
    };
    for segment in line.lines() {
        let length = distance(segment.start, segment.end);
        let along = segment.delta() / length;
        let at = |d: f64| if d == length { segment.end } else { segment.start + along * d };
        let mut from = 0.0;
        for to in locator.touches(segment.start, along, length).into_iter().chain([length]) {
            if to - from < 1e-9 {
                continue;
            }
            if locator.contains(at((from + to) / 2.0)) {
                if current.is_empty() {
                    current.push(at(from));
                }
                current.push(at(to));
            } else {
                finish(&mut current);
            }
            from = to;
        }
    }
    finish(&mut current);
}

fn offset_normal(area: MultiPolygon<i64>, mm: f64) -> MultiPolygon<i64> {
    let delta = (mm * PER_MM).round();
    if area.0.is_empty() || delta == 0.0 {
        return area;
    }
    if !delta.is_finite() || mm.abs() > OFFSET_MAX_MM {
        return MultiPolygon(vec![]);
    }
    let join = JoinType::Round(OFFSET_ARC_MM * PER_MM);
    ClipperInt::offset(&thinned(area), delta, join, EndType::ClosedPolygon)
}

/// Union of everything, without overlaps.
fn normal<'a>(polygons: impl IntoIterator<Item = &'a Polygon<f64>>) -> MultiPolygon<i64> {
    let pieces = pieces(polygons);
    // One union of many pieces would be quadratic where they share edges, as strips do: unite
    // neighbours first. Holes must stay together with the rings around them.
    let united = if pieces.0.len() > UNITE_AT_ONCE && no_holes(&pieces) {
        let groups = pieces.0.chunks(UNITE_AT_ONCE);
        united_groups(groups.map(|group| united(MultiPolygon(group.to_vec()))).collect())
    } else {
        united(pieces)
    };
    without_slivers(united)
}

fn united_groups(mut groups: Vec<MultiPolygon<i64>>) -> MultiPolygon<i64> {
    while groups.len() > 1 {
        let fewer = groups.chunks(GROUPS_AT_ONCE);
        groups = fewer.map(|some| united(some.iter().flatten().cloned().collect())).collect();
    }
    groups.pop().unwrap_or(MultiPolygon(vec![]))
}

fn united(pieces: MultiPolygon<i64>) -> MultiPolygon<i64> {
    // A single ring is clean already.
    if pieces.0.len() <= 1 && no_holes(&pieces) {
        return pieces;
    }
    ClipperInt::union(&pieces, &MultiPolygon(vec![]))
}

fn no_holes(pieces: &MultiPolygon<i64>) -> bool {
    pieces.0.iter().all(|polygon| polygon.interiors().is_empty())
}

/// Rounding leaves slits between pieces that met on a slanted edge: rings that are nowhere wider
/// than the rounding go.
fn without_slivers(mut area: MultiPolygon<i64>) -> MultiPolygon<i64> {
    let sliver = |ring: &Ring| {
        let around: f64 = ring.lines().map(|l| (l.dx() as f64).hypot(l.dy() as f64)).sum();
        twice_area(ring).unsigned_abs() as f64 <= SLIVER_UM * around
    };
    area.0.retain(|polygon| !sliver(polygon.exterior()));
    area.0
        .into_iter()
        .map(|polygon| {
            let (outer, mut holes) = polygon.into_inner();
            holes.retain(|hole| !sliver(hole));
            Polygon::new(outer, holes)
        })
        .collect()
}

/// The polygons as sound pieces that may overlap each other but all run the same way round, so
/// that under the non-zero rule they add up and never cancel. Holes run the other way round and
/// are not cut out yet: where outlines touch, the clipper may list a hole with the wrong polygon.
fn pieces<'a>(polygons: impl IntoIterator<Item = &'a Polygon<f64>>) -> MultiPolygon<i64> {
    let mut pieces = Vec::new();
    for polygon in polygons {
        let outer = clean(std::slice::from_ref(polygon.exterior()));
        if outer.is_empty() {
            continue;
        }
        let first = pieces.len();
        pieces.extend(outer);
        for mut hole in clean(polygon.interiors()).into_iter().flat_map(rings) {
            hole.0.reverse();
            pieces[first].interiors_push(hole);
        }
    }
    MultiPolygon(pieces)
}

/// The area that rings enclose, whatever way they run and cross.
fn clean(outlines: &[LineString<f64>]) -> Vec<Polygon<i64>> {
    let mut rings: Vec<_> = outlines.iter().filter_map(ring_in).collect();
    if let [ring] = rings.as_mut_slice()
        && surely_simple(ring)
    {
        let ring = counter_clockwise(std::mem::replace(ring, LineString(vec![])));
        return ring.map(|ring| Polygon::new(ring, vec![])).into_iter().collect();
    }
    let nothing = MultiPolygon(vec![]);
    let alone = |ring| ClipperInt::union(&Polygon::new(ring, vec![]), &nothing).0;
    let parts: Vec<_> = rings.into_iter().flat_map(alone).collect();
    if outlines.len() > 1 { ClipperInt::union(&MultiPolygon(parts), &nothing).0 } else { parts }
}

fn rings(polygon: Polygon<i64>) -> impl Iterator<Item = Ring> {
    let (outer, holes) = polygon.into_inner();
    std::iter::once(outer).chain(holes)
}

/// Triangles and four-cornered strips whose opposite edges do not cross: most of what footprints
/// are made of, worth sparing the clipper.
fn surely_simple(ring: &Ring) -> bool {
    match ring.0.as_slice() {
        [_, _, _, _] => true,
        &[a, b, c, d, _] => !cross_each_other(a, b, c, d) && !cross_each_other(b, c, d, a),
        _ => false,
    }
}

fn cross_each_other(a: Coord<i64>, b: Coord<i64>, c: Coord<i64>, d: Coord<i64>) -> bool {
    let side = |p: Coord<i64>, q: Coord<i64>, r: Coord<i64>| {
        ((q.x - p.x) * (r.y - p.y) - (q.y - p.y) * (r.x - p.x)).signum()
    };
    side(a, b, c) * side(a, b, d) <= 0 && side(c, d, a) * side(c, d, b) <= 0
}

/// The ring turned counter-clockwise; `None` if it encloses nothing.
fn counter_clockwise(mut ring: Ring) -> Option<Ring> {
    let twice = twice_area(&ring);
    if twice < 0 {
        ring.0.reverse();
    }
    (twice != 0).then_some(ring)
}

/// Twice the signed area, positive for counter-clockwise.
fn twice_area(ring: &Ring) -> i128 {
    let wide = i128::from;
    ring.lines().map(|l| wide(l.start.x) * wide(l.end.y) - wide(l.end.x) * wide(l.start.y)).sum()
}

fn micrometres(at: Coord<f64>) -> Option<Coord<i64>> {
    let (x, y) = ((at.x * PER_MM).round(), (at.y * PER_MM).round());
    // Also false for what is not a number.
    (x.abs() <= LIMIT && y.abs() <= LIMIT).then_some(Coord { x: x as i64, y: y as i64 })
}

/// A closed ring in µm without repeated points, if it is sound.
fn ring_in(ring: &LineString<f64>) -> Option<Ring> {
    let mut points = ring.coords().map(|c| micrometres(*c)).collect::<Option<Vec<_>>>()?;
    points.dedup();
    while points.len() > 1 && points.first() == points.last() {
        points.pop();
    }
    if points.len() < 3 {
        return None;
    }
    points.push(points[0]);
    Some(LineString(points))
}

/// The line without repeated points, broken where a coordinate is out of bounds.
fn guarded_lines(line: &LineString<f64>) -> Vec<LineString<f64>> {
    let mut lines: Vec<_> = line
        .0
        .split(|c| micrometres(*c).is_none())
        .map(<[_]>::to_vec)
        .filter(|points| !points.is_empty())
        .collect();
    lines.iter_mut().for_each(|points| points.dedup());
    lines.into_iter().map(LineString).collect()
}

fn out(area: MultiPolygon<i64>) -> MultiPolygon<f64> {
    let ring_out = |ring: &Ring| -> LineString<f64> {
        ring.coords().map(|c| Coord { x: c.x as f64 / PER_MM, y: c.y as f64 / PER_MM }).collect()
    };
    let polygon_out = |polygon: &Polygon<i64>| {
        let holes = polygon.interiors().iter().map(ring_out).collect();
        Polygon::new(ring_out(polygon.exterior()), holes)
    };
    area.0.iter().map(polygon_out).collect()
}

fn thinned(area: MultiPolygon<i64>) -> MultiPolygon<i64> {
    let rings = |p: &Polygon<i64>| {
        p.exterior().0.len() + p.interiors().iter().map(|r| r.0.len()).sum::<usize>()
    };
    if area.0.iter().map(rings).sum::<usize>() <= THIN_ABOVE {
        return area;
    }
    let polygons: Vec<_> = area
        .0
        .iter()
        .map(|polygon| {
            let holes = polygon.interiors().iter().map(thinned_ring).collect();
            Polygon::new(thinned_ring(polygon.exterior()), holes)
        })
        .collect();
    // Thinning may let neighbouring rings cross.
    normal(&out(MultiPolygon(polygons)).0)
}

/// Drops points that lie within the tolerance of the line between those that stay.
fn thinned_ring(ring: &Ring) -> Ring {
    let near = |from: Coord<i64>, to: Coord<i64>, at: Coord<i64>| {
        let real = |c: Coord<i64>| Coord { x: c.x as f64, y: c.y as f64 };
        let (along, away) = (real(to - from), real(at - from));
        let length = along.x.hypot(along.y);
        length > 0.0 && cross(along, away).abs() / length <= THIN_BY_MM * PER_MM
    };
    let points = &ring.0;
    let mut kept: Vec<Coord<i64>> = Vec::with_capacity(points.len());
    let mut last = 0;
    for next in 1..points.len() {
        let between = &points[last + 1..next];
        let fits = between.len() <= THIN_RUN
            && between.iter().all(|at| near(points[last], points[next], *at));
        if !fits {
            kept.push(points[last]);
            last = next - 1;
        }
    }
    kept.push(points[last]);
    kept.push(points[0]);
    // A ring thinned to nothing was narrower than the tolerance; keep it as it was.
    if kept.len() < 4 { ring.clone() } else { LineString(kept) }
}

#[cfg(test)]
#[path = "engine_tests.rs"]
mod tests;
