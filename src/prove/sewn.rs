//! A tape as it lies on the cloth: its stitches, with the object and stop of the original that
//! each belongs to, and which of them the other tape has too.

use std::collections::BTreeMap;

use super::Judged;
use super::blame::Suspect;
use super::quick::{Index, longest_rising};
use crate::design::{Link, Pt};
use crate::geometry::vector::{between_lines, line_angle};
use crate::objects::{Label, Object, ObjectId};

/// Stitches that differ from a fill's rows by no more than this run along them, degrees (J:
/// rounding turns the shortest stitches of a row by about as much).
const ALONG_ROWS_DEG: f64 = 6.0;

/// Of stitches that belong to no object.
const NOBODY: ObjectId = ObjectId(u32::MAX);

/// One thread on the cloth, from one needle point to the next.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Stitch {
    pub from: Pt,
    pub to: Pt,
    /// Penetration that it ends at.
    pub index: u32,
    /// Stop of the original.
    pub stop: u32,
    /// Sewn, or the thread of a jump that is not cut.
    pub sewn: bool,
    /// The other tape has it too.
    pub known: bool,
    /// The other tape has it too, in the same order with all others that are.
    pub in_order: bool,
}

impl Stitch {
    pub fn length_mm(&self) -> f64 {
        self.from.distance(self.to)
    }

    fn key(&self) -> Key {
        (self.stop, self.from.min(self.to), self.from.max(self.to), self.sewn)
    }
}

type Key = (u32, Pt, Pt, bool);

/// A tape as it lies on the cloth.
pub struct Sewn<'a> {
    pub judged: Judged<'a>,
    pub stitches: Vec<Stitch>,
    /// For each penetration the stop of the original.
    pub stops: Vec<u32>,
    /// For each penetration its label and the object that it belongs to.
    labels: Vec<(Label, ObjectId)>,
    /// First penetration of each object's top stitching, and its label.
    tops: BTreeMap<ObjectId, (u32, Label)>,
    /// For each object that the original has its id there.
    names: BTreeMap<ObjectId, ObjectId>,
    /// For each stop of this tape the stop of the original that it was.
    stop_order: Vec<Option<u32>>,
}

impl<'a> Sewn<'a> {
    /// `stop_order` gives the original stop of each stop, `names` the original id of each object.
    pub fn new(
        judged: Judged<'a>,
        stop_order: &[Option<u32>],
        names: BTreeMap<ObjectId, ObjectId>,
    ) -> Self {
        let design = judged.design;
        let origin = |stop: &u32| stop_order.get(*stop as usize).copied().flatten();
        let stops: Vec<u32> =
            design.stops.iter().map(|stop| origin(stop).unwrap_or(*stop)).collect();
        let mut labels = vec![(Label::Unsure, NOBODY); design.points.len()];
        let mut tops = BTreeMap::new();
        for object in &judged.objects.items {
            let top = object.needles().find(|(label, _)| Object::is_top(*label));
            if let Some((label, Some(origin))) = top.map(|(label, needle)| (label, needle.origin)) {
                tops.insert(object.id, (origin, label));
            }
            for (label, needle) in object.needles() {
                if let Some(entry) = needle.origin.and_then(|i| labels.get_mut(i as usize)) {
                    *entry = (label, object.id);
                }
            }
        }
        let stitches = (1..design.points.len())
            .filter(|i| matches!(design.links[*i], Link::Sewn | Link::Jump))
            .map(|i| Stitch {
                from: design.points[i - 1],
                to: design.points[i],
                index: i as u32,
                stop: stops[i],
                sewn: design.links[i] == Link::Sewn,
                known: false,
                in_order: false,
            })
            .collect();
        Self { judged, stitches, stops, labels, tops, names, stop_order: stop_order.to_vec() }
    }

    pub fn label(&self, stitch: &Stitch) -> Label {
        self.label_at(stitch.index)
    }

    /// Does a stitch run along the rows of the fill that it belongs to? A row at a fill's end may
    /// be taken for travel or for an edge run.
    pub fn is_along_rows(&self, stitch: &Stitch) -> bool {
        let id = self.labels.get(stitch.index as usize).map(|(_, id)| *id);
        let fill = id.and_then(|id| self.judged.objects.get(id)).and_then(Object::fill);
        let along = line_angle(stitch.to.mm() - stitch.from.mm());
        fill.is_some_and(|fill| between_lines(fill.angle, along) <= ALONG_ROWS_DEG)
    }

    /// Label of the stitch that ends at a penetration.
    pub fn label_at(&self, index: u32) -> Label {
        self.labels.get(index as usize).map_or(Label::Unsure, |(label, _)| *label)
    }

    /// Whose the stitch is that ends at a penetration. What comes after the first top stitch of
    /// its object was sewn with the top, whatever it is called.
    pub fn suspect(&self, index: u32) -> Suspect {
        let (label, id) =
            self.labels.get(index as usize).copied().unwrap_or((Label::Unsure, NOBODY));
        let top = self.tops.get(&id).filter(|(first, _)| *first < index);
        Suspect {
            owner: self.names.get(&id).copied(),
            stop: self.stops.get(index as usize).copied().unwrap_or(0),
            label: top.map_or(label, |(_, top)| *top),
        }
    }

    /// Stop of the original that a stop of this tape was.
    pub fn origin_of(&self, stop: u32) -> u32 {
        self.stop_order.get(stop as usize).copied().flatten().unwrap_or(stop)
    }

    /// Id in the original of an object of this tape.
    pub fn name(&self, id: ObjectId) -> Option<ObjectId> {
        self.names.get(&id).copied()
    }
}

/// The stitches of a tape, found by what they are.
pub struct StitchIndex(Index<Key>);

impl StitchIndex {
    pub fn of(sewn: &Sewn) -> Self {
        Self(Index::of(sewn.stitches.iter().map(Stitch::key)))
    }
}

/// Marks the stitches that both tapes have, each as often as the other has it, and those of them
/// that come in the same order.
pub fn mark_known(before: &mut Sewn, index: &StitchIndex, after: &mut Sewn) {
    let StitchIndex(index) = index;
    for stitch in &mut before.stitches {
        (stitch.known, stitch.in_order) = (false, false);
    }
    // How many of each kind are taken.
    let mut taken: Vec<u32> = vec![0; index.kinds()];
    let (mut was, mut is) = (Vec::new(), Vec::new());
    for (at, stitch) in after.stitches.iter_mut().enumerate() {
        let Some(kind) = index.number(&stitch.key()) else { continue };
        if let Some(place) = index.places_of(kind).get(taken[kind] as usize) {
            taken[kind] += 1;
            stitch.known = true;
            before.stitches[*place as usize].known = true;
            was.push(*place);
            is.push(at);
        }
    }
    for member in longest_rising(&was) {
        before.stitches[was[member] as usize].in_order = true;
        after.stitches[is[member]].in_order = true;
    }
}
