use proptest::prelude::*;

use super::problem::Problem;
use super::search::Dice;
use super::solve::{Effort, solve};

/// A random problem whose precedences run from lower to higher numbers.
fn random(n: usize, share: usize, groups: usize, seed: u64) -> Problem {
    let mut dice = Dice::new(seed);
    let mut problem = Problem::new(n);
    for a in 0..n {
        problem.group[a] = dice.below(groups) as u32;
        problem.set_first(a, dice.below(20) as f64);
        for b in (0..n).filter(|b| *b != a) {
            problem.set_pair(a, b, dice.below(10) as f64);
            problem.set_arc(a, b, dice.below(30) as f64);
        }
    }
    for a in 0..n {
        for b in a + 1..n {
            if dice.below(100) < share {
                problem.require(a, b);
            }
        }
    }
    problem
}

/// Every order, tried out.
fn brute_force(problem: &Problem) -> f64 {
    fn extend(problem: &Problem, order: &mut Vec<usize>, sum: f64, best: &mut f64) {
        if order.len() == problem.len() {
            *best = best.min(sum);
        }
        for next in 0..problem.len() {
            let pairs = || order.iter().map(|before| problem.pair(*before, next)).sum::<f64>();
            let joint = order.last().map_or(problem.first(next), |last| problem.arc(*last, next));
            if !order.contains(&next) {
                let sum = sum + joint + pairs();
                order.push(next);
                extend(problem, order, sum, best);
                order.pop();
            }
        }
    }
    let mut best = f64::INFINITY;
    extend(problem, &mut Vec::new(), 0.0, &mut best);
    best
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 200, ..ProptestConfig::default() })]

    #[test]
    fn up_to_nine_nodes_equal_brute_force(n in 1usize..=9, share in 0usize..60, seed: u64) {
        let problem = random(n, share, 3, seed);
        let start: Vec<usize> = (0..n).collect();
        let solution = solve(&problem, &start, Effort::quick(n));
        prop_assert_eq!(solution.cost, brute_force(&problem));
        prop_assert_eq!(problem.cost(&solution.order), solution.cost);
        prop_assert!(problem.bound() <= solution.cost);
    }

    #[test]
    fn larger_ones_keep_precedence_and_never_get_worse(n in 16usize..60, share in 0usize..20, seed: u64) {
        let problem = random(n, share, 6, seed);
        let start: Vec<usize> = (0..n).collect();
        let effort = Effort { steps: 200_000, ..Effort::quick(n) };
        let solution = solve(&problem, &start, effort);
        let mut sorted = solution.order.clone();
        sorted.sort_unstable();
        prop_assert_eq!(&sorted, &start);
        prop_assert!((problem.cost(&solution.order) - solution.cost).abs() < 1e-6);
        prop_assert!(solution.cost <= problem.cost(&start));
        prop_assert!(solution.bound <= solution.cost + 1e-6);
        prop_assert_eq!(solve(&problem, &start, effort), solution);
    }
}

#[test]
fn an_order_that_is_good_enough_is_left_alone() {
    let mut problem = Problem::new(3);
    problem.set_pair(0, 1, 4.0);
    let exact = solve(&problem, &[0, 1, 2], Effort::quick(3));
    assert_eq!(exact.cost, 0.0);
    let lazy = solve(&problem, &[0, 1, 2], Effort { slack: 5.0, ..Effort::quick(3) });
    assert_eq!(lazy.order, [0, 1, 2]);
}

#[test]
fn nothing_to_order() {
    let solution = solve(&Problem::new(0), &[], Effort::quick(3));
    assert!(solution.order.is_empty() && solution.exact);
}
