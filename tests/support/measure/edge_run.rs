//! Edge runs: run stitches inside the edges of an object, sewn before its top.

use super::super::lines::{Lines, Stitch};
use super::super::plane::{
    Curve, P, Station, along, axis_angle, crossing, dist, dot, nearest, nearest_on, sub, unit,
};
use super::super::world::Piece;
use super::overlap::onto_edge;
use super::{Failure, Held, Judged, Trial};

/// "At least 0.6-0.8 mm" inside ("Embroidery at a stretch", Images, Feb 2022), and what a chord in
/// a curve makes of it, mm.
const INSIDE: [f64; 2] = [0.4, 0.9];
const ROUNDING: f64 = 0.05;
const STITCH: [f64; 2] = [0.8, 3.2];
const PARALLEL: f64 = 25.0;
/// Satins at least this wide get both edges (same source); a taper is judged from a little more.
const WIDE: f64 = 1.5;
const WIDE_TAPER: f64 = 1.6;
/// Needle points lie on this grid, so that no width is known more closely, mm.
const GRID: f64 = 0.1;
const SHARE: f64 = 0.95;
/// Of two edges a run belongs to the one that it is nearer to by this much, mm.
const NEARER: f64 = 0.02;
const STEP: f64 = 0.25;
/// An edge extended under its cover is looked for this far out, mm: a gap of 0.4 that counts as thin,
/// the 1.1 that is aimed for and the tips of rows that meet it aslant make 2. What is still covered
/// here has no edge any more: two sides of a narrow hole have met under what fills it.
const MOVES: f64 = 4.0;
/// An edge run turns short of a column's open ends and of corners, mm.
const ENDS: f64 = 1.0;
const CORNER: f64 = 40.0;

/// A column has edges to hold where it is wide over this length at least, mm (J); the program holds
/// shorter ones too, from 2.0 mm on, but is not judged by them.
const ELIGIBLE: f64 = 3.0;

/// A place on an edge, the way into the object, and along the edge.
type Place = (P, P, P);

/// Places on an edge, and the other edge of a satin.
struct Edge<'a> {
    name: String,
    places: Vec<Place>,
    other: Option<&'a [P]>,
    /// Length that is wide enough, its ends and corners too, mm.
    wide: f64,
}

/// Square to a direction, on the side that `toward` points to.
fn inward(t: P, toward: P) -> P {
    let left = [-t[1], t[0]];
    if dot(left, toward) >= 0.0 { left } else { [-left[0], -left[1]] }
}

/// Places on both rails of a satin where it is wide enough for a run along each edge.
fn rails<'a>(trial: &'a Trial, piece: usize) -> Vec<Edge<'a>> {
    let piece = trial.piece(piece);
    let Some([a, b]) = &piece.rails else { return Vec::new() };
    let [least, most] = piece.width.unwrap_or([0.0, 0.0]);
    let wide = if most - least < 0.1 { WIDE - ROUNDING } else { WIDE_TAPER };
    let edge = |name: &str, own: &'a [P], other: &'a [P]| {
        let curve = Curve::new(own, piece.closed);
        let total = curve.length();
        let across = curve.stations(STEP).into_iter().map(|at| (nearest_on(at.p, other), at));
        let broad: Vec<_> = across.filter(|(q, at)| dist(at.p, *q) >= wide).collect();
        let clear = |q: P, at: &Station| {
            let at_end = at.s < ENDS || at.s > total - ENDS;
            let at_end = || at_end || ends_beside(at, inward(at.t, sub(q, at.p)), own, other);
            (piece.closed || !at_end()) && !curve.corner_near(at.s, CORNER)
        };
        let kept = broad.iter().filter(|(q, at)| clear(*q, at));
        let places = kept.map(|(q, at)| (at.p, inward(at.t, sub(*q, at.p)), at.t)).collect();
        let wide = broad.len() as f64 * STEP;
        Edge { name: name.to_owned(), places, other: Some(other), wide }
    };
    vec![edge("left edge", a, b), edge("right edge", b, a)]
}

/// Does the column end beside the place where a run would lie? Its last crossing may lie aslant, so
/// that one edge goes on further than what is between the two.
fn ends_beside(at: &Station, inward: P, own: &[P], other: &[P]) -> bool {
    let run = along(at.p, inward, (INSIDE[0] + INSIDE[1]) / 2.0);
    let [from, to] = [-ENDS, ENDS].map(|by| along(run, at.t, by));
    let ends = [(own.first(), other.first()), (own.last(), other.last())];
    ends.into_iter()
        .any(|(a, b)| a.zip(b).is_some_and(|(a, b)| crossing(from, to, *a, *b).is_some()))
}

