//! Turned fills: do the new rows cover what the old ones did, and no more, with as many stitches?

use std::collections::BTreeSet;

use super::super::lines::{Lines, Stitch};
use super::super::plane::{Area, P, axis_angle, dot};
use super::visible::{RADIUS, on_thread};
use super::{Failure, Judged, Trial, Verdict, uncovered};

/// mm, side of a cell.
const CELL: f64 = 0.1;
/// Rows that meet in a V lie two pitches apart at its open end, and rounding adds to it.
const SLACK: f64 = 2.2;
/// Pull compensation of a finished cap at one row end, and half the grid, mm.
const COMPENSATION: f64 = 0.2;
/// The tip of a row may stand out by so much more: its area is judged by "outside", mm.
const TIP: f64 = 0.2;
/// No edge is extended further under its cover, mm.
const AROUND: f64 = 3.0;
const COVER: f64 = 0.99;
const OUTSIDE: f64 = 0.01;
const COUNT: f64 = 0.2;
/// Shortest stitch of a row, mm; what is shorter leads to the next one.
const ROW: f64 = 0.8;
/// Rows that meet in a V are as far from parallel at most, degrees.
const ALIKE: f64 = 35.0;
/// A stitch this close to the rows' direction is of a row, not on the way from one to another, degrees.
const ALONG: f64 = 10.0;
/// Stitches per cm2 of standard fill (stitch-count tables of the trade, "130 standard").
const STANDARD: f64 = 130.0;
/// A fill is of standard density if its original has as many, give or take this share.
const NEAR_STANDARD: f64 = 0.1;

fn bounded(kind: &str, id: &str, place: P, value: f64, (ok, bound): (bool, &str)) -> Verdict {
    let text = format!("{id}: {value:.4}");
    Verdict::rule(kind, if ok { Judged::Met(text) } else { Failure::at(place, text, bound) })
}

/// Cells of an area, by what the new rows do there.
#[derive(Default)]
struct Cells {
    old: Vec<P>,
    bare: Vec<P>,
    outside: Vec<P>,
}

/// Rules of a fill that was turned.
pub fn judge(trial: &Trial, piece: usize) -> Vec<Verdict> {
    let truth = trial.piece(piece);
    let (id, area) = (&truth.id, &truth.area);
    let pitch = truth.row_pitch.unwrap_or(0.25);
    let gap = (pitch * SLACK).max(2.0 * RADIUS);
    let tops = now(trial, piece);
    let cells = count(trial, piece, &tops, gap);
    let share = |part: usize, whole: usize| part as f64 / whole.max(1) as f64;
    let cover = 1.0 - share(cells.bare.len(), cells.old.len());
    let outside = share(cells.outside.len(), cells.old.len());
    let place = |list: &[P]| list.get(list.len() / 2).copied().unwrap_or(area.low());
    let mut out = vec![
        bounded("turned: cover", id, place(&cells.bare), cover, (cover >= COVER, ">= 0.99")),
        bounded(
            "turned: outside",
            id,
            place(&cells.outside),
            outside,
            (outside <= OUTSIDE, "<= 0.01"),
        ),
        Verdict::rule("turned: travel", travel(trial, piece)),
    ];
    // Both counted within the old outline. An edge run beneath may lie along the rows: of what comes
    // before the top that can be seen, only rows have no later ones over them. Steps along the edge from
    // row to row are no stitches of rows: new rows meet in a V.
    let size = cells.old.len() as f64 * CELL * CELL / 100.0;
    let row = |s: &&Stitch| s.length() >= ROW && area.contains(s.mid());
    let was = trial.world.original.span(truth.first + 1, truth.last).filter(row).count();
    let start = trial.start(piece).unwrap_or(usize::MAX);
    let shown: BTreeSet<usize> = uncovered(&tops).iter().map(|s| s.rank).collect();
    let is_top = |s: &&Stitch| s.rank >= start || shown.contains(&s.rank);
    let is = tops.items.iter().filter(row).filter(is_top).count();
    let [was, is] = [was, is].map(|count| count as f64 / size);
    let near = |value: f64, of: f64, by: f64| (value / of - 1.0).abs() <= by;
    out.push(bounded(
        "turned: count",
        id,
        area.low(),
        is / was,
        (near(is, was, COUNT), "1 +- 0.2"),
    ));
    if near(was, STANDARD, NEAR_STANDARD) {
        let ok = near(is, STANDARD, COUNT);
        out.push(bounded("turned: rate", id, area.low(), is, (ok, "130 per cm2 +- 20 %")));
    }
    out
}

