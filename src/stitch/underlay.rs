//! Underlay of a fill: edge run along the outline and round the holes, then open rows across the
//! top rows, in one path without long links. All of it lies under the top stitching.

use geo::{Coord, MultiPolygon};

use super::coverage::inset_rings;
use super::route::{Router, route};
use super::run::{RunStyle, run};
use super::sections::{Section, Sections, Spot};
use super::tidy;
use super::tour::{Finish, Tour};
use crate::garment::Numbers;
use crate::geometry::engine;
use crate::geometry::polyline::{Measured, distance, nearest};
use crate::objects::Label;

/// Scanlines per row of open underlay: close enough to follow the outline from row to row.
const SCANS_PER_ROW: usize = 8;
/// Links keep this far from the outline where there is room, mm.
const LINK_MARGIN: f64 = 0.5;

/// A path in pieces of one label each; every piece goes on where the one before it ended.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Path {
    pub pieces: Vec<(Label, Vec<Coord<f64>>)>,
    /// It had to leave the area: there is no hidden way between two of its pieces.
    pub is_bare: bool,
    at: Option<Coord<f64>>,
}

impl Path {
    pub fn from(at: Coord<f64>) -> Self {
        Self { at: Some(at), ..Self::default() }
    }

    /// Where the path has got to.
    pub fn at(&self) -> Option<Coord<f64>> {
        self.at
    }

    /// Adds needle points; one that only repeats the place reached is left out.
    pub fn go(&mut self, label: Label, points: impl IntoIterator<Item = Coord<f64>>) {
        let mut added = Vec::new();
        for point in points {
            if self.at.is_none_or(|at| distance(at, point) > 0.05) {
                added.push(point);
                self.at = Some(point);
            }
        }
        match self.pieces.last_mut() {
            _ if added.is_empty() => {}
            Some((last, points)) if *last == label => points.extend(added),
            _ => self.pieces.push((label, added)),
        }
    }
}

/// Lays the edge run: every loop is entered at its nearest place and closed; links run inside the
/// footprint as travel.
pub fn edge_loops(path: &mut Path, footprint: &MultiPolygon<f64>, router: &Router, n: &Numbers) {
    let mut loops = inset_rings(footprint, n.edge_run_inset_mm);
    while let Some(at) = path.at() {
        let near = |ring: &Vec<Coord<f64>>| nearest(ring, at).map_or(f64::INFINITY, |n| n.distance);
        let next = (0..loops.len()).min_by(|a, b| near(&loops[*a]).total_cmp(&near(&loops[*b])));
        let Some(next) = next else { break };
        let ring = loops.swap_remove(next);
        let Some(entry) = nearest(&ring, at) else { continue };
        link(path, router, entry.at, n);
        let style = RunStyle {
            curve_stitch: n.edge_run_curve_stitch_mm,
            ..RunStyle::of(n.edge_run_stitch_mm)
        };
        path.go(Label::EdgeRun, run(&turned_to(&ring, entry.along), style));
    }
}

/// A closed line that begins and ends `along` mm from its old start.
fn turned_to(ring: &[Coord<f64>], along: f64) -> Vec<Coord<f64>> {
    let measured = Measured::new(ring);
    let mut line = measured.between(along, measured.length());
    line.extend(measured.between(0.0, along));
    tidy(line)
}

/// Lays open rows at `angle` degrees over the part of the footprint that is `inset` inside of its
/// outline, towards `end`.
pub fn cross_rows(
    path: &mut Path,
    area: &MultiPolygon<f64>,
    router: &Router,
    angle: f64,
    end: Coord<f64>,
    n: &Numbers,
) {
    let inner = engine::offset(area, -n.fill_underlay_inset_mm);
    let mut pieces: Vec<Sections> = inner
        .0
        .into_iter()
        .map(|polygon| MultiPolygon(vec![polygon]))
        .map(|p| Sections::new(&p, angle, n.fill_underlay_pitch_mm / SCANS_PER_ROW as f64))
        .filter(|sections| !sections.items.is_empty())
        .collect();
    while let Some(at) = path.at() {
        let off = |s: &Sections| s.nearest(at, |_| true).map_or(f64::INFINITY, |(_, off)| off);
        let next = (0..pieces.len()).min_by(|a, b| off(&pieces[*a]).total_cmp(&off(&pieces[*b])));
        let Some(next) = next else { break };
        let sections = pieces.swap_remove(next);
        let towards = if pieces.is_empty() { end } else { at };
        piece_rows(path, &sections, router, towards, n);
    }
}

