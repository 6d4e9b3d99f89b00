//! Clean-up after the repairs: what is left out without moving the thread that is seen.

pub mod jump_runs;
pub mod merge_short;
pub mod stray_ties;
#[cfg(test)]
mod tests;
pub mod thin_crowded;

use std::collections::BTreeSet;

use geo::Coord;

use super::Outcome;
use super::parts::source;
use crate::objects::{Object, Objects, Shape};
use crate::report::words::count;
use crate::report::{Change, Grade, Place};
use crate::settings::{PassName, Settings};
use crate::stitch::spare::Spot;

/// What a pass says of its changes.
struct Words {
    pass: PassName,
    /// Where needle points are left out.
    what: &'static str,
    reason: &'static str,
    /// Name of the number that it goes by.
    number: &'static str,
}

/// Leaves needle points out of every object that has some to spare.
fn leave_out(
    objects: &Objects,
    settings: &Settings,
    words: &Words,
    spare: impl Fn(usize, &Object) -> Vec<Spot>,
) -> Outcome {
    let mut outcome = Outcome::unchanged(objects);
    for (index, object) in objects.items.iter().enumerate() {
        if !settings.allows(words.pass, object.id) {
            continue;
        }
        let spots = spare(index, object);
        if spots.is_empty() {
            continue;
        }
        outcome.changes.push(change(object, &spots, objects, settings, words));
        outcome.objects.items[index] = without(object, &spots);
    }
    outcome
}

/// The object without some needle points of its parts.
fn without(object: &Object, spots: &[Spot]) -> Object {
    let gone: BTreeSet<Spot> = spots.iter().copied().collect();
    let mut new = object.clone();
    for (p, part) in new.parts.iter_mut().enumerate() {
        let mut k = 0..;
        part.needles.retain(|_| k.next().is_none_or(|k| !gone.contains(&(p, k))));
    }
    // Numbers of needle points of the top stitching that went.
    let tops = object.parts.iter().enumerate().filter(|(_, part)| Object::is_top(part.label));
    let all = tops.flat_map(|(p, part)| (0..part.needles.len()).map(move |k| (p, k)));
    let went: Vec<usize> =
        all.enumerate().filter(|(_, spot)| gone.contains(spot)).map(|(i, _)| i).collect();
    match &mut new.shape {
        Shape::Satin(satin) => {
            let mut i = 0..;
            satin.sides.retain(|_| i.next().is_none_or(|i| went.binary_search(&i).is_err()));
        }
        Shape::Fill(fill) => {
            let moved = |i: u32| i - went.partition_point(|gone| *gone < i as usize) as u32;
            fill.rows.iter_mut().for_each(|row| *row = (moved(row.0), moved(row.1)));
        }
        Shape::Line | Shape::Unknown => {}
    }
    new
}

fn change(
    object: &Object,
    spots: &[Spot],
    objects: &Objects,
    settings: &Settings,
    words: &Words,
) -> Change {
    let at = spots.iter().map(|(p, k)| object.parts[*p].needles[*k].at.mm());
    Change {
        id: format!("{}-{}", words.pass.name(), object.id),
        pass: words.pass,
        objects: vec![object.id.0],
        place: place(at, objects, settings),
        before: format!("{} {}", count(spots.len(), "needle point"), words.what),
        after: "left out, the thread stays where it was".to_owned(),
        reason: words.reason.to_owned(),
        source: source(settings, words.number),
        stitches_added: 0,
        stitches_removed: u32::try_from(spots.len()).unwrap_or(u32::MAX),
        trims_added: 0,
        grade: Grade::Safe,
    }
}

/// Where these places lie, mm.
fn place(at: impl Iterator<Item = Coord<f64>>, objects: &Objects, settings: &Settings) -> Place {
    Place::of_points(at, settings.seam_x().unwrap_or(0.0), objects.lowest_mm())
}
