//! Where the needle points of the original lie in the tape that would be written.

use super::LOOK_AHEAD;
use crate::design::Pt;
use crate::objects::ObjectId;
use crate::prove::quick::Index;
use crate::prove::same;
use crate::prove::sewn::Sewn;

/// Columns that are widened move by no more than this at either edge, mm (J: half of what the look
/// bears, and rounding).
const BESIDE_MM: f64 = 0.3;
/// Places at which the beginning of a run is looked for (J: a run that is there begins at one of
/// the first).
const TRIES_MAX: usize = 64;

/// Where needle points lie in the tape that would be written.
pub struct Places<'a> {
    pub after: &'a Sewn<'a>,
    /// Penetrations of each stop and needle point.
    at: Index<(u32, Pt)>,
}

impl<'a> Places<'a> {
    pub fn of(after: &'a Sewn<'a>) -> Self {
        let points = &after.judged.design.points;
        let at = Index::of(after.stops.iter().copied().zip(points.iter().copied()));
        Self { after, at }
    }

    /// Penetrations at a needle point of a stop.
    fn of_point(&self, stop: u32, point: Pt) -> &[u32] {
        self.at.places(&(stop, point))
    }

    /// May a penetration be an object's: of its stop, and no other one's?
    pub fn may_be(&self, at: usize, stop: u32, id: ObjectId) -> bool {
        let owner = || self.after.suspect(at as u32).owner;
        self.after.stops[at] == stop && owner().is_none_or(|owner| owner == id)
    }

    /// The best place of a run of which every needle point may have been moved a little.
    pub fn align_beside(&self, stop: u32, run: &[Pt]) -> Vec<Option<usize>> {
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
    pub fn align(&self, stop: u32, run: &[Pt]) -> Vec<Option<usize>> {
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
