//! The measures in words: a table per file, and each failure with its place.

use std::collections::BTreeMap;
use std::fmt::Write;

use super::{Judged, Trial, Verdict};

/// Repaired faults of those that can be repaired.
#[derive(Clone, Copy, Debug, Default)]
pub struct Tally {
    pub met: usize,
    pub all: usize,
}

impl Tally {
    pub fn add(&mut self, other: Self) {
        self.met += other.met;
        self.all += other.all;
    }

    pub fn share(&self) -> f64 {
        if self.all == 0 { 1.0 } else { self.met as f64 / self.all as f64 }
    }
}

pub struct Sheet {
    pub faults: Tally,
    /// Rules that hold for every tape (stops, limits, looks).
    pub rules: Tally,
    pub table: String,
    /// One line each: object, place, measured value, bound.
    pub failures: Vec<String>,
}

pub fn sheet(name: &str, trial: &Trial, verdicts: &[Verdict]) -> Sheet {
    let mut kinds: BTreeMap<&str, (Tally, usize)> = BTreeMap::new();
    let (mut faults, mut rules) = (Tally::default(), Tally::default());
    let mut failures = Vec::new();
    for v in verdicts {
        let (tally, moot) = kinds.entry(&v.kind).or_default();
        let total = if v.objects.is_empty() { &mut rules } else { &mut faults };
        match &v.judged {
            Judged::Met(_) => {
                [tally, total].into_iter().for_each(|t| t.add(Tally { met: 1, all: 1 }))
            }
            Judged::Moot(_) => *moot += 1,
            Judged::Failed(f) => {
                [tally, total].into_iter().for_each(|t| t.add(Tally { met: 0, all: 1 }));
                failures.push(format!(
                    "{name}: {} {} at ({:.1}, {:.1}) mm: {}; wanted {}",
                    v.kind, v.objects, f.place[0], f.place[1], f.measured, f.bound
                ));
                super::super::draw::around(name, failures.len(), trial, f.place);
            }
        }
    }
    let mut table = format!("{name}\n");
    for (kind, (tally, moot)) in kinds {
        let moot = if moot > 0 { format!("  ({moot} not judged)") } else { String::new() };
        writeln!(table, "  {kind:20} {:3} of {:3}{moot}", tally.met, tally.all)
            .unwrap_or_else(|e| panic!("text cannot be written: {e}"));
    }
    Sheet { faults, rules, table, failures }
}
