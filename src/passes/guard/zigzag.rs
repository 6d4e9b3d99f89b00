//! The open zigzag across a shared edge.

use geo::{Coord, MultiPolygon};

use crate::design::Pt;
use crate::geometry::locate::Locator;
use crate::geometry::vector::{distance, unit};
use crate::settings::Settings;
use crate::survey::{Junction, UnguardedStretch};

/// Least reach to either side with which a stitch still spans the edge, mm, and the step in which
/// shorter reaches are tried.
const LEAST_REACH: f64 = 0.6;
const REACH_STEP: f64 = 0.1;

/// Samples by which a zigzag may go beyond the stretch, as they are tried.
const BEYOND: [usize; 3] = [1, 2, 0];

/// Needle points of one zigzag, and the length of edge that it holds, mm.
pub struct Zigzag {
    pub needles: Vec<Coord<f64>>,
    pub length: f64,
}

/// Zigzags along a stretch, at the garment's pitch times `pitch`: one, or several where the cover is too
/// narrow in between. Of those that begin here or there, on this side or on that, the one that holds most.
pub fn along(
    junction: &Junction,
    stretch: &UnguardedStretch,
    cover: &MultiPolygon<f64>,
    pitch: f64,
    settings: &Settings,
) -> Vec<Zigzag> {
    let numbers = &settings.profile.numbers;
    let tried = Tried {
        cover: &Locator::new(cover),
        advance: numbers.guard_pitch_mm * pitch,
        reach: numbers.guard_reach_mm,
    };
    // The ends of a stretch are known to a sample or so.
    let wanted: Vec<Coord<f64>> = edge(junction, stretch, 1).iter().map(|(at, _)| *at).collect();
    let holds = numbers.guard_hold_every_mm / 2.0;
    let mut best: Option<(usize, Vec<Zigzag>)> = None;
    for beyond in BEYOND {
        let edge = edge(junction, stretch, beyond);
        for first_inward in [true, false] {
            let (zigzags, crossings) = tried.sew(&edge, first_inward);
            let near = |at: &&Coord<f64>| crossings.iter().any(|c| distance(*c, **at) <= holds);
            let held = wanted.iter().filter(near).count();
            if best.as_ref().is_none_or(|(most, _)| held > *most) {
                best = Some((held, zigzags));
            }
        }
    }
    best.map_or_else(Vec::new, |(_, zigzags)| zigzags)
}

/// What all zigzags along a stretch have in common.
struct Tried<'a> {
    cover: &'a Locator,
    /// mm along the edge from one needle point to the next.
    advance: f64,
    /// mm to either side of the edge.
    reach: f64,
}

impl Tried<'_> {
    /// The zigzags, and where their stitches cross the edge.
    fn sew(
        &self,
        edge: &[(Coord<f64>, Coord<f64>)],
        first_inward: bool,
    ) -> (Vec<Zigzag>, Vec<Coord<f64>>) {
        let mut pieces: Vec<Vec<(Coord<f64>, Coord<f64>)>> = vec![Vec::new()];
        for (k, (at, inward)) in stations(edge, self.advance).into_iter().enumerate() {
            let side = if k.is_multiple_of(2) == first_inward { inward } else { inward * -1.0 };
            let before = pieces.last().and_then(|piece| piece.last()).map(|(_, needle)| *needle);
            match place(at, side, before, self.cover, self.reach) {
                Some(needle) => {
                    if let Some(piece) = pieces.last_mut() {
                        piece.push((at, needle));
                    }
                }
                None => pieces.push(Vec::new()),
            }
        }
        pieces.retain(|piece| piece.len() >= 3);
        let crossings = pieces
            .iter()
            .flat_map(|piece| piece.windows(2).map(|pair| (pair[0].0 + pair[1].0) / 2.0))
            .collect();
        let zigzag = |piece: Vec<(Coord<f64>, Coord<f64>)>| Zigzag {
            length: (piece.len() - 1) as f64 * self.advance,
            needles: piece.into_iter().map(|(_, needle)| needle).collect(),
        };
        (pieces.into_iter().map(zigzag).collect(), crossings)
    }
}

/// Points and inward normals of the edge, a little longer at each end where there is room.
fn edge(
    junction: &Junction,
    stretch: &UnguardedStretch,
    beyond: usize,
) -> Vec<(Coord<f64>, Coord<f64>)> {
    let count = junction.samples.len();
    let mut range = stretch.samples.clone();
    if junction.closed {
        if range.len() < count {
            range = range.start + count - beyond..range.end + count + beyond;
        } else {
            range.end += 1;
        }
    } else {
        range = range.start.saturating_sub(beyond)..(range.end + beyond).min(count);
    }
    range
        .map(|i| {
            let sample = &junction.samples[i % count];
            (sample.at, sample.inward)
        })
        .collect()
}

/// Positions along the edge about `advance` mm apart, both ends included, with smoothed normals.
fn stations(edge: &[(Coord<f64>, Coord<f64>)], advance: f64) -> Vec<(Coord<f64>, Coord<f64>)> {
    let mut along = vec![0.0];
    for pair in edge.windows(2) {
        along.push(along[along.len() - 1] + distance(pair[0].0, pair[1].0));
    }
    let length = along[along.len() - 1];
    let count = (length / advance).ceil().max(1.0);
    (0..=count as usize)
        .map(|k| {
            let s = length * k as f64 / count;
            let i = along.partition_point(|a| *a < s).clamp(1, along.len() - 1);
            let (from, to) = (along[i - 1], along[i]);
            let t = if to > from { (s - from) / (to - from) } else { 0.0 };
            let (a, b) = (edge[i - 1], edge[i]);
            (a.0 + (b.0 - a.0) * t, unit(a.1 * (1.0 - t) + b.1 * t))
        })
        .collect()
}

/// The needle point as far to one side as the cover allows; the stitch to it stays covered too.
fn place(
    at: Coord<f64>,
    side: Coord<f64>,
    before: Option<Coord<f64>>,
    cover: &Locator,
    reach: f64,
) -> Option<Coord<f64>> {
    let mut reach = reach;
    while reach >= LEAST_REACH - 1e-9 {
        let needle = Pt::from_mm(at + side * reach).mm();
        let covered = |share: f64, from: Coord<f64>| cover.contains(from + (needle - from) * share);
        let stitch = before.is_none_or(|from| [0.25, 0.5, 0.75].iter().all(|t| covered(*t, from)));
        if cover.contains(needle) && stitch {
            return Some(needle);
        }
        reach -= REACH_STEP;
    }
    None
}
