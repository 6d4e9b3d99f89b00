//! Stitches that are no weave: ties at the ends, and what kind of run the rest is.

use super::track::Track;
use crate::geometry::vector::distance;

/// Longest stitch of a tie, mm. Source: M. Belova, "Quality benchmarks: tie-offs": 1 to 1.5, never
/// over 2.
const TIE_STITCH: f64 = 2.05;
/// Most stitches that one tie has (common practice, no published source).
const TIE_COUNT: usize = 8;
/// A tie stays within this extent, mm.
const TIE_EXTENT: f64 = 2.3;
/// Needle points this close are the same point up to the grid, mm.
const SAME_POINT: f64 = 0.15;

/// How a line of stitches behaves.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum LineKind {
    /// Goes somewhere, smoothly or with few corners; may come back over itself.
    Run,
    /// Every stitch is sewn three times or more.
    Bean,
    /// Turns without a pattern.
    Wild,
}

/// Stitches of a tie at the start of the points `from..=to`; 0 where there is none.
pub fn tie_at_start(track: &Track, from: usize, to: usize) -> usize {
    longest_tie(to - from, |k| from + k, track)
}

/// Stitches of a tie at the end of the points `from..=to`; 0 where there is none.
pub fn tie_at_end(track: &Track, from: usize, to: usize) -> usize {
    longest_tie(to - from, |k| to - k, track)
}

/// Longest count of stitches, walking over `point(0), point(1), …`, that huddle and turn back.
fn longest_tie(available: usize, point: impl Fn(usize) -> usize, track: &Track) -> usize {
    let mut tie = 0;
    let mut turned = false;
    // The stitch after a tie is longer: it already belongs to what follows.
    let longest =
        (1.45 * distance(track.at[point(0)], track.at[point(available.min(1))])).min(TIE_STITCH);
    for k in 1..=available.min(TIE_COUNT) {
        let (here, before) = (track.at[point(k)], track.at[point(k - 1)]);
        let strays = (0..k).any(|i| distance(track.at[point(i)], here) > TIE_EXTENT);
        if distance(here, before) > longest || strays {
            break;
        }
        // What goes on straight after the last turn belongs to what follows as well.
        let back = k >= 2 && reverses(track, point(k - 2), point(k - 1), point(k));
        turned |= back;
        let again = || (0..k - 1).any(|i| distance(track.at[point(i)], here) <= SAME_POINT);
        if back || turned && again() {
            tie = k;
        }
    }
    tie
}

fn reverses(track: &Track, a: usize, b: usize, c: usize) -> bool {
    crate::geometry::vector::turn(track.at[b] - track.at[a], track.at[c] - track.at[b]).abs()
        > 120.0
}

/// Judges the stitches between two track points.
pub fn line_kind(track: &Track, from: usize, to: usize) -> LineKind {
    let corners = to.saturating_sub(from + 1);
    if corners == 0 {
        return LineKind::Run;
    }
    let (mut retraced, mut sharp) = (0_usize, 0_usize);
    for i in from + 1..to {
        if distance(track.at[i - 1], track.at[i + 1]) <= SAME_POINT {
            retraced += 1;
        } else if track.turn(i).abs() > 75.0 {
            sharp += 1;
        }
    }
    if corners >= 4 && retraced * 2 >= corners {
        LineKind::Bean
    } else if corners >= 5 && sharp * 3 > corners {
        LineKind::Wild
    } else {
        LineKind::Run
    }
}
