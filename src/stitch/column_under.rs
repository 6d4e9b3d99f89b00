//! Underlay of a satin column: edge runs, centre run, zigzag, each a way from one station to
//! another, all inside the column.

use std::ops::RangeInclusive;

use geo::Coord;

use super::column::Column;
use super::run::{RunStyle, run};
use super::underlay::Path;
use super::zigzag::between_rails;
use crate::design::Pt;
use crate::garment::Numbers;
use crate::geometry::polyline::{distance, length, nearest, nearest_on_segment};
use crate::geometry::vector::dot;
use crate::objects::Label;

/// Underlay of an open column stays this far (mm) from its ends, so that nothing shows; in a short
/// one less, or nothing would be left to hold.
const END_CLEAR: f64 = 0.5;
const END_CLEAR_SHORT: f64 = 0.3;
/// Columns up to this length (mm) are short.
const SHORT: f64 = 2.5;
/// Nor does it go into a tip narrower than this (mm), or than half the column's width: needle points
/// would crowd there.
const TIP: f64 = 1.0;
/// A station this close along the column (mm) is reached by the next stitch.
const THERE: f64 = 1.0;
/// The two runs of a tapering column part this much (mm) before it is wide enough to ask for them.
const HYSTERESIS: f64 = 0.1;
/// The edge run of a short column has one stitch of about this length beside each edge, mm (J).
const DOT_STITCH: f64 = 1.1;
/// The stitch from one edge to the other is at least this long, mm: the shortest on the machine.
const TURN: f64 = 0.5;
/// An edge whose end is bare for so much longer than that of the other, mm (J), ends in the sharp corner
/// of a slanted column.
const BLUNTER: f64 = 0.5;
/// A path this near to an edge run, mm (J), is on it; the shortest stitch that holds an edge, mm (J); and
/// edges so short, mm, that such a stitch is a tenth of them and more.
const BESIDE: f64 = 0.3;
const RUN_LEAST: f64 = 0.85;
const SHORT_EDGE: f64 = 5.0;
/// In a narrow column the two runs lie no further in than this share of its width: they would meet.
const NARROW_SHARE: f64 = 0.39;
/// Stitches of a zigzag in a narrow column run at 45° at the flattest, and no shorter than this
/// pitch, mm.
const ZIGZAG_LEAST: f64 = 1.0;

/// Lays underlay along one column.
#[derive(Clone, Debug)]
pub struct ColumnUnder<'a> {
    column: &'a Column,
    n: &'a Numbers,
    /// First and last station that underlay goes to.
    lo: usize,
    hi: usize,
    /// Edge runs that begin beside a short edge begin with a stitch that holds it.
    holds_at_once: bool,
}

impl<'a> ColumnUnder<'a> {
    pub fn new(column: &'a Column, n: &'a Numbers) -> Self {
        let last = column.len() - 1;
        let (mut lo, mut hi) = (0, last);
        if !column.closed {
            let from_start = |i: usize| distance(column.centre(0), column.centre(i));
            let from_end = |i: usize| distance(column.centre(last), column.centre(i));
            let along: f64 =
                (0..last).map(|i| distance(column.centre(i), column.centre(i + 1))).sum();
            let clear = if along <= SHORT { END_CLEAR_SHORT } else { END_CLEAR };
            let widest = (0..=last).map(|i| column.width(i)).fold(0.0, f64::max);
            let least = TIP.min(widest / 2.0);
            let wide = |i: &usize| column.width(*i) >= least;
            lo = (0..last).filter(wide).find(|i| from_start(*i) >= clear).unwrap_or(0);
            hi = (0..=last).rev().filter(wide).find(|i| from_end(*i) >= clear).unwrap_or(last);
            if lo >= hi {
                (lo, hi) = (0, last);
            }
        }
        Self { column, n, lo, hi, holds_at_once: false }
    }

    /// Edge runs that begin beside a short edge begin with a stitch that is long enough to hold it, not
    /// with the shortest that may be sewn.
    pub fn holding_at_once(self) -> Self {
        Self { holds_at_once: true, ..self }
    }

    pub fn start(&self) -> usize {
        self.lo
    }

    pub fn end(&self) -> usize {
        self.hi
    }

    /// The station whose crossing is nearest to a position.
    pub fn station(&self, at: Coord<f64>) -> usize {
        let off = |i: usize| {
            let on = nearest_on_segment(self.column.rails[0][i], self.column.rails[1][i], at).0;
            distance(on, at)
        };
        let mut best = (f64::INFINITY, self.lo);
        for i in self.lo..=self.hi {
            let off = off(i);
            if off < best.0 - 1e-9 {
                best = (off, i);
            }
        }
        best.1
    }

    /// Length of the column between two stations, mm.
    pub fn between(&self, a: usize, b: usize) -> f64 {
        let (a, b) = (a.min(b), a.max(b));
        (a..b).map(|i| distance(self.column.centre(i), self.column.centre(i + 1))).sum()
    }

