//! What a sewing order costs, in seconds.
//!
//! Machine time is counted as it is; what an order does to the cap is priced as the time that one
//! would spend to avoid it, so that one sum can weigh a longer way round against a bulge. All
//! weights are numbers of the garment profile.
//!
//! | term | counted over | seconds | why |
//! |---|---|---|---|
//! | below | pairs: the later one lies below the earlier | `order_below_s` per mm | bottom to top (C13): cloth pushed down is trapped |
//! | outward | pairs at one height: the later one lies nearer the centre | `order_outward_s` per mm | centre outward (C13): cloth pushed inward is trapped |
//! | returns | visits to an element after the first | `order_return_s` | finish each element before moving on (C14) |
//! | travel | way from each object to the next | machine speed, 12.1 mm a record | jumps take time |
//! | trims | cuts inside a stop, those of new neighbours included | `order_trim_s` | time, tails, locks and breaks |
//! | stops | colour changes | `stop_seconds` | time |
//! | changes | objects that follow each other and did not before | `order_change_s`, for whole stops `order_stop_change_s` | operators know a file by its order |
//!
//! *Below* and *outward* are measured between elements, so that a letter moves as one and is
//! finished before the next. A pair of elements weighs the smaller of their shares of all stitches,
//! spread over their objects by stitches: so a crest that is cut into many objects costs what it
//! would cost as one. Lines weigh nothing: they push no cloth. Between objects of one element the terms are measured between the objects and
//! count `order_within_share` only.

use std::collections::{BTreeMap, BTreeSet};

use geo::Coord;

use super::touch::lead_in;
use crate::garment::Numbers;
use crate::geometry::polyline::distance;
use crate::objects::{Object, Objects};
use crate::settings::{Brim, Settings};

/// The terms of an order's cost, s.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Cost {
    pub below: f64,
    pub outward: f64,
    pub returns: f64,
    pub travel: f64,
    pub trims: f64,
    pub stops: f64,
    pub changes: f64,
}

impl Cost {
    pub fn total(&self) -> f64 {
        self.below
            + self.outward
            + self.returns
            + self.travel
            + self.trims
            + self.stops
            + self.changes
    }

    fn add(&mut self, other: Self) {
        self.below += other.below;
        self.outward += other.outward;
        self.returns += other.returns;
        self.travel += other.travel;
        self.trims += other.trims;
        self.stops += other.stops;
        self.changes += other.changes;
    }
}

/// Reach of something on the cap: `across` from the centre (left negative), `up` from the brim, mm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Extent {
    pub across: (f64, f64),
    pub up: (f64, f64),
}

impl Extent {
    const NOTHING: Self =
        Self { across: (f64::INFINITY, f64::NEG_INFINITY), up: (f64::INFINITY, f64::NEG_INFINITY) };

    fn widen(&mut self, across: f64, up: f64) {
        self.across = (self.across.0.min(across), self.across.1.max(across));
        self.up = (self.up.0.min(up), self.up.1.max(up));
    }

    fn join(&mut self, other: Self) {
        self.widen(other.across.0, other.up.0);
        self.widen(other.across.1, other.up.1);
    }

    /// What is wrong with sewing `later` after this: mm that its middle lies below, mm that it lies
    /// further in. Either counts in full where all of `later` lies beyond the lower (inner) edge of
    /// this, and not at all up to half of it. Height comes first: of two things at different
    /// heights only that counts.
    pub fn faults(&self, later: &Self) -> (f64, f64) {
        let below = beyond(flip(self.up), flip(later.up));
        if below > 0.0 {
            return (below, 0.0);
        }
        if beyond(flip(later.up), flip(self.up)) > 0.0 {
            return (0.0, 0.0);
        }
        (0.0, self.outside(later))
    }

