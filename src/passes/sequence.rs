//! Pass 5: the sewing order. Objects move inside their stop and whole stops change places (or, when
//! asked for, elements are finished in all their colours), as `order` plans it; this file carries a
//! plan out: it joins and cuts the thread where neighbours changed.

use std::collections::BTreeMap;

use super::{Left, Outcome};
use crate::design::Link;
use crate::garment::Numbers;
use crate::objects::{Label, Needle, Object, ObjectId, Objects, Part};
use crate::order::{self, Move, Plan, Reason, Way, ends};
use crate::report::words::count;
use crate::report::{Change, Grade, Place};
use crate::settings::{PassName, Settings};

/// Plans in a row, after the first step, after which an order counts as not settling.
const ROUNDS: usize = 3;

/// Brings the objects into their best order (design section 6, pass 5). The result is its own best
/// order, links included; where none settles, nothing is changed.
pub fn sequence(objects: &Objects, settings: &Settings) -> Outcome {
    // Mostly one step is enough, and shows by the order that follows from it.
    let mut plan = order::step(objects, settings);
    for round in 0..=ROUNDS {
        if plan.is_identity() {
            return Outcome::unchanged(objects);
        }
        let mut work = Work::new(objects, &plan, settings);
        work.join_neighbours();
        let next = order::best_order(&work.objects, settings);
        if next.is_identity() {
            let mut changes = changes(objects, &plan, &work, settings);
            say_trims(&mut changes, trims(&work.objects).saturating_sub(trims(objects)));
            return Outcome { objects: work.objects, changes, left: Vec::new() };
        }
        plan = match round {
            0 => order::best_order(objects, settings),
            _ => order::plan_for(objects, settings, &next.order),
        };
    }
    let reason = "no order settles: each new one makes another look better".to_owned();
    let objects_moved = plan.moves.iter().flat_map(|m| &m.objects).map(|id| id.0).collect();
    let left = Left { pass: PassName::Sequence, objects: objects_moved, reason };
    Outcome { left: vec![left], ..Outcome::unchanged(objects) }
}

fn trims(objects: &Objects) -> usize {
    let parts = objects.items.iter().skip(1).flat_map(|object| &object.parts);
    parts.filter(|part| part.link == Link::Trim).count()
}

/// The first change tells of the trims that the new order cannot do without.
fn say_trims(changes: &mut [Change], more: usize) {
    if let Some(change) = changes.first_mut().filter(|_| more > 0) {
        change.trims_added = more as u32;
        change.after.push_str(&format!("; {} more", count(more, "trim")));
    }
}

/// What became of the thread between two objects that follow each other now.
struct Joint {
    before: Option<ObjectId>,
    next: Option<ObjectId>,
    added: usize,
    removed: usize,
}

/// The objects in their new order while their ends are being fitted.
struct Work<'a> {
    objects: Objects,
    /// Place in the old order, per object.
    old: Vec<usize>,
    /// Was the thread cut before the object at this old place?
    cut_before: Vec<bool>,
    numbers: &'a Numbers,
    settings: &'a Settings,
    joints: Vec<Joint>,
}

impl<'a> Work<'a> {
    fn new(objects: &Objects, plan: &Plan, settings: &'a Settings) -> Self {
        let places: BTreeMap<ObjectId, usize> =
            objects.items.iter().enumerate().map(|(at, object)| (object.id, at)).collect();
        let old: Vec<usize> = plan.order.iter().filter_map(|id| places.get(id).copied()).collect();
        let cut_before = objects
            .items
            .iter()
            .enumerate()
            .map(|(at, object)| at == 0 || order::lead_in(object).is_none())
            .collect();
        let mut items: Vec<Object> = old.iter().map(|at| objects.items[*at].clone()).collect();
        renumber_stops(&mut items);
        let numbers = &settings.profile.numbers;
        let objects = Objects { items, ways: objects.ways.clone() };
        Self { objects, old, cut_before, numbers, settings, joints: Vec::new() }
    }

    /// Goes through all neighbours; those that were neighbours before keep the thread as it was.
    fn join_neighbours(&mut self) {
        let count = self.old.len();
        for place in 0..=count {
            let before = place.checked_sub(1);
            let next = (place < count).then_some(place);
            let same = match (before, next) {
                (Some(a), Some(b)) => self.old[a] + 1 == self.old[b],
                (None, Some(b)) => self.old[b] == 0,
                (Some(a), None) => self.old[a] + 1 == count,
                (None, None) => true,
            };
            if !same {
                let joint = self.join(before, next);
                self.joints.push(joint);
            }
        }
    }

