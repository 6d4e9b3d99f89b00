//! Crossings that pull apart with nothing beneath to hold them together.

use std::ops::Range;

use geo::Coord;

use super::edge::SAMPLE_MM;
use super::junction::{Junction, Meeting, Sample};
use crate::geometry::segments::{Segment, SegmentGrid};
use crate::geometry::vector::{between_lines, cross, distance, dot};
use crate::objects::{Class, Object, Objects};
use crate::settings::Settings;

/// A stretch of a junction that needs a guard and has none.
#[derive(Clone, Debug, PartialEq)]
pub struct UnguardedStretch {
    /// Index into the junctions that were looked at.
    pub junction: usize,
    /// Samples of that junction; on a closed one the range may run past the end: take it modulo.
    pub samples: Range<usize>,
    /// Length of the stretch, mm.
    pub length: f64,
    /// Both neighbours hide what lies beneath them, so that a guard can be sewn.
    pub can_guard: bool,
}

/// Needle points are rounded by up to half a point, mm.
const ROUNDING_MM: f64 = 0.05;

/// Share of a crossing that may go unheld (J): links and ends leave small breaks.
pub const OPEN_MAX: f64 = 0.1;

/// Two extensions that meet in a corner look deep for so long, mm (J: the aim and a sample of each).
const CORNER_MM: f64 = 3.5;

/// Breaks up to this length do not end a stretch, mm (J).
const BRIDGE_MM: f64 = 1.0;

/// Stretches of fill junctions whose stitches cross steeply, or both meet the curve square, and
/// that no stitch in the colour of the object sewn first, sewn before both, spans already.
///
/// Everything is judged from where stitches lie: a guard counts whatever it is labelled.
pub fn unguarded(
    objects: &Objects,
    settings: &Settings,
    junctions: &[Junction],
) -> Vec<UnguardedStretch> {
    unguarded_beyond(OPEN_MAX, objects, settings, junctions)
}

/// The same with another share of a crossing that may go unheld.
pub fn unguarded_beyond(
    open_max: f64,
    objects: &Objects,
    settings: &Settings,
    junctions: &[Junction],
) -> Vec<UnguardedStretch> {
    let object = |id| objects.get(id);
    let needs: Vec<Vec<bool>> = junctions
        .iter()
        .map(|junction| match (object(junction.under), object(junction.over)) {
            (Some(under), Some(over)) if may_pull_apart(under, over) => {
                let hold = settings.profile.numbers.guard_hold_mm;
                let room = |s: &Sample| !over.hides || s.room >= hold;
                let deep = lies_deep(junction, settings);
                let samples = junction.samples.iter().zip(deep);
                samples.map(|(s, deep)| !deep && pulls_apart(s, settings) && room(s)).collect()
            }
            _ => vec![false; junction.samples.len()],
        })
        .collect();
    let held = held_by_stitches(objects, settings, junctions, &needs);
    let mut found = Vec::new();
    for (index, junction) in junctions.iter().enumerate() {
        let can_guard = [junction.under, junction.over]
            .iter()
            .all(|id| object(*id).is_some_and(|object| object.hides));
        let (needs, held) = (&needs[index], &held[index]);
        let count = needs.len();
        for samples in runs(needs, junction.closed) {
            let is_open = |i: &usize| needs[i % count] && !held[i % count];
            let open = samples.clone().filter(is_open).count();
            let (Some(first), Some(last)) =
                (samples.clone().find(is_open), samples.clone().rfind(is_open))
            else {
                continue;
            };
            let length = |samples: usize| samples as f64 * junction.length / count as f64;
            // Odd stitches that span the curve here and there do not make a guard.
            let least = settings.profile.numbers.guard_min_length_mm;
            if open as f64 > open_max * samples.len() as f64 && length(samples.len()) >= least {
                let long = length(last + 1 - first) >= least;
                let samples = if long { first..last + 1 } else { samples };
                let length = length(samples.len());
                found.push(UnguardedStretch { junction: index, samples, length, can_guard });
            }
        }
    }
    found
}

/// Only the junctions of fills are guarded.
pub fn may_pull_apart(under: &Object, over: &Object) -> bool {
    let is_fill = |object: &Object| matches!(object.class, Class::Fill | Class::CurvedFill);
    is_fill(under) || is_fill(over)
}

/// Samples where the first object reaches so far beneath the other (J: three times the allowance) that
/// nothing could open; not in the corner of a hole, where one side's extension lies along the other's.
fn lies_deep(junction: &Junction, settings: &Settings) -> Vec<bool> {
    let numbers = &settings.profile.numbers;
    let is_deep = |s: &Sample| s.overlap >= 3.0 * numbers.overlap_allowance_mm;
    let mut deep: Vec<bool> = junction.samples.iter().map(is_deep).collect();
    let count = deep.len();
    for run in runs(&deep, junction.closed) {
        let step = junction.length / count as f64;
        let inside = junction.closed || run.start > 0 && run.end < count;
        if inside && run.len() < count && run.len() as f64 * step <= CORNER_MM {
            run.for_each(|i| deep[i % count] = false);
        }
    }
    deep
}