    /// A run along the middle from where the path is to a station; round a ring the shorter way.
    /// Nothing where the path is there already.
    pub fn centre_to(&self, path: &mut Path, station: usize) {
        let Some(at) = path.at() else { return };
        let from = self.station(at);
        let direct = self.between(from, station);
        let round = self.between(self.lo, self.hi) - direct;
        if direct <= THERE || (self.column.closed && round <= THERE) {
            return;
        }
        let stations = self.way(from, station);
        self.lay(
            path,
            Label::CentreRun,
            stations.map(|i| self.column.centre(i)),
            self.n.centre_run_stitch_mm,
        );
    }

    /// Comes near enough to a needle point for the next stitch to end there.
    pub fn arrive(&self, path: &mut Path, to: Coord<f64>) {
        self.centre_to(path, self.station(to));
        if let Some(at) = path.at().filter(|at| distance(*at, to) > self.n.link_sewn_max_mm) {
            let mut link = run(&[at, to], RunStyle::of(self.n.centre_run_stitch_mm));
            link.pop();
            path.go(Label::CentreRun, link);
        }
    }

    /// A run along the middle between two stations, the way round that their order says.
    pub fn centre(&self, path: &mut Path, from: usize, to: usize) {
        let stations = ordered(from, to).map(|i| self.column.centre(i));
        self.lay(path, Label::CentreRun, stations, self.n.centre_run_stitch_mm);
    }

    /// Edge run of an open column: along one rail (0 = left) from one end to the other and back
    /// along the other rail, or, in a ring, all round along one rail and then the other.
    pub fn edges(&self, path: &mut Path, from_start: bool, first_rail: usize) {
        let (from, to) = if from_start { (self.lo, self.hi) } else { (self.hi, self.lo) };
        let back = if self.column.closed { (from, to) } else { (to, from) };
        let along = |rail: usize, (from, to): (usize, usize)| {
            ordered(from, to).map(move |i| self.beside(rail, i))
        };
        if !self.column.closed && self.between(0, self.column.len() - 1) <= SHORT {
            // A dot is so round that one stitch beside its middle keeps nearest to an edge.
            let (near, far) = self.around_middle();
            let (from, to) = if from_start { (near, far) } else { (far, near) };
            let ends = [(first_rail, from), (first_rail, to)];
            let ends = ends.into_iter().chain([(1 - first_rail, to), (1 - first_rail, from)]);
            path.go(Label::EdgeRun, ends.map(|(rail, i)| self.beside(rail, i)));
            return;
        }
        let mut lines: [Vec<Coord<f64>>; 2] =
            [along(first_rail, (from, to)).collect(), along(1 - first_rail, back).collect()];
        let apart = match self.column.closed {
            true => (self.lo..=self.hi).all(|i| self.parts(i)),
            false => self.parts(to),
        };
        if apart {
            if !self.column.closed {
                self.make_room_to_turn(&mut lines, first_rail, to);
            }
            lines.into_iter().for_each(|line| self.lay_whole(path, line));
        } else {
            // The runs meet in the middle where they turn: one line there and back.
            self.lay(path, Label::EdgeRun, lines.concat().into_iter(), self.n.edge_run_stitch_mm);
        }
    }

    /// Ends the first run sooner where the stitch across to the second would be too short, if the second
    /// begins further from the end of its edge: slanted columns have one sharp corner and one blunt one.
    fn make_room_to_turn(&self, lines: &mut [Vec<Coord<f64>>; 2], first_rail: usize, to: usize) {
        let [first, second] = lines;
        let end = if to == self.hi { self.column.len() - 1 } else { 0 };
        let bare = |rail: usize, at: Coord<f64>| {
            let along = self.column.rail_along(rail, to)?;
            Some(dot(self.column.rails[rail][end] - at, along).abs())
        };
        let Some(&start) = second.first() else { return };
        let (Some(own), Some(other)) =
            (first.last().and_then(|at| bare(first_rail, *at)), bare(1 - first_rail, start))
        else {
            return;
        };
        if other < own + BLUNTER {
            return;
        }
        let too_near = |at: &Coord<f64>| Pt::from_mm(*at).distance(Pt::from_mm(start)) < TURN;
        while first.len() > 2 && first.last().is_some_and(too_near) {
            first.pop();
        }
    }

    /// The edge run along a line from where it is a stitch away on, as far as its end.
    fn lay_whole(&self, path: &mut Path, line: Vec<Coord<f64>>) {
        let at = path.at();
        let beside = |at| nearest(&line, at).is_some_and(|near| near.distance <= BESIDE);
        let short = self.holds_at_once && length(&line) <= SHORT_EDGE;
        let is_on = short && at.is_some_and(beside);
        let least = if is_on { RUN_LEAST } else { TURN };
        let is_there = |to: &Coord<f64>| {
            at.is_some_and(|at| Pt::from_mm(at).distance(Pt::from_mm(*to)) < least)
        };
        let mut line = line.into_iter().skip_while(is_there);
        // The way there is a line of its own, or its end would be cut off as a corner.
        let stitch = self.n.edge_run_stitch_mm;
        self.lay(path, Label::EdgeRun, line.next().into_iter(), stitch);
        self.lay(path, Label::EdgeRun, line, stitch);
    }

