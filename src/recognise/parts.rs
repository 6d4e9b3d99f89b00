//! Parts of a fill that lie on its grid, whatever they look like by themselves.

use std::collections::VecDeque;

use geo::MultiPolygon;

use super::fill::{self, ReadFill};
use super::grid::Grid;
use super::sections::{TOUCHING, areas, around, split, touching};
use super::segment::{Kind, ReadStretch, Segment};
use super::tops::TWO_ROWS;
use super::track::{Sweep, Track, chains};
use super::weave::Weave;
use crate::geometry::locate::Locator;
use crate::geometry::vector::{between_lines, cross, direction, distance, dot};
use crate::objects::Fill;

/// A fill that explains more of its needle points needs no grid.
const DOUBTFUL: f64 = 0.8;
/// Fewest rows of a part by itself.
const ROWS: usize = 3;
/// And of one that touches the fill, with this share of the line's length in rows.
const FEW_ROWS: usize = 2;
const ROWS_SHARE: f64 = 0.45;
/// Most odd sweeps at either end of a weave: what leads to it and on.
const ODD_ENDS: usize = 2;
/// A stitch that turns further off the lines leads from row to row, degrees.
const ALONG_DEG: f64 = 40.0;
/// Rows together run along the lines, but for so many degrees where they are few.
const PARALLEL_DEG: f64 = 15.0;
/// Shortest row, mm.
const SHORTEST: f64 = 0.4;
/// Lines from one end of a row to the other, where rows are joined in a V, and from row to row.
const ROW_LINES: f64 = 1.3;
const STEP_LINES: f64 = 2.3;
/// Rows of one part lie on different lines.
const NEXT_LINES: f64 = 0.6;
/// Share of rows that do; of those in a line with little else.
const NEXT_SHARE: f64 = 0.8;
const MOSTLY_NEXT: f64 = 0.5;
/// Most stitches from row to row.
const STEP_STITCHES: usize = 3;

/// Most rows of a part that the fill beside it tells more of than they do.
const FEW_BESIDE: usize = 16;

/// Makes straight fills of doubtful tops and open weaves, and of rows in lines, that lie on the grid
/// of a fill near by. Says whether there are any.
pub fn adopt(stretches: &mut [ReadStretch]) -> bool {
    let grids = grids(stretches);
    let areas = areas(stretches);
    let mut found = Vec::new();
    for s in 0..stretches.len() {
        for g in 0..stretches[s].segments.len() {
            if is_settled(&stretches[s].segments[g]) {
                continue;
            }
            let near = Near {
                grids: near(&grids, stretches, (s, g)),
                areas: || fills_beside(&areas, stretches, (s, g)),
            };
            found.extend(part(&stretches[s], g, &near).map(|part| (s, g, part)));
        }
    }
    let mut any = !found.is_empty();
    // From the last on: those before keep their numbers.
    for (s, g, part) in found.into_iter().rev() {
        let (weave, read) = part;
        split(&mut stretches[s], g, weave, read);
    }
    if any {
        stretches.iter_mut().for_each(ReadStretch::join_lines);
    }
    let grids = if any { self::grids(stretches) } else { grids };
    for s in 0..stretches.len() {
        let mut longer = false;
        for g in 0..stretches[s].segments.len() {
            longer |= extend(stretches, (s, g), &grids);
        }
        if longer {
            stretches[s].segments.retain(|segment| segment.points.0 < segment.points.1);
        }
        any |= longer;
    }
    any
}

/// Takes the rows that go on from either end of a fill out of the lines beside it.
fn extend(
    stretches: &mut [ReadStretch],
    (s, g): (usize, usize),
    grids: &[((usize, usize), Grid)],
) -> bool {
    let stretch = &stretches[s];
    let Segment { kind: Kind::Fill(old), weave: Some(weave), .. } = &stretch.segments[g] else {
        return false;
    };
    let lines = [g.checked_sub(1), Some(g + 1)].map(|g| line(stretch, g));
    if !old.straight || lines == [None, None] {
        return false;
    }
    let track = &stretch.track;
    let own =
        |grid: &&Grid| grid.fits_closely(track, &weave.sweeps) && runs_along(track, weave, grid);
    let near = near(grids, stretches, (s, g));
    let Some(grid) = near.iter().find(own) else { return false };
    let Some(weave) = longer(track, old, lines, grid) else { return false };
    let new = read(track, &weave, grid);
    let new = ReadFill { explained: old.explained.max(new.explained), ..new };
    widen(&mut stretches[s], g, weave, new);
    true
}

