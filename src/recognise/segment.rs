//! A stretch cut into segments: tops, open weaves and the lines between them.

use std::ops::Range;

use geo::MultiPolygon;

use super::fill::{self, ReadFill};
use super::grid::Grid;
use super::labels::tie;
use super::satin::{self, ReadSatin};
use super::tip;
use super::track::{Sweep, Track};
use super::weave::{DENSE_ADVANCE, DENSE_ROWS, Weave, weaves};
use crate::design::Design;
use crate::geometry::vector::distance;

/// What explains fewer of its stitches is no satin and no fill, not even an unsure one.
const NO_WEAVE: f64 = 0.5;
/// Crossings are not split below this length, mm (J: well under the 7 mm from which they snag).
const SPLIT_FROM: f64 = 4.0;
/// A fill that explains fewer of its needle points is asked whether its rows lie on a grid.
const DOUBTFUL: f64 = 0.8;
/// Rows wide apart that are neither underlay nor a motif are no shorter, mm.
const PASS_MM: f64 = 5.0;
/// Longest stitch that a machine can sew in one move, mm: wider weaves must be split.
const LONGEST: f64 = 12.2;

/// What a segment is before anything is known about its surroundings.
pub enum Kind {
    /// Runs, loose ties, travel, run-like underlay.
    Line,
    /// A tie that is known by its form.
    Tie,
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
    /// Area of a top; `None` for anything else.
    pub fn footprint(&self) -> Option<&MultiPolygon<f64>> {
        match &self.kind {
            Kind::Satin(read) | Kind::SplitSatin(read) => Some(&read.footprint),
            Kind::Fill(read) => Some(&read.footprint),
            Kind::Line | Kind::Tie | Kind::Open(_) => None,
        }
    }

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

