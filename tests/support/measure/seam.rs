//! Seam: what crosses the centre seam has underlay square to it there.

use super::super::lines::{Lines, Stitch};
use super::super::plane::{
    Curve, P, axis_angle, cross, crossing, dist, mid, nearest, nearest_on, sub, unit,
};
use super::{Failure, Judged, Trial};

/// Half the band, mm (design, J; "extra underlay where the design crosses the centre seam",
/// Printwear, Oct 2016), less what its ends may lack.
const BAND: f64 = 4.5;
/// An object crosses the seam when it reaches this far to both sides.
const CROSSES: f64 = 2.0;
/// One crossing stitch at least this often along a column, mm.
const EVERY: f64 = 3.5;
/// Perpendicular rows are "less than the top stitch length" apart: no place further from one, mm.
const ROWS: f64 = 2.6;
/// An edge moves by 1.6 mm (a thin overlap of 0, met aslant); underlay lies 0.6 mm inside of it, mm.
const EXTENDED: f64 = 1.0;
const SHARE: f64 = 0.8;
const STEP: f64 = 0.5;

pub fn judge(trial: &Trial, piece: usize) -> Judged {
    let truth = trial.piece(piece);
    if truth.area.low()[0] > -CROSSES || truth.area.high[0] < CROSSES {
        return Judged::Moot("does not cross the seam".to_owned());
    }
    if trial.start(piece).is_none() {
        return Failure::at(truth.area.low(), "its top was not found".to_owned(), "sewn");
    }
    // An edge that was extended takes the underlay along by as much.
    let inside = |s: &Stitch| [s.a, s.b].iter().all(|p| truth.area.reaches(*p, EXTENDED));
    let beneath: Vec<Stitch> = trial.beneath(piece).into_iter().filter(inside).collect();
    let places = match &truth.rails {
        Some([a, b]) => column(&beneath, &middle_line(a, b, truth.closed)),
        None => rows(trial, piece, &beneath),
    };
    let held = places.iter().filter(|(_, held)| *held).count();
    let share = held as f64 / places.len().max(1) as f64;
    let text = format!("{:.0} % of {} places held", share * 100.0, places.len());
    match places.iter().find(|(_, held)| !held) {
        Some((p, _)) if share < SHARE => {
            Failure::at(*p, text, "underlay across it within 5 mm of the seam, >= 80 %")
        }
        _ => Judged::Met(text),
    }
}

fn middle_line(a: &[P], b: &[P], closed: bool) -> Vec<Vec<P>> {
    let mut runs: Vec<Vec<P>> = vec![Vec::new()];
    for at in Curve::new(a, closed).stations(STEP) {
        let p = mid(at.p, nearest_on(at.p, b));
        if p[0].abs() <= BAND {
            runs.last_mut().into_iter().for_each(|run| run.push(p));
        } else if runs.last().is_some_and(|run| !run.is_empty()) {
            runs.push(Vec::new());
        }
    }
    // A ring may begin within the band: a run shorter than its own pitch proves nothing.
    runs.retain(|run| run.len() as f64 * STEP >= EVERY / 2.0);
    runs
}

/// Places along the middle of a column, and whether a stitch from one side to the other is near.
fn column(beneath: &[Stitch], runs: &[Vec<P>]) -> Vec<(P, bool)> {
    let lines = Lines::new(beneath.to_vec());
    let mut out = Vec::new();
    for run in runs {
        let hit = |w: &[P]| {
            let u = unit(sub(w[1], w[0]));
            lines.near(w[0], 1.0).iter().any(|s| {
                let (d, e) = (cross(u, sub(s.a, w[0])), cross(u, sub(s.b, w[0])));
                let across = d * e < 0.0 && d.abs().min(e.abs()) >= 0.1 && (d - e).abs() >= 0.3;
                across && crossing(w[0], w[1], s.a, s.b).is_some()
            })
        };
        let hits: Vec<P> = run.windows(2).filter(|w| hit(w)).map(|w| mid(w[0], w[1])).collect();
        out.extend(
            run.iter().map(|p| (*p, hits.iter().any(|h| dist(*h, *p) <= EVERY / 2.0 + STEP / 2.0))),
        );
    }
    out
}

/// Places inside a fill, and whether a stitch square to its rows (within 45 degrees) is near.
fn rows(trial: &Trial, piece: usize, beneath: &[Stitch]) -> Vec<(P, bool)> {
    let area = &trial.piece(piece).area;
    let axis = trial.row_axis(piece);
    let square = |s: &&Stitch| s.length() >= 1.0 && axis_angle(s.axis(), axis) >= 45.0;
    let square: Vec<Stitch> = beneath.iter().filter(square).copied().collect();
    let near = |p: P| square.iter().any(|s| dist(p, nearest(p, s.a, s.b)) <= ROWS);
    let mut out = Vec::new();
    let (low, high) = (area.low()[1], area.high[1]);
    for row in 0..((high - low) / 1.0) as usize {
        for column in -4..=4 {
            let p = [f64::from(column), low + row as f64 + 0.5];
            if area.holds(p, 1.5) {
                out.push((p, near(p)));
            }
        }
    }
    out
}