/// Do the two objects pull apart here?
fn pulls_apart(sample: &Sample, settings: &Settings) -> bool {
    let numbers = &settings.profile.numbers;
    let crossing = between_lines(sample.under_direction, sample.over_direction);
    let both_square =
        sample.under_meeting == Meeting::PullEnd && sample.over_meeting == Meeting::PullEnd;
    crossing >= numbers.guard_min_angle_deg || both_square
}

/// For every sample: is there a spanning stitch near enough?
fn held_by_stitches(
    objects: &Objects,
    settings: &Settings,
    junctions: &[Junction],
    needs: &[Vec<bool>],
) -> Vec<Vec<bool>> {
    let mut held: Vec<Vec<bool>> = needs.iter().map(|n| vec![false; n.len()]).collect();
    let (lines, places) = pieces(junctions, needs);
    let grid = SegmentGrid::new(lines);
    if grid.is_empty() {
        return held;
    }
    let span = settings.profile.numbers.guard_hold_mm - ROUNDING_MM;
    let holds = settings.profile.numbers.guard_hold_every_mm / 2.0;
    // Position and stop of the object sewn first at each junction that needs holding.
    let first: Vec<Option<(usize, u32)>> = junctions
        .iter()
        .zip(needs)
        .map(|(j, needs)| objects.position(j.under).filter(|_| needs.contains(&true)))
        .map(|at| at.map(|at| (at, objects.items[at].stop)))
        .collect();
    // Nothing sewn later can hold any of them.
    let last = first.iter().flatten().map(|(at, _)| *at).max().unwrap_or(0);
    for (position, object) in objects.items.iter().enumerate().take(last + 1) {
        for (from, to, label) in object.stitches() {
            if distance(from, to) < 2.0 * span {
                continue;
            }
            grid.each_in_box(from, to, |piece| {
                let (junction, index) = places[piece];
                let Some((under, stop)) = first[junction] else { return };
                let before = position < under || (position == under && !Object::is_top(label));
                if !before || !settings.same_colour(object.stop, stop) {
                    return;
                }
                let samples = &junctions[junction].samples;
                let line = grid.segments()[piece];
                if let Some(at) = spans((from, to), span, &samples[index], line) {
                    hold(&junctions[junction], index, (at, holds), &mut held[junction]);
                }
            });
        }
    }
    held
}

/// The pieces of shared curves between two samples, and where they belong.
fn pieces(junctions: &[Junction], needs: &[Vec<bool>]) -> (Vec<Segment>, Vec<(usize, usize)>) {
    let (mut lines, mut places) = (Vec::new(), Vec::new());
    for (index, junction) in junctions.iter().enumerate() {
        let samples = &junction.samples;
        for (i, sample) in samples.iter().enumerate() {
            let next = match samples.get(i + 1) {
                Some(next) => next,
                None if junction.closed => &samples[0],
                None => continue,
            };
            if needs[index][i] && distance(sample.at, next.at) <= 2.0 * BRIDGE_MM {
                lines.push([sample.at, next.at]);
                places.push((index, i));
            }
        }
    }
    (lines, places)
}

/// Where a stitch crosses the piece of curve, if it reaches far enough to either side.
fn spans(
    (from, to): (Coord<f64>, Coord<f64>),
    reach: f64,
    sample: &Sample,
    [a, b]: Segment,
) -> Option<Coord<f64>> {
    let (stitch, along) = (to - from, b - a);
    let turn = cross(stitch, along);
    if turn.abs() < 1e-12 {
        return None;
    }
    let on_stitch = cross(a - from, along) / turn;
    let on_piece = cross(a - from, stitch) / turn;
    if !(0.0..=1.0).contains(&on_stitch) || !(0.0..=1.0).contains(&on_piece) {
        return None;
    }
    let at = a + along * on_piece;
    let depth = |p: Coord<f64>| dot(p - at, sample.inward);
    let (low, high) = (depth(from).min(depth(to)), depth(from).max(depth(to)));
    (low <= -reach && high >= reach).then_some(at)
}

/// Marks the samples around a spanning stitch as held.
fn hold(junction: &Junction, index: usize, (at, holds): (Coord<f64>, f64), held: &mut [bool]) {
    let count = held.len();
    let reach = (holds / SAMPLE_MM).ceil() as usize + 1;
    for k in index + count - reach.min(count)..=index + count + reach {
        let inside = (count..2 * count).contains(&k);
        if (inside || junction.closed) && distance(junction.samples[k % count].at, at) <= holds {
            held[k % count] = true;
        }
    }
}