/// Track points of a segment that is a line.
fn line(stretch: &ReadStretch, g: Option<usize>) -> Option<(usize, usize)> {
    let segment = stretch.segments.get(g?)?;
    matches!(segment.kind, Kind::Line).then_some(segment.points)
}

/// The rows of a fill, tips included, with those that go on in the line before it and the one after
/// it, if there are any.
fn longer(
    track: &Track,
    fill: &ReadFill,
    [before, after]: [Option<(usize, usize)>; 2],
    grid: &Grid,
) -> Option<Weave> {
    let own = fill.rows.iter().map(|(first, last)| Sweep { first: *first, last: *last });
    let mut sweeps: VecDeque<Sweep> = own.collect();
    let ways = |points: Option<(usize, usize)>| {
        points.into_iter().flat_map(|points| readings(track, points, grid))
    };
    // The first way to read a line that gives the fill any row.
    let at_start = ways(before).any(|rows| {
        let join = |row: &&Sweep| go_on_at(track, grid, &mut sweeps, row, true);
        rows.iter().rev().take_while(join).count() > 0
    });
    let at_end = ways(after).any(|rows| {
        let join = |row: &&Sweep| go_on_at(track, grid, &mut sweeps, row, false);
        rows.iter().take_while(join).count() > 0
    });
    (at_start || at_end).then(|| Weave { sweeps: sweeps.into() })
}

/// Gives rows one more at their start or end, if it goes on from them there.
fn go_on_at(
    track: &Track,
    grid: &Grid,
    rows: &mut VecDeque<Sweep>,
    row: &Sweep,
    at_start: bool,
) -> bool {
    let outermost = if at_start { 0 } else { rows.len() - 1 };
    let (first, next) = if at_start { (*row, rows[0]) } else { (rows[outermost], *row) };
    if continues(track, grid, &first, &next) {
        rows[outermost] = Sweep { first: first.first, last: next.last };
        return true;
    }
    let follows = follows(track, grid, &first, &next);
    match (follows, at_start) {
        (true, true) => rows.push_front(*row),
        (true, false) => rows.push_back(*row),
        (false, _) => {}
    }
    follows
}

/// Does a row go on along its own line?
fn continues(track: &Track, grid: &Grid, row: &Sweep, on: &Sweep) -> bool {
    row.last == on.first
        && !is_next(track, row, on, grid)
        && dot(row.chord(track), on.chord(track)) > 0.0
}

/// Gives a segment rows of the lines beside it.
fn widen(stretch: &mut ReadStretch, g: usize, weave: Weave, read: ReadFill) {
    let (first, last) = weave.span();
    if let Some(before) = g.checked_sub(1).and_then(|g| stretch.segments.get_mut(g)) {
        before.points.1 = before.points.1.min(first);
    }
    if let Some(after) = stretch.segments.get_mut(g + 1) {
        after.points.0 = after.points.0.max(last);
    }
    let old = stretch.segments[g].points;
    stretch.segments[g] = Segment {
        kind: Kind::Fill(Box::new(read)),
        points: (old.0.min(first), old.1.max(last)),
        weave: Some(weave),
    };
}

/// What lies around a segment.
struct Near<F> {
    /// The grids of fills of its stop.
    grids: Vec<Grid>,
    /// The areas of those fills and others.
    areas: F,
}

/// The grids of all fills that have one, in sewing order.
fn grids(stretches: &[ReadStretch]) -> Vec<((usize, usize), Grid)> {
    let of = |(s, g): (usize, usize)| {
        let grid = Grid::of_segment(&stretches[s].track, &stretches[s].segments[g])?;
        Some(((s, g), grid))
    };
    areas(stretches).into_iter().filter_map(of).collect()
}

/// The grids of the fills of its stop sewn not long before or after a segment, for either pass.
fn near(
    grids: &[((usize, usize), Grid)],
    stretches: &[ReadStretch],
    own: (usize, usize),
) -> Vec<Grid> {
    let near = around(grids, |(area, _)| *area < own).iter();
    let same =
        near.filter(|(other, _)| *other != own && stretches[other.0].stop == stretches[own.0].stop);
    same.flat_map(|(_, grid)| grid.passes()).collect()
}

