//! Narrow parts of a fill: where its rows are one or two stitches long they read as a column.

use std::collections::BTreeSet;

use geo::{Area, BoundingRect, Coord, CoordsIter, LineString, MultiPolygon};

use super::bent;
use super::fill::{self, ReadFill};
use super::grid::Grid;
use super::parts;
use super::segment::{Kind, ReadStretch, Segment};
use super::tip;
use super::tops::Top;
use super::track::{Sweep, Track, chains};
use super::weave::{MIN_SWEEPS, Weave};
use crate::geometry::boxes::near;
use crate::geometry::locate::Locator;
use crate::geometry::vector::{between_lines, distance, dot, line_angle};
use crate::objects::Fill;

/// Sections of one fill lie this close, mm.
pub const TOUCHING: f64 = 1.0;
/// Few rows say little about their angle and pitch; short ones slant.
const FEW: usize = 10;
/// Most degrees and share of the pitch that a part may be off the fill that it touches.
const OFF: (f64, f64) = (4.0, 0.2);
const OFF_FEW: (f64, f64) = (12.0, 0.4);
/// The same for a part right before or after the fill in one stretch.
const OFF_NEXT: (f64, f64) = (12.0, 0.5);
const OFF_NEXT_FEW: (f64, f64) = (20.0, 0.8);
/// And for an island of its own: rows at one angle and pitch are no chance.
const OFF_APART: (f64, f64) = (2.0, 0.12);
/// Fewest rows of a fill that others can be a part of.
const ROWS: usize = 9;
/// The same where they lie far apart: of a gradient.
const WIDE_ROWS: usize = 6;
/// Fewest rows of a fill by itself that is no larger than this, mm²: stitches thrown any way may lie so.
const LONE_ROWS: usize = 7;
const LONE_MM2: f64 = 5.0;
/// Rows of a gradient lie up to so much closer or wider than those of its other parts.
const GRADIENT_OFF: f64 = 1.5;
/// Its parts lie no further apart than so many of its widest rows; and the widest of other fills, mm.
const GRADIENT_FAR: f64 = 2.5;
const PLAIN_MM: f64 = 0.8;
/// And they run its way, but for so many degrees.
const GRADIENT_DEG: f64 = 6.0;
/// Longest line in which rows are looked for, stitches, and the share of its length that they have.
const LINE_STITCHES: usize = 60;
const ROWS_SHARE: f64 = 0.6;
/// The share where the distance of rows does not tell.
const ALONG_SHARE: f64 = 0.9;
/// Most stitches from one row to the next in longer lines.
const STEP_STITCHES: usize = 3;
/// Lines of more stitches are no link from one part to the next, unless they go straight there.
const LINK_STITCHES: usize = 24;
const LINK_STRAIGHT: f64 = 0.8;
/// Stitches of short rows slant by up to so many degrees.
const ALONG_ROWS_DEG: f64 = 25.0;
/// Of so many stitches may such a row be, and so many of them turn back and back again: fewer are the end of
/// a line, and more than so many stitches something of its own (J).
const ROW_STITCHES: usize = 6;
const ODD_ROWS: usize = 3;
const ODD_ROW_STITCHES: usize = 24;
/// Steps from row to row are no longer than this, mm (J: two pitches of usual fills).
const STEP_MM: f64 = 0.5;
/// A part is sewn at most so many areas before or after.
const AWAY: usize = 8;

/// Makes fills of what is a part of one near by: by its grid, or by angle and pitch of columns and of
/// few rows next to it.
pub fn adopt(stretches: &mut [ReadStretch]) {
    // What was adopted may touch the next one.
    while parts::adopt(stretches)
        || adopt_once(stretches)
        || take_few_rows(stretches)
        || bent::take_rows(stretches)
    {}
}

