//! The same place in the other tape: its own sample of the same two objects, or else what its
//! footprints and its thread say there.

use std::cell::OnceCell;

use geo::Coord;

use super::zones::Tape;
use crate::garment::Numbers;
use crate::geometry::locate::Locator;
use crate::geometry::segments::SegmentGrid;
use crate::geometry::vector::dot;
use crate::objects::{Object, ObjectId};
use crate::prove::quick::Index;
use crate::prove::sewn::Sewn;
use crate::survey::{DEEPEST_MM, Sample};

/// A sample of the other tape stands for this one up to this far off, mm (J: samples lie 0.5 mm
/// apart, and an edge may have moved by rounding).
const SAME_MM: f64 = 0.75;
/// Samples stand for each other if their normals differ by less than about 45°.
const SAME_SIDE: f64 = 0.7;
/// Step of the search for an edge, mm.
const STEP_MM: f64 = 0.1;
/// What is no more off than this is rounding, mm.
const ROUNDING_MM: f64 = 0.1;

/// Samples of the other tape by the pair that they lie between (ids of the original) and by place.
pub struct Twins<'a> {
    samples: Vec<&'a Sample>,
    at: Index<Cell>,
}

/// A pair and a cell of its own grid.
type Cell = (u32, u32, i32, i32);

fn cell((under, over): (ObjectId, ObjectId), at: Coord<f64>) -> Cell {
    let line = |v: f64| (v / SAME_MM).floor() as i32;
    (under.0, over.0, line(at.x), line(at.y))
}

impl<'a> Twins<'a> {
    pub fn of(after: &Sewn<'a>) -> Self {
        let (mut samples, mut cells) = (Vec::new(), Vec::new());
        for junction in after.judged.junctions {
            if let (Some(under), Some(over)) =
                (after.name(junction.under), after.name(junction.over))
            {
                samples.extend(&junction.samples);
                cells.extend(junction.samples.iter().map(|s| cell((under, over), s.at)));
            }
        }
        Self { samples, at: Index::of(cells.into_iter()) }
    }

    /// The sample that stands for this one: the nearest, of several the first.
    fn twin(&self, pair: (ObjectId, ObjectId), sample: &Sample) -> Option<&'a Sample> {
        let (under, over, x, y) = cell(pair, sample.at);
        let cells = (x - 1..=x + 1).flat_map(|x| (y - 1..=y + 1).map(move |y| (under, over, x, y)));
        let square = |place: u32| {
            let off = self.samples[place as usize].at - sample.at;
            dot(off, off)
        };
        let stands = |(square, place): &(f64, u32)| {
            let other = self.samples[*place as usize];
            *square <= SAME_MM * SAME_MM && dot(other.inward, sample.inward) > SAME_SIDE
        };
        let nearest = cells
            .flat_map(|cell| self.at.places(&cell))
            .map(|place| (square(*place), *place))
            .filter(stands)
            .min_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
        nearest.map(|(_, place)| self.samples[place as usize])
    }
}

/// One junction in the other tape.
pub struct Place<'a> {
    pair: (ObjectId, ObjectId),
    twins: &'a Twins<'a>,
    thread: &'a Thread<'a>,
    objects: Option<[&'a Object; 2]>,
    /// Stop of the object sewn first, and the first penetration of the one sewn later.
    under_stop: Option<u32>,
    over_begins: Option<u32>,
}

impl<'a> Place<'a> {
    pub fn of(
        pair: (ObjectId, ObjectId),
        now: &'a Tape<'a>,
        twins: &'a Twins<'a>,
        thread: &'a Thread<'a>,
    ) -> Self {
        let [under, over] = [pair.0, pair.1].map(|id| now.object(id).map(|(_, object)| object));
        Self {
            pair,
            twins,
            thread,
            objects: under.zip(over).map(|(under, over)| [under, over]),
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
        let [under, over] = self.objects?.map(|object| object.footprint.locator());
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
        self.grid().is_near(at, reach, |i, _| {
            let stitch = &self.sewn.stitches[i];
            let earlier = before.is_none_or(|before| stitch.index < before);
            stitch.sewn && stitch.stop == stop && earlier
        })
    }
}
