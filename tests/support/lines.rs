//! Stitch lines with a grid over them, and the one question the measures rest on: does a place lie
//! in the strip between two neighbouring lines?

use super::plane::{P, along, cross, dist, dot, nearest, sub, unit};

/// A sewn stitch: it ends at penetration `rank` and began at the one before. mm.
#[derive(Clone, Copy, Debug)]
pub struct Stitch {
    pub a: P,
    pub b: P,
    pub rank: usize,
    /// Stop of the original design in whose thread it is sewn.
    pub stop: usize,
}

impl Stitch {
    pub fn length(&self) -> f64 {
        dist(self.a, self.b)
    }

    pub fn mid(&self) -> P {
        super::plane::mid(self.a, self.b)
    }

    pub fn axis(&self) -> P {
        sub(self.b, self.a)
    }

    /// Places along the stitch, `step` apart or less, both ends included.
    pub fn walk(&self, step: f64) -> impl Iterator<Item = P> + use<> {
        let n = (self.length() / step).ceil().max(1.0) as usize;
        let (a, d) = (self.a, self.axis());
        (0..=n).map(move |k| along(a, d, k as f64 / n as f64))
    }
}

const CELL: f64 = 1.0;

pub struct Lines {
    pub items: Vec<Stitch>,
    cells: Vec<Vec<u32>>,
    low: P,
    across: usize,
}

impl Lines {
    pub fn new(items: Vec<Stitch>) -> Self {
        let (mut low, mut high) = ([f64::INFINITY; 2], [f64::NEG_INFINITY; 2]);
        for p in items.iter().flat_map(|s| [s.a, s.b]) {
            for axis in 0..2 {
                low[axis] = low[axis].min(p[axis]);
                high[axis] = high[axis].max(p[axis]);
            }
        }
        let size = |axis: usize| {
            if items.is_empty() { 0 } else { ((high[axis] - low[axis]) / CELL) as usize + 1 }
        };
        let (across, up) = (size(0), size(1));
        let mut out = Self { items, cells: vec![Vec::new(); across * up], low, across };
        for k in 0..out.items.len() {
            let mut last = usize::MAX;
            for p in out.items[k].walk(CELL / 4.0) {
                let cell = out.cell(p);
                if cell != last {
                    out.cells[cell].push(k as u32);
                    last = cell;
                }
            }
        }
        out
    }

    fn cell(&self, p: P) -> usize {
        let index = |axis: usize| ((p[axis] - self.low[axis]) / CELL) as usize;
        index(1) * self.across + index(0)
    }

    /// Stitches with a part near `p`: all within `r` (below one cell), and some a little further.
    pub fn near(&self, p: P, r: f64) -> Vec<&Stitch> {
        let mut found: Vec<u32> = Vec::new();
        if self.cells.is_empty() {
            return Vec::new();
        }
        let up = self.cells.len() / self.across;
        let span = |axis: usize, n: usize| {
            let index = |v: f64| ((v - self.low[axis]) / CELL).floor();
            let first = index(p[axis] - r).max(0.0) as usize;
            let last = index(p[axis] + r);
            if last < 0.0 { first..first } else { first..(last as usize + 1).min(n) }
        };
        for row in span(1, up) {
            for column in span(0, self.across) {
                found.extend(&self.cells[row * self.across + column]);
            }
        }
        found.sort_unstable();
        found.dedup();
        found.into_iter().map(|k| &self.items[k as usize]).collect()
    }

    /// Is `q` in the strip between two lines no more than `gap` apart that run alike (within 50
    /// degrees)? With `touch`, lying on a line counts.
    pub fn between(&self, q: P, gap: f64, touch: bool, want: impl Fn(&Stitch) -> bool) -> bool {
        let near: Vec<Line> = self
            .near(q, gap)
            .into_iter()
            .filter(|s| want(s))
            .filter_map(|s| Line::near(q, s, gap))
            .collect();
        near.iter().enumerate().any(|(k, one)| {
            (touch && dist(q, nearest(q, one.a, one.b)) <= ON_LINE)
                || near[k + 1..].iter().any(|other| one.strip_holds(other, q, gap))
        })
    }
}

/// Nearer than this to a line is on it, mm.
const ON_LINE: f64 = 0.03;
/// Neighbouring rows may end this far apart along their direction, mm.
const STAIR: f64 = 1.0;

/// A stitch as seen from a place.
struct Line {
    a: P,
    b: P,
    /// Direction, and signed distance of the place from it.
    u: P,
    d: f64,
}

impl Line {
    fn near(q: P, s: &Stitch, gap: f64) -> Option<Self> {
        let (length, u) = (s.length(), unit(s.axis()));
        let t = dot(sub(q, s.a), u);
        let d = cross(u, sub(q, s.a));
        let beside = length >= 0.4 && t >= -STAIR && t <= length + STAIR && d.abs() <= gap;
        beside.then_some(Self { a: s.a, b: s.b, u, d })
    }

    /// Is `q` in the strip that two neighbouring lines bound?
    fn strip_holds(&self, other: &Self, q: P, gap: f64) -> bool {
        let (c, e, b, d) = if dot(self.u, other.u) < 0.0 {
            (other.b, -other.d, self.b, other.a)
        } else {
            (other.a, other.d, self.b, other.b)
        };
        if dot(self.u, other.u).abs() < ALIKE || (self.d - e).abs() > gap {
            return false;
        }
        let (from, to) = (dot(sub(c, self.a), self.u), dot(sub(d, self.a), self.u));
        let apart = from.max(0.0) - to.min(dot(sub(b, self.a), self.u));
        let holds = |x: P, y: P, z: P| {
            let (i, j, k) = (
                cross(sub(y, x), sub(q, x)),
                cross(sub(z, y), sub(q, y)),
                cross(sub(x, z), sub(q, z)),
            );
            (i > 0.0 && j > 0.0 && k > 0.0) || (i < 0.0 && j < 0.0 && k < 0.0)
        };
        // The strip's corners are the ends of both lines, whichever way the lines run.
        apart <= STAIR
            && (holds(self.a, b, d) || holds(self.a, d, c) || holds(self.a, b, c) || holds(b, d, c))
    }
}

/// Cosine of 50 degrees.
const ALIKE: f64 = 0.642_788;
