//! The open zigzag across a shared edge.

use geo::{Coord, MultiPolygon};

use crate::design::Pt;
use crate::geometry::locate::Locator;
use crate::geometry::polyline::nearest_on_segment;
use crate::geometry::vector::{distance, dot, left_of, unit};
use crate::settings::Settings;
use crate::survey::{Junction, UnguardedStretch};

/// Least reach to either side with which a stitch still spans the edge, mm, and the step in which
/// shorter reaches are tried.
const LEAST_REACH: f64 = 0.6;
const REACH_STEP: f64 = 0.1;

/// Half of what a crossing put in between advances, mm (J).
const CROSSING_MM: f64 = 0.2;
/// What holds a place must do so with this to spare, mm (J: an edge is known to a point), or one
/// more crossing is tried.
const SPARE_MM: f64 = 0.1;
/// It is judged by the places this near, mm: further away nothing changes.
const BESIDE_MM: f64 = 2.5;

/// How a zigzag may go on at either end of a stretch, as it is tried: samples by which it goes round
/// whatever corner is there, or how far it goes straight on instead, mm.
const BEYOND: [Beyond; 7] = [
    Beyond::Round(1),
    Beyond::Round(2),
    Beyond::Straight(0.5),
    Beyond::Straight(1.0),
    Beyond::Round(0),
    Beyond::Straight(0.25),
    Beyond::Straight(0.75),
];

/// How a zigzag goes on at the end of a stretch.
#[derive(Clone, Copy)]
enum Beyond {
    Round(usize),
    Straight(f64),
}

impl Beyond {
    fn samples(self) -> usize {
        match self {
            Self::Round(by) => by,
            Self::Straight(_) => 0,
        }
    }

    fn straight(self) -> Option<f64> {
        match self {
            Self::Round(_) => None,
            Self::Straight(on) => Some(on),
        }
    }
}

/// A place on the edge, and the way into the later object.
type Place = (Coord<f64>, Coord<f64>);

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
        holds: (numbers.guard_hold_mm, numbers.guard_hold_every_mm / 2.0),
    };
    // The ends of a stretch are known to a sample or so: what is sure to belong to it counts twice.
    let own = [Beyond::Round(0); 2];
    let wanted = [own, [Beyond::Round(1); 2]].map(|ends| beside(&edge(junction, stretch, ends)));
    let wanted: Vec<Place> = wanted.concat();
    let mut best: Option<(usize, Vec<Place>, bool)> = None;
    // One that goes all round has no ends.
    let tries = if goes_round(junction, stretch) { 1 } else { BEYOND.len() * BEYOND.len() };
    let ends = BEYOND.into_iter().flat_map(|a| BEYOND.map(|b| [a, b])).take(tries);
    for (ends, first_inward) in ends.flat_map(|ends| [(ends, true), (ends, false)]) {
        let stations = stations(&edge(junction, stretch, ends), tried.advance);
        let held = tried.held(&wanted, &tried.sew(&stations, first_inward), 0.0);
        if best.as_ref().is_none_or(|(most, ..)| held > *most) {
            best = Some((held, stations, first_inward));
        }
        if held == wanted.len() {
            break;
        }
    }
    best.map_or_else(Vec::new, |(_, stations, first_inward)| {
        tried.sew(&tried.refined(stations, first_inward, &wanted), first_inward)
    })
}

/// Every place with the way in square to the edge before it and after it, and those halfway between: near
/// a corner neither is what its own says.
fn beside(places: &[Place]) -> Vec<Place> {
    let pieces = places.windows(2).filter(|pair| pair[0].0 != pair[1].0);
    let three = pieces.flat_map(|pair| {
        let [(a, inward), (b, _)] = [pair[0], pair[1]];
        let left = left_of(unit(b - a));
        let square = if dot(left, inward) < 0.0 { left * -1.0 } else { left };
        [a, (a + b) / 2.0, b].map(|at| (at, square))
    });
    three.collect()
}

/// Does a stitch that reaches far enough to both sides cross the edge near enough?
fn is_held((at, inward): Place, zigzags: &[Zigzag], (reach, near): (f64, f64)) -> bool {
    let is_far = |stitch: &[Coord<f64>]| {
        let (middle, half) = ((stitch[0] + stitch[1]) / 2.0, (stitch[1] - stitch[0]) / 2.0);
        (middle.x - at.x).abs() > half.x.abs() + near
            || (middle.y - at.y).abs() > half.y.abs() + near
    };
    let stitches = zigzags.iter().flat_map(|zigzag| zigzag.needles.windows(2));
    stitches.filter(|stitch| !is_far(stitch)).any(|stitch| {
        let [a, b] = [stitch[0], stitch[1]].map(|needle| dot(needle - at, inward));
        let crossing = stitch[0] + (stitch[1] - stitch[0]) * (a / (a - b));
        a.min(b) <= -reach && a.max(b) >= reach && distance(crossing, at) <= near
    })
}

/// What all zigzags along a stretch have in common.
struct Tried<'a> {
    cover: &'a Locator,
    /// mm along the edge from one needle point to the next.
    advance: f64,
    /// mm to either side of the edge.
    reach: f64,
    /// A stitch that reaches so far to both sides holds what is so near, mm.
    holds: (f64, f64),
}

