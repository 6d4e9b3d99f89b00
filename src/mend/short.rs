//! What the tape that goes out keeps short of the full measure although no pass would act on it again:
//! stretches too short, breaks too small. Nothing is changed for it; the log says it.

use std::collections::{BTreeMap, BTreeSet};

use super::Analysis;
use super::rounds::Settled;
use super::thread::Thread;
use crate::objects::{ObjectId, Objects};
use crate::passes::Left;
use crate::prove::same;
use crate::settings::{PassName, Settings};
use crate::stitch::coverage::Coverage;
use crate::survey::{self, Junction, Lack, Sample};

/// Share of a curve along which the overlap is to be enough (J: one place in 50 is rounding).
const OVERLAP_SHARE: f64 = 0.98;
/// The grid of the needle points, mm, which are rounded by up to half of it.
const POINT_MM: f64 = 0.1;
const ROUNDING_MM: f64 = POINT_MM / 2.0;
/// Share of an edge that is to have a run beside it, and of a crossing that is to be held (J: turns and
/// links leave the rest).
const HELD_SHARE: f64 = 0.95;
/// Shorter edges are all ends, mm (J).
const EDGE_MM: f64 = 1.5;
/// Shorter meetings are points, mm (J).
const MEETING_MM: f64 = 2.0;

/// All that is short of the full measure, pass by pass in sewing order. What a finding or a pass has told
/// is not told again.
pub fn of(before: &Analysis, settled: &Settled, settings: &Settings) -> Vec<Left> {
    let after = settled.after.as_ref().unwrap_or(before);
    let (objects, junctions) = (&after.objects, &after.junctions[..]);
    let runs = |pass| settings.passes.contains(&pass) && settings.profile.passes.contains(&pass);
    let mut all = Vec::new();
    if runs(PassName::Overlap) {
        all.extend(overlaps(objects, junctions, settings));
        all.extend(meetings(objects, junctions, settings));
    }
    if runs(PassName::EdgeRun) {
        all.extend(edges(objects, settings));
    }
    if runs(PassName::Guard) {
        all.extend(crossings(objects, junctions, settings));
    }
    let told = |left: &Left, pass: Option<PassName>, objects: &[u32]| {
        pass == Some(left.pass) && left.objects.iter().all(|object| objects.contains(object))
    };
    all.retain(|left| !after.findings.iter().any(|f| told(left, f.pass, &f.objects)));
    if let Some(verdict) = &settled.verdict {
        all.iter_mut().for_each(|left| same::rename(&mut left.objects, &verdict.names));
    }
    all.retain(|left| !settled.left.iter().any(|l| told(left, Some(l.pass), &l.objects)));
    all
}

/// Edges that reach too little under the next in stretches too short to act on, by their outline or by
/// their thread.
fn overlaps(objects: &Objects, junctions: &[Junction], settings: &Settings) -> Vec<Left> {
    let numbers = &settings.profile.numbers;
    let slack = numbers.overlap_aim_mm - numbers.overlap_allowance_mm + ROUNDING_MM;
    let mut threads: BTreeMap<ObjectId, Thread> = BTreeMap::new();
    let mut left = |(junction, lack): (&Junction, Lack)| {
        let samples = junction.samples.iter().zip(&lack.wanted);
        let need = |wanted: f64| wanted.min(numbers.overlap_aim_mm) - slack;
        let judged = samples.filter_map(|(sample, wanted)| Some((sample, need((*wanted)?))));
        let judged: Vec<(&Sample, f64)> = judged.collect();
        // Where nothing is wanted, the thread is not looked at.
        let under = objects.get(junction.under).filter(|_| !judged.is_empty())?;
        let thread = threads.entry(under.id).or_insert_with(|| Thread::new(under));
        let short = judged.iter().filter(|(sample, need)| {
            sample.overlap < need - 1e-6 || !thread.reaches(sample.at, sample.inward, *need)
        });
        let short: Vec<f64> = short.map(|(sample, _)| sample.overlap).collect();
        let step = junction.length / junction.samples.len().max(1) as f64;
        let least = short.iter().copied().fold(f64::INFINITY, f64::min);
        (short.len() as f64 > (1.0 - OVERLAP_SHARE) * judged.len() as f64).then(|| Left {
            pass: PassName::Overlap,
            objects: vec![junction.under.0, junction.over.0],
            reason: format!(
                "{:.1} of {:.1} mm of its edge keep too little overlap (outline {least:.1}): each \
                 stretch is too short, or lacks too little, to be widened",
                short.len() as f64 * step,
                junction.length,
            ),
        })
    };
    let lacks = survey::lacks(junctions, settings);
    junctions.iter().zip(lacks).filter_map(&mut left).collect()
}

