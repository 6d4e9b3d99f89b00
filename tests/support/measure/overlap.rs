//! Overlap: how far the object sewn first reaches under the one sewn later.

use super::super::Fault;
use super::super::lines::{Lines, Stitch};
use super::super::plane::{Area, Curve, P, Station, along};
use super::super::world::Shared;
use super::{Failure, Held, Judged, Trial};

/// "Fill under its satin border: at least 1.0 mm" ("Embroidery at a stretch", Images, Feb 2022).
const ALLOWANCE: f64 = 1.0;
/// The design acts below this.
const ACT: f64 = 0.9;
const ROUNDING: f64 = 0.05;
/// Hidden stitches stay this far inside the far edge of their cover (design, J).
const MARGIN: f64 = 0.3;
const SHARE: f64 = 0.98;
/// The design lets the fade take this much at an end that no cover hides.
const FADE: f64 = 1.0;
/// Lines of one object further apart than this do not cover what lies between, mm.
const GAP: f64 = 0.7;

/// How far the lines reach from the curve along `n`, unbroken from their own side; mm.
pub fn reach(lines: &Lines, p: P, n: P) -> Option<f64> {
    const STEP: f64 = 0.025;
    let covered = |t: f64| lines.between(along(p, n, t), GAP, true, |_| true);
    // A gap may be up to 0.4 mm wide, so look for the object's own side from there outward.
    let from = (0..24).map(|k| -0.45 - f64::from(k) * STEP).find(|&t| covered(t))?;
    let (mut end, mut t) = (from, from);
    while t < 2.6 && t - end <= 0.15 {
        t += STEP;
        if covered(t) {
            end = t;
        }
    }
    Some(end)
}

/// A place on the curve, moved onto the later object's edge as sewn, with the way into it.
pub fn onto_edge(over: &Area, station: &Station) -> Option<(P, P)> {
    let left = [-station.t[1], station.t[0]];
    let inside = |k: f64| over.contains(along(station.p, left, 0.3 * k));
    let n = match (inside(1.0), inside(-1.0)) {
        (true, false) => left,
        (false, true) => [-left[0], -left[1]],
        _ => return None,
    };
    let flip = (-12..12).map(|k| f64::from(k) * 0.025);
    let edge = flip.into_iter().find(|&t| over.contains(along(station.p, n, t)))?;
    Some((along(station.p, n, edge), n))
}

/// Can the later object hide the allowance here, with the margin to its other edges?
pub fn hides(over: &Area, p: P, n: P, depth: f64) -> bool {
    let slack = MARGIN + ROUNDING;
    let steps = |from: f64, to: f64| {
        let n = ((to - from) / 0.1).round() as usize;
        (0..=n).map(move |k| from + 0.1 * k as f64)
    };
    steps(0.1, depth + slack).all(|t| over.contains(along(p, n, t)))
        && over.contains(along(p, n, depth + slack))
        && steps(slack + 0.05, depth).all(|t| over.holds(along(p, n, t), slack))
}

/// Ends of an open curve past which nothing hides a fade.
fn bare_ends(over: &Area, curve: &Curve) -> [bool; 2] {
    let bare = |s: f64, way: f64| {
        let p = curve.at(s);
        let back = curve.at(s - 0.5 * way);
        let t = super::super::plane::unit(super::super::plane::sub(p, back));
        let beyond = along(p, t, 0.7);
        let station = Station { s, p: back, t };
        onto_edge(over, &station).is_none_or(|(_, n)| !over.holds(along(beyond, n, 0.6), MARGIN))
    };
    if curve.closed {
        return [false; 2];
    }
    [bare(0.0, -1.0), bare(curve.length(), 1.0)]
}

/// The junction that a fault speaks of: its note repeats the junction's figures.
fn shared<'a>(trial: &'a Trial, fault: &Fault, under: usize, over: usize) -> &'a Shared {
    let text = |j: &Shared| {
        let [low, high] = j.overlap;
        format!("reaches {low:.2} to {high:.2} mm under along {:.1} mm", j.length)
    };
    let mut pair = trial.world.shared.iter().filter(|j| j.under == under && j.over == over);
    pair.find(|j| fault.note.contains(&text(j)))
        .unwrap_or_else(|| panic!("no junction for '{}'", fault.note))
}

/// Lines of the object sewn first near a curve, in the original and in the mended tape; what other
/// objects have beneath them there does not count.
pub fn lines_beside(trial: &Trial, under: usize, curve: &[P]) -> (Lines, Lines) {
    let (mut low, mut high) = ([f64::INFINITY; 2], [f64::NEG_INFINITY; 2]);
    for p in curve {
        for axis in 0..2 {
            low[axis] = low[axis].min(p[axis] - 4.0);
            high[axis] = high[axis].max(p[axis] + 4.0);
        }
    }
    let piece = trial.piece(under);
    let old: Vec<Stitch> = trial.world.original.span(piece.first, piece.last).copied().collect();
    let shown = |span| match piece.class.as_str() {
        "fill" => trial.rows_shown(under, span, low, high),
        _ => trial.shown(piece.stop, span, low, high),
    };
    let now = trial.span(under).map_or_else(|| Lines::new(Vec::new()), shown);
    (Lines::new(old), now)
}

pub fn judge(trial: &Trial, fault: &Fault, under: usize, over: usize) -> (Judged, Held) {
    let junction = shared(trial, fault, under, over);
    let curve = Curve::of(&junction.curve);
    let (old, new) = lines_beside(trial, under, &junction.curve);
    let cover = &trial.piece(over).area;
    let [bare_start, bare_end] = bare_ends(cover, &curve);
    let mut held = Held::default();
    let mut worst: Option<(f64, f64, P)> = None;
    for station in curve.stations(0.5) {
        let end = curve.length() - station.s;
        if (bare_start && station.s < FADE) || (bare_end && end < FADE) {
            continue;
        }
        let Some((p, n)) = onto_edge(cover, &station) else { continue };
        let Some(was) = reach(&old, p, n).filter(|r| *r < 2.5) else { continue };
        if !hides(cover, p, n, ALLOWANCE) {
            continue;
        }
        held.all += 1;
        // What was enough to be left alone must only not have become less.
        let need = if was >= ACT - ROUNDING { was.min(ALLOWANCE) } else { ALLOWANCE } - ROUNDING;
        let now = reach(&new, p, n).unwrap_or(-1.0);
        if now + 1e-9 >= need {
            held.good += 1;
        } else if worst.is_none_or(|(short, ..)| need - now > short) {
            worst = Some((need - now, now, p));
        }
    }
    if held.all < 2 {
        return (Judged::Moot(format!("only {} places can hide the allowance", held.all)), held);
    }
    let share = held.share();
    let text = format!("{:.1} % of {} places, {:.1} mm", share * 100.0, held.all, curve.length());
    let judged = match worst {
        Some((_, now, place)) if share < SHARE => {
            let text = format!("{text}; reaches {now:.2} mm here");
            Failure::along(share, place, text, "1.0 mm along >= 98 %")
        }
        _ => Judged::Met(text),
    };
    (judged, held)
}