fn adopt_once(stretches: &mut [ReadStretch]) -> bool {
    let areas: Vec<(usize, usize)> = areas(stretches);
    let mut found = Vec::new();
    for (place, &(s, g)) in areas.iter().enumerate() {
        let segment = &stretches[s].segments[g];
        let Some(weave) = segment.weave.as_ref().filter(|weave| is_doubtful(segment, weave)) else {
            continue;
        };
        let near = &areas[place.saturating_sub(AWAY)..areas.len().min(place + AWAY + 1)];
        if near.iter().any(|&fill| is_part(stretches, (s, g), weave, fill)) {
            let read = fill::read(&stretches[s].track, weave);
            if read.straight {
                found.push((s, g, read));
            } else if weave.sweeps.len() <= FEW {
                found.push((s, g, fill::straightened(&stretches[s].track, weave, read)));
            }
        }
    }
    let any = !found.is_empty();
    for (s, g, read) in found {
        stretches[s].segments[g].kind = Kind::Fill(Box::new(read));
    }
    any
}

/// Takes two or three rows out of lines: too few to be rows by themselves, but at the angle and pitch
/// of a fill that they touch.
fn take_few_rows(stretches: &mut [ReadStretch]) -> bool {
    let areas = areas(stretches);
    let mut found = Vec::new();
    for s in 0..stretches.len() {
        for g in 0..stretches[s].segments.len() {
            if !matches!(stretches[s].segments[g].kind, Kind::Line | Kind::Open(_)) {
                continue;
            }
            let near = around(&areas, |area| *area < (s, g));
            let rows = near.iter().find_map(|other| few_rows(stretches, (s, g), *other));
            found.extend(rows.map(|weave| (s, g, weave)));
        }
    }
    split_off(stretches, found, |track, weave| {
        fill::straightened(track, weave, fill::read(track, weave))
    })
}

/// The rows in a line that are a part of the fill `other`.
fn few_rows(
    stretches: &[ReadStretch],
    own: (usize, usize),
    other: (usize, usize),
) -> Option<Weave> {
    let fill = straight_read(&stretches[other.0].segments[other.1])?;
    let stretch = &stretches[own.0];
    let (track, segment) = (&stretch.track, &stretch.segments[own.1]);
    let is_open = matches!(segment.kind, Kind::Open(_));
    // A section of a gradient may have too few rows to show that their distance changes.
    let is_gradient = fill.is_gradient() || fill.spacing.1 > PLAIN_MM;
    if stretch.stop != stretches[other.0].stop || is_open && !is_gradient {
        return None;
    }
    let rows = |points| -> Vec<Sweep> {
        let rows = tip::rows(track, points, fill.fill.angle).into_iter();
        rows.map(|(first, last)| Sweep { first, last }).collect()
    };
    let points = segment.points;
    let at_end = beside_line(stretches, own, other);
    let sweeps = if !is_open && points.1 - points.0 > LINE_STITCHES {
        rows_at_end(track, points, at_end?, rows)
    } else {
        rows(points)
    };
    let back = |w: &[Sweep]| dot(w[0].chord(track), w[1].chord(track)) < 0.0;
    // Where rows lie wide apart, anything may happen to lie as far.
    let slants = |row: &Sweep| {
        is_gradient && between_lines(line_angle(row.chord(track)), fill.fill.angle) > GRADIENT_DEG
    };
    if sweeps.len() < 2 || !sweeps.windows(2).all(back) || sweeps.iter().any(slants) {
        return None;
    }
    let weave = Weave { sweeps };
    let (first, last) = weave.span();
    let in_rows: f64 = weave.sweeps.iter().map(|row| row.length(track)).sum();
    let share = in_rows / Sweep { first, last }.sewn(track);
    // What is sewn right before it or after it, and only along its rows, is no line.
    let along = || share >= ALONG_SHARE && at_end.is_some();
    let far = TOUCHING.max(if is_gradient { GRADIENT_FAR * fill.spacing.1 } else { 0.0 });
    if share < ROWS_SHARE || !(as_far_apart(&weave, track, fill, is_gradient) || along()) {
        return None;
    }
    let area = touching(track, &weave.sweeps, &fill.footprint, far)?;
    let is_over = |row: &Sweep| area.is_within(row.middle(track), 0.0);
    (!is_open || !weave.sweeps.iter().any(is_over)).then_some(weave)
}

