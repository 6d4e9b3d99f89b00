//! Sections of a curved fill: its rows at an edge, few or short, do not bend by themselves.

use super::fill::{self, ReadFill};
use super::sections::{areas, around, is_near, split_off};
use super::segment::{Kind, ReadStretch, Segment};
use super::track::{Sweep, Track, between_corners, chains};
use super::weave::Weave;
use crate::geometry::locate::Locator;
use crate::geometry::vector::{between_lines, distance, dot, line_angle};

/// Most rows of a section that may be straight.
const FEW: usize = 24;
/// Rows of neighbouring sections run side by side, but for so many degrees.
const BESIDE_DEG: f64 = 14.0;
/// They lie up to so many rows apart, and so much more, mm.
const APART_ROWS: f64 = 2.2;
const APART_MM: f64 = 0.3;
/// Longest line in which rows are looked for, stitches; fewest rows of a fill that they belong to.
const LINE_STITCHES: usize = 120;
const ROWS: usize = 8;
/// Corners between rows, degrees; the shortest row, mm; most stitches from one to the next.
const CORNER: f64 = 60.0;
const ROW_MM: f64 = 1.0;
const STEP_STITCHES: usize = 3;
/// Needle points this close are the same point up to the tape's grid, mm.
const SAME_MM: f64 = 0.15;
/// What lies deeper in the fill than this, mm, is something else.
const OVER_MM: f64 = 0.4;

/// Do the rows of a curved fill go on in another section, or the other way round? Both are given by
/// (stretch, segment), `a` sewn first.
pub fn goes_on(stretches: &[ReadStretch], a: (usize, usize), b: (usize, usize)) -> bool {
    let read = |(s, g): (usize, usize)| match &stretches[s].segments[g].kind {
        Kind::Fill(read) => Some((&stretches[s].track, read.as_ref())),
        _ => None,
    };
    let (Some(one), Some(other)) = (read(a), read(b)) else { return false };
    let may_be = |read: &ReadFill| !read.straight || read.rows.len() <= FEW;
    let any_bent = !one.1.straight || !other.1.straight;
    any_bent && may_be(one.1) && may_be(other.1) && rows_beside(one, other)
}

/// Does a row at an end of one section lie beside one of the other?
fn rows_beside(a: (&Track, &ReadFill), b: (&Track, &ReadFill)) -> bool {
    let far = APART_ROWS * a.1.fill.row_pitch.max(b.1.fill.row_pitch) + APART_MM;
    let near = |(track, read): (&Track, &ReadFill), (others, other): (&Track, &ReadFill)| {
        let ends = [read.rows[0], read.rows[read.rows.len() - 1]];
        let all = other.rows.iter();
        all.into_iter().any(|row| {
            let row = Sweep { first: row.0, last: row.1 };
            ends.iter().any(|end| is_beside(track, *end, others, row, far))
        })
    };
    near(a, b) || near(b, a)
}

/// Does the middle of a row lie beside another, and run its way there?
fn is_beside(
    track: &Track,
    (first, last): (usize, usize),
    others: &Track,
    row: Sweep,
    far: f64,
) -> bool {
    let end = Sweep { first, last };
    let at = track.at[(first + last) / 2];
    let at = if end.stitches() > 1 { at } else { end.middle(track) };
    row.nearest(others, at).is_some_and(|(place, off)| {
        let i = (place as usize).clamp(row.first, row.last - 1);
        let way = line_angle(others.at[i + 1] - others.at[i]);
        let j = ((first + last) / 2).clamp(first, last - 1);
        let own = line_angle(track.at[j + 1] - track.at[j]);
        off <= far && between_lines(way, own) <= BESIDE_DEG
    })
}

/// Takes rows out of lines where they go on beside those of a curved fill: too few, or too short, to be
/// rows by themselves. Says whether there are any.
pub fn take_rows(stretches: &mut [ReadStretch]) -> bool {
    let areas = areas(stretches);
    let mut found = Vec::new();
    for s in 0..stretches.len() {
        for g in 0..stretches[s].segments.len() {
            let Segment { kind: Kind::Line, points, .. } = stretches[s].segments[g] else {
                continue;
            };
            if points.1 - points.0 > LINE_STITCHES {
                continue;
            }
            let near = around(&areas, |area| *area < (s, g));
            let track = &stretches[s].track;
            let rows = near.iter().find_map(|&(t, h)| {
                let read = bent_fill(&stretches[t].segments[h])?;
                (stretches[t].stop == stretches[s].stop)
                    .then(|| rows_that_go_on(track, points, &stretches[t].track, read))?
            });
            found.extend(rows.map(|weave| (s, g, weave)));
        }
    }
    split_off(stretches, found, |track, weave| {
        let read = fill::read(track, weave);
        ReadFill { straight: false, nearly_straight: false, explained: 1.0, ..read }
    })
}

fn bent_fill(segment: &Segment) -> Option<&ReadFill> {
    match &segment.kind {
        Kind::Fill(read) if !read.straight && read.rows.len() >= ROWS => Some(read),
        _ => None,
    }
}

/// The longest chain of rows in a line that lies beside a fill and beside each other, not over it.
fn rows_that_go_on(
    track: &Track,
    points: (usize, usize),
    others: &Track,
    fill: &ReadFill,
) -> Option<Weave> {
    let far = APART_ROWS * fill.fill.row_pitch + APART_MM;
    if !is_near(&track.at[points.0..=points.1], &fill.footprint, far) {
        return None;
    }
    let locator = Locator::new(&fill.footprint);
    let middle = |row: &Sweep| track.at[(row.first + row.last) / 2];
    let is_over = |row: &Sweep| {
        locator.contains(middle(row)) && locator.distance_to_edge(middle(row)) > OVER_MM
    };
    let by_fill = |row: &Sweep| {
        let rows = fill.rows.iter().map(|row| Sweep { first: row.0, last: row.1 });
        rows.into_iter().any(|other| is_beside(track, (row.first, row.last), others, other, far))
    };
    // A bean goes back over the same line.
    let retraces = |a: &Sweep, b: &Sweep| {
        let on = |at: usize, row: &Sweep| {
            (row.first..=row.last).any(|i| distance(track.at[at], track.at[i]) <= SAME_MM)
        };
        on(a.first, b) || on(b.last, a)
    };
    let goes_on = |a: &Sweep, b: &Sweep| {
        b.first - a.last <= STEP_STITCHES
            && !retraces(a, b)
            && dot(a.chord(track), b.chord(track)) < 0.0
            && (is_beside(track, (a.first, a.last), track, *b, far)
                || is_beside(track, (b.first, b.last), track, *a, far))
    };
    let rows = between_corners(track, points, CORNER).into_iter();
    let rows = rows.filter(|row| row.length(track) >= ROW_MM && !is_over(row)).collect();
    let mut chains = chains(rows, goes_on);
    chains.retain(|chain| chain.len() >= 2 && chain.iter().any(by_fill));
    chains.into_iter().max_by_key(Vec::len).map(|sweeps| Weave { sweeps })
}
