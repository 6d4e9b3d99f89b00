//! Overlap: the object sewn first is extended under the one sewn later, where too little of it
//! lies there to bear the pull of both.
//!
//! Only its hidden edge moves, along the shared curve: needle points go outward along their own
//! crossing or row, and where stitches run along the edge rows are added. What can be seen stays,
//! but for gaps of up to the gap limit, which are closed.

mod clip;
mod edge;
mod edits;
mod extend;
mod layers;
mod patch;
mod place;
mod rows;
mod strips;
mod target;
#[cfg(test)]
mod tests;
mod words;

use std::collections::{BTreeMap, BTreeSet};

use geo::Rect;

use self::target::{Around, BEYOND_COLUMN_MM, BEYOND_MM, BandStyle, Demand, Target};
use self::words::Measure;
use super::Outcome;
use super::relay::{Covers, is_new, laid_anew};
use crate::geometry::footprint::Footprint;
use crate::geometry::{boxes, engine};
use crate::objects::{Object, ObjectId, Objects, Shape};
use crate::settings::{PassName, Settings};
use crate::survey::{Junction, Lack, junctions, junctions_among, lacks};

/// The mean overlap of what is short must grow by this for a change to be worth it, mm (J).
const GAIN_MIN_MM: f64 = 0.1;

/// Slits up to twice this width are no part of an area to sew, nor spurs up to twice that, mm (J).
const SLIT_MM: f64 = 0.25;
const SPUR_MM: f64 = 0.1;

/// Ends of rows that meet an edge at a flat angle leave notches this deep, mm (J).
const NOTCH_MM: f64 = 0.6;

/// Covers further away than this have nothing to hide, mm.
const REACH_MM: f64 = 4.0;

/// Rounds after which an object is left as it is.
const ROUNDS: usize = 4;

/// Extends every object that reaches too little under a later one.
pub fn overlap(objects: &Objects, settings: &Settings) -> Outcome {
    let mut outcome = Outcome::unchanged(objects);
    let junctions = junctions(objects, settings);
    let lacks = allowed_lacks(&junctions, settings);
    let mut demands: BTreeMap<usize, Vec<Demand>> = BTreeMap::new();
    for (junction, lack) in junctions.iter().zip(&lacks).filter(|(_, lack)| lack.length > 0.0) {
        if let Some(position) = objects.position(junction.under)
            && settings.allows(PassName::Overlap, junction.under)
        {
            demands.entry(position).or_default().push(Demand { junction, lack });
        }
    }
    for (position, demands) in demands {
        let object = &objects.items[position];
        let covers = covers(objects, position);
        let before = Measure::of(&demands);
        let mut overs: Vec<u32> = demands.iter().map(|d| d.junction.over.0).collect();
        overs.dedup();
        let beside = junctions.iter().filter(|j| j.under == object.id).map(|j| j.over).collect();
        // Those before it have been extended already.
        let others = others(&outcome.objects, position);
        let scene = Scene { objects, beside, covers, others, settings };
        match extend_fully(&scene, object, &demands) {
            Some((changed, junctions)) => {
                let after = before.again(&junctions);
                let measures = (&before, &after);
                outcome
                    .changes
                    .push(words::change(objects, object, &changed, measures, &overs, settings));
                outcome.left.extend(words::left(object, &overs, &after, settings));
                outcome.objects.items[position] = changed;
            }
            None => outcome.left.extend(words::left(object, &overs, &before, settings)),
        }
    }
    outcome
}

/// What junctions lack, but for places at which an extension was taken back.
fn allowed_lacks(junctions: &[Junction], settings: &Settings) -> Vec<Lack> {
    let mut lacks = lacks(junctions, settings);
    for (junction, lack) in junctions.iter().zip(&mut lacks) {
        for (k, sample) in junction.samples.iter().enumerate() {
            if !settings.allows_at(PassName::Overlap, junction.under, sample.at) {
                (lack.wanted[k], lack.short[k]) = (None, false);
            }
        }
        if !lack.short.contains(&true) {
            lack.length = 0.0;
        }
    }
    lacks
}

/// What one object is extended among.
struct Scene<'a> {
    objects: &'a Objects,
    /// Those that it has a junction with.
    beside: BTreeSet<ObjectId>,
    covers: Vec<&'a Object>,
    /// Areas of all others near by, as they are by now.
    others: Vec<&'a Footprint>,
    settings: &'a Settings,
}

