//! Local search on an order: blocks are moved and turned round, precedence always kept.

use super::problem::Problem;

/// Longest block that is moved as a whole, in orders so long, and in all.
const MOVE_OF_SHORT: (usize, usize) = (120, 60);
const MOVE: usize = 3;
/// Longest block that is turned round.
const TURN: usize = 16;
/// An improvement smaller than this is rounding.
const LEAST: f64 = 1e-7;

/// A small deterministic generator (SplitMix64).
pub struct Dice(u64);

impl Dice {
    pub fn new(seed: u64) -> Self {
        Self(seed)
    }

    /// A number below `limit`, or 0 if that is 0.
    pub fn below(&mut self, limit: usize) -> usize {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        ((z ^ (z >> 31)) % limit.max(1) as u64) as usize
    }
}

/// One change of an order.
#[derive(Clone, Copy)]
enum Step {
    /// The block `from..to` changes places with the block `to..end`.
    Swap { from: usize, to: usize, end: usize },
    /// The block `from..to` is turned round.
    Turn { from: usize, to: usize },
}

/// Improves orders of one problem until its steps are used up.
pub struct Search<'a> {
    problem: &'a Problem,
    /// `swap[a * n + b]`: what it costs to turn "a before b" into "b before a".
    swap: Vec<f64>,
    /// Longest block that is moved as a whole.
    longest: usize,
    /// Evaluations left.
    steps: u64,
    /// Nodes whose surroundings changed since they were last looked at.
    awake: Vec<bool>,
}

impl<'a> Search<'a> {
    pub fn new(problem: &'a Problem, steps: u64) -> Self {
        let n = problem.len();
        let mut swap = vec![0.0; n * n];
        for a in 0..n {
            for b in 0..n {
                swap[a * n + b] = problem.pair(b, a) - problem.pair(a, b);
            }
        }
        let (short, all) = MOVE_OF_SHORT;
        let longest = if n <= short { all } else { MOVE };
        Self { problem, swap, longest, steps, awake: vec![true; n] }
    }

    pub fn steps_left(&self) -> u64 {
        self.steps
    }

    /// Takes over what another search left of the same steps.
    pub fn set_steps_left(&mut self, steps: u64) {
        self.steps = steps;
    }

    /// Moves blocks of a feasible order as long as that makes it cheaper. Returns what was gained.
    pub fn improve(&mut self, order: &mut [usize]) -> f64 {
        let mut gained = 0.0;
        let mut place = 0;
        let mut asleep = 0;
        while asleep < order.len() && self.steps > 0 {
            let node = order[place];
            let found = if self.awake[node] { self.best_step_at(order, place) } else { None };
            match found {
                Some((step, delta)) => {
                    gained -= delta;
                    self.apply(order, step);
                    asleep = 0;
                }
                None => {
                    self.awake[node] = false;
                    asleep += 1;
                    place = (place + 1) % order.len();
                }
            }
        }
        gained
    }

    /// Shakes an order by a few random block moves that keep precedence.
    pub fn shake(&mut self, order: &mut [usize], dice: &mut Dice) {
        let n = order.len();
        for _ in 0..3 {
            let from = dice.below(n);
            let to = (from + 1 + dice.below(8)).min(n);
            let end = (to + 1 + dice.below(8)).min(n);
            self.steps = self.steps.saturating_sub(((to - from) * (end - to)) as u64);
            let free = order[from..to]
                .iter()
                .all(|a| order[to..end].iter().all(|b| self.swap[a * n + b].is_finite()));
            if to < end && free {
                self.apply(order, Step::Swap { from, to, end });
            }
        }
    }

    /// Has every node looked at again.
    pub fn wake(&mut self) {
        self.awake.fill(true);
    }

    /// Forgets what is still to be looked at: the order at hand is one that was improved before.
    pub fn rest(&mut self) {
        self.awake.fill(false);
    }

    fn best_step_at(&mut self, order: &[usize], place: usize) -> Option<(Step, f64)> {
        let mut best: Option<(Step, f64)> = None;
        let mut offer = |step: Step, delta: f64| {
            if delta < best.map_or(-LEAST, |(_, known)| known - LEAST) {
                best = Some((step, delta));
            }
        };
        let mut used = 0;
        for len in 1..=self.longest.min(order.len() - place) {
            used += self.moves_on(order, place, place + len, &mut offer);
            used += self.moves_back(order, place, place + len, &mut offer);
        }
        used += self.turns(order, place, &mut offer);
        self.steps = self.steps.saturating_sub(used);
        best
    }