impl Tried<'_> {
    /// Is a place held, with something to spare, mm?
    fn is_held(&self, at: Place, zigzags: &[Zigzag], spare: f64) -> bool {
        is_held(at, zigzags, (self.holds.0 + spare, self.holds.1 - spare))
    }

    /// How many places are.
    fn held(&self, places: &[Place], zigzags: &[Zigzag], spare: f64) -> usize {
        places.iter().filter(|at| self.is_held(**at, zigzags, spare)).count()
    }

    /// One crossing more, square to the edge, at each place that is held too little, where it helps.
    fn refined(&self, stations: Vec<Place>, first_inward: bool, wanted: &[Place]) -> Vec<Place> {
        let mut best = stations;
        let mut sewn = self.sew(&best, first_inward);
        for at in wanted {
            if self.is_held(*at, &sewn, SPARE_MM) {
                continue;
            }
            let beside = |p: &&Place| distance(p.0, at.0) <= BESIDE_MM;
            let beside: Vec<Place> = wanted.iter().filter(beside).copied().collect();
            let more = with_crossing(&best, *at);
            let now = self.sew(&more, first_inward);
            let held = |zigzags, spare| self.held(&beside, zigzags, spare);
            let is_better = held(&now, SPARE_MM) > held(&sewn, SPARE_MM)
                && held(&now, 0.0) >= held(&sewn, 0.0)
                && now.len() <= sewn.len();
            if is_better {
                (best, sewn) = (more, now);
            }
        }
        best
    }

    fn sew(&self, stations: &[Place], first_inward: bool) -> Vec<Zigzag> {
        // Places on the edge, each with its needle point.
        let mut pieces: Vec<Vec<(Coord<f64>, Coord<f64>)>> = vec![Vec::new()];
        for (k, &(at, inward)) in stations.iter().enumerate() {
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
        let zigzag = |piece: Vec<(Coord<f64>, Coord<f64>)>| Zigzag {
            length: (piece.len() - 1) as f64 * self.advance,
            needles: piece.into_iter().map(|(_, needle)| needle).collect(),
        };
        pieces.into_iter().map(zigzag).collect()
    }
}

/// Stations with two more beside a place of the edge, half a crossing's advance to either side.
fn with_crossing(stations: &[Place], (at, inward): Place) -> Vec<Place> {
    let off = |pair: &[Place]| distance(nearest_on_segment(pair[0].0, pair[1].0, at).0, at);
    let pairs = stations.windows(2).enumerate();
    let nearest = pairs.min_by(|(_, a), (_, b)| off(a).total_cmp(&off(b)));
    let Some((k, pair)) = nearest else { return stations.to_vec() };
    let along = unit(pair[1].0 - pair[0].0) * CROSSING_MM;
    let mut more = stations.to_vec();
    more.splice(k + 1..k + 1, [(at - along, inward), (at + along, inward)]);
    more
}

fn goes_round(junction: &Junction, stretch: &UnguardedStretch) -> bool {
    junction.closed && stretch.samples.len() >= junction.samples.len()
}

/// The edge along a stretch, a little longer at each end where there is room.
fn edge(junction: &Junction, stretch: &UnguardedStretch, ends: [Beyond; 2]) -> Vec<Place> {
    let count = junction.samples.len();
    let mut range = stretch.samples.clone();
    let [before, after] = ends.map(Beyond::samples);
    let goes_round = goes_round(junction, stretch);
    if goes_round {
        range.end += 1;
    } else if junction.closed {
        range = range.start + count - before..range.end + count + after;
    } else {
        range = range.start.saturating_sub(before)..(range.end + after).min(count);
    }
    let mut places: Vec<Place> = range
        .map(|i| {
            let sample = &junction.samples[i % count];
            (sample.at, sample.inward)
        })
        .collect();
    let [first, last] = ends.map(|end| end.straight().filter(|_| !goes_round));
    let further = |end: Place, inner: Place, on: f64| (end.0 + unit(end.0 - inner.0) * on, end.1);
    if let (Some(on), [.., inner, end]) = (last, &places[..]) {
        places.push(further(*end, *inner, on));
    }
    if let (Some(on), [end, inner, ..]) = (first, &places[..]) {
        places.insert(0, further(*end, *inner, on));
    }
    places
}

/// Positions along the edge about `advance` mm apart, both ends included, with smoothed normals.
fn stations(edge: &[Place], advance: f64) -> Vec<Place> {
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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn beside_a_corner_places_look_square_to_both_legs() {
        // Samples half a millimetre apart round a right angle; the ways in turn through the bisector.
        let c = |x: f64, y: f64| Coord { x, y };
        let aslant = unit(c(-1.0, -1.0));
        let samples = [
            (c(0.0, 1.25), c(-1.0, 0.0)),
            (c(0.0, 0.75), c(-1.0, 0.0)),
            (c(0.0, 0.25), aslant),
            (c(0.25, 0.0), aslant),
            (c(0.75, 0.0), c(0.0, -1.0)),
        ];
        let places = beside(&samples);
        let looks = |at: Coord<f64>, way: Coord<f64>| {
            places.iter().any(|(p, w)| distance(*p, at) < 1e-9 && distance(*w, way) < 1e-9)
        };
        assert!(looks(c(0.0, 0.25), c(-1.0, 0.0)), "last place of the first leg");
        assert!(looks(c(0.25, 0.0), c(0.0, -1.0)), "first place of the second leg");
        assert!(looks(c(0.0, 0.5), c(-1.0, 0.0)), "halfway between two samples");
        // What holds by the bisector alone does not hold the leg: 0.4 mm to one side of it.
        let holds = (0.5, 0.75);
        let zigzag = |needles: [(f64, f64); 2]| {
            [Zigzag { needles: needles.map(|(x, y)| c(x, y)).to_vec(), length: 1.0 }]
        };
        let first = (c(0.0, 0.25), c(-1.0, 0.0));
        assert!(!is_held(first, &zigzag([(-0.4, -0.3), (0.5, 0.5)]), holds));
        assert!(is_held(first, &zigzag([(-0.6, -0.3), (0.6, 0.5)]), holds));
    }
}