    /// Makes the way between two new neighbours (or the start, or the end).
    fn join(&mut self, before: Option<usize>, next: Option<usize>) -> Joint {
        let id = |place: Option<usize>| place.map(|at| self.objects.items[at].id);
        let mut joint = Joint { before: id(before), next: id(next), added: 0, removed: 0 };
        let off = before.map(|at| self.cut_before.get(self.old[at] + 1) != Some(&false));
        let on = next.map(|at| self.cut_before[self.old[at]]);
        if let (Some(at), Some(false)) = (before, off) {
            joint.removed += ends::drop_lead_out(&mut self.objects.items[at]);
        }
        if let (Some(at), Some(false)) = (next, on) {
            joint.removed += ends::drop_lead_in(&mut self.objects.items[at]);
        }
        if let (Some(a), Some(b)) = (before, next)
            && let Some((way, removed)) = self.hidden_way(a, b)
        {
            joint.removed += removed;
            joint.added += self.lead(b, way);
            return joint;
        }
        if let (Some(at), Some(false)) = (before, off) {
            joint.added += ends::tie_off(&mut self.objects.items[at], self.numbers.tie_stitch_mm);
        }
        if let Some(at) = next {
            let stop_before = before.map(|a| self.objects.items[a].stop);
            let object = &mut self.objects.items[at];
            if on == Some(false) {
                joint.added += ends::tie_in(object, self.numbers.tie_stitch_mm);
            }
            let link = match stop_before {
                None => Link::Jump,
                Some(stop) if stop == object.stop => Link::Trim,
                Some(_) => Link::Stop,
            };
            set_link(object, link);
        }
        joint
    }

    /// A way that saves the cut between two places of the order; the ties of that cut go. Returns
    /// it with the needle points taken away.
    fn hidden_way(&mut self, before: usize, next: usize) -> Option<(Way, usize)> {
        let items = &self.objects.items;
        let (a, b) = (&items[before], &items[next]);
        let free = |object: &Object| order::may_be_cut(object, self.settings);
        if a.stop != b.stop || !free(a) || !free(b) {
            return None;
        }
        let (mut untied, mut bare) = (a.clone(), b.clone());
        let removed = ends::drop_tie_off(&mut untied) + ends::drop_tie_in(&mut bare);
        let (from, to) = (untied.last()?.at, bare.first()?.at);
        match order::hidden_way(from, to, &items[next..], self.numbers)? {
            Way::Sewn(points) => {
                self.objects.items[before] = untied;
                self.objects.items[next] = bare;
                Some((Way::Sewn(points), removed))
            }
            Way::Jump => Some((Way::Jump, 0)),
        }
    }

    /// Leads to an object by a hidden way. Returns the needle points added.
    fn lead(&mut self, next: usize, way: Way) -> usize {
        let object = &mut self.objects.items[next];
        let points = match way {
            Way::Jump => {
                set_link(object, Link::Jump);
                return 0;
            }
            Way::Sewn(points) => points,
        };
        set_link(object, Link::Sewn);
        let count = points.len();
        if count > 0 {
            let needles = points.into_iter().map(Needle::new).collect();
            object.parts.insert(0, Part { label: Label::Travel, link: Link::Sewn, needles });
        }
        count
    }
}

fn set_link(object: &mut Object, link: Link) {
    if let Some(part) = object.parts.first_mut() {
        part.link = link;
    }
}

/// Counts the stops through again: a new one wherever the old number changes.
fn renumber_stops(items: &mut [Object]) {
    let mut old = items.first().map(|object| object.stop);
    let mut new = 0;
    for object in items {
        if old != Some(object.stop) {
            new += 1;
            old = Some(object.stop);
        }
        object.stop = new;
    }
}

