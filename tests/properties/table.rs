//! The table that the tests print, and its floors.

use rayon::prelude::*;

use crate::compare::{Bounds, Change, Changed, Outcome, compare};
use crate::moves::Map;
use crate::sample::{Sample, Step, TooLong, samples};

/// Makes the records of a changed tape.
pub type Edit = Box<dyn Fn(&Sample) -> Vec<Step> + Sync>;

/// One thing that is done to every tape.
pub struct Trial {
    pub name: String,
    pub bounds: Bounds,
    /// How places of the changed tape are brought back.
    pub map: Map,
    pub change: Edit,
    /// Least shares that stay the same: of all objects, and of those that were read as the truth
    /// has them. What holds today where it is not 1, which is what is wanted.
    pub floors: [f64; 2],
}

/// Runs the trials, prints a line for each and what changed below it, and fails where more objects
/// changed than may.
pub fn judge(trials: &[Trial]) {
    println!(
        "\n{:26} {:>7} {:>6} {:>8} {:>10} {:>8} {:>8}  class ends area angle pitch  overlap: least, 1 %",
        "", "objects", "same", "share", "read right", "same", "labels"
    );
    let bad: Vec<&str> = trials.iter().filter(|trial| !holds(trial)).map(|t| &*t.name).collect();
    assert!(bad.is_empty(), "more objects changed than may: {bad:?}");
}

fn holds(trial: &Trial) -> bool {
    let one = |sample: &Sample| compare(sample, &(trial.change)(sample), trial.map, trial.bounds);
    let outcomes: Vec<Result<Outcome, TooLong>> = samples().par_iter().map(one).collect();
    let all = || outcomes.iter().flatten();
    let sum = |count: fn(&Outcome) -> usize| all().map(count).sum::<usize>();
    let (objects, right) = (sum(|o| o.objects), sum(|o| o.right));
    let changed: Vec<&Changed> = all().flat_map(|outcome| &outcome.changed).collect();
    let lost_right = changed.iter().filter(|change| change.was_right).count();
    let kinds = Change::ALL.map(|kind| changed.iter().filter(|c| c.what == kind).count());
    let same = objects - changed.len();
    println!(
        "{:26} {objects:7} {same:6} {:6.2} % {right:10} {:6.2} % {:6.2} %  {:5} {:4} {:4} {:5} {:5}  {}",
        trial.name,
        percent(same, objects),
        percent(right - lost_right, right),
        percent(sum(|o| o.labelled), sum(|o| o.needles)),
        kinds[0],
        kinds[1],
        kinds[2],
        kinds[3],
        kinds[4],
        overlaps(all()),
    );
    for change in &changed {
        let mark = if change.was_right { "" } else { " (not as the truth has it)" };
        println!("    {:?}: {}{mark}", change.what, change.words);
    }
    let too_long: Vec<&String> =
        outcomes.iter().filter_map(|o| Some(&o.as_ref().err()?.0)).collect();
    if !too_long.is_empty() {
        println!("    left out, a stitch would be longer than a record can say: {too_long:?}");
    }
    let shares = [(same, objects), (right - lost_right, right)];
    shares.iter().zip(trial.floors).all(|((part, all), floor)| *part as f64 >= floor * *all as f64)
}

fn percent(part: usize, whole: usize) -> f64 {
    100.0 * part as f64 / whole.max(1) as f64
}

/// The least overlap and the one that one object in a hundred stays under.
fn overlaps<'a>(outcomes: impl Iterator<Item = &'a Outcome>) -> String {
    let mut all: Vec<f64> = outcomes.flat_map(|outcome| outcome.overlaps.iter().copied()).collect();
    all.sort_by(f64::total_cmp);
    all.first().map_or(String::new(), |least| format!("{least:.4} {:.4}", all[all.len() / 100]))
}