    /// Cost of the neighbours at a cut: arc from place `a` to place `b`, or of opening with `b`.
    fn joint(&self, order: &[usize], a: Option<usize>, b: usize) -> f64 {
        match (a, order.get(b)) {
            (Some(a), Some(next)) => self.problem.arc(order[a], *next),
            (None, Some(node)) => self.problem.first(*node),
            (_, None) => 0.0,
        }
    }

    /// Looks at moving the block `from..to` towards the end. Returns the steps used.
    fn moves_on(
        &self,
        order: &[usize],
        from: usize,
        to: usize,
        offer: &mut impl FnMut(Step, f64),
    ) -> u64 {
        let n = order.len();
        let ahead = from.checked_sub(1);
        let fixed = self.joint(order, ahead, to)
            - self.joint(order, ahead, from)
            - self.joint(order, Some(to - 1), to);
        let mut pairs = 0.0;
        for end in to + 1..=n {
            let passed = order[end - 1];
            pairs += order[from..to].iter().map(|node| self.swap[node * n + passed]).sum::<f64>();
            if pairs == f64::INFINITY {
                return ((end - to) * (to - from)) as u64;
            }
            let joints = self.joint(order, Some(end - 1), from)
                + self.joint(order, Some(to - 1), end)
                - self.joint(order, Some(end - 1), end);
            offer(Step::Swap { from, to, end }, pairs + fixed + joints);
        }
        ((n - to) * (to - from)) as u64
    }

    /// Looks at moving the block `to..end` towards the start. Returns the steps used.
    fn moves_back(
        &self,
        order: &[usize],
        to: usize,
        end: usize,
        offer: &mut impl FnMut(Step, f64),
    ) -> u64 {
        let n = order.len();
        if to == 0 {
            return 0;
        }
        let fixed = self.joint(order, Some(to - 1), end)
            - self.joint(order, Some(to - 1), to)
            - self.joint(order, Some(end - 1), end);
        let mut pairs = 0.0;
        for from in (0..to).rev() {
            let row = &self.swap[order[from] * n..(order[from] + 1) * n];
            pairs += order[to..end].iter().map(|node| row[*node]).sum::<f64>();
            if pairs == f64::INFINITY {
                return ((to - from) * (end - to)) as u64;
            }
            let ahead = from.checked_sub(1);
            let joints = self.joint(order, ahead, to) + self.joint(order, Some(end - 1), from)
                - self.joint(order, ahead, from);
            offer(Step::Swap { from, to, end }, pairs + fixed + joints);
        }
        (to * (end - to)) as u64
    }

    /// Looks at turning round blocks that start at `from`. Returns the steps used.
    fn turns(&self, order: &[usize], from: usize, offer: &mut impl FnMut(Step, f64)) -> u64 {
        let n = order.len();
        let mut used = 0;
        let mut change = 0.0;
        let ahead = from.checked_sub(1);
        for to in from + 2..=n.min(from + TURN) {
            let added = order[to - 1];
            used += (to - 1 - from) as u64;
            change += order[from..to - 1].iter().map(|a| self.swap[a * n + added]).sum::<f64>();
            if change == f64::INFINITY {
                break;
            }
            change +=
                self.problem.arc(added, order[to - 2]) - self.problem.arc(order[to - 2], added);
            let joints = self.joint(order, ahead, to - 1) + self.joint(order, Some(from), to)
                - self.joint(order, ahead, from)
                - self.joint(order, Some(to - 1), to);
            offer(Step::Turn { from, to }, change + joints);
        }
        used
    }

    fn apply(&mut self, order: &mut [usize], step: Step) {
        let (from, mid, end) = match step {
            Step::Swap { from, to, end } => {
                order[from..end].rotate_left(to - from);
                (from, from + end - to, end)
            }
            Step::Turn { from, to } => {
                order[from..to].reverse();
                (from, from, to)
            }
        };
        for cut in [from, mid, end] {
            for node in &order[cut.saturating_sub(MOVE)..order.len().min(cut + MOVE)] {
                self.awake[*node] = true;
            }
        }
    }
}
