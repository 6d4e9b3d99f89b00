//! The grid of a straight fill: the rows of all its parts lie on parallel lines one pitch apart, so
//! a few rows that lie on them are no chance.

use geo::Coord;

use super::fill::ReadFill;
use super::segment::{Kind, Segment};
use super::track::{Sweep, Track};
use super::weave::Weave;
use crate::geometry::vector::{direction, dot, left_of, line_angle, norm};

/// Row ends may lie beside their lines by this root mean square, mm: the 0.1 mm grid of the tape
/// gives 0.03, row ends that follow the outline a little more.
const OFF_MM: f64 = 0.06;
/// And by this, in rows, for the lines to tell anything; by chance it is 0.29.
const OFF_ROWS: f64 = 0.2;
/// Fewest row ends that a grid is fitted to.
const FEWEST: usize = 9;
/// The same for rows at least so wide apart, mm, and the share of them that must be left.
const FEWEST_WIDE: usize = 6;
const WIDE_MM: f64 = 1.1;
const KEPT_WIDE: f64 = 0.7;
/// Rounds of fitting and counting anew.
const ROUNDS: i32 = 4;
/// Ends further off their line, in rows, are left out of the fit; this share must be left.
const STRAY: f64 = 0.3;
const KEPT: f64 = 0.85;
/// And those further off it than this, mm.
const NEAR_MM: f64 = 0.15;
/// From this logarithm of the odds on, rows are on the grid by themselves, or beside others; and the
/// share of ends that may lie anywhere all the same.
const SURE: f64 = 6.5;
const BESIDE: f64 = 3.0;
const ODD: f64 = 0.03;
/// So many rows tell where they lie.
const MANY: usize = 12;
/// Root mean square that the tape's grid gives, mm.
const GRID_MM: f64 = 0.03;
/// Mean squares may be so much larger than expected.
const ALLOWED: f64 = 2.5;

/// Lines on which rows lie.
#[derive(Clone, Copy, Debug)]
pub struct Grid {
    /// Across the lines; `dot(across, at) + phase` is whole on each.
    across: Coord<f64>,
    phase: f64,
    /// Lines from one row of a pass to the next.
    pub step: f64,
    /// The points that they were fitted to: how many, their middle and their sums of squares.
    count: f64,
    middle: Coord<f64>,
    spread: [f64; 3],
}

impl Grid {
    /// The grid of a straight fill with rows enough.
    pub fn of_segment(track: &Track, segment: &Segment) -> Option<Self> {
        match (&segment.kind, &segment.weave) {
            (Kind::Fill(read), Some(weave)) if read.straight => Self::of(track, weave, read),
            _ => None,
        }
    }

    /// Fits the lines to the rows of a weave, which were read as a fill.
    pub fn of(track: &Track, weave: &Weave, read: &ReadFill) -> Option<Self> {
        let ends = ends(track, &weave.sweeps);
        let (angle, pitch) = (read.fill.angle, read.fill.row_pitch);
        if ends.len() < FEWEST || pitch <= 0.0 {
            return None;
        }
        let (grid, kept) = settle(&number(&ends, angle, pitch))?;
        let off = grid.mean_square(&kept).sqrt();
        let same = (0.9..1.1).contains(&(grid.pitch() / pitch));
        let tells = off <= OFF_ROWS && off * grid.pitch() <= OFF_MM;
        (same && tells && kept.len() as f64 >= KEPT * ends.len() as f64).then_some(grid)
    }

    /// The lines of rows wide apart, as underlay has them: few tell, and some are none.
    pub fn of_wide(track: &Track, weave: &Weave) -> Option<Self> {
        let ends = ends(track, &weave.sweeps);
        let pitch = weave.advance(track);
        if pitch < WIDE_MM {
            return None;
        }
        let (grid, kept) = settle(&number(&ends, weave.axis(track).0, pitch))?;
        let off = grid.mean_square(&kept).sqrt() * grid.pitch();
        let same = (0.8..1.25).contains(&(grid.pitch() / pitch));
        let share = kept.len() as f64 / ends.len() as f64;
        (same && off <= OFF_MM && kept.len() >= FEWEST_WIDE && share >= KEPT_WIDE).then_some(grid)
    }

