//! What must be kept: every needle point of what was not changed, the layers, unsure stitches.

use std::collections::HashMap;

use geo::Coord;

use super::Violation;
use super::blame::Blame;
use super::pairs::most_pairs;
use super::quick::Index;
use super::same;
use super::sewn::Sewn;
use crate::design::Pt;
use crate::objects::{Class, Label, Object, ObjectId};
use crate::report::words::count;
use crate::settings::PassName;
use crate::stitch::spare::{STAYS_MM, beside};

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
/// Columns that are widened move by no more than this at either edge, mm (J: half of what the look
/// bears, and rounding).
const BESIDE_MM: f64 = 0.3;
/// Places at which the beginning of a run is looked for (J: a run that is there begins at one of
/// the first).
const TRIES_MAX: usize = 64;

pub fn check(before: &Sewn, after: &Sewn, blame: &Blame) -> Vec<Violation> {
    let places = Places::of(after);
    let mut violations = Vec::new();
    for object in &before.judged.objects.items {
        violations.extend(top_kept(object, before, &places, blame));
    }
    violations.extend(layers_kept(before, after));
    violations
}

/// Where needle points lie in the tape that would be written.
struct Places<'a> {
    after: &'a Sewn<'a>,
    /// Penetrations of each stop and needle point.
    at: Index<(u32, Pt)>,
}

impl<'a> Places<'a> {
    fn of(after: &'a Sewn<'a>) -> Self {
        let points = &after.judged.design.points;
        let at = Index::of(after.stops.iter().copied().zip(points.iter().copied()));
        Self { after, at }
    }

    /// Penetrations at a needle point of a stop.
    fn of_point(&self, stop: u32, point: Pt) -> &[u32] {
        self.at.places(&(stop, point))
    }

    /// May a penetration be an object's: of its stop, and no other one's?
    fn may_be(&self, at: usize, stop: u32, id: ObjectId) -> bool {
        let owner = || self.after.suspect(at as u32).owner;
        self.after.stops[at] == stop && owner().is_none_or(|owner| owner == id)
    }

    /// The best place of a run of which every needle point may have been moved a little.
    fn align_beside(&self, stop: u32, run: &[Pt]) -> Vec<Option<usize>> {
        let follow = |start: u32| -> Vec<Option<usize>> {
            let mut next = start as usize;
            let beside = |at: &Pt| {
                let found = self.ahead(stop, next, |point| point.distance(*at) <= BESIDE_MM);
                next = found.map_or(next, |found| found + 1);
                found
            };
            run.iter().map(beside).collect()
        };
        let starts = run.first().into_iter().flat_map(|first| same::around(*first));
        let starts = starts.flat_map(|at| self.of_point(stop, at)).take(TRIES_MAX);
        let ways = starts.map(|start| follow(*start));
        ways.max_by_key(|way| way.iter().flatten().count()).unwrap_or_else(|| vec![None; run.len()])
    }

    /// The best place of a run of needle points in the tape: for each of them its penetration
    /// there, `None` where it is lost or moved.
    fn align(&self, stop: u32, run: &[Pt]) -> Vec<Option<usize>> {
        let mut best: Vec<Option<usize>> = vec![None; run.len()];
        let mut most = 0;
        let mut tried = 0;
        for (first, point) in run.iter().enumerate() {
            for start in self.of_point(stop, *point) {
                // Where another way has led already, this one would lead too.
                if best[first] == Some(*start as usize) {
                    continue;
                }
                let found = self.follow(stop, &run[first..], *start as usize);
                let kept = found.iter().flatten().count();
                if kept > most {
                    most = kept;
                    best = vec![None; first];
                    best.extend(found);
                }
                tried += 1;
            }
            // What is left of the run cannot do better; and a run that is gone is gone.
            if most + first + 1 >= run.len() || tried > TRIES_MAX {
                break;
            }
        }
        best
    }

    fn follow(&self, stop: u32, run: &[Pt], start: usize) -> Vec<Option<usize>> {
        /// A needle point that was moved may be met again further on by chance. It is not taken there
        /// if one of so many that follow it in the run would be left behind.
        const AFTER: usize = 3;
        let mut next = start;
        (0..run.len())
            .map(|k| {
                let found =
                    self.near(stop, run[k], next).or_else(|| self.far(stop, &run[k..], next))?;
                let mut after = run[k + 1..].iter().take(AFTER);
                let left_behind = |at: usize| at < found;
                if found > next
                    && after.any(|at| self.near(stop, *at, next).is_some_and(left_behind))
                {
                    return None;
                }
                next = found + 1;
                Some(found)
            })
            .collect()
    }

    /// The next penetration at a needle point, a little way on.
    fn near(&self, stop: u32, point: Pt, next: usize) -> Option<usize> {
        self.ahead(stop, next, |at| at == point)
    }

    /// The next penetration, a little way on, at a needle point that is wanted.
    fn ahead(&self, stop: u32, next: usize, wanted: impl Fn(Pt) -> bool) -> Option<usize> {
        let points = &self.after.judged.design.points;
        let end = (next + LOOK_AHEAD).min(points.len());
        (next..end).find(|i| wanted(points[*i]) && self.after.stops[*i] == stop)
    }