/// Places on the outline and the holes of a fill.
fn rings<'a>(trial: &'a Trial, piece: usize) -> Vec<Edge<'a>> {
    let area = &trial.piece(piece).area;
    let edge = |(k, ring): (usize, &Vec<P>)| {
        let curve = Curve::new(ring, true);
        let kept = curve.stations(STEP).into_iter().filter(|at| !curve.corner_near(at.s, CORNER));
        let places = kept.filter_map(|at| onto_edge(area, &at).map(|(p, n)| (p, n, at.t)));
        Edge {
            name: format!("ring {}", k + 1),
            places: places.collect(),
            other: None,
            wide: f64::INFINITY,
        }
    };
    area.rings.iter().enumerate().map(edge).collect()
}

/// How far an edge now lies outside its old place because it was extended under later objects; `None`
/// where there is no edge any more.
pub fn moved(tops: &Lines, p: P, n: P) -> Option<f64> {
    const STEP: f64 = 0.05;
    let covered = |t: f64| tops.between(along(p, n, t), 0.7, true, |_| true);
    let steps = (MOVES / STEP).round() as u32;
    let bare = (1..=steps).find(|k| !covered(-f64::from(*k) * STEP))?;
    Some(f64::from(bare - 1) * STEP)
}

/// Is there a run stitch beside this place?
fn beside(runs: &Lines, p: P, n: P, t: P, other: Option<&[P]>) -> bool {
    runs.near(p, 1.0).into_iter().any(|s| {
        let (length, u) = (s.length(), unit(s.axis()));
        let foot_at = dot(sub(p, s.a), u);
        let foot = along(s.a, u, foot_at);
        let inside = dot(sub(foot, p), n);
        let own = dist(foot, p);
        axis_angle(s.axis(), t) <= PARALLEL
            && (-0.2..=length + 0.2).contains(&foot_at)
            && inside > 0.0
            && (INSIDE[0] - ROUNDING..=INSIDE[1] + ROUNDING).contains(&own)
            // One run down the middle of a narrow column is not a run along each edge.
            && other.is_none_or(|rail| own + NEARER <= dist(foot, nearest_on(foot, rail)))
    })
}

fn run_length(s: &Stitch) -> bool {
    (STITCH[0] - ROUNDING..=STITCH[1] + ROUNDING).contains(&s.length())
}

pub fn judge(trial: &Trial, piece: usize) -> (Judged, Held) {
    let truth = trial.piece(piece);
    if trial.start(piece).is_none() {
        let judged = Failure::at(truth.area.low(), "its top was not found".to_owned(), "sewn");
        return (judged, Held::default());
    }
    let runs = Lines::new(trial.beneath(piece).into_iter().filter(run_length).collect());
    let (judged, held) = by_edges(trial, piece, &runs);
    // A column as wide as the bound may be read as either: nothing is missing then with a run down
    // its middle.
    let at_bound = across(truth).is_some_and(|width| (width - WIDE).abs() <= GRID + 1e-9);
    let has_centre = || matches!(narrow(trial, piece, &runs, WIDE + GRID + 1e-6), Judged::Met(_));
    match judged {
        Judged::Failed(_) if at_bound && has_centre() => {
            let text = "as wide as the bound, and with a centre run".to_owned();
            (Judged::Moot(text), Held::default())
        }
        judged => (judged, held),
    }
}

/// The most that a column measures square to its edges, mm: crossings may lie aslant. Where the nearest
/// place on the other edge is its end, the column has ended.
fn across(truth: &Piece) -> Option<f64> {
    let [a, b] = truth.rails.as_ref()?;
    let widest = |own: &[P], other: &[P]| {
        let ends = [other.first(), other.last()];
        let is_end =
            |q: P| !truth.closed && ends.into_iter().flatten().any(|end| dist(*end, q) < 1e-6);
        let curve = Curve::new(own, truth.closed);
        let (stations, length) = (curve.stations(STEP), curve.length());
        // Ends may flare, unless the column has nothing else.
        let clear = |at: &Station| {
            truth.closed || length <= 2.0 * ENDS || (ENDS..=length - ENDS).contains(&at.s)
        };
        let across = stations.into_iter().filter(clear);
        let across = across.map(|at| (at.p, nearest_on(at.p, other)));
        across.filter(|(_, q)| !is_end(*q)).map(|(p, q)| dist(p, q)).max_by(f64::total_cmp)
    };
    let square = [widest(a, b), widest(b, a)].into_iter().flatten().max_by(f64::total_cmp);
    truth.width.map(|[_, most]| square.map_or(most, |square| most.min(square)))
}