    /// Do rows beside others of the grid lie on the lines?
    pub fn fits_closely(&self, track: &Track, rows: &[Sweep]) -> bool {
        self.fits(track, rows) && self.evidence(track, rows) >= BESIDE
    }

    /// Which line a point lies on; between them, parts of a row.
    pub fn row(&self, at: Coord<f64>) -> f64 {
        dot(self.across, at) + self.phase
    }

    /// Do these rows lie on the lines, as no rows do by chance?
    pub fn holds(&self, track: &Track, rows: &[Sweep]) -> bool {
        self.fits(track, rows) && self.evidence(track, rows) >= SURE
    }

    /// Do many rows lie elsewhere, one after the other, and are of no other pass either?
    pub fn denies(self, track: &Track, rows: &[Sweep]) -> bool {
        let elsewhere = |grid: &Self| grid.evidence(track, rows) <= -SURE;
        rows.len() >= MANY && self.passes().iter().all(elsewhere)
    }

    /// How much more likely (natural logarithm) row ends lie so if they are on the lines, but for
    /// the tape's grid, than if they lie anywhere.
    fn evidence(&self, track: &Track, rows: &[Sweep]) -> f64 {
        let of = |at: &Coord<f64>| {
            // Any end may be odd.
            (wrapped_normal(self.off(*at), self.error(*at)) * (1.0 - ODD) + ODD).ln()
        };
        ends(track, rows).iter().map(of).sum()
    }

    /// The lines themselves; those halfway between, for the rows of a second pass; and all of them.
    pub fn passes(self) -> [Self; 3] {
        let between = Self { phase: self.phase + 0.5, ..self };
        let (across, phase) = (self.across * 2.0, self.phase * 2.0);
        [self, between, Self { across, phase, step: 2.0, ..self }]
    }

    /// Are these the lines of two passes, every other one a row of the same?
    pub fn has_two_passes(&self) -> bool {
        self.step > 1.0
    }

    /// Do they lie on the lines as well as the tape's grid allows?
    pub fn fits(&self, track: &Track, rows: &[Sweep]) -> bool {
        let ends = ends(track, rows);
        let expected = ends.iter().map(|at| self.error(*at)).sum::<f64>();
        self.mean_square(&ends) * ends.len() as f64 <= expected * ALLOWED
    }

    /// Mean square, in rows, by which a point of a row may lie beside its line: the tape's grid, and
    /// the more the further it lies from the points that the lines were fitted to.
    fn error(&self, at: Coord<f64>) -> f64 {
        let d = at - self.middle;
        let [xx, xy, yy] = self.spread;
        let far = (yy * d.x * d.x - 2.0 * xy * d.x * d.y + xx * d.y * d.y) / (xx * yy - xy * xy);
        GRID_MM.powi(2) * dot(self.across, self.across) * (1.0 + 1.0 / self.count + far)
    }

    /// Share of the rows' ends that lie on a line rather than between two.
    pub fn explained(&self, track: &Track, rows: &[Sweep]) -> f64 {
        let ends = ends(track, rows);
        let near = ends.iter().filter(|at| self.is_on(**at)).count();
        near as f64 / ends.len().max(1) as f64
    }

    /// Does a point lie on a line rather than between two?
    pub fn is_on(&self, at: Coord<f64>) -> bool {
        self.off(at).abs() <= self.tolerance()
    }

    fn tolerance(&self) -> f64 {
        STRAY.min(NEAR_MM * norm(self.across))
    }

    /// From one row of a pass to the next, mm.
    pub fn pitch(&self) -> f64 {
        self.step / norm(self.across)
    }

    /// Direction of the lines, degrees.
    pub fn angle(&self) -> f64 {
        line_angle(left_of(self.across))
    }

    fn off(&self, at: Coord<f64>) -> f64 {
        let row = self.row(at);
        row - row.round()
    }

    fn mean_square(&self, ends: &[Coord<f64>]) -> f64 {
        ends.iter().map(|at| self.off(*at).powi(2)).sum::<f64>() / ends.len().max(1) as f64
    }
}