    /// How much nearer the centre `later` lies, mm; nothing if both lie on different sides.
    fn outside(&self, later: &Self) -> f64 {
        let (mine, other) = match self.across {
            (left, _) if left > 0.0 => (flip(self.across), flip(later.across)),
            (_, right) if right < 0.0 => (self.across, later.across),
            _ => return 0.0,
        };
        // on the other side of the centre
        if other.0 > 0.0 {
            return 0.0;
        }
        // what reaches across the centre lies nowhere nearer to it than at its middle
        let other = if middle(other) > 0.0 { flip(other) } else { other };
        beyond(mine, other)
    }
}

/// How far the middle of `b` lies beyond that of `a`, counted by how much of `b` beyond its middle
/// lies beyond all of `a`.
fn beyond(a: (f64, f64), b: (f64, f64)) -> f64 {
    let half = ((b.1 - b.0) / 2.0).max(0.1);
    let share = ((middle(b) - a.1) / half).clamp(0.0, 1.0);
    share * (middle(b) - middle(a)).max(0.0)
}

fn flip(range: (f64, f64)) -> (f64, f64) {
    (-range.1, -range.0)
}

fn middle(range: (f64, f64)) -> f64 {
    (range.0 + range.1) / 2.0
}

/// One object as the cost sees it.
#[derive(Clone, Copy, Debug)]
struct Node {
    /// Share of all stitches; 0 for lines.
    share: f64,
    extent: Extent,
    element: u32,
    /// Share of all stitches and extent of the whole element.
    whole: (f64, Extent),
    /// Number of the stop, counted through from 0.
    stop: usize,
    ends: Option<(Coord<f64>, Coord<f64>)>,
    /// The thread is not cut before this object.
    joined: bool,
}

/// Everything that the cost of an order of these objects depends on. Objects are named by their
/// place in the present order.
pub struct Model<'a> {
    nodes: Vec<Node>,
    numbers: &'a Numbers,
    /// Seconds per mm of travel.
    per_mm: f64,
}

impl<'a> Model<'a> {
    pub fn new(objects: &Objects, settings: &'a Settings) -> Self {
        let numbers = &settings.profile.numbers;
        let extents = extents(objects, settings);
        let stitches = objects.stitch_count().max(1) as f64;
        let share = |object: &Object| match object.footprint.0.is_empty() {
            true => 0.0,
            false => object.stitch_count() as f64 / stitches,
        };
        let mut elements: BTreeMap<u32, (f64, Extent)> = BTreeMap::new();
        for (object, extent) in objects.items.iter().zip(&extents) {
            let element = elements.entry(object.element).or_insert((0.0, Extent::NOTHING));
            element.0 += share(object);
            element.1.join(*extent);
        }
        let mut stops: Vec<u32> = objects.items.iter().map(|object| object.stop).collect();
        stops.sort_unstable();
        stops.dedup();
        let node = |object: &Object, extent: &Extent| Node {
            share: share(object),
            extent: *extent,
            element: object.element,
            whole: elements.get(&object.element).copied().unwrap_or((1.0, *extent)),
            stop: stops.partition_point(|stop| *stop < object.stop),
            ends: object.first().zip(object.last()).map(|(a, b)| (a.at.mm(), b.at.mm())),
            joined: lead_in(object).is_some(),
        };
        let nodes = objects.items.iter().zip(&extents).map(|(o, e)| node(o, e)).collect();
        let records_per_second = numbers.speed_spm.max(1.0) / 60.0;
        let per_mm = 1.0 / (records_per_second * numbers.stitch_max_mm.max(0.1));
        Self { nodes, numbers, per_mm }
    }

    pub fn element(&self, at: usize) -> u32 {
        self.nodes[at].element
    }

    /// Cost of one object being sewn anywhere before another.
    pub fn pair(&self, earlier: usize, later: usize) -> Cost {
        let (a, b) = (&self.nodes[earlier], &self.nodes[later]);
        if a.share == 0.0 || b.share == 0.0 {
            return Cost::default();
        }
        let parts = a.share / a.whole.0 * b.share / b.whole.0;
        let ((below, outward), weight) = if a.element == b.element {
            (a.extent.faults(&b.extent), parts * a.whole.0 * self.numbers.order_within_share)
        } else {
            (a.whole.1.faults(&b.whole.1), parts * a.whole.0.min(b.whole.0))
        };
        Cost {
            below: weight * below * self.numbers.order_below_s,
            outward: weight * outward * self.numbers.order_outward_s,
            ..Cost::default()
        }
    }

