//! Where objects are named, and where the direction of rows is shown.

use geo::{Coord, InteriorPoint, Intersects, coord};

use super::objects::is_area;
use crate::geometry::locate::Locator;
use crate::geometry::vector::{direction, distance, middle};
use crate::objects::{Object, Satin};

/// Places along each side of the grid on which the widest part of an area is looked for.
const GRID: u32 = 16;

/// Where an object is named, mm: on the middle of a column or line, in the widest free part of an
/// area; `later` are the objects sewn after it.
pub fn anchor(object: &Object, later: &[Object]) -> Option<Coord<f64>> {
    if let Some(satin) = object.satin().filter(|_| is_area(object)) {
        return column_middle(satin);
    }
    if is_area(object) {
        return widest_part(object, later);
    }
    let count = object.needles().count();
    object.needles().nth(count / 2).map(|(_, needle)| needle.at.mm())
}

/// The place of a grid that is farthest from the object's edges and from what lies on it.
fn widest_part(object: &Object, later: &[Object]) -> Option<Coord<f64>> {
    let bounds = object.footprint.bounding_rect()?;
    let on_it: Vec<&Object> = later
        .iter()
        .filter(|other| is_area(other))
        .filter(|other| other.footprint.bounding_rect().is_some_and(|b| b.intersects(&bounds)))
        .collect();
    let share = |i: u32| (f64::from(i) + 0.5) / f64::from(GRID);
    let places = (0..GRID * GRID).map(|i| {
        coord! {
            x: bounds.min().x + bounds.width() * share(i % GRID),
            y: bounds.min().y + bounds.height() * share(i / GRID),
        }
    });
    let own = object.footprint.locator();
    let room = |at: Coord<f64>| {
        let others = on_it.iter().map(|other| other.footprint.locator());
        let free =
            |other: &Locator| if other.contains(at) { 0.0 } else { other.distance_to_edge(at) };
        others.map(free).fold(own.distance_to_edge(at), f64::min)
    };
    let inside = places.filter(|at| own.contains(*at)).map(|at| (at, room(at)));
    let best = inside.fold(None, |best: Option<(Coord<f64>, f64)>, this| match best {
        Some(best) if best.1 >= this.1 => Some(best),
        _ => Some(this),
    });
    best.map(|(at, _)| at).or_else(|| object.footprint.interior_point().map(|point| point.0))
}

fn column_middle(satin: &Satin) -> Option<Coord<f64>> {
    let [left, right] = &satin.rails;
    let (a, b) = (left.get(left.len() / 2)?, right.get(right.len() / 2)?);
    Some(middle(*a, *b))
}

/// A line through a fill along its rows, ending before its edges; `most` is its greatest length,
/// mm.
pub fn along_rows(object: &Object, at: Coord<f64>, most: f64) -> Option<[Coord<f64>; 2]> {
    let fill = object.fill().filter(|_| is_area(object))?;
    let locator = object.footprint.locator();
    let end = |way: Coord<f64>| {
        let edge = locator.hits(at, way, most / 2.0).first().copied().unwrap_or(most / 2.0);
        at + way * edge
    };
    let way = direction(fill.angle);
    let ends = [end(way * -1.0), end(way)];
    (distance(ends[0], ends[1]) > 0.0).then_some(ends)
}
