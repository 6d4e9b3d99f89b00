//! Hand-built objects for unit tests. Plain geometry on purpose: nothing here uses the generators
//! or the recogniser that the tests check. All lengths in mm.

use geo::{Coord, LineString, MultiPolygon, Polygon};

use crate::design::{Link, Pt};
use crate::garment;
use crate::geometry::polyline::{distance, length, lerp, resample_into};
use crate::objects::{Class, Fill, Label, Needle, Object, ObjectId, Objects, Part};
use crate::objects::{Satin, Shape, Side};
use crate::settings::Settings;

/// Widest same-side pitch (satin) or pair of rows (fill) that still counts as hiding here.
const HIDES_UP_TO: f64 = 0.55;

/// Settings of the default garment.
pub fn settings() -> Settings {
    Settings::new(garment::built_in("finished-cap").unwrap())
}

/// Corners of a rectangle, counter-clockwise from the lower left.
pub fn rect(x0: f64, y0: f64, x1: f64, y1: f64) -> Vec<(f64, f64)> {
    vec![(x0, y0), (x1, y0), (x1, y1), (x0, y1)]
}

/// A circle as `n` corners, counter-clockwise, starting at the right.
pub fn circle(centre: (f64, f64), radius: f64, n: usize) -> Vec<(f64, f64)> {
    let corner = |k: usize| {
        let a = std::f64::consts::TAU * k as f64 / n as f64;
        (centre.0 + radius * a.cos(), centre.1 + radius * a.sin())
    };
    (0..n).map(corner).collect()
}

/// An open satin between two rails, both in sewing direction, `left` to the left of it. The
/// needle starts on the left rail and zigzags; `pitch` is the same-side pitch.
pub fn satin(id: u32, stop: u32, left: &[(f64, f64)], right: &[(f64, f64)], pitch: f64) -> Object {
    let rails = [coords(left), coords(right)];
    let area = Polygon::new(
        rails[0].iter().chain(rails[1].iter().rev()).copied().collect::<LineString<f64>>(),
        vec![],
    );
    column(id, stop, rails, MultiPolygon(vec![area]), pitch, false)
}

/// A closed satin between two outlines of the same sense with their corners given once; both
/// start at the same place. Counter-clockwise outlines have the inner rail on the left.
pub fn ring(id: u32, stop: u32, outer: &[(f64, f64)], inner: &[(f64, f64)], pitch: f64) -> Object {
    let closed = |line: &[(f64, f64)]| {
        let mut line = coords(line);
        line.push(line[0]);
        line
    };
    let (outer, inner) = (closed(outer), closed(inner));
    let area = Polygon::new(LineString(outer.clone()), vec![LineString(inner.clone())]);
    let twice: f64 = outer.windows(2).map(|p| p[0].x * p[1].y - p[1].x * p[0].y).sum();
    let rails = if twice > 0.0 { [inner, outer] } else { [outer, inner] };
    column(id, stop, rails, MultiPolygon(vec![area]), pitch, true)
}

fn column(
    id: u32,
    stop: u32,
    rails: [Vec<Coord<f64>>; 2],
    footprint: MultiPolygon<f64>,
    pitch: f64,
    closed: bool,
) -> Object {
    let pairs = (length(&rails[0]).max(length(&rails[1])) / pitch).round().max(1.0) as usize;
    let halves = [resample_into(&rails[0], 2 * pairs), resample_into(&rails[1], 2 * pairs)];
    let (mut needles, mut sides) = (Vec::new(), Vec::new());
    for (k, (left, right)) in halves[0].iter().zip(&halves[1]).enumerate() {
        let even = k.is_multiple_of(2);
        needles.push(Needle::new(Pt::from_mm(if even { *left } else { *right })));
        sides.push(if even { Side::Left } else { Side::Right });
    }
    if !closed {
        // The last crossing ends square, so that the column reaches both rail ends.
        needles.push(Needle::new(Pt::from_mm(halves[1][2 * pairs])));
        sides.push(Side::Right);
    }
    let mut widths: Vec<f64> =
        halves[0].iter().zip(&halves[1]).map(|(a, b)| distance(*a, *b)).collect();
    widths.sort_by(f64::total_cmp);
    let at = |share: f64| widths[((widths.len() - 1) as f64 * share).round() as usize];
    let on = |wanted: Side| {
        let of_side = needles.iter().zip(&sides).filter(move |(_, side)| **side == wanted);
        of_side.map(|(n, _)| n.at.mm()).collect::<Vec<_>>()
    };
    let rails = [on(Side::Left), on(Side::Right)];
    let width = [at(0.05), at(0.5), at(0.95)];
    let shape = Shape::Satin(Satin { sides, rails, closed, same_side_pitch: pitch, width });
    let hides = pitch <= HIDES_UP_TO;
    object(id, stop, (Class::Satin, Label::Satin), needles, shape, footprint, hides)
}