/// One change per object or stop that was moved, with the stitches that this cost.
fn changes(objects: &Objects, plan: &Plan, work: &Work, settings: &Settings) -> Vec<Change> {
    let mut owner: BTreeMap<ObjectId, usize> = BTreeMap::new();
    for (number, moved) in plan.moves.iter().enumerate() {
        for id in &moved.objects {
            owner.entry(*id).or_insert(number);
        }
    }
    let mut tally = vec![(0, 0); plan.moves.len()];
    for joint in &work.joints {
        let ends = [joint.next, joint.before];
        let neighbours = ends.iter().flatten().flat_map(|id| beside(objects, *id));
        let all = ends.iter().copied().flatten().chain(neighbours);
        let number = all.into_iter().find_map(|id| owner.get(&id).copied()).unwrap_or(0);
        if let Some((added, removed)) = tally.get_mut(number) {
            *added += joint.added;
            *removed += joint.removed;
        }
    }
    let one =
        |(moved, tally): (&Move, &(usize, usize))| change(objects, plan, moved, *tally, settings);
    plan.moves.iter().zip(&tally).map(one).collect()
}

/// The objects before and after one in the old order: where neither end of a new joint moved, what
/// stood between them did.
fn beside(objects: &Objects, id: ObjectId) -> Vec<ObjectId> {
    let Some(at) = objects.position(id) else { return Vec::new() };
    let places = [at.checked_sub(1), at.checked_add(1)];
    places.into_iter().flatten().filter_map(|at| objects.items.get(at)).map(|o| o.id).collect()
}

fn change(
    objects: &Objects,
    plan: &Plan,
    moved: &Move,
    (added, removed): (usize, usize),
    settings: &Settings,
) -> Change {
    let (from, to) = (moved.from + 1, moved.to + 1);
    let count = objects.items.len();
    let stops = stop_list(plan);
    let (id, before, after) = match moved.stop {
        Some(stop) => (
            format!("sequence-s{stop}"),
            format!("sewn as stop {from}, its {} objects with it", moved.objects.len()),
            format!("sewn as stop {to}; new order of the old stops: {stops}"),
        ),
        None => (
            moved.objects.first().map_or_else(String::new, |id| format!("sequence-{id}")),
            format!("sewn as number {from} of {count}"),
            format!("sewn as number {to} of {count}; new order of the old stops: {stops}"),
        ),
    };
    let (reason, source) = words(moved.reason);
    Change {
        id,
        pass: PassName::Sequence,
        objects: moved.objects.iter().map(|id| id.0).collect(),
        place: place(objects, &moved.objects, settings),
        before,
        after,
        reason: reason.to_owned(),
        source: source.to_owned(),
        stitches_added: u32::try_from(added).unwrap_or(u32::MAX),
        stitches_removed: u32::try_from(removed).unwrap_or(u32::MAX),
        trims_added: 0,
        grade: Grade::Safe,
    }
}

/// The old stops in their new order, counted from 1 as operators do.
fn stop_list(plan: &Plan) -> String {
    let numbers: Vec<String> = plan.stop_permutation.iter().map(|s| (s + 1).to_string()).collect();
    numbers.join(", ")
}

/// Why a move matters on a cap, and who says so.
fn words(reason: Reason) -> (&'static str, &'static str) {
    const UP_AND_OUT: &str = "S: Printwear Oct 2016 p. 61; E. Campbell, Images Jun 2018 p. 53; \
         J. Elliott, Working with the Limitations of Lids, Impressions, 2 May 2016";
    const ELEMENT: &str = "S: Printwear Oct 2016 p. 61; H. Momsen, Tips for Stitching Perfect \
         Caps; E. Campbell, Printwear Jul 2019 p. 23";
    match reason {
        Reason::BottomUp => (
            "it lies below what was sewn before it; on a cap, sewing goes from the bottom up, so \
             that loose cloth is smoothed away and not trapped",
            UP_AND_OUT,
        ),
        Reason::CentreOut => (
            "it lies nearer the centre than what was sewn before it; on a cap, sewing goes from \
             the centre outward, so that loose cloth is smoothed away and not trapped",
            UP_AND_OUT,
        ),
        Reason::Element => (
            "its element was left unfinished; on a cap each element is finished before the next, \
             so that its parts still lie where they should",
            ELEMENT,
        ),
    }
}

fn place(objects: &Objects, ids: &[ObjectId], settings: &Settings) -> Place {
    let moved = ids.iter().filter_map(|id| objects.get(*id));
    let at = moved.flat_map(Object::needles).map(|(_, needle)| needle.at.mm());
    Place::of_points(at, settings.seam_x().unwrap_or(0.0), objects.lowest_mm())
}

#[cfg(test)]
#[path = "sequence_tests.rs"]
mod tests;
