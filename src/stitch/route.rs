//! Travel inside an area: a short path that keeps away from the outline.

use std::cmp::Reverse;
use std::collections::BinaryHeap;

use geo::{Coord, MultiPolygon};

use super::sections::{Sections, Span, Spot};

/// Distance of the scanlines that a router looks at, mm: narrower passages may be missed.
const ROUTER_PITCH: f64 = 0.25;

/// Finds paths inside one area.
#[derive(Clone, Debug)]
pub struct Router {
    sections: Sections,
}

impl Router {
    pub fn new(area: &MultiPolygon<f64>) -> Self {
        Self { sections: Sections::new(area, 0.0, ROUTER_PITCH) }
    }

    /// How far a position is from the area, mm; infinite for an empty area.
    pub fn distance(&self, at: Coord<f64>) -> f64 {
        self.sections.nearest(at, |_| true).map_or(f64::INFINITY, |(_, off)| off)
    }

    /// A path from one position to another, both included, that stays inside the area, `margin`
    /// mm from its outline where there is room. Ends outside go straight to the nearest place
    /// inside. `None` where the area does not join them.
    pub fn route(&self, from: Coord<f64>, to: Coord<f64>, margin: f64) -> Option<Vec<Coord<f64>>> {
        let (start, _) = self.sections.nearest(from, |_| true)?;
        let (end, _) = self.sections.nearest(to, |_| true)?;
        let inner = route(&self.sections, start, end, margin, |_| true)?;
        let mut path = vec![from];
        path.extend(inner);
        path.push(to);
        Some(super::tidy(path))
    }
}

/// A portal: the piece of a scanline that a path has to pass.
type Portal = (usize, Span);

/// A short path from spot to spot through the sections that are allowed (start and end section
/// always are), as positions on the garment. It keeps `margin` mm from the ends of scanlines
/// where there is room.
pub fn route(
    sections: &Sections,
    from: Spot,
    to: Spot,
    margin: f64,
    allowed: impl Fn(usize) -> bool,
) -> Option<Vec<Coord<f64>>> {
    let chain = chain(sections, from, to, |i| i == to.section || allowed(i))?;
    Some(along(sections, &chain, from, to, margin))
}

/// As [`route`], but the path leaves the section of `from` into its neighbour `through` at once,
/// and does not come back to it.
pub fn route_through(
    sections: &Sections,
    from: Spot,
    through: usize,
    to: Spot,
    margin: f64,
    allowed: impl Fn(usize) -> bool,
) -> Option<Vec<Coord<f64>>> {
    let next = sections.items.get(through)?;
    let up = sections.items[from.section].above.contains(&through);
    let scan = if up { next.first } else { next.last() };
    let entry = Spot { section: through, scan, x: next.span(scan).clamp(from.x) };
    let mut way = vec![from.section];
    way.extend(chain(sections, entry, to, |i| i == to.section || allowed(i))?);
    Some(along(sections, &way, from, to, margin))
}

/// The path through a chain of sections.
fn along(
    sections: &Sections,
    chain: &[usize],
    from: Spot,
    to: Spot,
    margin: f64,
) -> Vec<Coord<f64>> {
    let mut path = vec![(from.scan, from.x)];
    let mut piece: Vec<Portal> = Vec::new();
    let mut start = from;
    let mut entry = Span { a: from.x, b: from.x };
    for (k, index) in chain.iter().enumerate() {
        let section = &sections.items[*index];
        let Some(next) = chain.get(k + 1) else {
            rows(&mut piece, start.scan, to.scan, |scan| section.span(scan).shrunk(margin));
            break;
        };
        let up = section.above.contains(next);
        let door_scan = if up { section.last() } else { section.first };
        let beyond = &sections.items[*next];
        let beyond_scan = if up { beyond.first } else { beyond.last() };
        let door = section.span(door_scan).shared(beyond.span(beyond_scan)).shrunk(margin);
        let came_up = k > 0 && sections.items[chain[k - 1]].above.contains(index);
        if k > 0 && came_up != up {
            // In and out on the same side: turn a margin's depth inside, beside the doors.
            let depth = (margin / sections.pitch).ceil() as usize;
            let turn = if came_up {
                (start.scan + depth).min(section.last())
            } else {
                start.scan.saturating_sub(depth).max(section.first)
            };
            rows(&mut piece, start.scan, turn, |scan| section.span(scan).shrunk(margin));
            let span = section.span(turn).shrunk(margin);
            let near = span.clamp(entry.clamp(door.clamp(entry.clamp(start.x))));
            let x = span.clamp(door.clamp(near));
            pull_tight(&mut path, &piece, (turn, near));
            piece.clear();
            path.push((turn, x));
            start.scan = turn;
        }
        rows(&mut piece, start.scan, door_scan, |scan| section.span(scan).shrunk(margin));
        piece.push((door_scan, door));
        piece.push((beyond_scan, door));
        start = Spot { section: *next, scan: beyond_scan, x: door.clamp(start.x) };
        entry = door;
    }
    pull_tight(&mut path, &piece, (to.scan, to.x));
    path.into_iter().map(|(scan, x)| sections.place(scan, x)).collect()
}