/// How dense points lie at a place between two lines (in rows, 0 on a line) that are off the lines by
/// a mean square of `spread`; 1 on average.
fn wrapped_normal(off: f64, spread: f64) -> f64 {
    /// Wider than this they may lie anywhere, to within 3 %.
    const ANYWHERE: f64 = 0.25;
    if spread > ANYWHERE {
        return 1.0;
    }
    let from = |line: f64| (-(off - line).powi(2) / (2.0 * spread)).exp();
    (from(-1.0) + from(0.0) + from(1.0)) / (2.0 * std::f64::consts::PI * spread).sqrt()
}

/// First and last points of rows, those that two rows share once.
fn ends(track: &Track, rows: &[Sweep]) -> Vec<Coord<f64>> {
    let mut points: Vec<usize> = rows.iter().flat_map(|row| [row.first, row.last]).collect();
    points.dedup();
    points.into_iter().map(|i| track.at[i]).collect()
}

/// Points with the number of their row, at about this angle (degrees) and pitch (mm).
fn number(ends: &[Coord<f64>], angle: f64, pitch: f64) -> Vec<(Coord<f64>, f64)> {
    let across = left_of(direction(angle)) / pitch;
    let mut number = 0.0;
    let mut before = ends.first().copied();
    let of = |at: &Coord<f64>| {
        // A mistake goes on to all rows after it, but does not grow.
        number += before.map_or(0.0, |before| dot(across, *at - before).round());
        before = Some(*at);
        (*at, number)
    };
    ends.iter().map(of).collect()
}

/// Fits the lines and numbers the points anew, in turns. Gives the points that lie on them, too.
fn settle(numbered: &[(Coord<f64>, f64)]) -> Option<(Grid, Vec<Coord<f64>>)> {
    let mut grid = fit(numbered)?;
    let mut kept = Vec::new();
    for round in 0..ROUNDS {
        // Step by step: what is odd moves the first lines.
        let near = (STRAY * 0.5_f64.powi(round)).max(grid.tolerance());
        let of = |(at, _): &(Coord<f64>, f64)| (*at, grid.row(*at).round());
        kept = numbered
            .iter()
            .map(of)
            .filter(|(at, row)| (grid.row(*at) - row).abs() <= near)
            .collect();
        grid = fit(&kept)?;
    }
    Some((grid, kept.into_iter().map(|(at, _)| at).collect()))
}

