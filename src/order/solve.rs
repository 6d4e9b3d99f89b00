//! Solves ordering problems: exactly where they are small, else by local search with a bound.

use std::ops::Range;

use super::exact::{EXACT_NODES, best_below};
use super::problem::Problem;
use super::search::{Dice, Search};

/// Shaking goes on from an order up to this share dearer than the one before, and from the best again
/// after so many shakes without a gain.
const WORSE: f64 = 0.01;
const BACK: u32 = 200;

/// How hard to try, and when not to.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Effort {
    /// Evaluations that the search may spend.
    pub steps: u64,
    /// Shakes in a row without a gain after which the search ends.
    pub shakes: u32,
    /// An order within this much of the bound is good enough to be left alone.
    pub slack: f64,
    /// Seed of the shakes.
    pub seed: u64,
}

impl Effort {
    /// Enough for a descent over `len` nodes and a few shakes: milliseconds.
    pub fn quick(len: usize) -> Self {
        let steps = 100_000 + 12 * (len * len) as u64;
        Self { steps, shakes: 30, slack: 0.0, seed: 1 }
    }
}

/// An order and what is known about it.
#[derive(Clone, Debug, PartialEq)]
pub struct Solution {
    pub order: Vec<usize>,
    pub cost: f64,
    /// No order costs less than this.
    pub bound: f64,
    /// The order was proved to be the best (to within the effort's slack).
    pub exact: bool,
}

/// The best order that is found, never worse than `start`, which must keep every precedence.
///
/// Up to [`EXACT_NODES`] nodes it is the best there is; above that it is the better of two
/// descents, from `start` and from a greedy order, shaken until the effort is spent. The same
/// input gives the same order.
pub fn solve(problem: &Problem, start: &[usize], effort: Effort) -> Solution {
    let cost = problem.cost(start);
    let bound = problem.bound();
    if cost <= bound + effort.slack {
        return Solution { order: start.to_vec(), cost, bound, exact: true };
    }
    let mut search = Descent { search: Search::new(problem, effort.steps), problem };
    let mut order = start.to_vec();
    search.polish(&mut order);
    if problem.len() <= EXACT_NODES {
        if let Some(best) = best_below(problem, problem.cost(&order)) {
            order = best;
        }
        let cost = problem.cost(&order);
        return Solution { order, cost, bound: cost, exact: true };
    }
    let good_enough = |order: &[usize]| problem.cost(order) <= bound + effort.slack;
    if !good_enough(&order) {
        search.search.wake();
        let mut other = greedy(problem).unwrap_or_else(|| start.to_vec());
        search.polish(&mut other);
        if problem.cost(&other) < problem.cost(&order) - 1e-7 {
            order = other;
        }
    }
    if !good_enough(&order) {
        search.shake(&mut order, effort);
    }
    let cost = problem.cost(&order);
    Solution { order, cost, bound, exact: cost <= bound + effort.slack }
}

/// Local search on nodes and on runs of nodes of one group.
struct Descent<'a> {
    problem: &'a Problem,
    search: Search<'a>,
}

impl Descent<'_> {
    /// Improves an order, first by whole runs of one group, then node by node, until neither helps.
    fn polish(&mut self, order: &mut Vec<usize>) {
        loop {
            let runs = self.move_runs(order);
            let nodes = self.search.improve(order);
            if runs + nodes <= 1e-7 || self.search.steps_left() == 0 {
                return;
            }
        }
    }

    fn move_runs(&mut self, order: &mut Vec<usize>) -> f64 {
        let runs = group_runs(self.problem, order);
        if runs.len() == order.len() || runs.len() < 2 {
            return 0.0;
        }
        let small = self.problem.contract(order, &runs);
        let mut by_run: Vec<usize> = (0..runs.len()).collect();
        let mut search = Search::new(&small, self.search.steps_left());
        let gained = search.improve(&mut by_run);
        self.search.set_steps_left(search.steps_left());
        if gained > 0.0 {
            *order = by_run.iter().flat_map(|run| order[runs[*run].clone()].to_vec()).collect();
            self.search.wake();
        }
        gained
    }

    /// Shakes the order and goes on from what comes out no worse, or now and then a little worse; keeps
    /// the best.
    fn shake(&mut self, best: &mut Vec<usize>, effort: Effort) {
        let mut dice = Dice::new(effort.seed);
        let mut order = best.clone();
        let (mut cost, mut least) = (self.problem.cost(&order), self.problem.cost(best));
        let mut stale = 0;
        self.search.rest();
        while self.search.steps_left() > 0 && stale < effort.shakes {
            let mut other = order.clone();
            self.search.shake(&mut other, &mut dice);
            self.search.improve(&mut other);
            let reached = self.problem.cost(&other);
            self.search.rest();
            if reached < least - 1e-7 {
                (*best, least, stale) = (other.clone(), reached, 0);
            } else {
                stale += 1;
            }
            if stale > 0 && stale % BACK == 0 {
                (order, cost) = (best.clone(), least);
            } else if reached <= cost + WORSE * cost.abs() * dice.below(100) as f64 / 100.0 {
                (order, cost) = (other, reached);
            }
        }
    }
}

/// Maximal stretches of an order whose nodes share a group.
fn group_runs(problem: &Problem, order: &[usize]) -> Vec<Range<usize>> {
    let mut runs: Vec<Range<usize>> = Vec::new();
    for (place, node) in order.iter().enumerate() {
        match runs.last_mut() {
            Some(run) if problem.group[order[run.start]] == problem.group[*node] => {
                run.end = place + 1;
            }
            _ => runs.push(place..place + 1),
        }
    }
    runs
}

/// Builds an order from the front: always the free node that costs least now and leaves the least
/// unavoidable cost behind. `None` if the precedences go round in a circle.
fn greedy(problem: &Problem) -> Option<Vec<usize>> {
    let n = problem.len();
    // what placing `a` before `b` costs over the cheaper direction
    let regret =
        |a: usize, b: usize| problem.pair(a, b) - problem.pair(a, b).min(problem.pair(b, a));
    let mut waiting_for = vec![0u32; n];
    let mut regrets = vec![0.0; n];
    for a in 0..n {
        for b in (0..n).filter(|b| *b != a) {
            if problem.may(a, b) {
                regrets[a] += regret(a, b);
            } else {
                waiting_for[a] += 1;
            }
        }
    }
    let mut left: Vec<usize> = (0..n).collect();
    let mut order: Vec<usize> = Vec::with_capacity(n);
    while !left.is_empty() {
        let score = |node: usize| {
            let joint = order.last().map_or(problem.first(node), |last| problem.arc(*last, node));
            joint + regrets[node]
        };
        let free = left.iter().enumerate().filter(|(_, node)| waiting_for[**node] == 0);
        let (place, _) = free.min_by(|a, b| score(*a.1).total_cmp(&score(*b.1)))?;
        let node = left.remove(place);
        for other in &left {
            if problem.may(*other, node) {
                regrets[*other] -= regret(*other, node);
            } else {
                waiting_for[*other] -= 1;
            }
        }
        order.push(node);
    }
    Some(order)
}