/// Adds the portals strictly between two scanlines of one section.
fn rows(portals: &mut Vec<Portal>, from: usize, to: usize, span: impl Fn(usize) -> Span) {
    if from < to {
        portals.extend((from + 1..to).map(|scan| (scan, span(scan))));
    } else {
        portals.extend((to + 1..from).rev().map(|scan| (scan, span(scan))));
    }
}

/// Lengthens the path to `to` through portals that run one way: straight where it can, and
/// through the nearest place of the portal that it would miss most, again and again.
fn pull_tight(path: &mut Vec<(usize, f64)>, portals: &[Portal], to: (usize, f64)) {
    let Some(from) = path.last().copied() else { return };
    // Spans still to be settled, the next one last; each ends at a fixed place.
    let mut open = vec![(from, 0, portals.len(), to)];
    while let Some((from, low, high, to)) = open.pop() {
        let (f, t) = (from.0 as f64, to.0 as f64);
        let straight = |scan: usize| {
            if f == t { from.1 } else { from.1 + (to.1 - from.1) * (scan as f64 - f) / (t - f) }
        };
        let mut worst: Option<(f64, usize, f64)> = None;
        for (k, (scan, span)) in portals.iter().enumerate().take(high).skip(low) {
            let x = span.clamp(straight(*scan));
            let miss = (x - straight(*scan)).abs();
            if miss > 1e-6 && worst.is_none_or(|(most, _, _)| miss > most) {
                worst = Some((miss, k, x));
            }
        }
        match worst {
            Some((_, k, x)) => {
                let middle = (portals[k].0, x);
                open.push((middle, k + 1, high, to));
                open.push((from, low, k, middle));
            }
            None => path.push(to),
        }
    }
}

/// Sections to pass, from the first to the last, on a short way (shortest by scanlines passed and
/// steps to the side).
fn chain(
    sections: &Sections,
    from: Spot,
    to: Spot,
    allowed: impl Fn(usize) -> bool,
) -> Option<Vec<usize>> {
    if from.section == to.section {
        return Some(vec![from.section]);
    }
    let items = &sections.items;
    let cost = |scans: usize, aside: f64| {
        ((scans as f64 * sections.pitch + aside) * 1000.0).round() as u64
    };
    // A state is a section entered from below (even) or from above (odd).
    let mut best: Vec<Option<(u64, usize)>> = vec![None; items.len() * 2];
    let mut queue = BinaryHeap::new();
    let mut push = |queue: &mut BinaryHeap<_>, state: usize, sum: u64, x: f64, before: usize| {
        if best[state].is_none_or(|(known, _)| sum < known) {
            best[state] = Some((sum, before));
            queue.push(Reverse((sum, state, (x * 1000.0).round() as i64)));
        }
    };
    let mut leave = |queue: &mut BinaryHeap<_>, spot: Spot, sum: u64, before: usize| {
        let section = &items[spot.section];
        let doors = section.above.iter().map(|next| (*next, true));
        for (next, up) in doors.chain(section.below.iter().map(|next| (*next, false))) {
            if !allowed(next) {
                continue;
            }
            let (scan, entry) = if up {
                (section.last(), items[next].first)
            } else {
                (section.first, items[next].last())
            };
            let door = section.span(scan).shared(items[next].span(entry));
            let x = door.clamp(spot.x);
            let step = cost(scan.abs_diff(spot.scan) + 1, (x - spot.x).abs());
            push(queue, next * 2 + usize::from(!up), sum + step, x, before);
        }
    };
    leave(&mut queue, from, 0, usize::MAX);
    let mut done = vec![false; items.len() * 2];
    let mut settled = None;
    while let Some(Reverse((sum, state, x))) = queue.pop() {
        if std::mem::replace(&mut done[state], true) {
            continue;
        }
        let index = state / 2;
        if index == to.section {
            settled = Some(state);
            break;
        }
        let scan = if state % 2 == 0 { items[index].first } else { items[index].last() };
        leave(&mut queue, Spot { section: index, scan, x: x as f64 / 1000.0 }, sum, state);
    }
    let mut state = settled?;
    let mut way = vec![state / 2];
    while let Some((_, before)) = best[state].filter(|(_, before)| *before != usize::MAX) {
        way.push(before / 2);
        state = before;
    }
    way.push(from.section);
    way.reverse();
    way.dedup();
    Some(way)
}

