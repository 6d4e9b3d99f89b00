//! Weaves of rows read as a fill: angle, row pitch, stitch length, stagger, outline with holes.

use geo::{Area, Coord, LineString, MultiPolygon, Polygon};

use super::track::{Sweep, Track};
use super::weave::{Weave, median};
use crate::geometry::engine;
use crate::geometry::strips;
use crate::geometry::vector::{
    between_lines, cross, direction, distance, dot, line_angle, norm, unit,
};
use crate::objects::Fill;

/// A needle point further than this from its row's line is not explained by the row, mm.
const OFF_LINE: f64 = 0.2;

/// Agreement of the rows' directions (0 to 1, weighed by length) from which a fill is straight.
const STRAIGHT: f64 = 0.99;
const NEARLY_STRAIGHT: f64 = 0.95;
/// Or this share of the rows' length keeps the direction, but for so many degrees: short rows at an
/// edge slant.
const ONE_WAY: f64 = 0.9;
const ONE_WAY_DEG: f64 = 5.0;

/// Rows of which fewer needle points lie on straight lines bend a little.
const BENT_BELOW: f64 = 0.8;
/// If so many lie beside the row before.
const BENT_BESIDE: f64 = 0.95;
/// Fewest rows of a bent fill.
const BENT_ROWS: usize = 8;

/// One section of a fill with its footprint; `points` are track indices, inclusive.
pub struct ReadFill {
    pub fill: Fill,
    /// First and last track index of each row, inclusive.
    pub rows: Vec<(usize, usize)>,
    /// Least and most distance of neighbouring rows, over a few of them, mm.
    pub spacing: (f64, f64),
    pub footprint: MultiPolygon<f64>,
    pub points: (usize, usize),
    pub explained: f64,
    /// Rows keep one direction (false: curved or radial).
    pub straight: bool,
    /// Rows leave the lines between their ends.
    pub bends: bool,
    /// Rows keep it but for a few: a section of a straight fill, if one lies beside it.
    pub nearly_straight: bool,
}

pub fn read(track: &Track, weave: &Weave) -> ReadFill {
    let (angle, agreement) = weave.axis(track);
    let rows: Vec<(usize, usize)> = weave.sweeps.iter().map(|s| (s.first, s.last)).collect();
    let row_pitch = weave.advance(track);
    let mut stitches: Vec<f64> = rows
        .iter()
        .filter(|(first, last)| last - first >= 2)
        .flat_map(|(first, last)| first + 1..=*last)
        .map(|i| track.stitch(i))
        .collect();
    let longest_half = stitches.len() / 2;
    stitches.sort_by(f64::total_cmp);
    // Row ends hold remainders; the upper half of the lengths is the stitch length as set.
    let stitch = median(&mut stitches[longest_half..]);
    let stagger = stagger(track, &rows, angle, stitch);
    let one_way = agreement > STRAIGHT || one_way(track, weave, angle) > ONE_WAY;
    let on_line = explained(track, weave, angle);
    let beside = || explained_beside(track, weave, row_pitch);
    let rows_bend = bends(track, weave);
    let bends = rows_bend || one_way && on_line < BENT_BELOW && beside() > BENT_BESIDE;
    let straight = one_way && !bends;
    ReadFill {
        fill: Fill { angle, row_pitch, stitch, stagger, rows: Vec::new() },
        footprint: if bends {
            bent_footprint(track, weave, row_pitch)
        } else {
            footprint(track, weave)
        },
        spacing: weave.spacing(track),
        points: weave.span(),
        explained: match straight {
            true => on_line,
            // A few stitches that happen to lie side by side are no bent fill.
            false if weave.sweeps.len() < BENT_ROWS => 0.0,
            false => beside(),
        },
        straight,
        bends: rows_bend,
        nearly_straight: agreement > NEARLY_STRAIGHT && !bends,
        rows,
    }
}

