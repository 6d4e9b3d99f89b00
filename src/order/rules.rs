//! The two rules for stops: what may move where, and the order that follows.

use std::ops::Range;

use super::cost::Model;
use super::precedence::Precedence;
use super::problem::{LabelChange, Problem};
use super::solve::{Effort, Solution, solve};
use crate::garment::Numbers;
use crate::objects::Object;

/// Most nodes that one problem is given; above that neighbours of one element go as one.
const MOST_NODES: usize = 400;

/// A new order by place in the present one, and a bound on every order that the rule allows.
pub struct Found {
    pub order: Vec<usize>,
    /// Seconds that the parts which the bound covers could still be brought down, at most.
    pub open: f64,
}

/// What every problem is built from.
pub struct Givens<'a> {
    pub items: &'a [Object],
    pub model: &'a Model<'a>,
    pub precedence: &'a Precedence,
    pub numbers: &'a Numbers,
}

/// `StopRule::Keep`: objects are reordered inside their stop where that gains enough, then whole
/// stops change places where that gains at least `least_for_stops` seconds.
pub fn keep(givens: &Givens, least_for_stops: f64) -> Found {
    let stops: Vec<Range<usize>> = chunks(givens.items, |a, b| a.stop == b.stop);
    let mut open = 0.0;
    let mut inside: Vec<Vec<usize>> = Vec::with_capacity(stops.len());
    for stop in &stops {
        let found = best_inside(givens, stop.clone());
        open += found.open;
        inside.push(found.order);
    }
    let problem = stop_problem(givens, &stops, &inside);
    let now: Vec<usize> = (0..stops.len()).collect();
    let least = givens.numbers.order_gain_min_s.max(least_for_stops);
    let effort = Effort { slack: least, ..Effort::quick(stops.len()) };
    let solution = solve(&problem, &now, effort);
    let before = problem.cost(&now);
    let gain = before - solution.cost;
    let (order, cost) = if gain >= least { (solution.order, solution.cost) } else { (now, before) };
    open += cost - problem.pair_bound();
    Found { order: order.iter().flat_map(|stop| inside[*stop].clone()).collect(), open }
}

/// `StopRule::Element`: all objects are free of their stops.
pub fn element(givens: &Givens) -> Found {
    best_inside(givens, 0..givens.items.len())
}

/// The best order of some neighbouring objects; the present one unless the gain is worth it.
fn best_inside(givens: &Givens, places: Range<usize>) -> Found {
    let now: Vec<usize> = places.clone().collect();
    let units = units(givens, places);
    if units.len() < 2 || units.len() > MOST_NODES {
        return Found { order: now, open: 0.0 };
    }
    let problem = unit_problem(givens, &units);
    let start: Vec<usize> = (0..units.len()).collect();
    let least = givens.numbers.order_gain_min_s;
    let Solution { order, cost, bound, .. } =
        solve(&problem, &start, Effort { slack: least, ..Effort::quick(units.len()) });
    let before = problem.cost(&start);
    if before - cost < least {
        return Found { order: now, open: before - bound };
    }
    let order = order.iter().flat_map(|unit| units[*unit].clone()).collect();
    Found { order, open: cost - bound }
}

/// Objects that move as one: those that hang on each other, and where there are too many nodes,
/// neighbours of one element in one stop.
fn units(givens: &Givens, places: Range<usize>) -> Vec<Range<usize>> {
    let (items, precedence) = (givens.items, givens.precedence);
    let join = |coarse: bool| {
        let mut units: Vec<Range<usize>> = Vec::new();
        for at in places.clone() {
            let alike = |before: usize| {
                items[before].element == items[at].element
                    && items[before].stop == items[at].stop
                    && !precedence.divided(before, at)
            };
            match units.last_mut() {
                Some(unit) if precedence.hangs_on(at) || coarse && alike(at - 1) => {
                    unit.end = at + 1;
                }
                _ => units.push(at..at + 1),
            }
        }
        units
    };
    let fine = join(false);
    if fine.len() > MOST_NODES { join(true) } else { fine }
}

fn unit_problem(givens: &Givens, units: &[Range<usize>]) -> Problem {
    let model = givens.model;
    let mut problem = Problem::new(units.len());
    for (a, earlier) in units.iter().enumerate() {
        problem.group[a] = model.element(earlier.start);
        problem.set_first(a, 0.0);
        for (b, later) in units.iter().enumerate().filter(|(b, _)| *b != a) {
            problem.set_arc(a, b, model.arc(earlier.end - 1, later.start).total());
            problem.set_pair(a, b, pair_sum(model, earlier.clone(), later.clone()));
        }
    }
    let labels = |of: &dyn Fn(usize) -> u32| units.iter().map(|unit| of(unit.start)).collect();
    problem.changes = vec![
        LabelChange { labels: problem.group.clone(), price: givens.numbers.order_return_s },
        LabelChange {
            labels: labels(&|at| givens.items[at].stop),
            price: givens.numbers.stop_seconds,
        },
    ];
    require_present_order(givens, units, &mut problem);
    problem
}

/// Whole stops as nodes, each sewn in its order of `inside`.
fn stop_problem(givens: &Givens, stops: &[Range<usize>], inside: &[Vec<usize>]) -> Problem {
    let model = givens.model;
    let mut problem = Problem::new(stops.len());
    for (a, earlier) in stops.iter().enumerate() {
        problem.set_first(a, inside[a].first().map_or(0.0, |at| model.first(*at)));
        for (b, later) in stops.iter().enumerate().filter(|(b, _)| *b != a) {
            problem.set_pair(a, b, pair_sum(model, earlier.clone(), later.clone()));
            if let (Some(last), Some(next)) = (inside[a].last(), inside[b].first()) {
                let new = if a + 1 == b { 0.0 } else { givens.numbers.order_stop_change_s };
                problem.set_arc(a, b, model.arc(*last, *next).travel + new);
            }
        }
    }
    require_present_order(givens, stops, &mut problem);
    problem
}

fn pair_sum(model: &Model, earlier: Range<usize>, later: Range<usize>) -> f64 {
    earlier
        .flat_map(|a| later.clone().map(move |b| (a, b)))
        .map(|(a, b)| model.pair(a, b).total())
        .sum()
}

/// Two nodes keep their order if any two of their objects do.
fn require_present_order(givens: &Givens, nodes: &[Range<usize>], problem: &mut Problem) {
    for (a, earlier) in nodes.iter().enumerate() {
        for (b, later) in nodes.iter().enumerate().skip(a + 1) {
            let kept = |x: usize| later.clone().any(|y| givens.precedence.keeps_order(x, y));
            if earlier.clone().any(kept) {
                problem.require(a, b);
            }
        }
    }
}

/// Maximal stretches of neighbours that belong together.
pub fn chunks(items: &[Object], alike: impl Fn(&Object, &Object) -> bool) -> Vec<Range<usize>> {
    let mut start = 0;
    items
        .chunk_by(|a, b| alike(a, b))
        .map(|chunk| {
            start += chunk.len();
            start - chunk.len()..start
        })
        .collect()
}