/// The lines that fit numbered points best (least squares in rows).
fn fit(points: &[(Coord<f64>, f64)]) -> Option<Grid> {
    let count = points.len() as f64;
    if points.len() < FEWEST_WIDE {
        return None;
    }
    let sum = points
        .iter()
        .fold((Coord { x: 0.0, y: 0.0 }, 0.0), |sum, (at, row)| (sum.0 + *at, sum.1 + row));
    let (middle, mean) = (sum.0 / count, sum.1 / count);
    let (mut xx, mut xy, mut yy, mut xr, mut yr) = (0.0, 0.0, 0.0, 0.0, 0.0);
    for (at, row) in points {
        let (x, y, r) = (at.x - middle.x, at.y - middle.y, row - mean);
        (xx, xy, yy) = (xx + x * x, xy + x * y, yy + y * y);
        (xr, yr) = (xr + x * r, yr + y * r);
    }
    let det = xx * yy - xy * xy;
    if det <= f64::EPSILON * xx * yy {
        return None;
    }
    let across = Coord { x: (xr * yy - yr * xy) / det, y: (yr * xx - xr * xy) / det };
    let phase = mean - dot(across, middle);
    Some(Grid { across, phase, step: 1.0, count, middle, spread: [xx, xy, yy] })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Rows `from..to` of a fill on the tape's grid, each from `left` to `right` (mm along the rows),
    /// at this angle (degrees) and pitch (mm); the first lies at `offset` rows.
    fn rows(
        (angle, pitch, offset): (f64, f64, f64),
        numbers: std::ops::Range<i32>,
        (left, right): (f64, f64),
    ) -> (Track, Weave) {
        let (along, across) = (direction(angle), left_of(direction(angle)));
        let on_tape = |v: f64| (v * 10.0).round() / 10.0;
        let point = |x: f64, row: f64| {
            let at = along * x + across * (row * pitch);
            Coord { x: on_tape(at.x), y: on_tape(at.y) }
        };
        let mut at = Vec::new();
        for number in numbers {
            let row = f64::from(number) + offset;
            let (a, b) = if number % 2 == 0 { (left, right) } else { (right, left) };
            at.extend([point(a, row), point(b, row)]);
        }
        let sweeps = (0..at.len() / 2).map(|i| Sweep { first: 2 * i, last: 2 * i + 1 }).collect();
        (Track { index: (0..at.len()).collect(), at }, Weave { sweeps })
    }

    const SEWN: (f64, f64, f64) = (23.0, 0.4, 0.0);

    fn grid() -> Grid {
        let (track, weave) = rows(SEWN, 0..40, (0.0, 12.0));
        let read = super::super::fill::read(&track, &weave);
        Grid::of(&track, &weave, &read).expect("rows drawn on lines")
    }

    #[test]
    fn the_lines_are_those_that_rows_were_drawn_on() {
        let grid = grid();
        assert!((grid.angle() - 23.0).abs() < 0.1, "{}", grid.angle());
        assert!((grid.pitch() - 0.4).abs() < 0.001, "{}", grid.pitch());
    }

    #[test]
    fn rows_of_the_same_fill_lie_on_them_and_others_do_not() {
        let grid = grid();
        // An island 20 mm off.
        let (track, island) = rows(SEWN, 10..20, (30.0, 33.0));
        assert!(grid.holds(&track, &island.sweeps));
        // Half a pitch aside: a second pass, or chance.
        let (track, between) = rows((23.0, 0.4, 0.5), 10..20, (30.0, 33.0));
        assert!(!grid.fits(&track, &between.sweeps));
        assert!(grid.passes()[1].holds(&track, &between.sweeps));
        // Another pitch, as a fill of its own has.
        let (track, other) = rows((23.0, 0.36, 0.0), 10..40, (30.0, 33.0));
        assert!(!grid.fits(&track, &other.sweeps) && grid.denies(&track, &other.sweeps));
    }

    #[test]
    fn what_may_lie_anywhere_tells_nothing() {
        // Worked by hand: a normal density of standard deviation 0.1 rows on its line and five
        // deviations off it, its copies from line to line added up; half a row and more is flat.
        assert!((wrapped_normal(0.0, 0.01) - 3.989).abs() < 0.001);
        assert!(wrapped_normal(0.5, 0.01) < 0.001);
        for off in [0.0, 0.25, 0.5] {
            assert!((wrapped_normal(off, 0.25) - 1.0).abs() < 0.03);
            assert!((wrapped_normal(off, 4.0) - 1.0).abs() < 0.03);
        }
    }

    #[test]
    fn few_ends_on_dense_lines_tell_nothing() {
        let dense = (23.0, 0.18, 0.0);
        let (track, weave) = rows(dense, 0..40, (0.0, 12.0));
        let read = super::super::fill::read(&track, &weave);
        // 0.03 mm of the tape's grid are a sixth of a row: lines may still be fitted to many rows.
        if let Some(grid) = Grid::of(&track, &weave, &read) {
            let (track, few) = rows(dense, 50..53, (0.0, 3.0));
            assert!(!grid.holds(&track, &few.sweeps));
        }
    }

    #[test]
    fn a_few_odd_ends_do_not_move_wide_lines() {
        let (mut track, weave) = rows((100.0, 2.5, 0.0), 0..8, (0.0, 15.0));
        // What leads to the first row and on from the last one ends anywhere.
        for end in [0, 15] {
            track.at[end] = track.at[end] + Coord { x: 0.7, y: 0.9 };
        }
        let grid = Grid::of_wide(&track, &weave).expect("fourteen of sixteen ends");
        assert!((grid.angle() - 100.0).abs() < 0.2, "{}", grid.angle());
        assert!((grid.pitch() - 2.5).abs() < 0.01, "{}", grid.pitch());
    }
}
