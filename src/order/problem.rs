//! The bare ordering problem that the solver works on: numbered nodes, no stitches.

use std::ops::Range;

/// A sequence problem over nodes `0..len()`.
///
/// The cost of an order is the sum over all pairs of `pair(earlier, later)`, over all neighbours
/// of `arc(node, next)`, and `first(node)` of the node that opens. An infinite pair cost is a
/// precedence: the later node must come first. This is the sequential ordering problem of
/// TSPLIB 95 with the linear ordering problem on top.
#[derive(Clone, Debug)]
pub struct Problem {
    len: usize,
    pair: Vec<f64>,
    arc: Vec<f64>,
    first: Vec<f64>,
    /// Nodes with the same label that stand next to each other are also moved as one.
    pub group: Vec<u32>,
    /// What the arcs are known to hold; it makes the bound sharper.
    pub changes: Vec<LabelChange>,
}

/// A price that is part of every arc between two nodes of different labels.
#[derive(Clone, Debug)]
pub struct LabelChange {
    /// Label of every node.
    pub labels: Vec<u32>,
    pub price: f64,
}

impl Problem {
    /// A problem without any cost or precedence.
    pub fn new(len: usize) -> Self {
        Self {
            len,
            pair: vec![0.0; len * len],
            arc: vec![0.0; len * len],
            first: vec![0.0; len],
            group: (0..len as u32).collect(),
            changes: Vec::new(),
        }
    }

    pub fn len(&self) -> usize {
        self.len
    }

    pub fn is_empty(&self) -> bool {
        self.len == 0
    }

    /// Cost of `earlier` standing anywhere before `later`.
    pub fn pair(&self, earlier: usize, later: usize) -> f64 {
        self.pair[earlier * self.len + later]
    }

    /// Cost of `next` standing directly after `node`.
    pub fn arc(&self, node: usize, next: usize) -> f64 {
        self.arc[node * self.len + next]
    }

    /// Cost of `node` standing first.
    pub fn first(&self, node: usize) -> f64 {
        self.first[node]
    }

    pub fn set_pair(&mut self, earlier: usize, later: usize, cost: f64) {
        self.pair[earlier * self.len + later] = cost;
    }

    pub fn set_arc(&mut self, node: usize, next: usize, cost: f64) {
        self.arc[node * self.len + next] = cost;
    }

    pub fn set_first(&mut self, node: usize, cost: f64) {
        self.first[node] = cost;
    }

    /// Makes `earlier` stand before `later` in every order.
    pub fn require(&mut self, earlier: usize, later: usize) {
        self.set_pair(later, earlier, f64::INFINITY);
    }

    /// May `earlier` stand before `later`?
    pub fn may(&self, earlier: usize, later: usize) -> bool {
        self.pair(earlier, later).is_finite()
    }

    /// Cost of an order; infinite if it breaks a precedence.
    pub fn cost(&self, order: &[usize]) -> f64 {
        let mut total = order.first().map_or(0.0, |node| self.first[*node]);
        for (place, node) in order.iter().enumerate() {
            let row = &self.pair[node * self.len..(node + 1) * self.len];
            total += order[place + 1..].iter().map(|later| row[*later]).sum::<f64>();
        }
        total + order.windows(2).map(|two| self.arc(two[0], two[1])).sum::<f64>()
    }

    /// What no order can fall below: [`Self::pair_bound`] and the cheapest way into (or out of)
    /// every node.
    pub fn bound(&self) -> f64 {
        self.pair_bound() + self.way_bound()
    }

    /// The cheaper direction of every pair.
    pub fn pair_bound(&self) -> f64 {
        let pairs = (0..self.len).flat_map(|a| (a + 1..self.len).map(move |b| (a, b)));
        pairs.map(|(a, b)| self.pair(a, b).min(self.pair(b, a))).sum()
    }

    /// Every label has to be changed to once, and every node has its cheapest other way in (or out).
    fn way_bound(&self) -> f64 {
        let least_first = self.first.iter().copied().reduce(f64::min).unwrap_or(0.0);
        let ways_in: f64 = (0..self.len).map(|node| self.least_way_in(node)).sum();
        let ways_out: Vec<f64> = (0..self.len).map(|node| self.least_way_out(node)).collect();
        let dearest = ways_out.iter().copied().fold(0.0, f64::max);
        let changes: f64 = self.changes.iter().map(LabelChange::least).sum();
        changes + ways_in.max(least_first + ways_out.iter().sum::<f64>() - dearest)
    }

    /// Cost of an arc without the prices of its label changes.
    fn bare_arc(&self, node: usize, next: usize) -> f64 {
        let changed =
            self.changes.iter().filter(|change| change.labels[node] != change.labels[next]);
        self.arc(node, next) - changed.map(|change| change.price).sum::<f64>()
    }

    /// Cheapest way on from a node; 0 if it can only be the last.
    fn least_way_out(&self, node: usize) -> f64 {
        (0..self.len)
            .filter(|next| *next != node && self.may(node, *next))
            .map(|next| self.bare_arc(node, next))
            .reduce(f64::min)
            .unwrap_or(0.0)
    }

    /// Cheapest way to reach a node, from the start or from any node that may stand before it;
    /// label changes not counted.
    pub fn least_way_in(&self, node: usize) -> f64 {
        (0..self.len)
            .filter(|before| *before != node && self.may(*before, node))
            .map(|before| self.bare_arc(before, node))
            .fold(f64::INFINITY, f64::min)
            .min(if self.has_predecessor(node) { f64::INFINITY } else { self.first[node] })
    }

    fn has_predecessor(&self, node: usize) -> bool {
        (0..self.len).any(|other| other != node && !self.may(node, other))
    }

    /// The problem whose nodes are stretches of an order of this one, together covering it.
    /// Costs inside a stretch are left out: they do not depend on where it stands.
    pub fn contract(&self, order: &[usize], stretches: &[Range<usize>]) -> Self {
        let mut small = Self::new(stretches.len());
        for (a, from) in stretches.iter().enumerate() {
            small.group[a] = self.group[order[from.start]];
            small.first[a] = self.first[order[from.start]];
            for (b, to) in stretches.iter().enumerate().filter(|(b, _)| *b != a) {
                let mut sum = 0.0;
                for node in &order[from.clone()] {
                    let row = &self.pair[node * self.len..(node + 1) * self.len];
                    sum += order[to.clone()].iter().map(|later| row[*later]).sum::<f64>();
                }
                small.set_pair(a, b, sum);
                small.set_arc(a, b, self.arc(order[from.end - 1], order[to.start]));
            }
        }
        small
    }
}

impl LabelChange {
    /// Price of changing to every label once.
    fn least(&self) -> f64 {
        let mut known = self.labels.clone();
        known.sort_unstable();
        known.dedup();
        known.len().saturating_sub(1) as f64 * self.price
    }
}
