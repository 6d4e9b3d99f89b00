//! What must be kept: every needle point of what was not changed, the layers, unsure stitches.

mod dense;
mod pairs;
mod pardon;
mod places;

use std::cell::OnceCell;
use std::collections::HashMap;

use geo::Coord;

use super::Violation;
use super::blame::Blame;
use super::sewn::Sewn;
use crate::design::Pt;
use crate::geometry::polyline::distance;
use crate::objects::{Class, Label, Object, ObjectId};
use crate::report::words::count;
use crate::settings::PassName;
use crate::survey::Junction;

use self::dense::Rows;
use self::pairs::most_pairs;
use self::pardon::{pardon_ends, pardon_spare, pardon_way};
use self::places::Places;

/// A needle point that was passed over is looked for this many penetrations on (J: more than a
/// pass puts between two crossings).
const LOOK_AHEAD: usize = 24;
/// Where an object begins or ends with rows that were moved as a whole under a neighbour, they lie among up
/// to so many times as many (J).
const ADDED: usize = 3;
/// Passes that leave needle points out.
const CLEANED: [PassName; 3] = [PassName::MergeShort, PassName::ThinCrowded, PassName::StrayTies];
/// Steps between rows are no longer than this, mm (J: a thread's width, or rows would not cover).
const STEP_MM: f64 = 0.4;
/// Hidden ends of crossings may move this far, mm (J: the allowance and what it lacked).
const MOVED_MAX_MM: f64 = 6.0;

/// What has less than one in so many of an object's needle points is a scrap of it (J).
const SCRAP: usize = 8;

pub fn check(before: &Sewn, after: &Sewn, blame: &Blame) -> Vec<Violation> {
    let places = Places::of(after);
    let mut violations = Vec::new();
    for object in &before.judged.objects.items {
        violations.extend(top_kept(object, before, &places, blame));
    }
    violations.extend(layers_kept(before, after));
    violations
}

/// Every needle point of an object's top stitching, in its order. Where a pass moves ends of
/// crossings, something must stand between the same neighbours for each of them; a turned fill
/// has new rows; unsure stitches stay as they are, whatever they are.
fn top_kept(object: &Object, before: &Sewn, places: &Places, blame: &Blame) -> Option<Violation> {
    let (did, id) = (|pass| blame.did(pass, object.id), object.id);
    if did(PassName::TurnFill) {
        return None;
    }
    let run = run_of(object);
    let stop = before.stops.get(first_index(object)?).copied()?;
    let mut aligned = match did(PassName::WidenThin) {
        true => places.align_beside(stop, &run),
        false => places.align(stop, &run),
    };
    if did(PassName::Overlap) {
        pardon_way(&run, &mut aligned);
    }
    if did(PassName::EdgeRun) {
        // The first and the last may be underlay that was replaced: the recogniser cannot tell.
        pardon_ends(&mut aligned);
    }
    if CLEANED.into_iter().any(did) {
        pardon_spare(&run, &mut aligned, places);
    }
    let moves = did(PassName::Overlap) || did(PassName::WidenThin);
    let added = if did(PassName::Overlap) { ADDED } else { 0 };
    let own = |at: &usize| places.may_be(*at, stop, id);
    let rows = OnceCell::new();
    let resewn = |k: usize| {
        let both = || Rows::of(object, stop, before, places.after);
        let at = run[k].mm();
        did(PassName::Overlap)
            && is_by_junction(at, id, before.judged.junctions)
            && rows.get_or_init(both).as_ref().is_some_and(|rows| rows.are_as_dense(at))
    };
    let lost = match moves {
        true => unmatched(&run, &aligned, places, added, own, resewn),
        false => gaps(&aligned),
    };
    let (first, lost) = lost?;
    let at = run[first].mm();
    let words = |what: String| format!("{what} at {:.1}, {:.1}", at.x, at.y);
    if object.class == Class::Unsure {
        let words = words(format!("{} not understood would change", count(lost, "stitch")));
        return Some(blame.of(id, None, words));
    }
    let repairs = [PassName::Overlap, PassName::EdgeRun, PassName::Sequence];
    let pass = repairs.into_iter().chain(CLEANED).find(|p| did(*p));
    Some(blame.of(id, pass, words(format!("{} of its top are lost", count(lost, "needle point")))))
}

/// Needle points that must be kept: the top stitching, of unsure objects everything.
fn run_of(object: &Object) -> Vec<Pt> {
    let wanted = |label: Label| Object::is_top(label) || object.class == Class::Unsure;
    object.needles().filter(|(label, _)| wanted(*label)).map(|(_, needle)| needle.at).collect()
}

fn first_index(object: &Object) -> Option<usize> {
    object.top().find_map(|needle| needle.origin).map(|origin| origin as usize)
}

