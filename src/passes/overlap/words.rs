//! What was changed and what was left, measured and in words.

use std::collections::{BTreeMap, BTreeSet};

use geo::Coord;

use super::target::Demand;
use crate::geometry::nearest::Nearest;
use crate::geometry::vector::distance;
use crate::objects::{Object, ObjectId, Objects};
use crate::passes::Left;
use crate::report::{Change, Grade, Place};
use crate::settings::{PassName, Settings};
use crate::survey::{Junction, SAMPLE_MM};

/// Overlap of an object at the places where it was short.
pub struct Measure {
    /// Places on the edge of a neighbour and the overlap there, mm.
    places: Vec<(ObjectId, Coord<f64>, f64)>,
    pub mean: f64,
    pub least: f64,
    /// Length of what is short, mm.
    pub length: f64,
}

impl Measure {
    pub fn of(demands: &[Demand]) -> Self {
        let places = demands.iter().flat_map(|demand| {
            let samples = demand.junction.samples.iter().zip(&demand.lack.short);
            let short = samples.filter(|(_, short)| **short).map(|(sample, _)| sample);
            short.map(|sample| (demand.junction.over, sample.at, sample.overlap))
        });
        Self::new(places.collect(), demands.iter().map(|d| d.lack.length).sum())
    }

    fn new(places: Vec<(ObjectId, Coord<f64>, f64)>, length: f64) -> Self {
        let count = places.len().max(1) as f64;
        let mean = places.iter().map(|(.., overlap)| overlap).sum::<f64>() / count;
        let least = places.iter().map(|(.., overlap)| *overlap).fold(f64::INFINITY, f64::min);
        Self { places, mean, least, length }
    }

    /// The same places measured again. The neighbours have not moved, so the samples have not; at the
    /// ends of a curve one may be gone, and the next stands for it.
    pub fn again(&self, junctions: &[Junction]) -> Self {
        let overs: BTreeSet<ObjectId> = self.places.iter().map(|(over, ..)| *over).collect();
        let overlaps = |over: ObjectId| {
            let own = junctions.iter().filter(|junction| junction.over == over);
            Nearest::new(own.flat_map(|j| &j.samples).map(|s| (s.at, s.overlap)))
        };
        let overlaps: BTreeMap<ObjectId, _> =
            overs.into_iter().map(|over| (over, overlaps(over))).collect();
        let measured = |over: ObjectId, at: Coord<f64>| {
            let (place, overlap) = overlaps.get(&over)?.of(at)?;
            (distance(place, at) < 1.5 * SAMPLE_MM).then_some(*overlap)
        };
        let places = self.places.iter();
        let places =
            places.map(|(over, at, before)| (*over, *at, measured(*over, *at).unwrap_or(*before)));
        Self::new(places.collect(), self.length)
    }
}

/// The change of one object, in words.
pub fn change(
    objects: &Objects,
    before: &Object,
    after: &Object,
    (measured, result): (&Measure, &Measure),
    overs: &[u32],
    settings: &Settings,
) -> Change {
    let numbers = &settings.profile.numbers;
    let (old, new) = (before.stitch_count(), after.stitch_count());
    let list = overs.iter().map(|id| format!("o{id}")).collect::<Vec<_>>().join(", ");
    Change {
        id: format!("{}-o{}", PassName::Overlap.name(), before.id.0),
        pass: PassName::Overlap,
        objects: std::iter::once(before.id.0).chain(overs.iter().copied()).collect(),
        place: place(objects, &measured.places, settings),
        before: format!(
            "reaches {:.1} mm under {list} (least {:.1}) along {:.0} mm of edge",
            measured.mean, measured.least, measured.length
        ),
        after: format!("reaches {:.1} mm under (least {:.1})", result.mean, result.least),
        reason: format!(
            "the stitches of both sides pull back from their shared edge; under {:.1} mm of overlap \
             the cap shows between them",
            numbers.overlap_allowance_mm
        ),
        source: settings
            .profile
            .entries
            .get("overlap_allowance_mm")
            .map_or_else(String::new, |entry| format!("{:?}: {}", entry.mark, entry.source)),
        stitches_added: new.saturating_sub(old) as u32,
        stitches_removed: old.saturating_sub(new) as u32,
        trims_added: 0,
        grade: Grade::Safe,
    }
}

/// What stays short although it was tried, if it is long enough to matter.
pub fn left(object: &Object, overs: &[u32], result: &Measure, settings: &Settings) -> Option<Left> {
    let numbers = &settings.profile.numbers;
    let short = result.places.iter().filter(|(.., o)| *o < numbers.overlap_act_below_mm).count();
    let length = result.length * short as f64 / result.places.len().max(1) as f64;
    (length >= numbers.junction_min_length_mm).then(|| Left {
        pass: PassName::Overlap,
        objects: std::iter::once(object.id.0).chain(overs.iter().copied()).collect(),
        reason: format!(
            "{:.1} mm of its edge keep less than {:.1} mm of overlap (least {:.1}): there is no \
             room to hide more",
            length, numbers.overlap_act_below_mm, result.least
        ),
    })
}

fn place(objects: &Objects, places: &[(ObjectId, Coord<f64>, f64)], settings: &Settings) -> Place {
    let at = places.iter().map(|(_, at, _)| *at);
    Place::of_points(at, settings.seam_x().unwrap_or(0.0), objects.lowest_mm())
}
