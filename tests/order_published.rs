//! The order solver on published instances of the sequential ordering problem: TSPLIB 95,
//! G. Reinelt; best values from the TSPLIB 95 manual, table 3, and the TSPLIB web page. The files
//! are read from `$CROWNMEND_CHECK_DATA` or `../shared/data`; without them the tests say so.

use std::path::PathBuf;

use crownmend::order::problem::Problem;
use crownmend::order::solve::{Effort, solve};

/// Instance and its best published value; all of these are proved to be optimal.
const PUBLISHED: [(&str, f64); 22] = [
    ("ESC07", 2125.0),
    ("ESC11", 2075.0),
    ("ESC12", 1675.0),
    ("ESC25", 1681.0),
    ("ESC47", 1288.0),
    ("ESC63", 62.0),
    ("ESC78", 18230.0),
    ("br17.10", 55.0),
    ("br17.12", 55.0),
    ("ft53.1", 7531.0),
    ("ft53.2", 8026.0),
    ("ft53.3", 10262.0),
    ("ft53.4", 14425.0),
    ("ft70.1", 39313.0),
    ("ft70.4", 53530.0),
    ("p43.1", 28140.0),
    ("p43.4", 83005.0),
    ("rbg048a", 351.0),
    ("rbg050c", 467.0),
    ("rbg109a", 1038.0),
    ("rbg150a", 1750.0),
    ("rbg253a", 2950.0),
];

/// A hundred times what a design gets, a tenth of a second each: these costs are all arcs and no pairs.
const EFFORT: Effort = Effort { steps: 100_000_000, shakes: 4000, slack: 0.0, seed: 1 };
/// Most that an order may be dearer than the best one, in %, up to so many nodes and above, that is wanted.
const SHORT: usize = 100;
const GAP: [f64; 2] = [3.0, 10.0];

fn data() -> Option<PathBuf> {
    let folder = std::env::var_os("CROWNMEND_CHECK_DATA").map_or_else(
        || PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("../shared/data"),
        PathBuf::from,
    );
    let found = folder.join("sop");
    if !found.is_dir() {
        println!("skipped: no published instances in {}", found.display());
        return None;
    }
    Some(found)
}

/// The full matrix of an instance, without the dimension line before it.
fn read(name: &str, folder: &std::path::Path) -> Vec<Vec<f64>> {
    let text = std::fs::read_to_string(folder.join(format!("{name}.sop"))).unwrap();
    let body = text.split("EDGE_WEIGHT_SECTION").nth(1).unwrap();
    let mut numbers = body.split_whitespace().map_while(|word| word.parse::<f64>().ok());
    let n = numbers.next().unwrap() as usize;
    let rows: Vec<Vec<f64>> = (0..n).map(|_| numbers.by_ref().take(n).collect()).collect();
    assert!(rows.iter().all(|row| row.len() == n), "{name} is cut short");
    rows
}

/// Our form of an instance. An entry of -1 at (i, j) means that j comes before i.
fn problem(matrix: &[Vec<f64>]) -> Problem {
    let mut problem = Problem::new(matrix.len());
    for (i, row) in matrix.iter().enumerate() {
        for (j, cost) in row.iter().enumerate().filter(|(j, _)| *j != i) {
            if *cost < 0.0 {
                problem.require(j, i);
            } else {
                problem.set_arc(i, j, *cost);
            }
        }
    }
    problem
}

/// Any order that keeps the precedences of the matrix.
fn some_order(matrix: &[Vec<f64>]) -> Vec<usize> {
    let n = matrix.len();
    let mut order: Vec<usize> = Vec::new();
    while order.len() < n {
        let free = |i: &usize| {
            !order.contains(i)
                && (0..n).all(|j| j == *i || matrix[*i][j] >= 0.0 || order.contains(&j))
        };
        let next = (0..n).find(free).unwrap();
        order.push(next);
    }
    order
}

/// Path sum of an order, and whether it keeps the precedences: worked out from the matrix alone.
fn judge(matrix: &[Vec<f64>], order: &[usize]) -> f64 {
    let mut sorted = order.to_vec();
    sorted.sort_unstable();
    assert!(sorted.iter().copied().eq(0..matrix.len()), "not a permutation");
    for (place, i) in order.iter().enumerate() {
        for j in &order[place + 1..] {
            assert!(matrix[*i][*j] >= 0.0, "{j} must come before {i}");
        }
    }
    order.windows(2).map(|two| matrix[two[0]][two[1]]).sum()
}

#[test]
fn small_published_instances_are_solved_exactly() {
    let Some(folder) = data() else { return };
    for (name, best) in &PUBLISHED[..3] {
        let matrix = read(name, &folder);
        let solution = solve(&problem(&matrix), &some_order(&matrix), EFFORT);
        assert_eq!(judge(&matrix, &solution.order), *best, "{name}");
        assert!(solution.exact, "{name}");
    }
}

#[test]
fn large_published_instances_come_near_the_best_and_bounds_hold() {
    let Some(folder) = data() else { return };
    println!("instance   best    found    gap    bound");
    for (name, best) in PUBLISHED {
        let matrix = read(name, &folder);
        let solution = solve(&problem(&matrix), &some_order(&matrix), EFFORT);
        let found = judge(&matrix, &solution.order);
        let gap = 100.0 * (found - best) / best;
        println!("{name:9} {best:7} {found:8} {gap:5.1} % {:8.1}", solution.bound);
        let most = GAP[usize::from(matrix.len() > SHORT)];
        assert!(gap <= most, "{name}: {gap:.1} % over the best");
        assert!((found - solution.cost).abs() < 1e-6 * best, "{name} reports a wrong cost");
        assert!(found >= best, "{name}: better than the proved optimum");
        assert!(solution.bound <= best + 1e-6 * best, "{name}: the bound is above the optimum");
    }
}