/// A tatami fill of an outline that every row crosses once. Rows join in a V, stagger 4; `pitch`
/// is the distance between neighbouring rows, `angle` in degrees (0 = horizontal).
pub fn fill(
    id: u32,
    stop: u32,
    outline: &[(f64, f64)],
    angle: f64,
    pitch: f64,
    stitch: f64,
) -> Object {
    let outline = coords(outline);
    let turned: Vec<Coord<f64>> = outline.iter().map(|at| turn(*at, -angle)).collect();
    let low = turned.iter().map(|p| p.y).fold(f64::INFINITY, f64::min);
    let high = turned.iter().map(|p| p.y).fold(f64::NEG_INFINITY, f64::max);
    let count = ((high - low) / pitch).round().max(1.0) as usize;
    let spans: Vec<(f64, f64, f64)> = (0..=count)
        .filter_map(|i| {
            let y = low + 1e-3 + (high - low - 2e-3) * i as f64 / count as f64;
            crossing(&turned, y).map(|(a, b)| (y, a, b))
        })
        .collect();
    let end = |i: usize| {
        let (y, a, b) = spans[i];
        Coord { x: if i.is_multiple_of(2) { a } else { b }, y }
    };
    let mut needles = vec![end(0)];
    let mut rows = Vec::new();
    for i in 0..spans.len() - 1 {
        let (from, to) = (end(i), end(i + 1));
        let first = needles.len() as u32 - 1;
        let (a, b) = (from.x.min(to.x), from.x.max(to.x));
        let shift = stitch * (i % 4) as f64 / 4.0;
        let mut inner: Vec<f64> = (0..)
            .map(|k| ((a - shift) / stitch).ceil() * stitch + shift + f64::from(k) * stitch)
            .take_while(|x| *x < b - 1.0)
            .filter(|x| *x > a + 1.0)
            .collect();
        if to.x < from.x {
            inner.reverse();
        }
        for x in inner {
            needles.push(lerp(from, to, (x - from.x) / (to.x - from.x)));
        }
        needles.push(to);
        rows.push((first, needles.len() as u32 - 1));
    }
    let needles = needles.into_iter().map(|at| Needle::new(Pt::from_mm(turn(at, angle)))).collect();
    let shape = Shape::Fill(Fill { angle, row_pitch: pitch, stitch, stagger: 4, rows });
    let footprint = MultiPolygon(vec![Polygon::new(LineString(outline), vec![])]);
    let hides = 2.0 * pitch <= HIDES_UP_TO;
    object(id, stop, (Class::Fill, Label::Fill), needles, shape, footprint, hides)
}

/// A run along a line, one stitch per vertex.
pub fn run(id: u32, stop: u32, line: &[(f64, f64)]) -> Object {
    let needles = coords(line).into_iter().map(|at| Needle::new(Pt::from_mm(at))).collect();
    object(id, stop, (Class::Run, Label::Run), needles, Shape::Line, MultiPolygon(vec![]), false)
}

/// The object with an underlay part of this label before its top stitching.
pub fn with_underlay(mut object: Object, label: Label, line: &[(f64, f64)]) -> Object {
    let top = object.parts.iter().position(|p| Object::is_top(p.label)).unwrap_or(0);
    let needles = coords(line).into_iter().map(|at| Needle::new(Pt::from_mm(at))).collect();
    let link = if top == 0 { object.parts[0].link } else { Link::Sewn };
    object.parts[top].link = Link::Sewn;
    object.parts.insert(top, Part { label, link, needles });
    object
}

/// Objects in this sewing order. Origins are counted through, as a recogniser gives them; objects
/// are reached by a trim, by a stop where the stop changes.
pub fn objects(items: Vec<Object>) -> Objects {
    let mut objects = Objects::from(items);
    let mut origin = 0;
    let mut stop = None;
    for object in &mut objects.items {
        if let Some(part) = object.parts.first_mut() {
            part.link = match stop {
                None => Link::Jump,
                Some(before) if before == object.stop => Link::Trim,
                Some(_) => Link::Stop,
            };
        }
        stop = Some(object.stop);
        for needle in object.parts.iter_mut().flat_map(|part| &mut part.needles) {
            needle.origin = Some(origin);
            origin += 1;
        }
    }
    objects
}

fn object(
    id: u32,
    stop: u32,
    (class, label): (Class, Label),
    needles: Vec<Needle>,
    shape: Shape,
    footprint: MultiPolygon<f64>,
    hides: bool,
) -> Object {
    Object {
        id: ObjectId(id),
        class,
        stop,
        parts: vec![Part { label, link: Link::Trim, needles }],
        shape,
        footprint: footprint.into(),
        confidence: 1.0,
        element: 0,
        held: false,
        hides,
    }
}

fn coords(line: &[(f64, f64)]) -> Vec<Coord<f64>> {
    line.iter().map(|(x, y)| Coord { x: *x, y: *y }).collect()
}