/// Pairs that meet too briefly to count as a junction.
fn meetings(objects: &Objects, known: &[Junction], settings: &Settings) -> Vec<Left> {
    let known: BTreeSet<(ObjectId, ObjectId)> = known.iter().map(|j| (j.under, j.over)).collect();
    let mut brief = settings.clone();
    let numbers = &mut brief.profile.numbers;
    let least = std::mem::replace(&mut numbers.junction_min_length_mm, MEETING_MM);
    let enough = numbers.overlap_act_below_mm;
    let junctions = survey::junctions_where(objects, &brief, |under, over| {
        over.hides && !known.contains(&(under.id, over.id))
    });
    let left = |junction: &Junction| {
        let reach = junction.samples.iter().map(|s| s.overlap).sum::<f64>()
            / junction.samples.len().max(1) as f64;
        (reach < enough && !junction.closes_itself).then(|| Left {
            pass: PassName::Overlap,
            objects: vec![junction.under.0, junction.over.0],
            reason: format!(
                "reaches {reach:.1} mm under it along {:.1} mm only: a meeting shorter than {least:.1} \
                 mm is left as it is",
                junction.length
            ),
        })
    };
    junctions.iter().filter_map(left).collect()
}

/// Edges with breaks in the run beside them.
fn edges(objects: &Objects, settings: &Settings) -> Vec<Left> {
    let coverage = Coverage::new(objects, &settings.profile.numbers);
    let least = settings.profile.numbers.edge_run_act_below;
    let mut all = Vec::new();
    for (place, object) in objects.items.iter().enumerate() {
        let shares = coverage.edge_run_shares(object, place).into_iter();
        let judged = shares.filter(|(share, length)| *length >= EDGE_MM && *share < HELD_SHARE);
        let Some((share, length)) = judged.min_by(|a, b| a.0.total_cmp(&b.0)) else { continue };
        let percent = share * 100.0;
        let reason = if share < least {
            format!(
                "underlay lies beside {percent:.0} % of {length:.1} mm of one edge: what is left is too \
                 short or too narrow for a run of its own"
            )
        } else {
            format!(
                "underlay lies beside {percent:.0} % of {length:.1} mm of one edge: turns and ends leave \
                 the rest"
            )
        };
        all.push(Left { pass: PassName::EdgeRun, objects: vec![object.id.0], reason });
    }
    all
}

