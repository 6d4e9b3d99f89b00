//! Exact orders of small problems: dynamic programming over sets of nodes, cut by bounds.

use super::problem::Problem;

/// Largest problem that is solved exactly (J: above it the table outgrows the time budget).
pub const EXACT_NODES: usize = 15;

/// Two costs closer than this are the same.
const SAME: f64 = 1e-9;

/// The best order, if it is better than `known` (the cost of an order in hand); `None` if nothing
/// is, or if the problem has more than [`EXACT_NODES`] nodes.
///
/// `table[set * n + last]` is the least cost of putting `set` first with `last` at its end. The
/// pair cost of a node against everything after it is paid when the node is placed, so the cost of
/// what follows depends on the set and its last node alone. Sets whose bound reaches `known` are
/// dropped.
pub fn best_below(problem: &Problem, known: f64) -> Option<Vec<usize>> {
    let n = problem.len();
    if n == 0 || n > EXACT_NODES {
        return None;
    }
    let limit = known - SAME * (1.0 + known.abs());
    let full = (1usize << n) - 1;
    let before: Vec<usize> = (0..n)
        .map(|node| (0..n).filter(|a| *a != node && !problem.may(node, *a)).map(|a| 1 << a).sum())
        .collect();
    let rest = rest_bounds(problem);
    let mut table = vec![f64::INFINITY; (full + 1) * n];
    for node in (0..n).filter(|node| before[*node] == 0) {
        table[(1 << node) * n + node] =
            problem.first(node) + ahead(problem, node, full & !(1 << node));
    }
    for set in 1..full {
        let row = set * n;
        let least = table[row..row + n].iter().copied().fold(f64::INFINITY, f64::min);
        if least + rest[full & !set] >= limit {
            continue;
        }
        for next in (0..n).filter(|next| set & (1 << next) == 0 && before[*next] & !set == 0) {
            let wider = set | 1 << next;
            let pairs = ahead(problem, next, full & !wider);
            let mut best = f64::INFINITY;
            for last in members(set) {
                best = best.min(table[row + last] + problem.arc(last, next));
            }
            table[wider * n + next] = best + pairs;
        }
    }
    read_back(problem, &table, full, limit)
}

/// Bound on the pairs within a set plus the ways into each of its nodes, for every set.
fn rest_bounds(problem: &Problem) -> Vec<f64> {
    let n = problem.len();
    let mut bounds = vec![0.0; 1 << n];
    let ways_in: Vec<f64> = (0..n).map(|node| problem.least_way_in(node)).collect();
    for set in 1..bounds.len() {
        let low = set.trailing_zeros() as usize;
        let others = set & (set - 1);
        let pairs: f64 =
            members(others).map(|b| problem.pair(low, b).min(problem.pair(b, low))).sum();
        bounds[set] = bounds[others] + ways_in[low] + pairs;
    }
    bounds
}

/// Pair cost of `node` standing before every node of a set.
fn ahead(problem: &Problem, node: usize, later: usize) -> f64 {
    members(later).map(|other| problem.pair(node, other)).sum()
}

/// Numbers of the bits that are set.
fn members(mut set: usize) -> impl Iterator<Item = usize> {
    std::iter::from_fn(move || {
        let low = (set != 0).then(|| set.trailing_zeros() as usize)?;
        set &= set - 1;
        Some(low)
    })
}

/// Follows the table back from the full set.
fn read_back(problem: &Problem, table: &[f64], full: usize, limit: f64) -> Option<Vec<usize>> {
    let n = problem.len();
    let value = |set: usize, last: usize| table[set * n + last];
    let cheaper = |a: &usize, b: &usize, set: usize, next: Option<usize>| {
        let cost = |last: usize| value(set, last) + next.map_or(0.0, |to| problem.arc(last, to));
        cost(*a).total_cmp(&cost(*b))
    };
    let mut last = members(full).min_by(|a, b| cheaper(a, b, full, None))?;
    if value(full, last) >= limit {
        return None;
    }
    let mut set = full;
    let mut order = vec![last];
    loop {
        set &= !(1 << last);
        let next = last;
        let Some(previous) = members(set).min_by(|a, b| cheaper(a, b, set, Some(next))) else {
            break;
        };
        last = previous;
        order.push(last);
    }
    order.reverse();
    Some(order)
}
