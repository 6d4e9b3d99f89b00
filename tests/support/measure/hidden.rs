//! Stitches that were added and are no top stitching (underlay, guards, ways): none may be seen.

use std::collections::BTreeSet;

use super::super::lines::{Lines, Stitch};
use super::super::plane::{P, dist, nearest, turn};
use super::super::world::{Ends, ends};
use super::visible::covered;
use super::{DENSE, Failure, Judged, Trial};

/// mm between places along a stitch.
const STEP: f64 = 0.1;
/// The ends of a stitch lie in a needle hole that its neighbours share, mm.
const SEEN: f64 = 0.5;
/// Lines that run alike, degrees.
const ALIKE: f64 = 40.0;

/// New stitches of which more than 0.5 mm is on top and no part of a dense weave.
pub fn judge(trial: &Trial) -> Judged {
    let known: BTreeSet<Ends> =
        trial.world.original.stitches.iter().map(|s| ends(s.a, s.b)).collect();
    let new = |s: &&Stitch| s.length() > SEEN && !known.contains(&ends(s.a, s.b));
    let bare: Vec<&Stitch> =
        trial.out.stitches.iter().filter(new).filter(|s| lone_length(trial, s) > SEEN).collect();
    match bare.iter().max_by(|a, b| a.length().total_cmp(&b.length())) {
        Some(s) => {
            let text = format!("{} stitches, here {:.1} mm", bare.len(), lone_length(trial, s));
            Failure::at(s.mid(), text, "none over 0.5 mm")
        }
        None => Judged::Met("none".to_owned()),
    }
}

/// Length of a stitch that shows and has no like beside it, mm.
fn lone_length(trial: &Trial, s: &Stitch) -> f64 {
    let lone = |p: &P| !covered(&trial.out, s, *p) && !woven(trial, s, *p);
    s.walk(STEP).filter(lone).count() as f64 * STEP
}

/// Lines of the same thread that run alike lie beside it, as rows and crossings do, or it goes over a
/// line that the original had.
fn woven(trial: &Trial, s: &Stitch, p: P) -> bool {
    let alike = |t: &Stitch, by: f64| {
        let bend = turn(s.axis(), t.axis());
        bend.min(180.0 - bend) <= ALIKE && dist(p, nearest(p, t.a, t.b)) <= by
    };
    let beside = |lines: Option<&Lines>, by: f64, other: bool| {
        lines.is_some_and(|lines| {
            lines.near(p, by).iter().any(|t| !(other && t.rank == s.rank) && alike(t, by))
        })
    };
    beside(trial.out.per_stop.get(s.stop), DENSE, true)
        || beside(trial.world.original.per_stop.get(s.stop), 0.15, false)
}
