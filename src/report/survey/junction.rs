use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::object::corner;
use crate::geometry::vector::between_lines;
use crate::report::round;
use crate::survey::{Junction, Meeting, Sample};

/// Two objects whose edges run alongside each other. The same two may have several junctions.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct JunctionLine {
    /// Object that is sewn first.
    pub under: u32,
    /// Object that is sewn later and lies over it.
    pub over: u32,
    /// Length of the shared curve, mm.
    pub length_mm: f64,
    /// The curve is a closed loop.
    pub closed: bool,
    /// Both push towards each other along nearly all of it, so that it closes by itself.
    pub closes_itself: bool,
    pub overlap_mm: Overlap,
    /// Share of the curve (0 to 1) where the overlap is under `overlap_act_below_mm` of the
    /// garment.
    pub thin_share: f64,
    /// Mean angle between the stitches of the two objects along the curve, degrees in [0, 90].
    pub crossing_deg: f64,
    /// What the two do at the curve, most of it first.
    pub meetings: Vec<Meetings>,
    /// Points of the shared curve `[x, y]`, every 0.5 mm, mm in tape coordinates; they lie on the
    /// edge of the object that is sewn later.
    pub curve_mm: Vec<[f64; 2]>,
    /// Overlap at each point of the curve, mm.
    pub overlaps_mm: Vec<f64>,
}

/// How far the object sewn first reaches under the other one, square to the curve, mm: negative is
/// a gap, 5 stands for 5 or more.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Overlap {
    pub least: f64,
    pub mean: f64,
    pub most: f64,
}

/// Part of a curve along which the stitches of both objects meet it alike.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Meetings {
    pub under: Meeting,
    pub over: Meeting,
    /// Share of the curve, 0 to 1.
    pub share: f64,
}

impl JunctionLine {
    /// `thin`: an overlap under this is too thin, mm.
    pub fn of(junction: &Junction, thin: f64) -> Self {
        let samples = &junction.samples;
        let thin = samples.iter().filter(|sample| sample.overlap < thin).count();
        let crossing = |s: &Sample| between_lines(s.under_direction, s.over_direction);
        Self {
            under: junction.under.0,
            over: junction.over.0,
            length_mm: round(junction.length, 1),
            closed: junction.closed,
            closes_itself: junction.closes_itself,
            overlap_mm: Overlap::of(samples),
            thin_share: share(thin, samples.len()),
            crossing_deg: round(mean(samples, crossing), 0),
            meetings: meetings(samples),
            curve_mm: samples.iter().map(|sample| corner(sample.at)).collect(),
            overlaps_mm: samples.iter().map(|sample| round(sample.overlap, 2)).collect(),
        }
    }
}

impl Overlap {
    /// Of the samples of one curve; each stands for the same length of it.
    pub fn of(samples: &[Sample]) -> Self {
        let all = || samples.iter().map(|sample| sample.overlap);
        Self {
            least: round(all().fold(f64::INFINITY, f64::min), 2),
            mean: round(mean(samples, |sample| sample.overlap), 2),
            most: round(all().fold(f64::NEG_INFINITY, f64::max), 2),
        }
    }
}

fn mean(samples: &[Sample], value: impl Fn(&Sample) -> f64) -> f64 {
    samples.iter().map(value).sum::<f64>() / samples.len().max(1) as f64
}

fn share(part: usize, whole: usize) -> f64 {
    round(part as f64 / whole.max(1) as f64, 3)
}

fn meetings(samples: &[Sample]) -> Vec<Meetings> {
    let mut kinds: Vec<((Meeting, Meeting), usize)> = Vec::new();
    for sample in samples {
        let kind = (sample.under_meeting, sample.over_meeting);
        match kinds.iter_mut().find(|(known, _)| *known == kind) {
            Some((_, count)) => *count += 1,
            None => kinds.push((kind, 1)),
        }
    }
    kinds.sort_by_key(|(_, count)| std::cmp::Reverse(*count));
    let meetings = |((under, over), count): ((Meeting, Meeting), usize)| Meetings {
        under,
        over,
        share: share(count, samples.len()),
    };
    kinds.into_iter().map(meetings).collect()
}
