//! The same place in the other tape: its own sample of the same two objects, or else what its
//! footprints and its thread say there.

use std::cell::OnceCell;
use std::collections::BTreeMap;

use geo::Coord;

use super::zones::Tape;
use crate::garment::Numbers;
use crate::geometry::locate::Locator;
use crate::geometry::segments::SegmentGrid;
use crate::geometry::vector::dot;
use crate::objects::{Object, ObjectId};
use crate::prove::sewn::Sewn;
use crate::survey::{DEEPEST_MM, Junction, Sample};

/// A sample of the other tape stands for this one up to this far off, mm (J: samples lie 0.5 mm
/// apart, and an edge may have moved by rounding).
const SAME_MM: f64 = 0.75;
/// Samples stand for each other if their normals differ by less than about 45°.
const SAME_SIDE: f64 = 0.7;
/// Step of the search for an edge, mm.
const STEP_MM: f64 = 0.1;
/// What is no more off than this is rounding, mm.
const ROUNDING_MM: f64 = 0.1;

/// Samples of the other tape by the pair that they lie between, ids of the original.
pub struct Twins<'a> {
    samples: BTreeMap<(ObjectId, ObjectId), Vec<&'a Sample>>,
}

impl<'a> Twins<'a> {
    pub fn of(after: &Sewn<'a>) -> Self {
        let mut samples: BTreeMap<_, Vec<&'a Sample>> = BTreeMap::new();
        for junction in after.judged.junctions {
            if let (Some(under), Some(over)) =
                (after.name(junction.under), after.name(junction.over))
            {
                samples.entry((under, over)).or_default().extend(&junction.samples);
            }
        }
        Self { samples }
    }

    /// The sample that stands for this one.
    fn twin(&self, pair: (ObjectId, ObjectId), sample: &Sample) -> Option<&'a Sample> {
        let list = self.samples.get(&pair)?;
        let square = |other: &Sample| {
            let off = other.at - sample.at;
            dot(off, off)
        };
        let stands = |(square, other): &(f64, &&Sample)| {
            *square <= SAME_MM * SAME_MM && dot(other.inward, sample.inward) > SAME_SIDE
        };
        let nearest = list
            .iter()
            .map(|other| (square(other), other))
            .filter(stands)
            .min_by(|a, b| a.0.total_cmp(&b.0))
            .map(|(_, other)| other);
        nearest.copied()
    }
}

/// One junction in the other tape.
pub struct Place<'a> {
    pair: (ObjectId, ObjectId),
    twins: &'a Twins<'a>,
    thread: &'a Thread<'a>,
    objects: Option<[&'a Object; 2]>,
    /// Their footprints, once they are asked for: few places need them.
    areas: OnceCell<[Locator; 2]>,
    /// Stop of the object sewn first, and the first penetration of the one sewn later.
    under_stop: Option<u32>,
    over_begins: Option<u32>,
}

impl<'a> Place<'a> {
    pub fn of(
        junction: &Junction,
        now: &Tape<'a>,
        twins: &'a Twins<'a>,
        thread: &'a Thread<'a>,
    ) -> Self {
        let pair = (junction.under, junction.over);
        let [under, over] = [pair.0, pair.1].map(|id| now.object(id).map(|(_, object)| object));
        Self {
            pair,
            twins,
            thread,
            objects: under.zip(over).map(|(under, over)| [under, over]),
            areas: OnceCell::new(),
            under_stop: under.map(|under| now.sewn.origin_of(under.stop)),
            over_begins: over.and_then(|over| over.top().find_map(|needle| needle.origin)),
        }
    }

    /// The sample of the other tape; `None` where it does not have both objects.
    pub fn sample(&self, sample: &Sample, numbers: &Numbers) -> Option<Sample> {
        let mut found = match self.twins.twin(self.pair, sample) {
            Some(twin) => *twin,
            None => self.by_footprint(sample)?,
        };
        if found.overlap < sample.overlap - ROUNDING_MM {
            // The recogniser may leave rows out of a footprint: the thread itself decides.
            found.overlap = found.overlap.max(self.by_thread(sample, numbers));
        }
        Some(found)
    }

    /// The sample with its overlap measured anew, straight along its normal.
    fn by_footprint(&self, sample: &Sample) -> Option<Sample> {
        let objects = self.objects?;
        let areas = || objects.map(|object| Locator::new(&object.footprint));
        let [under, over] = self.areas.get_or_init(areas);
        let steps = (2.0 * DEEPEST_MM / STEP_MM) as i32;
        let place = |step: i32| f64::from(step) * STEP_MM - DEEPEST_MM;
        let inside =
            |area: &Locator, step: i32| area.contains(sample.at + sample.inward * place(step));
        let reach = (0..=steps).rev().find(|step| inside(under, *step)).map_or(-DEEPEST_MM, place);
        let from = (0..=steps).find(|step| inside(over, *step)).map_or(DEEPEST_MM, place);
        Some(Sample { overlap: (reach - from.max(-STEP_MM)).min(DEEPEST_MM), ..*sample })
    }

    /// How far thread of the object sewn first reaches without a break of a thread's width, mm; no
    /// farther than it did.
    fn by_thread(&self, sample: &Sample, numbers: &Numbers) -> f64 {
        let Some(stop) = self.under_stop else { return -DEEPEST_MM };
        let width = numbers.thread_width_mm;
        let lies = |step: &u32| {
            let at = sample.at + sample.inward * (f64::from(*step) * STEP_MM);
            self.thread.lies_near(at, width, stop, self.over_begins)
        };
        let steps = ((sample.overlap + width) / STEP_MM).max(0.0) as u32;
        let covered = (0..=steps).take_while(lies).count() as f64;
        let reach = (covered - 1.0) * STEP_MM - width;
        if reach >= sample.overlap - ROUNDING_MM - STEP_MM { sample.overlap } else { reach }
    }
}

/// The stitches of a tape by place.
pub struct Thread<'a> {
    sewn: &'a Sewn<'a>,
    /// Built once it is asked for: few tapes need it.
    grid: OnceCell<SegmentGrid>,
}

impl<'a> Thread<'a> {
    pub fn of(sewn: &'a Sewn<'a>) -> Self {
        Self { sewn, grid: OnceCell::new() }
    }

    fn grid(&self) -> &SegmentGrid {
        let stitches = || self.sewn.stitches.iter().map(|s| [s.from.mm(), s.to.mm()]).collect();
        self.grid.get_or_init(|| SegmentGrid::new(stitches()))
    }

    /// Does thread of a stop, sewn before a penetration, lie within reach of a place?
    fn lies_near(&self, at: Coord<f64>, reach: f64, stop: u32, before: Option<u32>) -> bool {
        self.grid().near(at, reach).into_iter().any(|(i, _)| {
            let stitch = &self.sewn.stitches[i];
            let earlier = before.is_none_or(|before| stitch.index < before);
            stitch.sewn && stitch.stop == stop && earlier
        })
    }
}
