//! Tatami: parallel rows over an area with holes, in one path without trims.

use geo::{Coord, MultiPolygon};

use super::route::{route, route_through};
use super::run::{RunStyle, run};
use super::sections::{Section, Sections, Spot};
use super::tour::{Finish, Tour};
use crate::geometry::locate::Locator;
use crate::geometry::polyline::{distance, lerp};

/// How a fill is sewn; lengths in mm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FillStyle {
    /// Direction of the rows, degrees.
    pub angle: f64,
    pub row_pitch: f64,
    /// A place that a line of the rows goes through; none lets them lie as the area has room.
    pub on: Option<Coord<f64>>,
    /// Length of the stitches inside rows.
    pub stitch: f64,
    /// Rows after which the needle points line up again.
    pub stagger: u32,
    /// Shortest ordinary stitch; shorter remainders are shared out over two stitches.
    pub least: f64,
    /// Stitch length of travel.
    pub travel: f64,
    /// Travel keeps this far from the outline where there is room.
    pub margin: f64,
}

/// The needle points of a fill.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Tatami {
    /// All needle points, from the asked start to the asked end; mm.
    pub needles: Vec<Coord<f64>>,
    /// First and last needle of every row, inclusive; what lies between rows is travel.
    pub rows: Vec<(u32, u32)>,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum FillError {
    #[error("the area is too small for a row")]
    Empty,
    #[error("the area falls into pieces that no hidden travel joins")]
    Apart,
}

/// A needle point this close (mm) to the asked start or end takes its place.
const SNAP: f64 = 0.35;
/// A remainder that is too short is left to the stitch beside it, if that grows by this factor at most
/// (J: of the standard 4 mm it makes the longest usual one, about 5).
const STRETCH: f64 = 1.25;
/// As much (mm) of the last scanline may go without its closing row where the fill ends half-way.
const BARE: f64 = 3.0;
/// Pieces of an area smaller than this (mm²) that rows cannot reach are left out: tips that the
/// scanlines tear off.
const CRUMB: f64 = 0.5;

/// Where an edge moves on by this many pitches from row to row, rows are joined along it: a V would
/// leave notches two pitches deep there, long enough to be seen (J).
const SHALLOW: f64 = 3.0;
/// The way along the edge may leave the area by this much in a hollow, mm.
const HOLLOW: f64 = 0.1;

/// Sews an area in rows that join in a V (the last point of a row is the first of the next), from
/// `start` to `end`; where an edge runs nearly along the rows, they join along the edge instead.
/// Sections are ordered so that all travel lies under rows sewn later. `widen` says for a row end and
/// its outward direction by how many mm the row goes beyond the outline.
pub fn tatami(
    area: &MultiPolygon<f64>,
    style: &FillStyle,
    start: Coord<f64>,
    end: Coord<f64>,
    widen: impl Fn(Coord<f64>, Coord<f64>) -> f64,
) -> Result<Tatami, FillError> {
    let mut sections = Sections::on_grid(area, style.angle, style.row_pitch, style.on);
    let (last, _) = sections.nearest(end, |_| true).ok_or(FillError::Empty)?;
    let (root, finish) = split_for_end(&mut sections, last);
    let (first, _) = sections.nearest(start, |_| true).ok_or(FillError::Empty)?;
    let tour = Tour::new(&sections, root, finish, first.section);
    let lost = sections.items.iter().enumerate().filter(|(i, _)| !tour.reaches(*i));
    let lost: f64 = lost.flat_map(|(_, s)| &s.spans).map(|span| span.length()).sum();
    if lost * style.row_pitch > CRUMB {
        return Err(FillError::Apart);
    }
    let along_edge = flat_edges(&sections, style, &Locator::new(area));
    sections.widen(widen);
    let first = if tour.reaches(first.section) {
        first
    } else {
        sections.nearest(start, |i| tour.reaches(i)).ok_or(FillError::Empty)?.0
    };
    let end_x = sections.turned(end).x;
    let mut sewer = Sewer {
        sections,
        style,
        tour,
        along_edge,
        at: first,
        through: None,
        end_x,
        out: Tatami::default(),
    };
    sewer.out.needles.push(start);
    sewer.sew()?;
    sewer.arrive(end);
    Ok(sewer.out)
}

/// The section that must come last, and towards which end. Where the asked end lies half-way up a
/// section, the section is cut there, so that both halves are sewn towards it.
fn split_for_end(sections: &mut Sections, last: Spot) -> (usize, Finish) {
    let section = &sections.items[last.section];
    let (below, above) = (last.scan - section.first, section.last() - last.scan);
    if below.min(above) > 1 {
        sections.split_above(last.section, last.scan);
        return (last.section, Finish::Top);
    }
    (last.section, if below < above { Finish::Bottom } else { Finish::Top })
}

