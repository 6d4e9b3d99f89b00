//! Guards: same-colour stitches that hold a crossing together before either side is sewn.

use super::super::lines::{Lines, Stitch};
use super::super::plane::{Curve, P, along, axis_angle, dist, dot, mean_axis, nearest, sub};
use super::edge_run::moved;
use super::overlap::{hides, lines_beside, onto_edge};
use super::{Failure, Held, Judged, Trial};

/// Directions that cross by this much pull apart (design, J).
const CROSS: f64 = 60.0;
/// Angles this close to a bound are judged neither way, degrees.
const DOUBT: f64 = 3.0;
const LENGTH: f64 = 3.0;
/// A guard stitch holds if it reaches this far to both sides, mm.
const REACH: f64 = 0.5;
/// One spanning stitch at least this often along the curve, mm.
const EVERY: f64 = 1.5;
const SHARE: f64 = 0.95;
const ROUNDING: f64 = 0.05;
const STEP: f64 = 0.25;
/// Places with no more than this between them are of one crossing, mm.
const GAP: f64 = 0.75;

/// A place on the curve, and the way into the later object.
type Place = (P, P);

/// Stretches of a junction that need a guard, from what the original's stitches do beside it and,
/// for a fill, from the way its rows run now.
fn stretches(trial: &Trial, under: usize, over: usize, curve: &[P]) -> Vec<Vec<Place>> {
    let tops = |piece: usize| {
        let p = trial.piece(piece);
        Lines::new(trial.world.original.span(p.first, p.last).copied().collect())
    };
    let sides = [(under, tops(under)), (over, tops(over))];
    let rows = sides
        .each_ref()
        .map(|(k, _)| (trial.piece(*k).class == "fill").then(|| trial.row_axis(*k)));
    let cover = &trial.piece(over).area;
    let mut out: Vec<Vec<Place>> = vec![Vec::new()];
    let mut missed = 0.0;
    for station in Curve::of(curve).stations(STEP) {
        let found = onto_edge(cover, &station).filter(|&(p, n)| {
            let axis = |k: usize| rows[k].or_else(|| axis_near(&sides[k].1, p));
            let Some((u, v)) = axis(0).zip(axis(1)) else { return false };
            let square = CROSS - 90.0 + DOUBT;
            let both = [u, v].iter().all(|d| axis_angle(*d, n) <= -square);
            (axis_angle(u, v) >= CROSS + DOUBT || both) && hides(cover, p, n, REACH)
        });
        match found {
            Some(place) => {
                out.last_mut().into_iter().for_each(|run| run.push(place));
                missed = 0.0;
            }
            None => missed += STEP,
        }
        if missed > GAP && out.last().is_some_and(|run| !run.is_empty()) {
            out.push(Vec::new());
        }
    }
    out.retain(|run| run.len() as f64 * STEP >= LENGTH);
    out
}

fn axis_near(tops: &Lines, p: P) -> Option<P> {
    let close = |s: &&Stitch| dist(p, nearest(p, s.a, s.b)) <= 1.0;
    mean_axis(tops.near(p, 1.0).into_iter().filter(close).map(Stitch::axis))
}

/// Does a guard stitch span the curve near here?
fn spanned(lines: &Lines, (p, n): Place) -> bool {
    lines.near(p, 1.5).into_iter().any(|s| {
        let (a, b) = (dot(sub(s.a, p), n), dot(sub(s.b, p), n));
        if a.min(b) > -REACH + ROUNDING || a.max(b) < REACH - ROUNDING {
            return false;
        }
        let place = along(s.a, s.axis(), a / (a - b));
        dist(place, p) <= EVERY / 2.0
    })
}

/// Long enough to span a curve, short enough to hold.
fn spanning(stitches: Vec<Stitch>) -> Lines {
    Lines::new(stitches.into_iter().filter(|s| (0.8..=6.0).contains(&s.length())).collect())
}

/// Is a place spanned before either object is sewn just there? A part of a fill may be sewn long before
/// the rest.
fn held_here(trial: &Trial, pair: [usize; 2], (p, n): Place) -> bool {
    /// Rows and crossings beside a place are no further from it, mm.
    const BESIDE: f64 = 0.8;
    /// A stitch that passes here begins or ends no further away, mm.
    const REACHES: f64 = 4.0;
    let first = |k: usize| {
        let (low, high) = (p.map(|v| v - REACHES), p.map(|v| v + REACHES));
        let top = trial.shown(trial.piece(k).stop, trial.span(k)?, low, high);
        let near = top.items.iter().filter(|s| dist(p, nearest(p, s.a, s.b)) <= BESIDE);
        near.map(|s| s.rank).min()
    };
    let before = pair.into_iter().filter_map(first).min();
    before.is_some_and(|rank| spanned(&spanning(trial.before(pair[0], rank)), (p, n)))
}

