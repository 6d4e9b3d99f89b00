//! The places where cap may show: samples of every shared curve of the original, with both tapes'
//! edges measured at each.

use std::collections::BTreeMap;

use geo::Coord;

use super::drift::{Drift, Mover};
use super::edges::{Side, Underlay};
use super::ground::{Ground, beneath};
use super::twins::{Place, Thread, Twins};
use crate::geometry::vector::{between_lines, dot, line_angle};
use crate::objects::{Object, ObjectId};
use crate::prove::Settings;
use crate::prove::sewn::Sewn;
use crate::survey::{DEEPEST_MM, Junction, Sample};

/// No gap is taken to be wider, mm: as far as an overlap is measured.
pub const GAP_MAX_MM: f64 = DEEPEST_MM;
/// What reaches this deep reaches as deep as is measured, mm.
const DEEP_MM: f64 = DEEPEST_MM - 0.1;

/// One junction of the original.
pub struct Zone {
    pub under: ObjectId,
    pub over: ObjectId,
    /// The same two, as the model moves them.
    pub movers: [Mover; 2],
    pub probes: Vec<Probe>,
}

/// One place on a shared curve.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Probe {
    pub at: Coord<f64>,
    /// Unit normal of the curve, into the object sewn later.
    pub inward: Coord<f64>,
    /// Length of the curve that it stands for, mm.
    pub length: f64,
    /// What displacements are multiplied by here.
    pub growth: f64,
    /// Near enough to the seam to be moved across it.
    pub at_seam: bool,
    /// The two edges before and after.
    pub edges: [Edges; 2],
}

/// How two edges lie to each other at a probe.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Edges {
    /// Gap between the threads of both as drawn, mm; negative where they overlap.
    pub drawn: f64,
    /// What pull and push open it by, mm.
    pub pulled: f64,
    /// Share that a guard covers.
    pub held: f64,
}

impl Edges {
    /// The gap with distortions scaled, before anything is displaced.
    pub fn gap(&self, scale: f64) -> f64 {
        self.drawn + scale * self.pulled
    }
}

impl Probe {
    /// How far a relative displacement opens the gap.
    pub fn along_normal(&self, drift: &Drift) -> f64 {
        let seam = if self.at_seam { drift.seam * self.inward.x } else { 0.0 };
        dot(drift.by, self.inward) + seam
    }
}

impl Zone {
    pub fn length_mm(&self) -> f64 {
        self.probes.iter().map(|probe| probe.length).sum()
    }
}

/// Every junction of the original.
pub fn all(before: &Sewn, after: &Sewn, settings: &Settings) -> Vec<Zone> {
    let then = Tape::new(before);
    let now = Tape::new(after);
    let ground = Ground::of(before, settings);
    let twins = Twins::of(after);
    let thread = Thread::of(after);
    let junctions = before.judged.junctions;
    junctions.iter().filter_map(|j| zone(j, &then, &now, &twins, &thread, &ground)).collect()
}

/// One tape with its underlay.
pub struct Tape<'a> {
    pub sewn: &'a Sewn<'a>,
    underlay: Underlay,
    /// Place of each object, by its id in the original.
    positions: BTreeMap<ObjectId, usize>,
}

impl<'a> Tape<'a> {
    fn new(sewn: &'a Sewn<'a>) -> Self {
        let objects = sewn.judged.objects;
        let mut positions: BTreeMap<ObjectId, usize> = BTreeMap::new();
        for (position, object) in objects.items.iter().enumerate() {
            let Some(name) = sewn.name(object.id) else { continue };
            // Of several parts of one object the largest stands for it.
            let stands = positions.entry(name).or_insert(position);
            if objects.items[*stands].stitch_count() < object.stitch_count() {
                *stands = position;
            }
        }
        Self { sewn, underlay: Underlay::of(objects), positions }
    }

    /// Place in the sewing order and object that has this id in the original.
    pub fn object(&self, name: ObjectId) -> Option<(usize, &'a Object)> {
        let position = *self.positions.get(&name)?;
        Some((position, &self.sewn.judged.objects.items[position]))
    }
}

fn zone(
    junction: &Junction,
    then: &Tape,
    now: &Tape,
    twins: &Twins,
    thread: &Thread,
    ground: &Ground,
) -> Option<Zone> {
    let pair = (junction.under, junction.over);
    let movers = [pair.0, pair.1].map(|id| {
        let (position, object) = then.object(id)?;
        Some(Mover { rank: position as u32, stop: object.stop })
    });
    let movers = [movers[0]?, movers[1]?];
    let numbers = &ground.settings.profile.numbers;
    let length = junction.length / junction.samples.len().max(1) as f64;
    let thirds = ground.thirds(junction);
    let place = Place::of(junction, now, twins, thread);
    let mut probes = Vec::new();
    for sample in &junction.samples {
        let before = edges(sample, then, pair, ground)?;
        // A wider gap was meant to show, and where a third object lies beneath no cap can.
        if before.drawn > numbers.sew_cover_closing_mm || beneath(sample, &thirds) {
            continue;
        }
        let twin = place.sample(sample, numbers);
        let after = twin.and_then(|twin| edges(&twin, now, pair, ground));
        probes.push(Probe {
            at: sample.at,
            inward: sample.inward,
            length,
            growth: ground.growth(sample.at),
            at_seam: ground.at_seam(sample.at),
            edges: [before, after.unwrap_or(before)],
        });
    }
    (!probes.is_empty()).then_some(Zone { under: pair.0, over: pair.1, movers, probes })
}

/// Both edges at a sample of one tape; `None` where it does not have both objects.
fn edges(
    sample: &Sample,
    tape: &Tape,
    pair: (ObjectId, ObjectId),
    ground: &Ground,
) -> Option<Edges> {
    let settings = ground.settings;
    let numbers = &settings.profile.numbers;
    let (under_at, under) = tape.object(pair.0)?;
    let (over_at, over) = tape.object(pair.1)?;
    let drawn = -sample.overlap - numbers.thread_width_mm;
    // What is as deep as this cannot open, whatever pulls: no need to look at what holds it.
    if sample.overlap >= DEEP_MM {
        return Some(Edges { drawn, pulled: 0.0, held: 0.0 });
    }
    let over_side = Side { object: over, position: over_at, at: sample.at, inward: sample.inward };
    let under_side = Side {
        object: under,
        position: under_at,
        at: sample.at + sample.inward * sample.overlap,
        inward: sample.inward * -1.0,
    };
    let retreat = |direction: f64, side: &Side| {
        let angle = between_lines(direction, line_angle(sample.inward)).to_radians();
        let held = tape.underlay.holds_edge(side, numbers);
        let factor = if held { numbers.sew_edge_run_factor } else { 1.0 };
        numbers.sew_pull_mm * factor * angle.cos() - numbers.sew_push_mm * angle.sin()
    };
    let same = |a: u32, b: u32| {
        let origin = |stop: u32| tape.sewn.origin_of(stop);
        settings.same_colour(origin(a), origin(b))
    };
    Some(Edges {
        drawn,
        pulled: retreat(sample.under_direction, &under_side)
            + retreat(sample.over_direction, &over_side),
        held: tape.underlay.cover_across(&under_side, same, numbers),
    })
}
