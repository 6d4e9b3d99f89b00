//! A stretch cut into segments: tops, open weaves and the lines between them.

use std::ops::Range;

use super::fill::{self, ReadFill};
use super::line::{tie_at_end, tie_at_start};
use super::satin::{self, ReadSatin};
use super::tip;
use super::track::{Sweep, Track};
use super::weave::{DENSE_ADVANCE, Weave, weaves};
use crate::design::Design;
use crate::geometry::vector::between_lines;
use crate::objects::Fill;

/// What explains fewer of its stitches is no satin and no fill, not even an unsure one.
const NO_WEAVE: f64 = 0.5;
/// Crossings are not split below this length, mm (J: well under the 7 mm from which they snag).
const SPLIT_FROM: f64 = 4.0;
/// Longest stitch that a machine can sew in one move, mm: wider weaves must be split.
const LONGEST: f64 = 12.2;

/// What a segment is before anything is known about its surroundings.
pub enum Kind {
    /// Runs, ties, travel, run-like underlay.
    Line,
    Satin(Box<ReadSatin>),
    /// A satin whose crossings carry split points.
    SplitSatin(Box<ReadSatin>),
    Fill(Box<ReadFill>),
    /// Back-and-forth too open to be a top: zigzag, fill underlay, guard, or a decorative zigzag.
    Open(Weave),
}

/// Stitches from track point `points.0` (excluded) to `points.1` (included).
pub struct Segment {
    pub kind: Kind,
    pub points: (usize, usize),
    /// The weave that a top was read from.
    pub weave: Option<Weave>,
}

impl Segment {
    pub fn is_top(&self) -> bool {
        matches!(self.kind, Kind::Satin(_) | Kind::SplitSatin(_) | Kind::Fill(_))
    }
}

/// A stretch with its track and segments.
pub struct ReadStretch {
    pub stretch: Range<usize>,
    pub stop: u32,
    pub track: Track,
    pub segments: Vec<Segment>,
}

impl ReadStretch {
    pub fn has_top(&self) -> bool {
        self.segments.iter().any(Segment::is_top)
    }

    /// Makes one line of lines that follow each other.
    pub fn join_lines(&mut self) {
        let is_line = |segment: &Segment| matches!(segment.kind, Kind::Line);
        let mut joined: Vec<Segment> = Vec::with_capacity(self.segments.len());
        for segment in self.segments.drain(..) {
            match joined.last_mut() {
                Some(last) if is_line(last) && is_line(&segment) => {
                    last.points.1 = segment.points.1;
                }
                _ => joined.push(segment),
            }
        }
        self.segments = joined;
    }

    /// Penetration of a track point; the last of its zero-length repeats.
    pub fn last_penetration(&self, point: usize) -> usize {
        self.track.index.get(point + 1).map_or(self.stretch.end, |next| *next) - 1
    }
}

pub fn read_stretch(design: &Design, stretch: &Range<usize>) -> ReadStretch {
    let track = Track::new(design, stretch);
    let mut segments = Vec::new();
    let line = |from, to| Segment { kind: Kind::Line, points: (from, to), weave: None };
    let mut at = 0;
    let found = weaves(&track);
    let starts: Vec<usize> = found.iter().map(|weave| weave.span().0).collect();
    for (w, weave) in found.into_iter().enumerate() {
        let Some(mut kind) = kind_of(&track, &weave) else { continue };
        let (mut first, mut last) = weave.span();
        if let Kind::Fill(read) = &mut kind {
            let least = if at == 0 { tie_at_start(&track, 0, first) } else { at };
            let end = track.len() - 1;
            let most = starts.get(w + 1).copied();
            let most = most.unwrap_or_else(|| end - tie_at_end(&track, last, end));
            (first, last) = tip::take(&track, read, least, most);
        }
        if first > at {
            segments.push(line(at, first));
        }
        segments.push(Segment { kind, points: (first.max(at), last), weave: Some(weave) });
        at = last;
    }
    if at + 1 < track.len() || segments.is_empty() {
        segments.push(line(at, track.len() - 1));
    }
    let mut read = ReadStretch {
        stretch: stretch.clone(),
        stop: design.stops[stretch.start],
        track,
        segments,
    };
    adopt_narrow_rows(&mut read);
    read
}