impl ReadFill {
    /// Do its rows lie ever wider apart towards one side?
    pub fn is_gradient(&self) -> bool {
        /// The tape's grid moves the mean of a few distances by so much, mm.
        const GRID: f64 = 0.03;
        const FACTOR: f64 = 1.15;
        self.straight && self.spacing.1 - GRID >= FACTOR * (self.spacing.0 + GRID)
    }

    /// Does it cover but a part of what rows so far apart would? Stitches that go over one line again
    /// and again are no rows.
    pub fn is_thin(&self, track: &Track) -> bool {
        const SHARE: f64 = 0.3;
        /// No rows lie closer, mm.
        const LEAST_PITCH: f64 = 0.1;
        let length = |(first, last): &(usize, usize)| distance(track.at[*first], track.at[*last]);
        let rows: f64 = self.rows.iter().map(length).sum();
        self.footprint.unsigned_area() < SHARE * rows * self.fill.row_pitch.max(LEAST_PITCH)
    }
}

/// The same rows as part of a straight fill: a few short ones do not tell by themselves.
pub fn straightened(track: &Track, weave: &Weave, read: ReadFill) -> ReadFill {
    let explained = explained(track, weave, read.fill.angle);
    ReadFill { straight: true, nearly_straight: true, explained, ..read }
}

/// Do the rows leave their chords?
fn bends(track: &Track, weave: &Weave) -> bool {
    // The end stitches of longer rows are left out: they follow the outline a little.
    let inner = |sweep: &Sweep| match sweep.stitches() {
        0..4 => *sweep,
        _ => Sweep { first: sweep.first + 1, last: sweep.last - 1 },
    };
    let off = |sweep: Sweep| {
        let (from, chord) = (track.at[sweep.first], unit(sweep.chord(track)));
        let inner = sweep.first + 1..sweep.last;
        inner.map(|i| cross(chord, track.at[i] - from).abs()).fold(0.0, f64::max)
    };
    let long: Vec<&Sweep> = weave.sweeps.iter().filter(|sweep| sweep.stitches() > 1).collect();
    long.iter().filter(|sweep| off(inner(sweep)) > OFF_LINE).count() * 4 > long.len()
}

/// The area between neighbouring rows, along all of their needle points and those on the way from
/// one to the next, where the end of a row may lie. Slits as wide as a row are none.
fn bent_footprint(track: &Track, weave: &Weave, row_pitch: f64) -> MultiPolygon<f64> {
    const SLIT_ROWS: f64 = 0.65;
    const SLIT_MAX_MM: f64 = 0.5;
    /// A way of so many stitches goes no further than the edge.
    const STEP: usize = 4;
    let rows = &weave.sweeps;
    let near = |a: usize, b: usize| b - a <= STEP;
    let points = |a: usize, b: usize| track.at[a..=b].to_vec();
    let between = (0..rows.len().saturating_sub(1)).map(|k| {
        let (row, next) = (rows[k], rows[k + 1]);
        let before = k.checked_sub(1).map_or(row.first, |k| rows[k].last);
        let after = rows.get(k + 2).map_or(next.last, |row| row.first);
        let from = if near(before, row.first) { before } else { row.first };
        let to = if near(next.last, after) { after } else { next.last };
        let ring = match near(row.last, next.first) {
            true => points(from, to),
            false => [points(from, row.last), points(next.first, to)].concat(),
        };
        Polygon::new(LineString(ring), Vec::new())
    });
    engine::close(&engine::union(between), (SLIT_ROWS * row_pitch).min(SLIT_MAX_MM))
}

/// Share of the needle points that lie beside the row before theirs, as far off as rows are here.
fn explained_beside(track: &Track, weave: &Weave, pitch: f64) -> f64 {
    let beside = |at: Coord<f64>, row: &Sweep| {
        row.nearest(track, at).is_some_and(|(_, off)| off <= 2.5 * pitch + OFF_LINE)
    };
    let (mut all, mut odd) = (0_usize, 0_usize);
    for rows in weave.sweeps.windows(2) {
        for i in rows[1].first + 1..=rows[1].last {
            all += 1;
            odd += usize::from(!beside(track.at[i], &rows[0]));
        }
    }
    1.0 - odd as f64 / all.max(1) as f64
}