/// The rows of a fill as they are now, what later objects hide too.
fn now(trial: &Trial, piece: usize) -> Lines {
    let all = trial.out.stop(trial.piece(piece).stop).iter();
    let (span, axis) = (trial.span(piece).unwrap_or(0..0), trial.row_axis(piece));
    let row = |s: &&Stitch| {
        span.contains(&s.rank)
            && s.length() >= ROW
            && axis_angle(s.axis(), axis) <= ALIKE
            && !trial.others(s, piece)
            && !is_beside(trial, piece, s)
    };
    Lines::new(all.filter(row).copied().collect())
}

/// Does a stitch lie in another fill of the same thread, and not in this one? Fills side by side may both
/// have been laid anew.
fn is_beside(trial: &Trial, piece: usize, s: &Stitch) -> bool {
    let own = trial.piece(piece);
    let pieces = trial.world.pieces.iter().enumerate();
    let mut others = pieces.filter(|(k, p)| *k != piece && p.stop == own.stop && p.class == "fill");
    !own.area.contains(s.mid()) && others.any(|(_, other)| other.area.contains(s.mid()))
}

/// Thread covers a cell, or rows one pitch apart do between them.
fn covered(tops: &Lines, p: P, gap: f64) -> bool {
    on_thread(tops, p, |_| true) || tops.between(p, gap, true, |_| true)
}

/// Whatever an object sewn later hides is the overlap's affair.
fn count(trial: &Trial, piece: usize, tops: &Lines, gap: f64) -> Cells {
    let area: &Area = &trial.piece(piece).area;
    let (low, high) = (area.low(), area.high);
    let mut out = Cells::default();
    let steps = |axis: usize| ((high[axis] - low[axis] + 2.0 * AROUND) / CELL) as usize;
    for row in 0..steps(1) {
        for column in 0..steps(0) {
            let at = |k: usize, low: f64| low - AROUND + (k as f64 + 0.5) * CELL;
            let p = [at(column, low[0]), at(row, low[1])];
            let (inside, sewn) = (area.contains(p), covered(tops, p, gap));
            if inside {
                out.old.push(p);
                if !sewn {
                    out.bare.push(p);
                }
            } else if sewn && !area.reaches(p, RADIUS + COMPENSATION) && !trial.hidden(piece, p) {
                out.outside.push(p);
            }
        }
    }
    out
}

/// New stitches between two needle points of the fill that leave its outline where nothing hides them.
fn travel(trial: &Trial, piece: usize) -> Judged {
    let truth = trial.piece(piece);
    let span = trial.span(piece).unwrap_or(0..0);
    let all = trial.out.stop(truth.stop);
    let rows = trial.row_axis(piece);
    let new = |s: &Stitch| trial.owners.of(s).is_none() && !is_beside(trial, piece, s);
    let is_out = |p: P, by: f64| !truth.area.reaches(p, RADIUS + by) && !trial.hidden(piece, p);
    let is_row = |s: &Stitch| s.length() >= ROW && axis_angle(s.axis(), rows) <= ALONG;
    let goes_on = |s: &Stitch, next: Option<&Stitch>| {
        next.is_some_and(|next| is_row(next) && dot(s.axis(), next.axis()) > 0.0)
    };
    let leaves = |k: usize| {
        let s = &all[k];
        let out: Vec<bool> = s.walk(CELL).map(|p| is_out(p, COMPENSATION)).collect();
        let far = || s.walk(CELL).any(|p| is_out(p, COMPENSATION + TIP));
        // The row must end there, and not come back with its next stitch.
        let before = k.checked_sub(1).and_then(|k| all.get(k));
        let ends = match end_out(&out) {
            Some(true) => !goes_on(s, all.get(k + 1)),
            Some(false) => !goes_on(s, before),
            None => false,
        };
        out.contains(&true) && !(is_row(s) && ends && !far())
    };
    let own = (0..all.len()).filter(|k| span.contains(&all[*k].rank) && new(&all[*k]));
    let outside: Vec<&Stitch> = own.filter(|k| leaves(*k)).map(|k| &all[k]).collect();
    match outside.first() {
        Some(s) => {
            Failure::at(s.mid(), format!("{}: {} stitches", truth.id, outside.len()), "none")
        }
        None => Judged::Met("none".to_owned()),
    }
}

/// Which one of its ends is a stitch out at, the last or the first, if at no other place: not one that comes
/// back or never was inside?
fn end_out(out: &[bool]) -> Option<bool> {
    let changes = out.windows(2).filter(|w| w[0] != w[1]).count();
    (changes == 1).then(|| out.last() == Some(&true))
}

#[test]
fn only_one_end_of_a_row_may_stand_out() {
    assert_eq!(end_out(&[false, false, true]), Some(true));
    assert_eq!(end_out(&[true, false]), Some(false));
    let [back, off, both] = [&[false, true, false][..], &[true, true], &[true, false, true]];
    assert!([back, off, both].into_iter().all(|out| end_out(out).is_none()));
}