/// Runs of true values, bridged over small breaks; on a closed list they may run past the end.
fn runs(open: &[bool], closed: bool) -> Vec<Range<usize>> {
    let count = open.len();
    let bridge = (BRIDGE_MM / SAMPLE_MM).round() as usize;
    if closed && open.iter().all(|o| *o) && count > 0 {
        return std::iter::once(0..count).collect();
    }
    // A closed list is cut at a place where nothing is open.
    let start = if closed { open.iter().position(|o| !o).unwrap_or(0) } else { 0 };
    let mut runs: Vec<Range<usize>> = Vec::new();
    for i in (start..start + count).filter(|i| open[i % count]) {
        match runs.last_mut() {
            Some(run) if i - run.end <= bridge => run.end = i + 1,
            _ => runs.push(i..i + 1),
        }
    }
    runs
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fixtures::{fill, objects, rect, ring, run, satin, settings, with_underlay};
    use crate::objects::Label;
    use crate::survey::junctions;

    /// Zigzag along a horizontal line, ± 1 mm across, 1.2 mm on per needle point.
    fn zigzag(y: f64, from: f64, to: f64) -> Vec<(f64, f64)> {
        let count = ((to - from) / 1.2).round() as usize;
        (0..=count)
            .map(|i| {
                let side = if i.is_multiple_of(2) { 1.0 } else { -1.0 };
                (from + 1.2 * i as f64, y + side)
            })
            .collect()
    }

    fn ground() -> Object {
        fill(2, 0, &rect(0.0, 0.0, 20.0, 10.0), 0.0, 0.2, 4.0)
    }

    /// A satin above the fill, its crossings square to the fill's rows.
    fn above() -> Object {
        satin(3, 1, &[(0.0, 12.0), (20.0, 12.0)], &[(0.0, 9.0), (20.0, 9.0)], 0.4)
    }

    fn measure(items: Vec<Object>) -> Vec<UnguardedStretch> {
        let all = objects(items);
        unguarded(&all, &settings(), &junctions(&all, &settings()))
    }

    #[test]
    fn a_square_crossing_needs_a_guard() {
        let found = measure(vec![ground(), above()]);
        assert_eq!(found.len(), 1);
        assert!((found[0].length - 20.0).abs() < 1.5, "{}", found[0].length);
        assert!(found[0].can_guard);
    }

    #[test]
    fn rows_that_end_square_at_a_border_need_one_too() {
        // All four sides: top and bottom cross, left and right meet the curve from both sides.
        let ground = fill(2, 0, &rect(0.0, 0.0, 20.0, 20.0), 0.0, 0.2, 4.0);
        let border = ring(3, 1, &rect(-2.0, -2.0, 22.0, 22.0), &rect(0.5, 0.5, 19.5, 19.5), 0.4);
        let total: f64 = measure(vec![ground, border]).iter().map(|s| s.length).sum();
        // The crossings fan out from the mitres: within 30° of square along 58 % of 76 mm.
        assert!((total - 44.0).abs() < 3.0, "{total}");
    }

    #[test]
    fn stitches_beneath_in_the_first_colour_guard_it() {
        let line = zigzag(9.0, 0.3, 19.7);
        let before = run(1, 0, &line);
        assert!(measure(vec![before.clone(), ground(), above()]).is_empty());
        // As underlay of the object sewn first.
        let own = with_underlay(ground(), Label::Zigzag, &line);
        assert!(measure(vec![own, above()]).is_empty());
        // In another colour, or between the two, it does not count.
        let mut other = before.clone();
        other.stop = 5;
        assert_eq!(measure(vec![other, ground(), above()]).len(), 1);
        assert_eq!(measure(vec![ground(), before, above()]).len(), 1);
    }

    #[test]
    fn half_a_guard_leaves_the_other_half_open() {
        let found = measure(vec![run(1, 0, &zigzag(9.0, 0.3, 9.9)), ground(), above()]);
        assert_eq!(found.len(), 1);
        assert!((found[0].length - 9.5).abs() < 1.6, "{}", found[0].length);
    }

    #[test]
    fn stitches_that_reach_too_little_hold_nothing() {
        let low: Vec<_> =
            zigzag(9.0, 0.3, 19.7).iter().map(|p| (p.0, 9.0 + (p.1 - 9.0) * 0.4)).collect();
        assert_eq!(measure(vec![run(1, 0, &low), ground(), above()]).len(), 1);
    }

    #[test]
    fn satin_beside_satin_and_shallow_crossings_need_none() {
        let below = satin(2, 0, &[(0.0, 9.5), (20.0, 9.5)], &[(0.0, 6.0), (20.0, 6.0)], 0.4);
        assert!(measure(vec![below, above()]).is_empty());
        // Rows at 45° under upright crossings.
        let slanted = fill(2, 0, &rect(0.0, 0.0, 20.0, 10.0), 45.0, 0.2, 4.0);
        assert!(measure(vec![slanted, above()]).is_empty());
    }

    #[test]
    fn detail_on_a_fill_cannot_open() {
        let wide = fill(2, 0, &rect(-10.0, -10.0, 40.0, 30.0), 0.0, 0.2, 4.0);
        assert!(measure(vec![wide, above()]).is_empty());
    }

    #[test]
    fn an_open_neighbour_cannot_hide_a_guard() {
        let open = satin(3, 1, &[(0.0, 12.0), (20.0, 12.0)], &[(0.0, 9.0), (20.0, 9.0)], 1.0);
        let found = measure(vec![ground(), open]);
        assert!(!found.is_empty() && found.iter().all(|s| !s.can_guard));
    }
}