/// Crossings of which a guard holds nearly all.
fn crossings(objects: &Objects, junctions: &[Junction], settings: &Settings) -> Vec<Left> {
    // Edges are known to a point: what holds must do so with that to spare.
    let mut strict = settings.clone();
    let numbers = &mut strict.profile.numbers;
    numbers.guard_hold_mm += ROUNDING_MM;
    numbers.guard_hold_every_mm -= 2.0 * POINT_MM;
    let open = survey::unguarded_beyond(1.0 - HELD_SHARE, objects, &strict, junctions);
    let left = open.iter().filter(|stretch| stretch.can_guard).map(|stretch| {
        let junction = &junctions[stretch.junction];
        Left {
            pass: PassName::Guard,
            objects: vec![junction.under.0, junction.over.0],
            reason: format!(
                "a little more than one place in {:.0} of their crossing is held by nothing: the guard \
                 turns and ends there",
                1.0 / (1.0 - HELD_SHARE)
            ),
        }
    });
    left.collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fixtures::{fill, objects, rect, run, satin, settings, with_underlay};
    use crate::objects::{Label, Object};

    /// A satin from y = 9 to 12, its crossings upright.
    fn above(id: u32) -> Object {
        satin(id, 1, &[(0.0, 12.0), (20.0, 12.0)], &[(0.0, 9.0), (20.0, 9.0)], 0.4)
    }

    #[test]
    fn a_notch_too_short_to_widen_is_told() {
        // Reaches 1.2 mm under the satin, but 0.3 mm along 1.5 of the 20 mm.
        let outline = [
            (0.0, 0.0),
            (20.0, 0.0),
            (20.0, 10.2),
            (10.5, 10.2),
            (10.5, 9.3),
            (9.0, 9.3),
            (9.0, 10.2),
            (0.0, 10.2),
        ];
        let mut under = fill(1, 0, &rect(0.0, 0.0, 20.0, 10.2), 0.0, 0.2, 4.0);
        let line = outline.map(|(x, y)| geo::Coord { x, y });
        let polygon = geo::Polygon::new(geo::LineString(line.to_vec()), vec![]);
        under.footprint = geo::MultiPolygon(vec![polygon]).into();
        let all = objects(vec![under, above(2)]);
        let found = overlaps(&all, &survey::junctions(&all, &settings()), &settings());
        assert_eq!(found.len(), 1);
        assert_eq!((found[0].pass, &found[0].objects[..]), (PassName::Overlap, &[1, 2][..]));
        assert!(found[0].reason.starts_with("1.5 of 20.0 mm"), "{}", found[0].reason);
        // Without the notch there is nothing to tell.
        let whole = fill(1, 0, &rect(0.0, 0.0, 20.0, 10.2), 0.0, 0.2, 4.0);
        let all = objects(vec![whole, above(2)]);
        assert!(overlaps(&all, &survey::junctions(&all, &settings()), &settings()).is_empty());
    }

    #[test]
    fn a_brief_meeting_is_told() {
        // A stem 2.5 mm wide that ends where the beam begins.
        let stem = satin(1, 0, &[(5.0, 0.0), (5.0, 9.0)], &[(7.5, 0.0), (7.5, 9.0)], 0.4);
        let all = objects(vec![stem, above(2)]);
        let known = survey::junctions(&all, &settings());
        assert!(known.is_empty());
        let found = meetings(&all, &known, &settings());
        assert_eq!(found.iter().map(|l| &l.objects[..]).collect::<Vec<_>>(), [[1, 2]]);
        assert!(found[0].reason.contains("0.0 mm under it along 2.5 mm"), "{}", found[0].reason);
    }

    #[test]
    fn breaks_in_an_edge_run_are_told() {
        // Runs 0.6 mm inside both edges, one of them along 17 of 20 mm.
        let along = |y: f64, to: f64| (0..=10).map(move |k| (to * f64::from(k) / 10.0, y));
        let line: Vec<_> = along(9.6, 20.0).chain(along(11.4, 17.0).rev()).collect();
        let found =
            edges(&objects(vec![with_underlay(above(1), Label::EdgeRun, &line)]), &settings());
        assert_eq!(found.len(), 1);
        // Of the places from 1 to 19 mm those up to 17.5 lie within 0.9 mm of it: 34 of 37.
        assert!(found[0].reason.starts_with("underlay lies beside 92 %"), "{}", found[0].reason);
        let line: Vec<_> = along(9.6, 20.0).chain(along(11.4, 20.0).rev()).collect();
        let whole = objects(vec![with_underlay(above(1), Label::EdgeRun, &line)]);
        assert!(edges(&whole, &settings()).is_empty());
    }

    #[test]
    fn a_guard_that_ends_early_is_told() {
        let ground = fill(2, 0, &rect(0.0, 0.0, 20.0, 10.0), 0.0, 0.2, 4.0);
        let guard = |to: f64| {
            let side = |k: usize| if k.is_multiple_of(2) { 1.0 } else { -1.0 };
            let count = (to / 1.2) as usize;
            run(1, 0, &(0..=count).map(|k| (1.2 * k as f64, 9.0 + side(k))).collect::<Vec<_>>())
        };
        let told = |to: f64| {
            let all = objects(vec![guard(to), ground.clone(), above(3)]);
            let junctions = survey::junctions(&all, &settings());
            assert!(survey::unguarded(&all, &settings(), &junctions).is_empty(), "{to}");
            crossings(&all, &junctions, &settings()).len()
        };
        // The last stitch across lies at 17.4 and holds 0.75 mm further: 1.9 of 20 mm are held by
        // nothing, less than the tenth that the pass lets be.
        assert_eq!((told(18.0), told(20.0)), (1, 0));
    }
}