/// Do rows lie about as far apart as those of a fill?
fn as_far_apart(weave: &Weave, track: &Track, fill: &ReadFill, is_gradient: bool) -> bool {
    let advance = weave.advance(track);
    if is_gradient {
        (fill.spacing.0 / GRADIENT_OFF..=fill.spacing.1 * GRADIENT_OFF).contains(&advance)
    } else {
        (advance - fill.fill.row_pitch).abs() <= OFF_FEW.1 * fill.fill.row_pitch
    }
}

/// Do rows come so near to an area, mm? Gives what finds places in it.
pub fn touching(
    track: &Track,
    rows: &[Sweep],
    area: &MultiPolygon<f64>,
    far: f64,
) -> Option<Locator> {
    let points = rows.first()?.first..=rows.last()?.last;
    if !is_near(&track.at[points.clone()], area, far) {
        return None;
    }
    let locator = Locator::new(area);
    track.at[points].iter().any(|at| locator.is_within(*at, far)).then_some(locator)
}

/// Does a line end right before a fill (true), or begin right after it? Its sections count as one.
fn beside_line(
    stretches: &[ReadStretch],
    (s, g): (usize, usize),
    (t, h): (usize, usize),
) -> Option<bool> {
    let between = if h > g { g + 1..h + 1 } else { h..g };
    let is_fill = |segment: &Segment| matches!(&segment.kind, Kind::Fill(read) if read.straight);
    (s == t && stretches[s].segments[between].iter().all(is_fill)).then_some(h > g)
}

/// The rows that follow each other to the end of a long line, or from its start.
fn rows_at_end(
    track: &Track,
    (from, to): (usize, usize),
    at_end: bool,
    rows: impl Fn((usize, usize)) -> Vec<Sweep>,
) -> Vec<Sweep> {
    let points = if at_end { (to - LINE_STITCHES, to) } else { (from, from + LINE_STITCHES) };
    let mut chains = chains(rows(points), |a, b| {
        b.first - a.last <= STEP_STITCHES && dot(a.chord(track), b.chord(track)) < 0.0
    });
    let chain = if at_end { chains.pop() } else { chains.drain(..).next() };
    let step = |rows: &Vec<Sweep>| match at_end {
        true => to - rows[rows.len() - 1].last,
        false => rows[0].first - from,
    };
    chain.filter(|rows| step(rows) <= STEP_STITCHES).unwrap_or_default()
}

/// May points lie so near to an area, by their boxes?
pub fn is_near(points: &[Coord<f64>], area: &MultiPolygon<f64>, far: f64) -> bool {
    let own = LineString(points.to_vec()).bounding_rect();
    own.zip(area.bounding_rect()).is_some_and(|(own, area)| near(own, area, far))
}

/// Those of a list in sewing order that come not long before or after a place in it.
pub fn around<T>(list: &[T], before: impl Fn(&T) -> bool) -> &[T] {
    let place = list.partition_point(before);
    &list[place.saturating_sub(AWAY)..list.len().min(place + AWAY)]
}

/// Makes fills of the rows found in segments, given by (stretch, segment) in order. Says whether there
/// are any.
pub fn split_off(
    stretches: &mut [ReadStretch],
    found: Vec<(usize, usize, Weave)>,
    read: impl Fn(&Track, &Weave) -> ReadFill,
) -> bool {
    let any = !found.is_empty();
    // From the last on: those before keep their numbers.
    for (s, g, weave) in found.into_iter().rev() {
        let read = read(&stretches[s].track, &weave);
        split(&mut stretches[s], g, weave, read);
    }
    any
}

/// Makes a segment of its own of the rows in another.
pub fn split(stretch: &mut ReadStretch, g: usize, weave: Weave, read: ReadFill) {
    let (from, to) = stretch.segments[g].points;
    let (first, last) = weave.span();
    let line = |points| Segment { kind: Kind::Line, points, weave: None };
    let rows =
        Segment { kind: Kind::Fill(Box::new(read)), points: (first, last), weave: Some(weave) };
    let parts = [line((from, first)), rows, line((last, to))];
    let parts = parts.into_iter().filter(|part| part.points.0 < part.points.1);
    stretch.segments.splice(g..=g, parts);
}