/// Rows of one connected piece.
fn piece_rows(
    path: &mut Path,
    sections: &Sections,
    router: &Router,
    end: Coord<f64>,
    n: &Numbers,
) -> Option<()> {
    let at = path.at()?;
    let (start, _) = sections.nearest(at, |_| true)?;
    let (last, _) = sections.nearest(end, |_| true)?;
    let root = &sections.items[last.section];
    let nearer_top = root.last() - last.scan < last.scan - root.first;
    let finish = if nearer_top { Finish::Top } else { Finish::Bottom };
    let mut tour = Tour::new(sections, last.section, finish, start.section);
    let mut spot: Option<Spot> = None;
    let style = RunStyle::of(n.fill_underlay_stitch_mm);
    while let Some(index) = tour.next(sections, spot.unwrap_or(start)) {
        for scan in row_scans(&sections.items[index], tour.finish(index)) {
            let span = sections.items[index].span(scan);
            let from_x = spot.unwrap_or(start).x;
            let on_b = (span.b - from_x).abs() < (span.a - from_x).abs();
            let (near, far) = if on_b { (span.b, span.a) } else { (span.a, span.b) };
            let entry = Spot { section: index, scan, x: near };
            match spot {
                None => link(path, router, sections.place(scan, near), n),
                Some(spot) => {
                    let way = route(sections, spot, entry, 0.0, |_| true).unwrap_or_default();
                    path.go(Label::FillUnderlay, run(&way, style));
                }
            }
            let across = [sections.place(scan, near), sections.place(scan, far)];
            path.go(Label::FillUnderlay, run(&across, style));
            spot = Some(Spot { section: index, scan, x: far });
        }
    }
    Some(())
}

/// Scanlines of a section that get a row, in the order in which they are sewn.
fn row_scans(section: &Section, finish: Finish) -> Vec<usize> {
    let on_row = |scan: &usize| (scan + SCANS_PER_ROW / 2).is_multiple_of(SCANS_PER_ROW);
    let mut scans: Vec<usize> = (section.first..=section.last()).filter(on_row).collect();
    if finish == Finish::Bottom {
        scans.reverse();
    }
    scans
}

/// Hidden travel to a place inside the footprint.
pub fn link(path: &mut Path, router: &Router, to: Coord<f64>, n: &Numbers) {
    let Some(at) = path.at() else { return };
    let way = router.route(at, to, LINK_MARGIN).unwrap_or_else(|| {
        path.is_bare |= distance(at, to) > n.link_sewn_max_mm;
        vec![at, to]
    });
    path.go(Label::Travel, run(&way, RunStyle::of(n.run_stitch_mm)));
}

#[cfg(test)]
mod tests {
    use geo::{LineString, Polygon};

    use super::*;
    use crate::fixtures::{circle, rect, settings};
    use crate::geometry::locate::Locator;
    use crate::geometry::polyline::resample;

    fn disc_with_holes() -> MultiPolygon<f64> {
        let holes = [circle((-4.0, 0.0), 2.0, 48), circle((4.0, 0.0), 2.0, 48)];
        let outer = LineString::from(circle((0.0, 0.0), 10.0, 96));
        MultiPolygon(vec![Polygon::new(outer, holes.map(LineString::from).to_vec())])
    }

    fn whole(path: &Path, start: Coord<f64>) -> Vec<Coord<f64>> {
        std::iter::once(start)
            .chain(path.pieces.iter().flat_map(|(_, points)| points.iter().copied()))
            .collect()
    }

    #[test]
    fn loops_round_outline_and_holes_then_rows_across() {
        let (settings, shape) = (settings(), disc_with_holes());
        let n = &settings.profile.numbers;
        let (start, end) = (Coord { x: 0.0, y: -9.5 }, Coord { x: 9.5, y: 0.0 });
        let router = Router::new(&shape);
        let mut path = Path::from(start);
        edge_loops(&mut path, &shape, &router, n);
        let edge: f64 = path
            .pieces
            .iter()
            .filter(|(label, _)| *label == Label::EdgeRun)
            .map(|(_, points)| crate::geometry::polyline::length(points))
            .sum();
        // Circles of 9.4, 2.6 and 2.6 mm; chords and the joins take a little off.
        let circles = std::f64::consts::TAU * (9.4 + 2.6 + 2.6);
        assert!((edge - circles).abs() < 0.08 * circles, "{edge} of {circles}");
        cross_rows(&mut path, &shape, &router, 98.0, end, n);
        let points = whole(&path, start);
        let locator = Locator::new(&shape);
        assert!(resample(&points, 0.2).iter().all(|at| locator.contains(*at)));
        let longest = points.windows(2).map(|p| distance(p[0], p[1])).fold(0.0, f64::max);
        assert!(longest <= 3.0, "no link longer than a run stitch: {longest}");
    }

    #[test]
    fn rows_lie_a_pitch_apart() {
        let settings = settings();
        let shape =
            MultiPolygon(vec![Polygon::new(LineString::from(rect(0.0, 0.0, 21.2, 11.2)), vec![])]);
        let mut path = Path::from(Coord { x: 0.5, y: 0.5 });
        let end = Coord { x: 21.0, y: 11.0 };
        cross_rows(&mut path, &shape, &Router::new(&shape), 90.0, end, &settings.profile.numbers);
        let points = whole(&path, Coord { x: 0.5, y: 0.5 });
        let long = points.windows(2).filter(|p| (p[0].x - p[1].x).abs() < 1e-6);
        let mut columns: Vec<i64> = long.map(|p| (p[0].x * 100.0).round() as i64).collect();
        columns.sort_unstable();
        columns.dedup();
        assert_eq!(columns, (0..10).map(|k| 160 + 200 * k).collect::<Vec<_>>());
    }
}