fn by_edges(trial: &Trial, piece: usize, runs: &Lines) -> (Judged, Held) {
    let truth = trial.piece(piece);
    let edges = if truth.class == "fill" { rings(trial, piece) } else { rails(trial, piece) };
    let long = |e: &&Edge| e.wide >= ELIGIBLE && e.places.len() as f64 * STEP >= 0.5;
    if !edges.iter().any(|e| long(&e)) {
        return (narrow(trial, piece, runs, WIDE), Held::default());
    }
    let tops = trial.span(piece).map_or_else(
        || Lines::new(Vec::new()),
        |span| {
            let (low, high) = (truth.area.low(), truth.area.high);
            trial.shown(truth.stop, span, low.map(|v| v - MOVES), high.map(|v| v + MOVES))
        },
    );
    let mut total = Held::default();
    let (mut least, mut failed) = ((f64::INFINITY, String::new()), None);
    for edge in edges.iter().filter(long) {
        let off = |(p, n, _): &Place| match trial.hidden(piece, *p) {
            true => moved(&tops, *p, *n),
            false => Some(0.0),
        };
        let kept = edge.places.iter().filter_map(|place| Some((*place, off(place)?)));
        let (places, off): (Vec<Place>, Vec<f64>) = kept.unzip();
        let judged: Vec<usize> =
            (0..off.len()).filter(|k| !corner_made(&places, &off, *k)).collect();
        let held = |k: usize| {
            let (p, n, t) = places[k];
            let beside_it = |p: P, n: P, t: P| beside(runs, p, n, t, edge.other);
            let sewn = along(p, n, -off[k]);
            let (n_now, t_now) = as_sewn(&places, &off, k);
            beside_it(p, n, t)
                || off[k] > 0.0 && (beside_it(sewn, n, t) || beside_it(sewn, n_now, t_now))
        };
        let bare: Vec<P> = judged.iter().filter(|k| !held(**k)).map(|&k| places[k].0).collect();
        let held = Held { good: judged.len() - bare.len(), all: judged.len() };
        total.add(held);
        let length = held.all as f64 * STEP;
        let text = format!("{}: {:.0} % of {length:.1} mm", edge.name, held.share() * 100.0);
        // On a short edge one place is more than the part that may be bare.
        if held.share() < SHARE && bare.len() > 1 && failed.is_none() {
            let place = bare[bare.len() / 2];
            let bound = "a run 0.4-0.9 mm inside along >= 95 %";
            failed = Some(Failure::along(held.share(), place, text.clone(), bound));
        }
        if held.share() < least.0 {
            least = (held.share(), text);
        }
    }
    (failed.unwrap_or(Judged::Met(least.1)), total)
}

/// The way into the object and along its edge as extended: a fade has a slope of its own.
fn as_sewn(places: &[Place], off: &[f64], k: usize) -> (P, P) {
    /// Places to either side: half a millimetre, so that single row ends do not count.
    const AROUND: usize = 2;
    let from = (0..AROUND).take_while(|d| k > *d && joined(places, k - d - 1)).count();
    let to = (0..AROUND).take_while(|d| k + d + 1 < off.len() && joined(places, k + d)).count();
    let at = |j: usize| along(places[j].0, places[j].1, -off[j]);
    let (_, n, t) = places[k];
    if from + to == 0 {
        return (n, t);
    }
    let now = unit(sub(at(k + to), at(k - from)));
    (inward(now, n), now)
}

/// Does the next place follow this one on the edge?
fn joined(places: &[Place], j: usize) -> bool {
    dist(places[j].0, places[j + 1].0) < 2.0 * STEP
}

/// Is there a corner near a place that an extension made: where it ends, the edge steps in or out?
fn corner_made(places: &[Place], off: &[f64], k: usize) -> bool {
    /// Places to either side: as far as other corners are kept clear of.
    const AROUND: usize = 4;
    /// A fade rises by less from place to place, mm.
    const RISE: f64 = 0.4;
    let step = |j: usize| joined(places, j) && (off[j] - off[j + 1]).abs() > RISE;
    let last = off.len().saturating_sub(1);
    (k.saturating_sub(AROUND)..(k + AROUND).min(last)).any(step)
}

/// Too narrow, or too short, for two edges: a run along the middle ("satins under 1.5 mm", same
/// source). Where the truth asks for edges, there is nothing left to judge.
fn narrow(trial: &Trial, piece: usize, runs: &Lines, below: f64) -> Judged {
    let truth = trial.piece(piece);
    let width = across(truth).unwrap_or(0.0);
    let Some([a, b]) = truth.rails.as_ref().filter(|_| width < below) else {
        return Judged::Moot(
            "no edge that is wide over 3 mm, with 0.5 mm clear of ends and corners".to_owned(),
        );
    };
    let curve = Curve::new(a, truth.closed);
    let middle = curve
        .stations(STEP)
        .into_iter()
        .filter(|at| truth.closed || (ENDS..=curve.length() - ENDS).contains(&at.s));
    let (mut all, mut good) = (0, 0);
    for at in middle {
        let p = super::super::plane::mid(at.p, nearest_on(at.p, b));
        let along_it = |s: &&Stitch| {
            dist(p, nearest(p, s.a, s.b)) <= 0.35 && axis_angle(s.axis(), at.t) <= PARALLEL
        };
        all += 1;
        good += usize::from(runs.near(p, 0.9).iter().any(along_it));
    }
    // A column no longer than its two ends has no place that a run could be asked for.
    if all == 0 {
        return Judged::Moot("no place clear of both ends".to_owned());
    }
    let share = good as f64 / f64::from(all);
    let text = format!("{:.0} % of a narrow column has a centre run", share * 100.0);
    if share < SHARE { Failure::at(a[0], text, ">= 95 %") } else { Judged::Met(text) }
}
