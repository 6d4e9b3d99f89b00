//! Sections of a curved fill: its rows at an edge, few or short, do not bend by themselves.

use super::fill::ReadFill;
use super::segment::{Kind, ReadStretch};
use super::track::{Sweep, Track};
use crate::geometry::vector::{between_lines, line_angle};

/// Most rows of a section that may be straight.
const FEW: usize = 24;
/// Rows of neighbouring sections run side by side, but for so many degrees.
const BESIDE_DEG: f64 = 14.0;
/// They lie up to so many rows apart, and so much more, mm.
const APART_ROWS: f64 = 2.2;
const APART_MM: f64 = 0.3;

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