/// The areas of such fills, whether they have a grid or not.
fn fills_beside<'a>(
    areas: &[(usize, usize)],
    stretches: &'a [ReadStretch],
    own: (usize, usize),
) -> Vec<&'a MultiPolygon<f64>> {
    let near = around(areas, |area| *area < own).iter();
    let fill = |(s, g): &(usize, usize)| match &stretches[*s].segments[*g].kind {
        Kind::Fill(read) if read.straight && stretches[*s].stop == stretches[own.0].stop => {
            Some(&read.footprint)
        }
        _ => None,
    };
    near.filter_map(fill).collect()
}

/// Is there nothing to be found in a segment?
fn is_settled(segment: &Segment) -> bool {
    match &segment.kind {
        Kind::Tie => true,
        Kind::Line => segment.points.1 - segment.points.0 < FEW_ROWS,
        Kind::Fill(read) => read.straight && read.explained >= DOUBTFUL,
        _ => false,
    }
}

/// What of a segment is a part of a fill with one of these grids.
fn part<'a>(
    stretch: &ReadStretch,
    g: usize,
    near: &Near<impl Fn() -> Vec<&'a MultiPolygon<f64>>>,
) -> Option<(Weave, ReadFill)> {
    let segment = &stretch.segments[g];
    match &segment.kind {
        Kind::Line => {
            let rows = |grid| rows_in_line(&stretch.track, segment, grid, &near.areas);
            near.grids.iter().find_map(rows)
        }
        kind => {
            let weave = match kind {
                Kind::Open(weave) => weave,
                _ => segment.weave.as_ref()?,
            };
            let (axis, _) = weave.axis(&stretch.track);
            let parallel = |grid: &&Grid| between_lines(axis, grid.angle()) <= PARALLEL_DEG;
            let mut grids = near.grids.iter().filter(parallel);
            let found = grids.clone().find_map(|grid| whole(&stretch.track, weave, grid));
            let beside = || grids.find_map(|grid| few_beside(&stretch.track, weave, grid, near));
            let (weave, read) = found.or_else(beside)?;
            let better = match kind {
                Kind::Fill(old) => !old.straight || read.explained > old.explained,
                _ => true,
            };
            better.then_some((weave, read))
        }
    }
}

/// A weave whose rows lie on a grid, but for some at its ends.
fn whole(track: &Track, weave: &Weave, grid: &Grid) -> Option<(Weave, ReadFill)> {
    rows_on(track, weave, grid, Grid::holds)
}

/// A weave of a few rows that lie on a grid beside a fill, and over none.
fn few_beside<'a>(
    track: &Track,
    weave: &Weave,
    grid: &Grid,
    near: &Near<impl Fn() -> Vec<&'a MultiPolygon<f64>>>,
) -> Option<(Weave, ReadFill)> {
    if weave.sweeps.len() > FEW_BESIDE {
        return None;
    }
    let part = rows_on(track, weave, grid, Grid::fits_closely)?;
    let rows = &part.0.sweeps;
    let areas = (near.areas)();
    let touched = areas.iter().filter_map(|area| touching(track, rows, area, far(grid)));
    let touched: Vec<Locator> = touched.collect();
    let is_over = |row: &Sweep| touched.iter().any(|area| area.is_within(row.middle(track), 0.0));
    (!touched.is_empty() && !rows.iter().any(is_over)).then_some(part)
}

/// The rows of a weave that lie on a grid, but for some at its ends.
fn rows_on(
    track: &Track,
    weave: &Weave,
    grid: &Grid,
    holds: impl Fn(&Grid, &Track, &[Sweep]) -> bool,
) -> Option<(Weave, ReadFill)> {
    let is_odd = |row: &Sweep| !lies_on(track, *row, grid);
    let upto = |rows: &mut dyn Iterator<Item = &Sweep>| {
        let odd = rows.take(ODD_ENDS).enumerate().filter(|(_, row)| is_odd(row));
        odd.last().map_or(0, |(i, _)| i + 1)
    };
    let before = upto(&mut weave.sweeps.iter());
    let after = upto(&mut weave.sweeps.iter().rev());
    let sweeps = weave.sweeps.get(before..weave.sweeps.len().saturating_sub(after))?;
    let weave = Weave { sweeps: sweeps.to_vec() };
    let holds = weave.sweeps.len() >= ROWS && holds(grid, track, &weave.sweeps);
    (holds && runs_along(track, &weave, grid)).then(|| {
        let read = read(track, &weave, grid);
        (weave, read)
    })
}