/// For every section, its scanlines but the last and both its sides: does the edge lead to the next
/// scanline so flat that rows are joined along it?
fn flat_edges(sections: &Sections, style: &FillStyle, locator: &Locator) -> Vec<Vec<[bool; 2]>> {
    let shallow = (SHALLOW * style.row_pitch).max(style.least);
    let leads = |scan: usize, a: f64, b: f64| {
        let middle = lerp(sections.place(scan, a), sections.place(scan + 1, b), 0.5);
        (a - b).abs() >= shallow && locator.is_within(middle, HOLLOW)
    };
    let section = |section: &Section| {
        let pairs = section.spans.windows(2).zip(section.first..);
        pairs.map(|(w, scan)| [leads(scan, w[0].a, w[1].a), leads(scan, w[0].b, w[1].b)]).collect()
    };
    sections.items.iter().map(section).collect()
}

struct Sewer<'a> {
    sections: Sections,
    style: &'a FillStyle,
    tour: Tour,
    /// As [`flat_edges`] says.
    along_edge: Vec<Vec<[bool; 2]>>,
    /// Where travel to the next section begins, and the section that it goes into first.
    at: Spot,
    through: Option<usize>,
    /// x of the asked end in the turned frame.
    end_x: f64,
    out: Tatami,
}

impl Sewer<'_> {
    fn sew(&mut self) -> Result<(), FillError> {
        while let Some(index) = self.tour.next(&self.sections, self.at) {
            let section = self.sections.items[index].clone();
            let start = match self.tour.finish(index) {
                Finish::Top => section.first,
                Finish::Bottom => section.last(),
            };
            let on_b = self.starts_on_b(index, &section, start);
            let x = side(&section, start, on_b);
            self.travel(Spot { section: index, scan: start, x })?;
            let (scan, x) = self.rows(index, &section, start, on_b);
            self.at = Spot { section: index, scan, x };
            self.through = self.tour.parent(index);
        }
        Ok(())
    }

    /// Should the first row begin at its right end? The side is chosen for where the last row
    /// ends and for short travel.
    fn starts_on_b(&self, index: usize, section: &Section, start: usize) -> bool {
        let end = if start == section.first { section.last() } else { section.first };
        // Every row changes sides: one level row at either end and a slanted one per scanline.
        let rows = if section.spans.len() == 1 { 1 } else { section.spans.len() + 1 };
        let cost = |on_b: bool| {
            let end_x = side(section, end, on_b == rows.is_multiple_of(2));
            let travel = (side(section, start, on_b) - self.at.x).abs();
            let miss = (self.way_out(index, section, end, end_x) - end_x).abs();
            10.0 * miss + travel
        };
        cost(true) < cost(false)
    }

    /// Where on its last scanline a section must be left, if its rows end at `x`: within reach
    /// of the section that comes after it, or at the asked end.
    fn way_out(&self, index: usize, section: &Section, end: usize, x: f64) -> f64 {
        match self.tour.parent(index) {
            None => section.span(end).clamp(self.end_x),
            Some(parent) => {
                let next = &self.sections.items[parent];
                let entry =
                    if self.tour.finish(index) == Finish::Top { next.first } else { next.last() };
                section.span(end).shared(next.span(entry)).clamp(x)
            }
        }
    }

    /// Runs hidden to a spot.
    fn travel(&mut self, to: Spot) -> Result<(), FillError> {
        let target = self.sections.place(to.scan, to.x);
        let Some(from) = self.out.needles.last().copied() else { return Ok(()) };
        if distance(from, target) < SNAP {
            return Ok(()); // the needle's place stands for the row's first point
        }
        let margin = self.style.margin;
        let unsewn = |i: usize| !self.tour.is_sewn(i);
        let inner = match self.through {
            Some(next) => route_through(&self.sections, self.at, next, to, margin, unsewn),
            None => route(&self.sections, self.at, to, margin, unsewn),
        };
        let inner = inner.ok_or(FillError::Apart)?;
        let mut path = vec![from];
        path.extend(inner);
        self.go(&path, self.style.travel);
        Ok(())
    }

    /// Goes on along a path that begins at the needle's place.
    fn go(&mut self, path: &[Coord<f64>], stitch: f64) {
        self.out.needles.extend(run(path, RunStyle::of(stitch)).into_iter().skip(1));
    }

    /// Sews all rows of a section; returns the scanline and x of the last point. Where the way
    /// out lies inside the last scanline, the rows go on along it.
    fn rows(&mut self, index: usize, section: &Section, start: usize, on_b: bool) -> (usize, f64) {
        let upwards = self.tour.finish(index) == Finish::Top;
        let end = if upwards { section.last() } else { section.first };
        let (mut scan, mut on_b) = (start, !on_b);
        // Rows are numbered by their upper scanline, a level one at the top by the next.
        let level = |scan: usize| scan + usize::from(scan == section.last());
        let mut x = side(section, start, !on_b);
        x = self.row((scan, x), (scan, side(section, scan, on_b)), level(scan));
        while scan != end {
            let next = if upwards { scan + 1 } else { scan - 1 };
            let (lower, number) = (scan.min(next) - section.first, scan.max(next));
            if next != end && self.along_edge[index][lower][usize::from(on_b)] {
                x = self.step(next, side(section, next, on_b));
                scan = next;
            }
            on_b = !on_b;
            x = self.row((scan, x), (next, side(section, next, on_b)), number);
            scan = next;
        }
        let closing = side(section, end, !on_b);
        let out = self.way_out(index, section, end, closing);
        let inside = (out - closing).abs() > SNAP;
        if section.spans.len() > 1 && !(inside && (out - closing).abs() < BARE) {
            x = self.row((end, x), (end, closing), level(end));
        }
        if inside && (out - x).abs() > SNAP {
            x = self.row((end, x), (end, out), level(end));
        }
        (end, x)
    }

    /// Goes along the edge to a place on the next scanline; returns its x.
    fn step(&mut self, scan: usize, x: f64) -> f64 {
        let to = self.sections.place(scan, x);
        let from = self.out.needles.last().copied().unwrap_or(to);
        self.go(&[from, to], self.style.stitch * STRETCH);
        x
    }

    /// One row from the needle's place, which stands for `from`, to a place on a scanline;
    /// returns the x it ends at.
    fn row(&mut self, from: (usize, f64), to: (usize, f64), number: usize) -> f64 {
        let b = self.sections.place(to.0, to.1);
        let a = self.out.needles.last().copied().unwrap_or(b);
        let first = self.out.needles.len().saturating_sub(1) as u32;
        for x in inner_points(from.1, to.1, number, self.style) {
            self.out.needles.push(lerp(a, b, (x - from.1) / (to.1 - from.1)));
        }
        self.out.needles.push(b);
        self.out.rows.push((first, self.out.needles.len() as u32 - 1));
        to.1
    }

    /// Ends exactly at the asked end: the last needle point moves there if it is near, else the
    /// thread goes on along the last row.
    fn arrive(&mut self, end: Coord<f64>) {
        let Some(last) = self.out.needles.last().copied() else { return };
        if distance(last, end) < SNAP {
            self.out.needles.pop();
            self.out.needles.push(end);
        } else {
            self.go(&[last, end], self.style.travel);
        }
    }
}