    /// The segments that lie between two track points, in part at least.
    pub fn between(&self, first: usize, last: usize) -> &[Segment] {
        let from = self.segments.partition_point(|segment| segment.points.1 <= first);
        let to = self.segments.partition_point(|segment| segment.points.0 < last);
        &self.segments[from..to.max(from)]
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

    /// Penetration of a track point; the last of those folded into it.
    pub fn last_penetration(&self, point: usize) -> usize {
        self.track.index.get(point + 1).map_or(self.stretch.end, |next| *next) - 1
    }
}

pub fn read_stretch(design: &Design, stretch: &Range<usize>) -> ReadStretch {
    let track = Track::new(design, stretch);
    let mut segments = Vec::new();
    let end = track.len() - 1;
    let (head, tail) = ties(&track);
    let segment = |kind, from, to| Segment { kind, points: (from, to), weave: None };
    if head > 0 {
        segments.push(segment(Kind::Tie, 0, head));
    }
    let mut at = head;
    let found = weaves(&track, head, end - tail).into_iter();
    let found: Vec<_> = found.filter_map(|weave| Some((kind_of(&track, &weave)?, weave))).collect();
    let starts: Vec<usize> = found.iter().map(|(_, weave)| weave.span().0).collect();
    for (w, (mut kind, weave)) in found.into_iter().enumerate() {
        let (mut first, mut last) = weave.span();
        if let Kind::Fill(read) = &mut kind
            && read.straight
        {
            let least = if at == 0 { tie::at_start(&track, 0, first) } else { at };
            let most = starts.get(w + 1).copied();
            let loose = if tail > 0 { tail } else { tie::at_end(&track, last, end) };
            (first, last) = tip::take(&track, read, least, most.unwrap_or(end - loose));
        }
        if first > at {
            segments.push(segment(Kind::Line, at, first));
        }
        segments.push(Segment { kind, points: (first.max(at), last), weave: Some(weave) });
        at = last;
    }
    if at < end - tail || segments.is_empty() {
        segments.push(segment(Kind::Line, at, end - tail));
    }
    if tail > 0 {
        segments.push(segment(Kind::Tie, end - tail, end));
    }
    ReadStretch { stretch: stretch.clone(), stop: design.stops[stretch.start], track, segments }
}

/// Stitches of the ties that begin and end a stretch; it may be a tie altogether.
fn ties(track: &Track) -> (usize, usize) {
    let head = tie::formed(track, false);
    let rest = track.len() - 1 - head;
    (head, tie::formed(track, true).min(rest))
}

fn is_split(track: &Track, sweep: &Sweep) -> bool {
    sweep.stitches() > 1 && sweep.length(track) >= SPLIT_FROM
}

/// Are these the split crossings of a column? There the length of a crossing tells into how many
/// even parts it is split; rows of a fill stagger their needle points.
fn splits_evenly(track: &Track, weave: &Weave) -> bool {
    /// Split points may lie off the even share by this part of the crossing.
    const OFF: f64 = 0.2;
    /// The mean of so many crossings' split points lies no further off the middle than this share.
    const MANY: usize = 12;
    const ASIDE: f64 = 0.06;
    /// Share of crossings that may be otherwise: jags, short stitches, what leads to the column.
    const ODD: f64 = 0.06;
    let off = |sweep: &Sweep| {
        let length = sweep.length(track).max(f64::EPSILON);
        let even = 1.0 / sweep.stitches() as f64;
        let inner = (sweep.first + 1..sweep.last).enumerate();
        inner
            .map(|(i, at)| {
                distance(track.at[sweep.first], track.at[at]) / length - (i + 1) as f64 * even
            })
            .fold(0.0, |most: f64, off| most.max(off.abs()))
    };
    // All to one side, as where rows are sewn over a grid of their own.
    let aside = |sweep: &Sweep| {
        let length = sweep.length(track).max(f64::EPSILON);
        let inner = sweep.first + 1..sweep.last;
        let shares = inner.map(|at| distance(track.at[sweep.first], track.at[at]) / length - 0.5);
        shares.sum::<f64>() / (sweep.stitches() - 1) as f64
    };
    let split: Vec<&Sweep> = weave.sweeps.iter().filter(|s| s.stitches() > 1).collect();
    let mean = split.iter().map(|sweep| aside(sweep)).sum::<f64>() / split.len().max(1) as f64;
    if split.len() >= MANY && mean.abs() > ASIDE {
        return false;
    }
    let uneven = split.iter().filter(|sweep| off(sweep) > OFF).count();
    let few = |count: usize, all: usize| count as f64 <= (ODD * all as f64).max(1.0);
    split.len() >= 4
        && few(uneven, split.len())
        && few(overlapping(track, &weave.sweeps), weave.sweeps.len())
}

/// Crossings that are longer than some of more stitches, or shorter than some of fewer, at the
/// best limits between one count of stitches and the next.
fn overlapping(track: &Track, sweeps: &[Sweep]) -> usize {
    let mut by_length: Vec<(f64, usize)> =
        sweeps.iter().map(|s| (s.length(track), s.stitches())).collect();
    by_length.sort_by(|a, b| a.0.total_cmp(&b.0));
    let most = sweeps.iter().map(Sweep::stitches).max().unwrap_or(1);
    let odd_at = |limit: usize| {
        let more = by_length.iter().filter(|(_, stitches)| *stitches > limit).count();
        let mut odd = by_length.len() - more;
        let mut best = odd;
        for (_, stitches) in &by_length {
            // The limit moves past this crossing: all up to here should have few stitches.
            if *stitches > limit {
                odd += 1
            } else {
                odd -= 1
            }
            best = best.min(odd);
        }
        best
    };
    (1..most.min(4)).map(odd_at).max().unwrap_or(0)
}

fn kind_of(track: &Track, weave: &Weave) -> Option<Kind> {
    let most = if weave.has_rows() { DENSE_ROWS } else { DENSE_ADVANCE };
    if weave.advance(track) > most {
        return Some(Kind::Open(weave.clone()));
    }
    top_kind(track, weave)
}

/// Reads a weave as a top: a satin, a split satin or a fill.
pub fn top_kind(track: &Track, weave: &Weave) -> Option<Kind> {
    if !weave.has_rows() && !weave.is_joined() && !is_necked(track, weave) {
        let split = weave.sweeps.iter().filter(|s| is_split(track, s)).count() >= 2;
        let satin = Box::new(satin::read(track, weave)?);
        if satin.explained < NO_WEAVE {
            return None;
        }
        return Some(if split { Kind::SplitSatin(satin) } else { Kind::Satin(satin) });
    }
    let mut read = fill::read(track, weave);
    if (!read.straight || read.explained < DOUBTFUL)
        && !read.bends
        && let Some(grid) = Grid::of(track, weave, &read)
    {
        // Short rows slant; their ends tell.
        let explained = grid.explained(track, &weave.sweeps).max(read.explained);
        read = ReadFill { explained, ..fill::straightened(track, weave, read) };
    }
    if read.explained < NO_WEAVE || read.is_thin(track) {
        return None;
    }
    if is_narrow(track, weave)
        && !weave.is_joined()
        && (!read.straight || splits_evenly(track, weave))
    {
        let satin = satin::read(track, weave).filter(|read| read.explained >= NO_WEAVE);
        // Rows wide apart are one pass of two; shorter ones are a motif.
        let is_pass = satin.is_none() && read.straight && weave.length(track) >= PASS_MM;
        if !is_pass || Grid::of(track, weave, &read).is_none() {
            return satin.map(|read| Kind::SplitSatin(Box::new(read)));
        }
    }
    Some(Kind::Fill(Box::new(read)))
}

/// Is this a fill with a neck where its rows are single stitches? Elsewhere their needle points
/// stagger, and all run one way.
fn is_necked(track: &Track, weave: &Weave) -> bool {
    /// Least share of longer rows, and the fewest.
    const LONG: f64 = 0.15;
    const FEWEST: usize = 6;
    /// Needle points that must lie on straight rows.
    const EXPLAINED: f64 = 0.95;
    let long = weave.sweeps.iter().filter(|s| is_split(track, s)).count();
    long >= FEWEST
        && long as f64 >= LONG * weave.sweeps.len() as f64
        && !splits_evenly(track, weave)
        && {
            let read = fill::read(track, weave);
            read.straight
                && (read.explained >= EXPLAINED || Grid::of(track, weave, &read).is_some())
        }
}

/// Are all sweeps but a few no longer than a machine can sew in one move, in three parts at most?
fn is_narrow(track: &Track, weave: &Weave) -> bool {
    const WIDE: f64 = 0.05;
    let wide = |s: &&Sweep| s.length(track) > LONGEST || s.stitches() > 3;
    weave.sweeps.iter().filter(wide).count() as f64 <= WIDE * weave.sweeps.len() as f64
}