/// Rows that are a part of the fill with this grid.
fn read(track: &Track, weave: &Weave, grid: &Grid) -> ReadFill {
    let read = fill::straightened(track, weave, fill::read(track, weave));
    let explained = read.explained.max(grid.explained(track, &weave.sweeps));
    let fill = Fill { angle: grid.angle(), row_pitch: grid.pitch(), ..read.fill };
    ReadFill { explained, fill, ..read }
}

/// Do rows run along the lines of a grid, one after the other?
fn runs_along(track: &Track, weave: &Weave, grid: &Grid) -> bool {
    between_lines(weave.axis(track).0, grid.angle()) <= PARALLEL_DEG
        && weave.sweeps.iter().all(|row| lines(track, *row, grid) <= STEP_LINES * grid.step)
        && share(&weave.sweeps, |row| is_row(track, *row, grid)) >= NEXT_SHARE
        && share_of_steps(track, &weave.sweeps, grid) >= NEXT_SHARE
}

/// Share of rows that lie on another line than the one before. Crossings of a column may lie on lines
/// half as far apart.
fn share_of_steps(track: &Track, rows: &[Sweep], grid: &Grid) -> f64 {
    let steps = rows.windows(2).filter(|w| is_next(track, &w[0], &w[1], grid)).count();
    steps as f64 / rows.len().saturating_sub(1).max(1) as f64
}

fn is_next(track: &Track, a: &Sweep, b: &Sweep, grid: &Grid) -> bool {
    let middle = |row: &Sweep| grid.row(row.middle(track));
    (middle(a) - middle(b)).abs() >= NEXT_LINES * grid.step
}

fn lies_on(track: &Track, row: Sweep, grid: &Grid) -> bool {
    grid.is_on(track.at[row.first]) && grid.is_on(track.at[row.last])
}

fn is_row(track: &Track, row: Sweep, grid: &Grid) -> bool {
    lines(track, row, grid) <= ROW_LINES * grid.step
}

/// Lines from one end of a row to the other; a step to the next may have been taken for its end.
fn lines(track: &Track, row: Sweep, grid: &Grid) -> f64 {
    (grid.row(track.at[row.last]) - grid.row(track.at[row.first])).abs()
}

fn share(rows: &[Sweep], of: impl Fn(&Sweep) -> bool) -> f64 {
    rows.iter().filter(|row| of(row)).count() as f64 / rows.len().max(1) as f64
}

/// Rows in a line that lie on a grid: the longest chain; or most of them, if it has little else and
/// touches the fill. Where an edge lies flat to the rows, steps are told from them in either way.
fn rows_in_line<'a>(
    track: &Track,
    line: &Segment,
    grid: &Grid,
    areas: impl Fn() -> Vec<&'a MultiPolygon<f64>>,
) -> Option<(Weave, ReadFill)> {
    let found = readings(track, line.points, grid)
        .into_iter()
        .find_map(|all| rows_among(track, line, all, grid, &areas));
    found.map(|sweeps| {
        let weave = Weave { sweeps };
        let read = read(track, &weave, grid);
        (weave, read)
    })
}

fn rows_among<'a>(
    track: &Track,
    line: &Segment,
    all: Vec<Sweep>,
    grid: &Grid,
    areas: impl Fn() -> Vec<&'a MultiPolygon<f64>>,
) -> Option<Vec<Sweep>> {
    let long = |rows: &Vec<Sweep>| rows.len() >= ROWS && grid.holds(track, rows);
    let chains =
        there_and_back(track, grid, chains(all.clone(), |a, b| follows(track, grid, a, b)));
    let chain = chains.into_iter().filter(long).max_by_key(Vec::len);
    chain.or_else(|| {
        let sewn = Sweep { first: line.points.0, last: line.points.1 }.sewn(track);
        // What leads to the first row may have a piece on a line, too.
        let length = |rows: &Vec<Sweep>| rows.iter().map(|row| row.length(track)).sum::<f64>();
        let joined = self::chains(all, |a, b| leads_on(track, grid, a, b));
        let all = joined.into_iter().max_by(|a, b| length(a).total_cmp(&length(b)))?;
        let in_rows = length(&all);
        let little_else = all.len() >= FEW_ROWS && in_rows >= ROWS_SHARE * sewn;
        let touching =
            || areas().iter().any(|area| touching(track, &all, area, far(grid)).is_some());
        let next = share_of_steps(track, &all, grid) >= MOSTLY_NEXT;
        (little_else && next && grid.fits_closely(track, &all) && touching()).then_some(all)
    })
}