/// Gives back the few rows that belong to no larger fill after all. Says whether there are any.
pub fn drop_lone_rows(stretches: &mut [ReadStretch], tops: &[Top]) -> bool {
    let is_few = |(s, g): (usize, usize)| match &stretches[s].segments[g].kind {
        Kind::Fill(read) => {
            let rows = read.rows.len();
            rows < MIN_SWEEPS || rows < LONE_ROWS && read.footprint.unsigned_area() < LONE_MM2
        }
        _ => false,
    };
    let alone = tops.iter().filter(|top| top.sections.len() == 1).map(|top| top.sections[0]);
    let few: Vec<(usize, usize)> = alone.filter(|section| is_few(*section)).collect();
    for &(s, g) in &few {
        stretches[s].segments[g].kind = Kind::Line;
        stretches[s].segments[g].weave = None;
    }
    // Lines keep their places until all are given back.
    let touched: BTreeSet<usize> = few.iter().map(|(s, _)| *s).collect();
    for s in touched {
        stretches[s].join_lines();
    }
    !few.is_empty()
}

/// May this be a part of a fill without looking like one?
fn is_doubtful(segment: &Segment, weave: &Weave) -> bool {
    match &segment.kind {
        Kind::Satin(_) | Kind::SplitSatin(_) => true,
        Kind::Fill(read) => !read.straight && weave.sweeps.len() <= FEW,
        _ => false,
    }
}

/// All satins and fills, in sewing order, as (stretch, segment).
pub fn areas(stretches: &[ReadStretch]) -> Vec<(usize, usize)> {
    let of = |(s, stretch): (usize, &ReadStretch)| {
        let own = stretch.segments.iter().enumerate().filter(|(_, segment)| segment.is_top());
        own.map(|(g, _)| (s, g)).collect::<Vec<_>>()
    };
    stretches.iter().enumerate().flat_map(of).collect()
}

fn is_part(
    stretches: &[ReadStretch],
    own: (usize, usize),
    weave: &Weave,
    other: (usize, usize),
) -> bool {
    let Some((fill, area)) = straight_fill(&stretches[other.0].segments[other.1]) else {
        return false;
    };
    if stretches[own.0].stop != stretches[other.0].stop
        || are_parted(stretches, own, other, LINK_STITCHES)
    {
        return false;
    }
    let track = &stretches[own.0].track;
    let few = weave.sweeps.len() <= FEW;
    let next = own.0 == other.0 && is_next(&stretches[own.0], own.1, other.1);
    let alike = |(turn, share): (f64, f64)| {
        between_lines(weave.axis(track).0, fill.angle) <= turn
            && (weave.advance(track) - fill.row_pitch).abs() <= share * fill.row_pitch
    };
    let touches =
        || stretches[own.0].segments[own.1].footprint().is_some_and(|own| touch(own, area));
    let denied = || {
        let grid =
            Grid::of_segment(&stretches[other.0].track, &stretches[other.0].segments[other.1]);
        grid.is_some_and(|grid| grid.denies(track, &weave.sweeps))
    };
    (alike(OFF_APART)
        || next && alike(if few { OFF_NEXT_FEW } else { OFF_NEXT })
        || alike(if few { OFF_FEW } else { OFF }) && touches())
        && !denied()
}

fn straight_fill(segment: &Segment) -> Option<(&Fill, &MultiPolygon<f64>)> {
    straight_read(segment).map(|read| (&read.fill, &read.footprint))
}

fn straight_read(segment: &Segment) -> Option<&ReadFill> {
    match &segment.kind {
        Kind::Fill(read) if read.straight => {
            let fewest = if read.spacing.1 > PLAIN_MM { WIDE_ROWS } else { ROWS };
            (read.rows.len() >= fewest).then_some(read)
        }
        _ => None,
    }
}