    /// The stations half a stitch to either side of the middle, as far as there are any.
    fn around_middle(&self) -> (usize, usize) {
        let middle = self.between(self.lo, self.hi) / 2.0;
        let beyond = |i: &usize| self.between(self.lo, *i) >= middle - DOT_STITCH / 2.0;
        let before = |i: &usize| self.between(*i, self.hi) >= middle - DOT_STITCH / 2.0;
        let near = (self.lo..=self.hi).find(beyond).unwrap_or(self.lo);
        let far = (self.lo..=self.hi).rev().find(before).unwrap_or(self.hi);
        (near.min(far), far.max(near))
    }

    /// Zigzag between the rails from one station to another.
    pub fn zigzag(&self, path: &mut Path, from: usize, to: usize) {
        let stations: Vec<usize> = ordered(from, to).collect();
        let widths = stations.iter().map(|i| self.column.width(*i));
        let width = widths.sum::<f64>() / stations.len() as f64;
        let inset = |width: f64| self.n.zigzag_inset_mm.min(width / 4.0);
        let pitch =
            self.n.zigzag_pitch_mm.min(2.0 * (width - 2.0 * inset(width))).max(ZIGZAG_LEAST);
        let place = |rail, i: usize| self.column.inset(rail, i, inset(self.column.width(i)));
        let rail = |rail| stations.iter().map(|i| place(rail, *i)).collect::<Vec<_>>();
        let (left, right) = (rail(0), rail(1));
        let points = between_rails([&left, &right], pitch);
        if let (Some(at), Some(first)) = (path.at(), points.first()) {
            let mut link = run(&[at, *first], RunStyle::of(self.n.centre_run_stitch_mm));
            link.pop();
            path.go(Label::CentreRun, link);
        }
        path.go(Label::Zigzag, points);
    }

    /// Stations within `reach` mm of a vertical line, as far as the column crosses the line there.
    pub fn crossings(&self, x: f64, reach: f64) -> Vec<RangeInclusive<usize>> {
        let mut found: Vec<RangeInclusive<usize>> = Vec::new();
        for i in self.lo..=self.hi {
            if (self.column.centre(i).x - x).abs() > reach {
                continue;
            }
            match found.last_mut() {
                Some(run) if *run.end() + 1 == i => *run = *run.start()..=i,
                _ => found.push(i..=i),
            }
        }
        // A ring may begin on the line: then each side of it counts. An upright column stands over it.
        let at_seam = |i: usize| {
            let off = [0, 1].map(|rail| self.column.rails[rail][i].x - x);
            off.iter().any(|off| off.abs() < 0.5) || off[0] * off[1] < 0.0
        };
        found.retain(|run| run.end() > run.start() && run.clone().any(at_seam));
        found
    }

    /// Is the column wide enough at a station for a run beside each edge?
    fn parts(&self, i: usize) -> bool {
        self.column.width(i) >= self.n.edge_run_min_width_mm - HYSTERESIS
    }

    /// Where the edge run goes beside a rail; in the middle where the column is narrow.
    fn beside(&self, rail: usize, i: usize) -> Coord<f64> {
        if !self.parts(i) {
            self.column.centre(i)
        } else {
            let inset = self.n.edge_run_inset_mm.min(NARROW_SHARE * self.column.width(i));
            self.column.inset(rail, i, inset)
        }
    }

    /// Runs from where the path is along the positions.
    fn lay(
        &self,
        path: &mut Path,
        label: Label,
        line: impl Iterator<Item = Coord<f64>>,
        stitch: f64,
    ) {
        let style =
            RunStyle { curve_stitch: self.n.edge_run_curve_stitch_mm, ..RunStyle::of(stitch) };
        let line: Vec<Coord<f64>> = path.at().into_iter().chain(line).collect();
        path.go(label, run(&line, style));
    }

    /// Stations from one to another; across the seam of a ring where that is shorter.
    fn way(&self, from: usize, to: usize) -> Box<dyn Iterator<Item = usize>> {
        let direct = self.between(from, to);
        let round = self.between(self.lo, self.hi) - direct;
        if !self.column.closed || direct <= round {
            return Box::new(ordered(from, to));
        }
        let (lo, hi) = (self.lo, self.hi);
        if from < to {
            Box::new(ordered(from, lo).chain(ordered(hi, to)))
        } else {
            Box::new(ordered(from, hi).chain(ordered(lo, to)))
        }
    }
}

/// Stations from one to another, both included, upwards or downwards.
fn ordered(from: usize, to: usize) -> impl Iterator<Item = usize> {
    let count = from.abs_diff(to);
    (0..=count).map(move |k| if from <= to { from + k } else { from - k })
}