/// Does a third object, sewn between the two, lie over the edge of the first all the way before the cover
/// begins? Then it is that one which meets the cover here.
fn is_covered(trial: &Trial, [under, over]: [usize; 2], (p, n): Place) -> bool {
    /// Before the cover, mm: a guard reaches as far.
    const BEFORE: [f64; 3] = [0.1, 0.3, REACH];
    let begins = trial.piece(over).first;
    let mut third = trial.later(under).filter(|(_, piece)| piece.last < begins && piece.hides);
    third.any(|(_, piece)| BEFORE.iter().all(|by| piece.area.contains(along(p, n, -by))))
}

/// A crossing without such of its places as are not wanted: parts of it by themselves where they are long
/// enough, and the others together.
fn without(run: &[Place], wanted: impl Fn(&Place) -> bool) -> Vec<Vec<Place>> {
    let most = (GAP / STEP) as usize;
    let is_long = |part: &Vec<Place>| part.len() as f64 * STEP >= LENGTH;
    let kept: Vec<usize> = (0..run.len()).filter(|k| wanted(&run[*k])).collect();
    let parts = kept.chunk_by(|a, b| b - a - 1 <= most);
    let parts = parts.map(|part| part.iter().map(|k| run[*k]).collect::<Vec<_>>());
    let (mut long, short): (Vec<_>, Vec<_>) = parts.partition(is_long);
    long.extend(Some(short.concat()).filter(is_long));
    long
}

/// `turn`: which of the pair's junctions that need a guard, in the order of the truth.
pub fn judge(trial: &Trial, under: usize, over: usize, turn: usize) -> (Judged, Held) {
    let pair = trial.world.shared.iter().filter(|j| j.under == under && j.over == over);
    let curves: Vec<&[P]> = pair.map(|j| j.curve.as_slice()).collect();
    let at_risk = |curve: &&[P]| !stretches(trial, under, over, curve).is_empty();
    // With one junction the fault can only mean that one; else those still at risk, in order.
    let chosen = match curves.as_slice() {
        [only] => Some(*only),
        many => many.iter().copied().filter(|c| at_risk(c)).nth(turn),
    };
    let mut runs = chosen.map_or_else(Vec::new, |c| stretches(trial, under, over, c));
    if let Some(curve) = chosen.filter(|_| trial.piece(under).class == "fill") {
        let (_, now) = lines_beside(trial, under, curve);
        // A hole that has closed has no edge any more: the cover lies on a whole field.
        let has_edge = |(p, n): &Place| moved(&now, *p, n.map(|v| -v)).is_some();
        let any_edge = runs.iter().flatten().any(has_edge);
        runs = runs.iter().flat_map(|run| without(run, has_edge)).collect();
        if any_edge && runs.is_empty() {
            return (Judged::Moot("less than 3 mm of an edge is left".to_owned()), Held::default());
        }
    }
    if runs.is_empty() {
        return (Judged::Met("directions cross nowhere any more".to_owned()), Held::default());
    }
    let is_bare = |place: &Place| !is_covered(trial, [under, over], *place);
    runs = runs.iter().flat_map(|run| without(run, is_bare)).collect();
    if runs.is_empty() {
        let text = "a third object meets the cover here".to_owned();
        return (Judged::Moot(text), Held::default());
    }
    let before = [under, over].iter().filter_map(|k| trial.start(*k)).min().unwrap_or(0);
    let lines = spanning(trial.before(under, before));
    let is_held =
        |place: &Place| spanned(&lines, *place) || held_here(trial, [under, over], *place);
    let mut worst: Option<(f64, P, f64)> = None;
    let mut total = Held::default();
    for run in &runs {
        let good = run.iter().filter(|place| is_held(place)).count();
        let held = Held { good, all: run.len() };
        total.add(held);
        let share = held.share();
        let bare = run.iter().find(|place| !is_held(place));
        if let Some((p, _)) = bare
            && worst.is_none_or(|(least, ..)| share < least)
        {
            worst = Some((share, *p, run.len() as f64 * STEP));
        }
    }
    let length = total.all as f64 * STEP;
    let judged = match worst {
        Some((share, place, length)) if share < SHARE => {
            let text = format!("{:.0} % of a crossing of {length:.1} mm is held", share * 100.0);
            let bound = "a stitch to 0.5 mm on both sides every 1.5 mm along >= 95 %";
            Failure::along(share, place, text, bound)
        }
        _ => Judged::Met(format!("{} crossing(s), {length:.1} mm", runs.len())),
    };
    (judged, total)
}

#[test]
fn a_crossing_falls_into_parts_where_places_in_it_are_not_wanted() {
    let run: Vec<Place> = (0..40).map(|k| ([f64::from(k) * STEP, 0.0], [0.0, 1.0])).collect();
    let lengths = |from: f64, to: f64| -> Vec<usize> {
        let parts = without(&run, |(p, _)| !(from..to).contains(&p[0]));
        parts.iter().map(Vec::len).collect()
    };
    // Four places of 0.25 mm part it, three do not; what is shorter than 3 mm is no crossing, but two such
    // parts may be.
    assert_eq!(lengths(4.0, 5.0), [16, 20]);
    assert_eq!(lengths(4.0, 4.75), [37]);
    assert_eq!(lengths(2.0, 3.5), [26]);
    assert_eq!(lengths(2.5, 8.0), [18]);
    assert_eq!(lengths(1.25, 8.75), [0; 0]);
}