fn side(section: &Section, scan: usize, on_b: bool) -> f64 {
    let span = section.span(scan);
    if on_b { span.b } else { span.a }
}

/// Needle points inside a row, in sewing order: on a grid of the stitch length that is shifted
/// from row to row, with remainders that are too short shared out over two stitches.
fn inner_points(from: f64, to: f64, number: usize, style: &FillStyle) -> Vec<f64> {
    let (low, high) = (from.min(to), from.max(to));
    let stagger = style.stagger.max(1) as usize;
    let shift = style.stitch * (number % stagger) as f64 / stagger as f64;
    let first = ((low - shift) / style.stitch).floor() as i64 + 1;
    let mut xs: Vec<f64> = (first..)
        .map(|k| shift + k as f64 * style.stitch)
        .take_while(|x| *x < high - 1e-6)
        .collect();
    // A point too near to an end goes half-way to the one after it, or goes.
    let halved = |end: f64, beside: f64| {
        let too_long = (beside - end).abs() > style.stitch * STRETCH;
        too_long.then_some((end + beside) / 2.0)
    };
    if let Some(x) = xs.first().copied()
        && x - low < style.least
    {
        match halved(low, xs.get(1).copied().unwrap_or(high)) {
            Some(middle) => xs[0] = middle,
            None => drop(xs.remove(0)),
        }
    }
    if let Some(x) = xs.pop() {
        if high - x < style.least {
            xs.extend(halved(high, xs.last().copied().unwrap_or(low)));
        } else {
            xs.push(x);
        }
    }
    if xs.len() == 1 && (xs[0] - low < style.least || high - xs[0] < style.least) {
        xs.clear();
    }
    if from > to {
        xs.reverse();
    }
    xs
}

#[cfg(test)]
#[path = "fill_tests.rs"]
mod tests;
