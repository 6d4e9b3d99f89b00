//! The ends of a fill, where its rows are too short or too few to make a weave of their own: tips,
//! and rows that were added under a border.

use geo::{Coord, MultiPolygon, Polygon};

use super::fill::{ReadFill, join_footprints};
use super::track::Track;
use crate::geometry::engine;
use crate::geometry::strips;
use crate::geometry::vector::{between_lines, cross, direction, distance, dot, line_angle};

/// Most stitches that an end may have.
const STITCHES: usize = 60;
/// How far a tip may lie beyond the outermost row, mm: the allowance under a border, twice.
const BEYOND: f64 = 2.2;
/// How far it may lie back over the rows, mm: joins of short rows, and the way back from added ones.
const BACK: f64 = 1.3;
/// Rows of a tip are parallel to the others within this, degrees.
const PARALLEL: f64 = 15.0;
/// A shorter stitch is no row, mm.
const ROW: f64 = 0.8;

/// Takes the stitches before the first and after the last row that belong to the fill, with their
/// rows; gives the first and last track point then. `least` and `most` bound the search.
pub fn take(track: &Track, read: &mut ReadFill, least: usize, most: usize) -> (usize, usize) {
    let (mut first, mut last) = read.points;
    let zone = Zone::of(track, read, true);
    let limit = first.saturating_sub(STITCHES).max(least);
    while first > limit && zone.holds(track.at[first - 1], track.stitch(first)) {
        first -= 1;
    }
    let zone = Zone::of(track, read, false);
    let limit = (last + STITCHES).min(most);
    while last < limit && zone.holds(track.at[last + 1], track.stitch(last + 1)) {
        last += 1;
    }
    let head = rows(track, (first, read.points.0), read.fill.angle);
    let tail = rows(track, (read.points.1, last), read.fill.angle);
    grow(track, read, &head, read.rows[0]);
    grow(track, read, &tail, read.rows[read.rows.len() - 1]);
    read.rows = head.into_iter().chain(read.rows.drain(..)).chain(tail).collect();
    (first, last)
}

/// Where stitches beyond an outermost row may lie.
struct Zone {
    axis: Coord<f64>,
    /// Across the rows, away from the fill.
    outward: Coord<f64>,
    edge: f64,
    along: (f64, f64),
    stitch: f64,
}

impl Zone {
    fn of(track: &Track, read: &ReadFill, at_start: bool) -> Self {
        let axis = direction(read.fill.angle);
        let middle = |row: (usize, usize)| (track.at[row.0] + track.at[row.1]) / 2.0;
        let n = read.rows.len();
        let outer = middle(read.rows[if at_start { 0 } else { n - 1 }]);
        // Against all rows: the last few may have been added, from outside inwards.
        let all = read.rows.iter().map(|row| middle(*row));
        let inner = all.fold(Coord { x: 0.0, y: 0.0 }, |sum, at| sum + at) / n as f64;
        let side = cross(axis, outer - inner).signum();
        let outward = Coord { x: -axis.y, y: axis.x } * side;
        let ends = read.rows.iter().flat_map(|row| [row.0, row.1]);
        let along = ends
            .map(|i| dot(axis, track.at[i]))
            .fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), value| {
                (low.min(value), high.max(value))
            });
        let stitch = 1.3 * read.fill.stitch.max(2.0);
        Self { axis, outward, edge: dot(outward, outer), along, stitch }
    }

    fn holds(&self, at: Coord<f64>, stitch: f64) -> bool {
        let beyond = dot(self.outward, at) - self.edge;
        let along = dot(self.axis, at);
        (-BACK..=BEYOND).contains(&beyond)
            && along >= self.along.0 - 1.0
            && along <= self.along.1 + 1.0
            && stitch <= self.stitch
    }
}

/// Straight pieces along the rows between two track points.
pub fn rows(track: &Track, (from, to): (usize, usize), angle: f64) -> Vec<(usize, usize)> {
    let mut rows = Vec::new();
    let mut first = from;
    for i in from + 1..=to {
        if i == to || track.bends(i) {
            let chord = track.at[i] - track.at[first];
            let parallel = between_lines(line_angle(chord), angle) <= PARALLEL;
            if parallel && distance(track.at[first], track.at[i]) >= ROW {
                rows.push((first, i));
            }
            first = i;
        }
    }
    rows
}

/// Adds the strips between neighbouring rows of an end to the fill's footprint.
fn grow(track: &Track, read: &mut ReadFill, end: &[(usize, usize)], outermost: (usize, usize)) {
    let axis = direction(read.fill.angle);
    let line = |row: (usize, usize)| {
        let (a, b) = (track.at[row.0], track.at[row.1]);
        if dot(axis, a) <= dot(axis, b) { (a, b) } else { (b, a) }
    };
    let mut lines: Vec<(Coord<f64>, Coord<f64>)> = end.iter().map(|row| line(*row)).collect();
    lines.push(line(outermost));
    lines.sort_by(|a, b| cross(axis, a.0).total_cmp(&cross(axis, b.0)));
    let near = 3.0 * read.fill.row_pitch + 0.1;
    let pieces: Vec<Polygon<f64>> = lines
        .windows(2)
        .filter(|w| {
            let apart = (cross(axis, w[0].0) - cross(axis, w[1].0)).abs();
            apart <= near && overlap(axis, w[0], w[1]) > 0.0
        })
        .flat_map(strips::chains)
        .collect();
    if !pieces.is_empty() {
        let added: MultiPolygon<f64> = engine::union_positive(&pieces);
        read.footprint = join_footprints(&[&read.footprint, &added], read.fill.row_pitch);
    }
}

type Line = (Coord<f64>, Coord<f64>);

/// Length along the rows that two of them share, mm.
fn overlap(axis: Coord<f64>, a: Line, b: Line) -> f64 {
    dot(axis, a.1).min(dot(axis, b.1)) - dot(axis, a.0).max(dot(axis, b.0))
}