    /// Cost of one object being sewn directly after another. A thread that runs on today runs on
    /// if they stay together; new neighbours are counted as cut, which a hidden way may save.
    pub fn arc(&self, before: usize, next: usize) -> Cost {
        let (a, b) = (&self.nodes[before], &self.nodes[next]);
        let way = a.ends.zip(b.ends).map_or(0.0, |(a, b)| distance(a.1, b.0));
        let kept = before + 1 == next;
        let mut cost = Cost { travel: way * self.per_mm, ..Cost::default() };
        if a.element != b.element {
            cost.returns = self.numbers.order_return_s;
        }
        if a.stop != b.stop {
            cost.stops = self.numbers.stop_seconds;
        } else if !(kept && b.joined) {
            cost.trims = self.numbers.order_trim_s;
        }
        if !kept {
            cost.changes = self.numbers.order_change_s;
        }
        cost
    }

    /// Cost of an opening object: the way from the start point.
    pub fn first(&self, at: usize) -> f64 {
        self.nodes[at].ends.map_or(0.0, |(first, _)| first.x.hypot(first.y) * self.per_mm)
    }

    /// Cost of a whole order, first visits to elements not counted. With `by_stop` an element may
    /// be visited once in every stop, else once in all.
    pub fn cost(&self, order: &[usize], by_stop: bool) -> Cost {
        let mut total = Cost::default();
        for (place, earlier) in order.iter().enumerate() {
            for later in &order[place + 1..] {
                total.add(self.pair(*earlier, *later));
            }
        }
        for two in order.windows(2) {
            let mut arc = self.arc(two[0], two[1]);
            let (a, b) = (self.nodes[two[0]].stop, self.nodes[two[1]].stop);
            if by_stop && a != b {
                arc.changes = if a + 1 == b { 0.0 } else { self.numbers.order_stop_change_s };
            }
            total.add(arc);
        }
        let visit = |at: &usize| {
            let node = &self.nodes[*at];
            (if by_stop { node.stop } else { 0 }, node.element)
        };
        let mut visits: Vec<(usize, u32)> = order.iter().map(visit).collect();
        visits.dedup();
        let first_visits: BTreeSet<_> = visits.iter().collect();
        let returns = visits.len() - first_visits.len();
        total.returns = returns as f64 * self.numbers.order_return_s;
        total.travel += order.first().map_or(0.0, |at| self.first(*at));
        total
    }
}

/// Extent of every object: of its visible stitches, or of all if it has none.
fn extents(objects: &Objects, settings: &Settings) -> Vec<Extent> {
    let raw: Vec<Extent> = objects.items.iter().map(raw_extent).collect();
    let mut whole = Extent::NOTHING;
    for extent in &raw {
        whole.join(*extent);
    }
    let centre = settings.seam_x().unwrap_or_else(|| middle(whole.across));
    let on_cap = |extent: &Extent| Extent {
        across: (extent.across.0 - centre, extent.across.1 - centre),
        up: match settings.brim {
            Brim::Bottom => extent.up,
            Brim::Top => (-extent.up.1, -extent.up.0),
        },
    };
    raw.iter().map(on_cap).collect()
}

fn raw_extent(object: &Object) -> Extent {
    let mut extent = Extent::NOTHING;
    let mut widen = |at: Coord<f64>| extent.widen(at.x, at.y);
    if object.top().next().is_some() {
        object.top().for_each(|needle| widen(needle.at.mm()));
    } else {
        object.needles().for_each(|(_, needle)| widen(needle.at.mm()));
    }
    extent
}