/// First lost needle point, and how many are.
fn gaps(aligned: &[Option<usize>]) -> Option<(usize, usize)> {
    let first = aligned.iter().position(Option::is_none)?;
    Some((first, aligned.iter().filter(|place| place.is_none()).count()))
}

/// The same where needle points may have moved: each must have one of its own near by among those that
/// may be the object's, between the places of the same neighbours. Where it has no neighbour on one side,
/// those that many needle points reach on the other, with `added` times as many that may have come between.
fn unmatched(
    run: &[Pt],
    aligned: &[Option<usize>],
    places: &Places,
    added: usize,
    own: impl Fn(&usize) -> bool,
    resewn: impl Fn(usize) -> bool,
) -> Option<(usize, usize)> {
    let points = &places.after.judged.design.points;
    let (mut first, mut lost) = (None, 0);
    let mut i = 0;
    while i < run.len() {
        if aligned[i].is_some() {
            i += 1;
            continue;
        }
        let end = (i..run.len()).find(|k| aligned[*k].is_some()).unwrap_or(run.len());
        let from = i.checked_sub(1).and_then(|k| aligned[k]);
        let to = aligned.get(end).copied().flatten();
        let about = LOOK_AHEAD + added * (end - i);
        let between = match (from, to) {
            (Some(from), Some(to)) => from + 1..to.min(points.len()),
            (Some(from), None) => from + 1..(from + 1 + about).min(points.len()),
            (None, Some(to)) => to.saturating_sub(about)..to,
            (None, None) => 0..0,
        };
        let there: Vec<Pt> = between.filter(&own).map(|k| points[k]).collect();
        let kept = (i..end).filter(|k| !is_step(run, *k));
        let wanted: Vec<Pt> = kept.clone().map(|k| run[k]).collect();
        let mut missing = wanted.len() - most_pairs(&wanted, &there, MOVED_MAX_MM);
        if missing > 0 {
            missing = missing.min(kept.filter(|k| !resewn(*k)).count());
        }
        if missing > 0 {
            first = first.or(Some(i));
            lost += missing;
        }
        i = end;
    }
    first.map(|first| (first, lost))
}

/// May an extension have changed an object at a place: does it lie under a later one near by?
fn is_by_junction(at: Coord<f64>, id: ObjectId, junctions: &[Junction]) -> bool {
    let mut own = junctions.iter().filter(|junction| junction.under == id);
    own.any(|junction| junction.samples.iter().any(|s| distance(s.at, at) <= MOVED_MAX_MM))
}

/// Does a needle point make a step from row to row? Where rows are moved, the two may become one.
fn is_step(run: &[Pt], at: usize) -> bool {
    let short = |other: Option<&Pt>| other.is_some_and(|o| o.distance(run[at]) <= STEP_MM);
    short(at.checked_sub(1).and_then(|before| run.get(before))) || short(run.get(at + 1))
}

/// What lay on top of a neighbour still does. Where an object is read back in pieces, its largest
/// tells: a scrap of its neighbour's new underlay may have been taken for one of them. One of which only a
/// scrap has its name was read back as a part of another.
fn layers_kept(before: &Sewn, after: &Sewn) -> Vec<Violation> {
    let mut largest: HashMap<ObjectId, (usize, usize)> = HashMap::new();
    for (position, object) in after.judged.objects.items.iter().enumerate() {
        let Some(name) = after.name(object.id) else { continue };
        let size = object.top().count();
        let known = largest.entry(name).or_insert((size, position));
        if size > known.0 {
            *known = (size, position);
        }
    }
    // Counted once: a large object may have a thousand junctions.
    let sizes = before.judged.objects.items.iter().map(|object| (object.id, object.top().count()));
    let sizes: HashMap<ObjectId, usize> = sizes.collect();
    let rank = |id: &ObjectId| {
        let was = sizes.get(id)?;
        largest.get(id).filter(|(size, _)| SCRAP * size > *was).map(|(_, position)| *position)
    };
    let mut violations: Vec<Violation> = Vec::new();
    for junction in before.judged.junctions {
        let Some((under, over)) = rank(&junction.under).zip(rank(&junction.over)) else { continue };
        if under > over {
            let at = junction.samples.first().map_or(Coord::zero(), |sample| sample.at);
            let words = format!(
                "{} would be sewn on top of {} at {:.1}, {:.1}",
                junction.under, junction.over, at.x, at.y
            );
            let objects = vec![junction.under.0, junction.over.0];
            let violation =
                Violation { pass: Some(PassName::Sequence), objects, words, at: None, opens: None };
            if !violations.iter().any(|known| known.objects == violation.objects) {
                violations.push(violation);
            }
        }
    }
    violations
}
