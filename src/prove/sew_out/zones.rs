//! The places where cap may show: samples of every shared curve of the original, with both tapes'
//! edges measured at each.

use std::collections::BTreeMap;

use super::drift::Mover;
use super::edges::{Side, Underlay};
use super::ground::{Ground, beneath};
use super::twins::{Place, Thread, Twins};
use crate::geometry::vector::{between_lines, line_angle};
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
    /// The two edges at each probe, as they were.
    pub edges: Vec<Edges>,
}

/// One place on a shared curve.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Probe {
    /// The original's sample there.
    pub sample: Sample,
    /// Length of the curve that it stands for, mm.
    pub length: f64,
    /// What displacements are multiplied by here.
    pub growth: f64,
    /// Near enough to the seam to be moved across it.
    pub at_seam: bool,
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

impl Zone {
    pub fn length_mm(&self) -> f64 {
        self.probes.iter().map(|probe| probe.length).sum()
    }
}

/// Every junction of the original.
pub fn all(before: &Sewn, settings: &Settings) -> Vec<Zone> {
    let then = Tape::new(before);
    let ground = Ground::of(before, settings);
    before.judged.junctions.iter().filter_map(|junction| zone(junction, &then, &ground)).collect()
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

fn zone(junction: &Junction, then: &Tape, ground: &Ground) -> Option<Zone> {
    let pair = (junction.under, junction.over);
    let movers = [pair.0, pair.1].map(|id| {
        let (position, object) = then.object(id)?;
        Some(Mover { rank: position as u32, stop: object.stop })
    });
    let movers = [movers[0]?, movers[1]?];
    let settings = ground.settings;
    let length = junction.length / junction.samples.len().max(1) as f64;
    let thirds = ground.thirds(junction);
    let (mut probes, mut found) = (Vec::new(), Vec::new());
    for sample in &junction.samples {
        let before = edges(sample, then, pair, settings)?;
        // A wider gap was meant to show, and where a third object lies beneath no cap can.
        let wide = before.drawn > settings.profile.numbers.sew_cover_closing_mm;
        if wide || beneath(sample, &thirds) {
            continue;
        }
        let (growth, at_seam) = (ground.growth(sample.at), ground.at_seam(sample.at));
        probes.push(Probe { sample: *sample, length, growth, at_seam });
        found.push(before);
    }
    let zone = Zone { under: pair.0, over: pair.1, movers, probes, edges: found };
    (!zone.probes.is_empty()).then_some(zone)
}

/// The other tape, where the junctions of the original are looked for.
pub struct Now<'a> {
    tape: Tape<'a>,
    twins: Twins<'a>,
    thread: Thread<'a>,
    settings: &'a Settings,
}

impl<'a> Now<'a> {
    pub fn of(after: &'a Sewn<'a>, settings: &'a Settings) -> Self {
        let (twins, thread) = (Twins::of(after), Thread::of(after));
        Self { tape: Tape::new(after), twins, thread, settings }
    }

    /// Both edges at each probe of a junction, as they are now; as they were where the tape does
    /// not have both objects.
    pub fn edges(&self, zone: &Zone) -> Vec<Edges> {
        let pair = (zone.under, zone.over);
        let place = Place::of(pair, &self.tape, &self.twins, &self.thread);
        let numbers = &self.settings.profile.numbers;
        let now = |probe: &Probe| {
            let twin = place.sample(&probe.sample, numbers)?;
            edges(&twin, &self.tape, pair, self.settings)
        };
        zone.probes.iter().zip(&zone.edges).map(|(probe, was)| now(probe).unwrap_or(*was)).collect()
    }
}

/// Both edges at a sample of one tape; `None` where it does not have both objects.
fn edges(
    sample: &Sample,
    tape: &Tape,
    pair: (ObjectId, ObjectId),
    settings: &Settings,
) -> Option<Edges> {
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