    /// The next place anywhere where a run goes on in the same way for two needle points.
    fn far(&self, stop: u32, run: &[Pt], next: usize) -> Option<usize> {
        let points = &self.after.judged.design.points;
        let places = self.of_point(stop, *run.first()?);
        let from = places.partition_point(|place| (*place as usize) < next);
        let goes_on =
            |place: &usize| run.get(1).is_some_and(|second| points.get(place + 1) == Some(second));
        places[from..].iter().map(|place| *place as usize).find(goes_on)
    }
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
    let lost = if moves { unmatched(&run, &aligned, places, added, own) } else { gaps(&aligned) };
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

/// Takes needle points that were left out as kept, where the thread goes on by them as it did.
fn pardon_spare(run: &[Pt], aligned: &mut [Option<usize>], places: &Places) {
    let points = &places.after.judged.design.points;
    let mut from = None;
    for k in 0..run.len() {
        if aligned[k].is_some() {
            from = aligned[k];
            continue;
        }
        let to = (k + 1..run.len()).find_map(|next| aligned[next]);
        let Some((a, b)) = from.zip(to).filter(|(a, b)| *b == a + 1) else { continue };
        // What was sewn to and fro lies on the stitch before.
        let ways = [(a, b), (a.saturating_sub(1), a)];
        let stays = |(a, b): (usize, usize)| {
            beside(run[k].mm(), points[a].mm(), points[b].mm()) <= STAYS_MM + 1e-9
        };
        if ways.into_iter().any(stays) {
            // Stands with its neighbour; those after it are judged against the same stitch.
            aligned[k] = Some(a);
        }
    }
}

/// Takes the lost needle points that a run begins with as kept where rows sewn later lie over them: they
/// were the way to the first row, which is another one now.
fn pardon_way(run: &[Pt], aligned: &mut [Option<usize>]) {
    /// Nearer than rows to each other, or a thread covers it, mm (J); whether it shows is judged elsewhere.
    const OVER_MM: f64 = 0.22;
    let kept = aligned.iter().position(Option::is_some);
    let Some(first) = kept.filter(|first| (1..=LOOK_AHEAD).contains(first)) else { return };
    // A stitch that ends at a needle point says nothing of it, nor one that begins there.
    let sewn_over = |k: usize| {
        let mut later = run[k + 1..].windows(2);
        later.any(|w| beside(run[k].mm(), w[0].mm(), w[1].mm()) <= OVER_MM)
    };
    if (0..first).all(sewn_over) {
        keep_first(aligned, first, first);
    }
}

/// Takes the first so many needle points of a run as kept, as many places off as they lie from the first
/// that is.
fn keep_first(aligned: &mut [Option<usize>], count: usize, kept: usize) {
    let place = aligned[kept].unwrap_or_default();
    for (k, lost) in aligned.iter_mut().take(count).enumerate() {
        *lost = Some(place.saturating_sub(kept - k));
    }
}

/// Takes up to two lost needle points at either end of a run as kept, as many places off as they lie
/// from the next that is.
fn pardon_ends(aligned: &mut [Option<usize>]) {
    const MOST: usize = 2;
    /// Those next to them may have been moved.
    const NEXT: usize = 4;
    let is_kept = |place: &Option<usize>| place.is_some();
    if let Some(first) = aligned.iter().position(is_kept).filter(|first| *first <= NEXT) {
        keep_first(aligned, first.min(MOST), first);
    }
    let len = aligned.len();
    if let Some(last) = aligned.iter().rposition(is_kept).filter(|last| len - 1 - last <= NEXT) {
        let kept = aligned[last].unwrap_or_default();
        let from = (last + 1).max(len.saturating_sub(MOST));
        for (k, place) in aligned.iter_mut().enumerate().skip(from) {
            *place = Some(kept + (k - last));
        }
    }
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
            (Some(from), Some(to)) => from + 1..to,
            (Some(from), None) => from + 1..(from + 1 + about).min(points.len()),
            (None, Some(to)) => to.saturating_sub(about)..to,
            (None, None) => 0..0,
        };
        let there: Vec<Pt> = between.filter(&own).map(|k| points[k]).collect();
        let wanted: Vec<Pt> = (i..end).filter(|k| !is_step(run, *k)).map(|k| run[k]).collect();
        let missing = wanted.len() - most_pairs(&wanted, &there, MOVED_MAX_MM);
        if missing > 0 {
            first = first.or(Some(i));
            lost += missing;
        }
        i = end;
    }
    first.map(|first| (first, lost))
}

/// Does a needle point make a step from row to row? Where rows are moved, the two may become one.
fn is_step(run: &[Pt], at: usize) -> bool {
    let short = |other: Option<&Pt>| other.is_some_and(|o| o.distance(run[at]) <= STEP_MM);
    short(at.checked_sub(1).and_then(|before| run.get(before))) || short(run.get(at + 1))
}

/// What lay on top of a neighbour still does. Where an object is read back in pieces, its largest
/// tells: a scrap of its neighbour's new underlay may have been taken for one of them.
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
    let rank = |id: &ObjectId| largest.get(id).map(|(_, position)| *position);
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
            let violation = Violation { pass: Some(PassName::Sequence), objects, words, at: None };
            if !violations.iter().any(|known| known.objects == violation.objects) {
                violations.push(violation);
            }
        }
    }
    violations
}