#[cfg(test)]
mod tests {
    use geo::{LineString, Polygon};

    use super::*;
    use crate::fixtures::{circle, rect};
    use crate::geometry::locate::Locator;
    use crate::geometry::polyline::{length, resample};

    fn area(outer: Vec<(f64, f64)>, holes: Vec<Vec<(f64, f64)>>) -> MultiPolygon<f64> {
        let holes = holes.into_iter().map(LineString::from).collect();
        MultiPolygon(vec![Polygon::new(LineString::from(outer), holes)])
    }

    fn c(x: f64, y: f64) -> Coord<f64> {
        Coord { x, y }
    }

    /// Every point of the path, taken closely, lies inside by nearly the margin.
    fn stays_inside(shape: &MultiPolygon<f64>, path: &[Coord<f64>], by: f64) -> bool {
        let locator = Locator::new(shape);
        resample(path, 0.1).iter().all(|at| locator.inside_by(*at, by))
    }

    #[test]
    fn straight_where_nothing_is_in_the_way() {
        let shape = area(rect(0.0, 0.0, 20.0, 10.0), vec![]);
        let path = Router::new(&shape).route(c(1.0, 1.0), c(19.0, 9.0), 0.5).unwrap();
        assert!((length(&path) - 18f64.hypot(8.0)).abs() < 0.3);
        assert!(stays_inside(&shape, &path, 0.45));
    }

    #[test]
    fn around_a_hole_on_the_nearer_side() {
        let shape = area(rect(-10.0, -10.0, 10.0, 10.0), vec![circle((2.0, 0.0), 4.0, 64)]);
        let path = Router::new(&shape).route(c(1.0, -9.0), c(1.0, 9.0), 0.5).unwrap();
        assert!(stays_inside(&shape, &path, 0.4));
        assert!(path.iter().all(|at| at.x < 1.1), "the left side is nearer: {path:?}");
        // Tangent to a circle of 4.5 from both ends, by hand about 20.5.
        assert!(length(&path) < 22.0);
    }

    #[test]
    fn out_of_one_arm_into_the_other() {
        let u = vec![
            (0.0, 0.0),
            (20.0, 0.0),
            (20.0, 20.0),
            (14.0, 20.0),
            (14.0, 6.0),
            (6.0, 6.0),
            (6.0, 20.0),
            (0.0, 20.0),
        ];
        let shape = area(u.clone(), vec![]);
        for turned in [false, true] {
            let flip = |(x, y): (f64, f64)| if turned { (x, -y) } else { (x, y) };
            let shape = if turned {
                area(u.iter().copied().map(flip).collect(), vec![])
            } else {
                shape.clone()
            };
            let ends = [(3.0, 19.0), (17.0, 19.0)].map(flip).map(|(x, y)| c(x, y));
            let path = Router::new(&shape).route(ends[0], ends[1], 0.5).unwrap();
            assert!(stays_inside(&shape, &path, 0.4), "{path:?}");
            assert!(length(&path) < 38.0, "{}", length(&path));
        }
    }

    #[test]
    fn no_way_between_separate_pieces() {
        let mut shape = area(rect(0.0, 0.0, 5.0, 5.0), vec![]);
        shape.0.extend(area(rect(8.0, 0.0, 12.0, 5.0), vec![]).0);
        assert_eq!(Router::new(&shape).route(c(1.0, 1.0), c(9.0, 1.0), 0.5), None);
        assert_eq!(Router::new(&MultiPolygon(vec![])).route(c(0.0, 0.0), c(1.0, 0.0), 0.5), None);
    }
}