/// Share of the rows' length that runs in the fill's direction.
fn one_way(track: &Track, weave: &Weave, angle: f64) -> f64 {
    // Rows that meet at their ends slant to either side: two together do not.
    let (mut all, mut own) = (0.0, 0.0);
    for rows in weave.sweeps.windows(2) {
        let both = rows[0].chord(track) - rows[1].chord(track);
        let length = norm(both);
        all += length;
        if between_lines(line_angle(both), angle) <= ONE_WAY_DEG {
            own += length;
        }
    }
    if all > 0.0 { own / all } else { 0.0 }
}

/// The strips between neighbouring rows.
fn footprint(track: &Track, weave: &Weave) -> MultiPolygon<f64> {
    let mut along = Coord { x: 0.0, y: 0.0 };
    let ends: Vec<(Coord<f64>, Coord<f64>)> = weave
        .sweeps
        .iter()
        .map(|s| {
            let (a, b) = (track.at[s.first], track.at[s.last]);
            let (from, to) = if dot(b - a, along) < 0.0 { (b, a) } else { (a, b) };
            along = to - from;
            (from, to)
        })
        .collect();
    strips::between(&ends)
}

/// Joins the sections of one fill.
pub fn join_footprints(parts: &[&MultiPolygon<f64>], row_pitch: f64) -> MultiPolygon<f64> {
    let all = engine::union_all(parts);
    // Two rows may lie between sections.
    engine::close(&all, (1.5 * row_pitch).min(0.4))
}

/// Share of the needle points that lie on a straight row at the fill's angle.
fn explained(track: &Track, weave: &Weave, angle: f64) -> f64 {
    let (mut all, mut odd) = (0_usize, 0_usize);
    for sweep in &weave.sweeps {
        let origin = track.at[sweep.first];
        // A short row says little about its direction.
        let slanted =
            sweep.length(track) > 2.0 && between_lines(line_angle(sweep.chord(track)), angle) > 8.0;
        for i in sweep.first + 1..=sweep.last {
            all += 1;
            let chord = sweep.chord(track);
            let along = dot(chord, track.at[i] - origin) / dot(chord, chord).max(1e-9);
            let off = distance(track.at[i], origin + chord * along);
            odd += usize::from(off > OFF_LINE || slanted);
        }
    }
    1.0 - odd as f64 / all.max(1) as f64
}

/// Rows after which the needle points line up again: the smallest repeat (2 to 6) whose points
/// agree along the axis; 0 where none does.
fn stagger(track: &Track, rows: &[(usize, usize)], angle: f64, stitch: f64) -> u32 {
    if stitch <= 0.0 {
        return 0;
    }
    let axis = direction(angle);
    // Phase of the row's inner points modulo the stitch length, as a unit vector.
    let phases: Vec<Option<Coord<f64>>> = rows
        .iter()
        .map(|(first, last)| {
            (last - first >= 3).then(|| {
                let turn = dot(axis, track.at[(first + last) / 2]) / stitch;
                direction(turn * 360.0)
            })
        })
        .collect();
    let agreement = |repeat: usize| {
        let (mut sum, mut count) = (0.0, 0_usize);
        for i in repeat..phases.len() {
            if let (Some(a), Some(b)) = (phases[i - repeat], phases[i]) {
                sum += if cross(a, b).abs() < 0.6 && dot(a, b) > 0.0 { 1.0 } else { 0.0 };
                count += 1;
            }
        }
        if count < 4 { 0.0 } else { sum / count as f64 }
    };
    (2..=6).find(|repeat| agreement(*repeat) > 0.8).unwrap_or(0) as u32
}