fn turn(at: Coord<f64>, degrees: f64) -> Coord<f64> {
    let (sin, cos) = degrees.to_radians().sin_cos();
    Coord { x: at.x * cos - at.y * sin, y: at.x * sin + at.y * cos }
}

/// Leftmost and rightmost x of an outline at a height.
fn crossing(outline: &[Coord<f64>], y: f64) -> Option<(f64, f64)> {
    let mut hits = Vec::new();
    for (i, a) in outline.iter().enumerate() {
        let b = outline[(i + 1) % outline.len()];
        if (a.y <= y) != (b.y <= y) {
            hits.push(a.x + (b.x - a.x) * (y - a.y) / (b.y - a.y));
        }
    }
    let low = hits.iter().copied().fold(f64::INFINITY, f64::min);
    let high = hits.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    (hits.len() >= 2).then_some((low, high))
}

#[cfg(test)]
mod tests {
    use super::*;
    use geo::Area;

    #[test]
    fn a_satin_has_its_pitch_width_and_area() {
        let object = satin(1, 0, &[(0.0, 3.0), (20.0, 3.0)], &[(0.0, 0.0), (20.0, 0.0)], 0.4);
        let shape = object.satin().unwrap();
        let left: Vec<_> = shape.rails[0].iter().map(|p| p.x).collect();
        assert!(left.windows(2).all(|p| (p[1] - p[0] - 0.4).abs() < 1e-9));
        assert!((shape.width[1] - 3.0).abs() < 1e-9);
        assert!((object.footprint.unsigned_area() - 60.0).abs() < 1e-9);
        assert_eq!(shape.sides.len(), object.top().count());
        assert!(object.hides);
    }

    #[test]
    fn a_ring_closes_and_knows_its_sides() {
        let (outer, inner) = (circle((0.0, 0.0), 10.0, 72), circle((0.0, 0.0), 7.0, 72));
        let object = ring(1, 0, &outer, &inner, 0.4);
        let shape = object.satin().unwrap();
        assert!(shape.closed);
        // Counter-clockwise: the inner rail lies to the left.
        assert!(shape.rails[0].iter().all(|p| p.x.hypot(p.y) < 8.0));
        assert_eq!(object.first().map(|n| n.at), object.last().map(|n| n.at));
        // Area between two regular polygons of 72 corners.
        let polygon = |r: f64| 36.0 * r * r * (std::f64::consts::TAU / 72.0).sin();
        let expected = polygon(10.0) - polygon(7.0);
        assert!((object.footprint.unsigned_area() - expected).abs() < 1e-6);
    }

    #[test]
    fn underlay_goes_before_the_top() {
        let plain = satin(1, 0, &[(0.0, 3.0), (20.0, 3.0)], &[(0.0, 0.0), (20.0, 0.0)], 0.4);
        let object = with_underlay(plain, Label::CentreRun, &[(0.0, 1.5), (2.0, 1.5)]);
        let labels: Vec<_> = object.parts.iter().map(|p| p.label).collect();
        assert_eq!(labels, [Label::CentreRun, Label::Satin]);
        assert_eq!(object.parts[1].link, Link::Sewn);
        assert_eq!(settings().profile.name, "finished-cap");
    }

    #[test]
    fn a_fill_has_its_rows() {
        let object = fill(1, 0, &rect(0.0, 0.0, 20.0, 10.0), 0.0, 0.2, 4.0);
        let shape = object.fill().unwrap();
        assert_eq!(shape.rows.len(), 50);
        assert!(shape.rows.windows(2).all(|p| p[0].1 == p[1].0));
        assert_eq!(shape.rows[49].1 as usize + 1, object.top().count());
        let upright = fill(1, 0, &rect(0.0, 0.0, 20.0, 10.0), 90.0, 0.2, 4.0);
        assert_eq!(upright.fill().unwrap().rows.len(), 100);
        assert!(
            upright.top().all(|n| (-1..=201).contains(&n.at.x) && (-1..=101).contains(&n.at.y))
        );
    }

    #[test]
    fn objects_count_origins_through_and_link_by_stop() {
        let a = run(1, 0, &[(0.0, 0.0), (2.0, 0.0)]);
        let b = run(2, 0, &[(5.0, 0.0), (7.0, 0.0)]);
        let c = run(3, 1, &[(5.0, 0.0), (7.0, 0.0)]);
        let all = objects(vec![a, b, c]);
        let origins: Vec<_> =
            all.items.iter().flat_map(|o| o.needles()).map(|(_, n)| n.origin).collect();
        assert_eq!(origins, (0..6).map(Some).collect::<Vec<_>>());
        let links: Vec<_> = all.items.iter().map(|o| o.parts[0].link).collect();
        assert_eq!(links, [Link::Jump, Link::Trim, Link::Stop]);
    }
}
