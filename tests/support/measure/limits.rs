//! Rules for every tape: stops, ends, record moves, stitch lengths.

use std::collections::BTreeMap;

use super::super::decode::{Kind, MOVE_LIMIT};
use super::super::plane::{P, dist};
use super::super::world::{Ends, Sewing, ends};
use super::{Failure, Judged, Trial, Verdict};

/// Shorter stitches are faults ("min 1.0" for ordinary ones; ties and fine work less), mm.
const SHORT: f64 = 0.3;
/// One record's reach, mm ("Embroidery format DST").
const LONG: f64 = 12.1;
/// A doubled needle point may move with its edge by the allowance and what it lacked, mm.
const FOLD_MOVES: f64 = 1.5;

fn same<T: PartialEq + std::fmt::Debug>(old: &T, new: &T) -> Judged {
    let text = format!("{new:?}");
    if old == new {
        return Judged::Met(text);
    }
    Failure::at([0.0, 0.0], text, &format!("{old:?} as in the original"))
}

pub fn judge(trial: &Trial) -> Vec<Verdict> {
    let (old, new) = (&trial.world.original, &trial.out);
    let reach = new.tape.records.iter().flat_map(|r| r.by).map(i32::abs).max().unwrap_or(0);
    vec![
        Verdict::rule("stops", same(&old.tape.changes(), &new.tape.changes())),
        Verdict::rule("final position", same(&old.tape.final_place(), &new.tape.final_place())),
        Verdict::rule("ends once", same(&1, &new.count(Kind::End))),
        Verdict::rule("record move", over([0.0, 0.0], f64::from(reach), f64::from(MOVE_LIMIT))),
        Verdict::rule("short stitches", short(old, new)),
        Verdict::rule("long stitches", long(new)),
    ]
}

fn over(place: P, value: f64, limit: f64) -> Judged {
    let text = format!("{value:.1}");
    if value <= limit {
        Judged::Met(text)
    } else {
        Failure::at(place, text, &format!("<= {limit}"))
    }
}

fn long(new: &Sewing) -> Judged {
    let worst = new.stitches.iter().max_by(|a, b| a.length().total_cmp(&b.length()));
    worst.map_or(Judged::Met("none".to_owned()), |s| over(s.mid(), s.length(), LONG))
}

/// Short stitches by their place; those that the original had are its own affair.
fn short(old: &Sewing, new: &Sewing) -> Judged {
    let all = |sewing: &Sewing| {
        let mut out: BTreeMap<Ends, i32> = BTreeMap::new();
        for s in sewing.stitches.iter().filter(|s| s.length() < SHORT - 1e-9) {
            *out.entry(ends(s.a, s.b)).or_default() += 1;
        }
        out
    };
    let (was, now) = (all(old), all(new));
    let mm = |p: [i32; 2]| p.map(|v| f64::from(v) / 10.0);
    let count = |list: &BTreeMap<Ends, i32>, key: &Ends| list.get(key).copied().unwrap_or(0);
    let gone = was.iter().filter(|(k, n)| k[0] == k[1] && **n > count(&now, k));
    let mut folds: Vec<P> = gone.map(|(k, _)| mm(k[0])).collect();
    let (mut fresh, mut total) = (Vec::new(), 0);
    for (key, n) in &now {
        for _ in count(&was, key)..*n {
            let place = mm(key[0]);
            let fold = folds.iter().position(|p| dist(*p, place) <= FOLD_MOVES);
            match fold.filter(|_| key[0] == key[1]) {
                Some(k) => drop(folds.swap_remove(k)),
                None => fresh.push(place),
            }
        }
        total += n;
    }
    match fresh.first() {
        Some(place) => {
            let text = format!("{} new under {SHORT} mm", fresh.len());
            Failure::at(*place, text, "none that the original had not")
        }
        None => Judged::Met(format!("{total}, none new")),
    }
}