/// Joins chains of two passes where the second begins: on the line beside the last one, and back.
fn there_and_back(track: &Track, grid: &Grid, chains: Vec<Vec<Sweep>>) -> Vec<Vec<Sweep>> {
    let mut joined: Vec<Vec<Sweep>> = Vec::with_capacity(chains.len());
    for chain in chains {
        match joined.last_mut() {
            Some(out) if turns_back(track, grid, out, &chain) => out.extend(chain),
            _ => joined.push(chain),
        }
    }
    joined
}

/// Do rows of a second pass lie between those of the first that they come right after?
fn turns_back(track: &Track, grid: &Grid, out: &[Sweep], back: &[Sweep]) -> bool {
    let middle = |row: &Sweep| grid.row(row.middle(track));
    let advance = |rows: &[Sweep]| middle(&rows[rows.len() - 1]) - middle(&rows[0]);
    let (last, first) = (&out[out.len() - 1], &back[0]);
    grid.has_two_passes()
        && first.first >= last.last
        && leads_on(track, grid, last, first)
        && (middle(first) - middle(last)).abs() >= NEXT_LINES
        && dot(last.chord(track), first.chord(track)) < 0.0
        && advance(out) * advance(back) < 0.0
}

/// How far rows may lie from the fill that they touch, mm.
fn far(grid: &Grid) -> f64 {
    TOUCHING.max(TWO_ROWS * grid.pitch())
}

/// May one row come right after another?
fn follows(track: &Track, grid: &Grid, a: &Sweep, b: &Sweep) -> bool {
    b.first >= a.last
        && leads_on(track, grid, a, b)
        && is_next(track, a, b, grid)
        && dot(a.chord(track), b.chord(track)) < 0.0
}

/// Does a row begin near where another ended?
fn leads_on(track: &Track, grid: &Grid, a: &Sweep, b: &Sweep) -> bool {
    let step = Sweep { first: a.last, last: b.first };
    step.stitches() <= STEP_STITCHES && lines(track, step, grid) <= STEP_LINES * grid.step
}

/// Pieces that go one way along the lines and begin and end on one. Where the outline is at a flat
/// angle to the rows a step from one to the next is not steep: what makes more rows counts.
pub fn rows(track: &Track, points: (usize, usize), grid: &Grid) -> Vec<Sweep> {
    let [best, _] = readings(track, points, grid);
    best
}

/// Such pieces, read in either way; first what makes more rows.
fn readings(track: &Track, points: (usize, usize), grid: &Grid) -> [Vec<Sweep>; 2] {
    let length = |rows: &Vec<Sweep>| rows.iter().map(|row| row.length(track)).sum::<f64>();
    let (steep, lines) = (pieces(track, points, grid, false), pieces(track, points, grid, true));
    if length(&lines) > length(&steep) { [lines, steep] } else { [steep, lines] }
}

/// Pieces between steep steps, or also between those that lead from line to line.
fn pieces(
    track: &Track,
    (from, to): (usize, usize),
    grid: &Grid,
    from_line_to_line: bool,
) -> Vec<Sweep> {
    let axis = direction(grid.angle());
    let steep = ALONG_DEG.to_radians().tan();
    let along = |i: usize| {
        let stitch = track.at[i] - track.at[i - 1];
        let step = Sweep { first: i - 1, last: i };
        let leads = from_line_to_line && lines(track, step, grid) >= NEXT_LINES * grid.step;
        (!leads && cross(axis, stitch).abs() <= steep * dot(axis, stitch).abs()).then_some(stitch)
    };
    let mut pieces: Vec<Sweep> = Vec::new();
    let mut before = None;
    for i in from + 1..=to {
        let own = along(i);
        if let Some(stitch) = own {
            match (before, pieces.last_mut()) {
                (Some(last), Some(piece)) if dot(last, stitch) > 0.0 => piece.last = i,
                _ => pieces.push(Sweep { first: i - 1, last: i }),
            }
        }
        before = own;
    }
    pieces.retain(|row| {
        distance(track.at[row.first], track.at[row.last]) >= SHORTEST
            && lies_on(track, *row, grid)
            && is_row(track, *row, grid)
    });
    pieces
}