/// The object extended as far as it goes, and its junctions then; `None` if nothing is gained.
///
/// A corner that one round leaves empty may be reached from the needle points of the round before:
/// going on until nothing changes is what lets a second run of the pass change nothing.
fn extend_fully(
    scene: &Scene,
    object: &Object,
    demands: &[Demand],
) -> Option<(Object, Vec<Junction>)> {
    let settings = scene.settings;
    let mut result: Option<(Object, Vec<Junction>)> = None;
    for _ in 0..ROUNDS {
        let current = result.as_ref().map_or(object, |(object, _)| object);
        let found =
            result.as_ref().map(|(_, junctions)| (junctions, allowed_lacks(junctions, settings)));
        let open: Vec<Demand> = match &found {
            None => demands.iter().map(|d| Demand { junction: d.junction, lack: d.lack }).collect(),
            Some((junctions, lacks)) => {
                let pairs = junctions.iter().zip(lacks).filter(|(_, lack)| lack.length > 0.0);
                pairs.map(|(junction, lack)| Demand { junction, lack }).collect()
            }
        };
        if open.is_empty() {
            break;
        }
        let Some(changed) = extended(scene, current, &open) else { break };
        let before = Measure::of(&open);
        let junctions = junctions_of(scene, &changed);
        if before.again(&junctions).mean < before.mean + GAIN_MIN_MM {
            break;
        }
        result = Some((changed, junctions));
    }
    result
}

/// One round: rows laid in this run are laid again over the larger area, others are made longer.
fn extended(scene: &Scene, object: &Object, open: &[Demand]) -> Option<Object> {
    let Scene { objects, beside, covers, others, settings } = scene;
    let most = settings.profile.numbers.layers_max as usize;
    let around = Around { beside, covers, others, most };
    match object.fill().filter(|_| is_new(object)) {
        Some(fill) => {
            // The last row may lie up to a pitch inside an outline that runs along it.
            let style = BandStyle {
                beyond: BEYOND_MM,
                deeper: fill.row_pitch,
                ends: ends_mm(settings),
                back: NOTCH_MM,
            };
            let target = Target::new(object, open, &around, style);
            let junctions: Vec<Junction> = open.iter().map(|d| d.junction.clone()).collect();
            let covers = Covers::of(object.id, objects, &junctions);
            let area = engine::close_and_open(&target.whole, SLIT_MM, SPUR_MM);
            laid_anew(object, fill.angle, area, &covers, &settings.profile.numbers).ok()
        }
        None => {
            let (beyond, ends) = match object.fill() {
                Some(_) => (BEYOND_MM, ends_mm(settings)),
                None => (BEYOND_COLUMN_MM, 0.0),
            };
            let style = BandStyle { beyond, deeper: steps_mm(object), ends, back: 0.0 };
            let target = Target::new(object, open, &around, style);
            extend::extend(object, &target, settings)
        }
    }
}

/// Areas of all other objects near one.
fn others(objects: &Objects, position: usize) -> Vec<&Footprint> {
    let Some(own) = objects.items[position].footprint.bounding_rect() else { return Vec::new() };
    let all = objects.items.iter().enumerate();
    all.filter(|(k, object)| *k != position && reaches(own, object))
        .map(|(_, o)| &o.footprint)
        .collect()
}

/// How far the edge of a fill lies back between two row ends, mm.
fn ends_mm(settings: &Settings) -> f64 {
    /// Mostly (J); the deeper band may want more room than there is.
    const BACK_MM: f64 = 0.1;
    if settings.second_choices { 0.0 } else { BACK_MM }
}

/// How far inside an edge along them the last rows or crossings may lie, mm: rows joined in a V
/// reach it at every second place only.
fn steps_mm(object: &Object) -> f64 {
    match &object.shape {
        Shape::Fill(fill) => {
            let joined = fill.rows.windows(2).filter(|rows| rows[0].1 == rows[1].0).count();
            let in_v = 2 * joined > fill.rows.len();
            if in_v { 2.0 * fill.row_pitch } else { fill.row_pitch }
        }
        Shape::Satin(satin) if !satin.closed => satin.same_side_pitch / 2.0,
        _ => 0.0,
    }
}

/// What lies over an object and hides: the extension may go beneath any of it.
fn covers(objects: &Objects, position: usize) -> Vec<&Object> {
    let Some(own) = objects.items[position].footprint.bounding_rect() else { return Vec::new() };
    let over = objects.items[position + 1..].iter();
    over.filter(|o| o.hides && !o.held && reaches(own, o)).collect()
}

/// Does an object lie so near a box that an extension may meet it?
fn reaches(own: Rect<f64>, object: &Object) -> bool {
    object.footprint.bounding_rect().is_some_and(|other| boxes::near(own, other, REACH_MM))
}

/// Junctions of the changed object with the later neighbours beside it, and with what it has come to lie
/// beside.
fn junctions_of(scene: &Scene, changed: &Object) -> Vec<Junction> {
    let covers = scene.covers.iter().map(|cover| cover.id);
    let later: BTreeSet<ObjectId> = scene.beside.iter().copied().chain(covers).collect();
    let items = scene.objects.items.iter().filter_map(|object| match object.id {
        id if id == changed.id => Some(changed),
        id if later.contains(&id) => Some(object),
        _ => None,
    });
    let items: Vec<&Object> = items.collect();
    junctions_among(&items, scene.settings, |under, _| under.id == changed.id)
}