/// Does nothing but a few stitches of a line lie between two segments?
fn is_next(stretch: &ReadStretch, a: usize, b: usize) -> bool {
    const STITCHES: usize = 12;
    let (low, high) = (a.min(b), a.max(b));
    let short = |s: &Segment| {
        matches!(s.kind, Kind::Line | Kind::Tie) && s.points.1 - s.points.0 <= STITCHES
    };
    high - low <= 2 && stretch.segments[low + 1..high].iter().all(short)
}

/// Do two areas touch, judged at their corners?
fn touch(a: &MultiPolygon<f64>, b: &MultiPolygon<f64>) -> bool {
    let (Some(ra), Some(rb)) = (a.bounding_rect(), b.bounding_rect()) else { return false };
    if !near(ra, rb, TOUCHING) {
        return false;
    }
    let one_way = |from: &MultiPolygon<f64>, to: &MultiPolygon<f64>| {
        corner_is_within(from, &Locator::new(to), TOUCHING)
    };
    one_way(a, b) || one_way(b, a)
}

/// Does a corner of an area lie in another one, or so many mm beside it?
pub fn corner_is_within(area: &MultiPolygon<f64>, other: &Locator, far: f64) -> bool {
    area.coords_iter().any(|corner| other.is_within(corner, far))
}

/// Is there underlay between two segments, as before an object of its own: rows wide apart, or a
/// line of more than `most` stitches that leads nowhere? In such a line there may be rows of the two, too
/// few or too short to be known.
pub fn are_parted(
    stretches: &[ReadStretch],
    a: (usize, usize),
    b: (usize, usize),
    most: usize,
) -> bool {
    let (low, high) = (a.min(b), a.max(b));
    let read = [a, b].map(|(s, g)| straight_read(&stretches[s].segments[g]));
    let angles: Vec<f64> = read.iter().flatten().map(|read| read.fill.angle).collect();
    (low.0..=high.0).any(|s| {
        let (track, all) = (&stretches[s].track, &stretches[s].segments);
        let from = if s == low.0 { low.1 + 1 } else { 0 };
        let to = if s == high.0 { high.1 } else { all.len() };
        let is_bent = |line: &Sweep| line.length(track) < LINK_STRAIGHT * line.sewn(track);
        all[from.min(to)..to].iter().any(|segment| match segment.kind {
            Kind::Open(_) => true,
            Kind::Line => {
                let (first, last) = segment.points;
                let line = Sweep { first, last };
                let left = || without_rows(track, line, &angles).into_iter().filter(is_bent);
                line.stitches() > most
                    && is_bent(&line)
                    && left().map(|part| part.stitches()).sum::<usize>() > most
            }
            _ => false,
        })
    })
}

/// What is left of a line where short rows at one of some angles (degrees) are taken out of it: they turn
/// back and back again after a few stitches, at once or by a step, which a line along an edge or a way does
/// not.
fn without_rows(track: &Track, line: Sweep, angles: &[f64]) -> Vec<Sweep> {
    let stitch = |i: usize| track.at[i] - track.at[i - 1];
    let is_along = |i: usize| {
        let at = line_angle(stitch(i));
        angles.iter().any(|angle| between_lines(at, *angle) <= ALONG_ROWS_DEG)
    };
    let goes_on = |a: &usize, b: &usize| match (is_along(*a), is_along(*b)) {
        (true, true) => dot(stitch(*a), stitch(*b)) > 0.0,
        (a, b) => a == b,
    };
    let is_step = |i: &usize| distance(track.at[*i - 1], track.at[*i]) <= STEP_MM;
    let long: Vec<usize> = (line.first + 1..=line.last).filter(|i| !is_step(i)).collect();
    let legs: Vec<&[usize]> = long.chunk_by(goes_on).collect();
    let is_row = |leg: &[usize]| is_along(leg[0]) && leg.len() <= ROW_STITCHES;
    let groups: Vec<&[&[usize]]> = legs.chunk_by(|a, b| is_row(a) == is_row(b)).collect();
    let mut left: Vec<Sweep> = Vec::new();
    for (k, group) in groups.iter().enumerate() {
        // Steps belong to what comes before them.
        let first = if k == 0 { line.first } else { group[0][0] - 1 };
        let last = groups.get(k + 1).map_or(line.last, |next| next[0][0] - 1);
        let stitches = group.iter().map(|leg| leg.len()).sum::<usize>();
        if is_row(group[0]) && group.len() >= ODD_ROWS && stitches <= ODD_ROW_STITCHES {
            continue;
        }
        match left.last_mut() {
            Some(before) if before.last == first => before.last = last,
            _ => left.push(Sweep { first, last }),
        }
    }
    left
}

