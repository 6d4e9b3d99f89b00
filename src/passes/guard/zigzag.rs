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

/// Needle points of one zigzag, and the length of edge that it holds, mm.
pub struct Zigzag {
    pub needles: Vec<Coord<f64>>,
    pub length: f64,
}

/// Zigzags along a stretch, at the garment's pitch times `pitch`: one, or several where the cover is too
/// narrow in between.
pub fn along(
    junction: &Junction,
    stretch: &UnguardedStretch,
    cover: &MultiPolygon<f64>,
    pitch: f64,
    settings: &Settings,
) -> Vec<Zigzag> {
    let numbers = &settings.profile.numbers;
    let locator = Locator::new(cover);
    let edge = edge(junction, stretch);
    let advance = numbers.guard_pitch_mm * pitch;
    let mut pieces: Vec<Vec<Coord<f64>>> = vec![Vec::new()];
    for (k, (at, inward)) in stations(&edge, advance).into_iter().enumerate() {
        let side = if k % 2 == 0 { inward } else { inward * -1.0 };
        let before = pieces.last().and_then(|piece| piece.last()).copied();
        match place(at, side, before, &locator, numbers.guard_reach_mm) {
            Some(needle) => {
                if let Some(piece) = pieces.last_mut() {
                    piece.push(needle);
                }
            }
            None => pieces.push(Vec::new()),
        }
    }
    pieces
        .into_iter()
        .filter(|piece| piece.len() >= 3)
        .map(|needles| Zigzag { length: (needles.len() - 1) as f64 * advance, needles })
        .collect()
}

/// Points and inward normals of the edge, one sample longer at each end where there is one.
fn edge(junction: &Junction, stretch: &UnguardedStretch) -> Vec<(Coord<f64>, Coord<f64>)> {
    let count = junction.samples.len();
    let mut range = stretch.samples.clone();
    if junction.closed {
        if range.len() < count {
            range = range.start + count - 1..range.end + count + 1;
        } else {
            range.end += 1;
        }
    } else {
        range = range.start.saturating_sub(1)..(range.end + 1).min(count);
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