/// A narrow part of a fill has rows of one stitch and reads as a satin: next to a fill, with
/// crossings along its rows and at its pitch, it is part of the fill.
fn adopt_narrow_rows(stretch: &mut ReadStretch) {
    for g in 0..stretch.segments.len() {
        let Some(neighbour) = fill_beside(stretch, g) else { continue };
        let (track, segment) = (&stretch.track, &stretch.segments[g]);
        let (Kind::Satin(_) | Kind::SplitSatin(_), Some(weave)) = (&segment.kind, &segment.weave)
        else {
            continue;
        };
        let read = fill::read(track, weave);
        // A few rows say little about their angle and pitch; short ones slant.
        let few = weave.sweeps.len() <= 10;
        let (turn, pitch) = if few { (20.0, 0.8) } else { (12.0, 0.5) };
        let near = between_lines(read.fill.angle, neighbour.angle) <= turn
            && (read.fill.row_pitch - neighbour.row_pitch).abs() <= pitch * neighbour.row_pitch;
        if near && (few || read.straight) {
            stretch.segments[g].kind = Kind::Fill(Box::new(read));
        }
    }
}

/// The fill right before or after segment `g`, only a few stitches away.
fn fill_beside(stretch: &ReadStretch, g: usize) -> Option<Fill> {
    const AWAY: usize = 12;
    let line_is_short =
        |s: &Segment| matches!(s.kind, Kind::Line) && s.points.1 - s.points.0 <= AWAY;
    let fill = |h: usize| match &stretch.segments.get(h)?.kind {
        Kind::Fill(read) if read.rows.len() > 8 => Some(read.fill.clone()),
        _ => None,
    };
    let before = g.checked_sub(1)?;
    let skip_before = line_is_short(&stretch.segments[before]).then(|| g.checked_sub(2)).flatten();
    let skip_after = stretch.segments.get(g + 1).is_some_and(line_is_short).then_some(g + 2);
    fill(before)
        .or_else(|| skip_before.and_then(fill))
        .or_else(|| fill(g + 1))
        .or_else(|| skip_after.and_then(fill))
}

fn is_split(track: &Track, sweep: &Sweep) -> bool {
    sweep.stitches() > 1 && sweep.length(track) >= SPLIT_FROM
}

/// Do nearly all crossings have one split point, always at the same share of the width? Rows of a
/// fill stagger theirs.
fn splits_alike(track: &Track, weave: &Weave) -> bool {
    let shares: Vec<f64> = weave
        .sweeps
        .iter()
        .filter(|s| s.stitches() == 2)
        .map(|s| track.stitch(s.first + 1) / s.length(track).max(0.1))
        .collect();
    let mean = shares.iter().sum::<f64>() / shares.len().max(1) as f64;
    let spread = shares.iter().map(|s| (s - mean).abs()).sum::<f64>() / shares.len().max(1) as f64;
    shares.len() * 10 >= weave.sweeps.len() * 8 && spread < 0.08
}

/// Do split points keep away from the ends of their crossings? Rows of a fill begin and end with
/// whatever length is left over.
fn splits_inside(track: &Track, weave: &Weave) -> bool {
    const NEAR_END: f64 = 0.2;
    let split: Vec<&Sweep> = weave.sweeps.iter().filter(|s| is_split(track, s)).collect();
    let near_end = |sweep: &&&Sweep| {
        let ends = [track.stitch(sweep.first + 1), track.stitch(sweep.last)];
        ends.iter().any(|end| *end < NEAR_END * sweep.length(track))
    };
    split.len() * 2 > weave.sweeps.len() && split.iter().filter(near_end).count() * 20 < split.len()
}

fn kind_of(track: &Track, weave: &Weave) -> Option<Kind> {
    if weave.advance(track) > DENSE_ADVANCE {
        return Some(Kind::Open(weave.clone()));
    }
    top_kind(track, weave)
}

/// Reads a weave as a top: a satin, a split satin or a fill.
pub fn top_kind(track: &Track, weave: &Weave) -> Option<Kind> {
    if !weave.has_rows() {
        let split = weave.sweeps.iter().filter(|s| is_split(track, s)).count() >= 2;
        let satin = Box::new(satin::read(track, weave)?);
        if satin.explained < NO_WEAVE {
            return None;
        }
        return Some(if split { Kind::SplitSatin(satin) } else { Kind::Satin(satin) });
    }
    let read = fill::read(track, weave);
    if read.explained < NO_WEAVE {
        return None;
    }
    let narrow = weave.sweeps.iter().all(|s| s.length(track) <= LONGEST && s.stitches() <= 3);
    if narrow && (!read.straight || splits_inside(track, weave) || splits_alike(track, weave)) {
        return satin::read(track, weave).map(|read| Kind::SplitSatin(Box::new(read)));
    }
    Some(Kind::Fill(Box::new(read)))
}