#[cfg(test)]
mod tests {
    use geo::Coord;

    use super::*;

    fn track(at: &[(f64, f64)]) -> Track {
        let at: Vec<Coord<f64>> = at.iter().map(|&(x, y)| Coord { x, y }).collect();
        Track { index: (0..at.len()).collect(), at }
    }

    fn left(at: &[(f64, f64)], angle: f64) -> Vec<(usize, usize)> {
        let left = without_rows(&track(at), Sweep { first: 0, last: at.len() - 1 }, &[angle]);
        left.into_iter().map(|sweep| (sweep.first, sweep.last)).collect()
    }

    /// Three stitches down, then rows there and back and there of one and two stitches that slant by some
    /// 20 degrees, and two down.
    const ROWS: [(f64, f64); 10] = [
        (4.0, 9.0),
        (4.0, 7.0),
        (4.0, 5.0),
        (4.0, 3.0),
        (7.0, 3.0),
        (5.5, 2.6),
        (4.0, 2.0),
        (7.0, 1.2),
        (7.0, -1.0),
        (7.0, -3.0),
    ];

    #[test]
    fn short_rows_are_no_part_of_a_line() {
        assert_eq!(left(&ROWS, 0.0), [(0, 3), (7, 9)]);
        assert_eq!(left(&ROWS[3..], 0.0), [(4, 6)]);
        assert_eq!(left(&ROWS[..8], 0.0), [(0, 3)]);
        // Not of rows at another angle, nor where they turn back but once.
        assert_eq!(left(&ROWS, 90.0), [(0, 9)]);
        assert_eq!(left(&ROWS[..7], 0.0), [(0, 6)]);
    }

    #[test]
    fn rows_may_be_joined_by_steps_and_are_few_and_short() {
        let rows = |count: usize, stitches: usize, step: f64| -> Vec<(f64, f64)> {
            let row = move |k: usize| {
                let y = 0.4 * k as f64;
                let xs =
                    (0..=stitches).map(move |i| if k.is_multiple_of(2) { i } else { stitches - i });
                // Without a step a row begins where the one before it ends.
                let first = usize::from(step == 0.0 && k > 0);
                xs.skip(first).map(move |x| (2.0 * x as f64, y))
            };
            let down = (1..4).map(|k| (0.0, -2.0 * f64::from(k))).rev();
            down.chain((0..count).flat_map(row)).collect()
        };
        for step in [0.0, 0.4] {
            assert_eq!(left(&rows(3, 2, step), 0.0), [(0, 3)], "{step}");
            assert_eq!(left(&rows(4, 6, step), 0.0), [(0, 3)], "{step}");
            for (count, stitches) in [(2, 2), (3, 7), (5, 5)] {
                let line = rows(count, stitches, step);
                assert_eq!(left(&line, 0.0), [(0, line.len() - 1)], "{count} {stitches} {step}");
            }
        }
    }

    /// Common practice, no published source: an edge run goes along an edge and on around its corner.
    #[test]
    fn an_edge_run_along_rows_is_a_line() {
        let line = |stitches: i32| -> Vec<(f64, f64)> {
            let there = (0..=stitches).map(|k| (2.0 * f64::from(k), 0.0));
            let back = (0..=stitches).rev().map(|k| (2.0 * f64::from(k), 3.0));
            there.chain(back).chain([(0.0, 0.1)]).collect()
        };
        for stitches in [3, 12] {
            let line = line(stitches);
            assert_eq!(left(&line, 0.0), [(0, line.len() - 1)]);
        }
    }
}
