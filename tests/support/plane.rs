//! Plane geometry for the measures: vectors, curves and areas. All in mm.

pub type P = [f64; 2];

pub fn sub(a: P, b: P) -> P {
    [a[0] - b[0], a[1] - b[1]]
}

pub fn along(a: P, d: P, t: f64) -> P {
    [a[0] + d[0] * t, a[1] + d[1] * t]
}

pub fn mid(a: P, b: P) -> P {
    [(a[0] + b[0]) / 2.0, (a[1] + b[1]) / 2.0]
}

pub fn dot(a: P, b: P) -> f64 {
    a[0] * b[0] + a[1] * b[1]
}

pub fn cross(a: P, b: P) -> f64 {
    a[0] * b[1] - a[1] * b[0]
}

pub fn len(a: P) -> f64 {
    a[0].hypot(a[1])
}

pub fn dist(a: P, b: P) -> f64 {
    len(sub(a, b))
}

pub fn unit(a: P) -> P {
    let l = len(a).max(1e-12);
    [a[0] / l, a[1] / l]
}

/// Angle between two axes (directions without a sign), degrees in [0, 90].
pub fn axis_angle(a: P, b: P) -> f64 {
    dot(unit(a), unit(b)).abs().clamp(0.0, 1.0).acos().to_degrees()
}

/// Angle between two directions, degrees in [0, 180].
pub fn turn(u: P, v: P) -> f64 {
    dot(unit(u), unit(v)).clamp(-1.0, 1.0).acos().to_degrees()
}

/// Length-weighted mean of axes; none if they cancel out or there are none.
pub fn mean_axis(axes: impl Iterator<Item = P>) -> Option<P> {
    let (mut c, mut s) = (0.0, 0.0);
    for d in axes {
        let l = len(d).max(1e-12);
        c += (d[0] * d[0] - d[1] * d[1]) / l;
        s += 2.0 * d[0] * d[1] / l;
    }
    (c.hypot(s) > 1e-9).then(|| {
        let half = s.atan2(c) / 2.0;
        [half.cos(), half.sin()]
    })
}

/// Nearest point of a segment.
pub fn nearest(p: P, a: P, b: P) -> P {
    let d = sub(b, a);
    let t = dot(sub(p, a), d) / dot(d, d).max(1e-12);
    along(a, d, t.clamp(0.0, 1.0))
}

/// Where two segments cross, as shares of both.
pub fn crossing(a: P, b: P, c: P, d: P) -> Option<(f64, f64)> {
    let (u, v, w) = (sub(b, a), sub(d, c), sub(c, a));
    let det = cross(u, v);
    if det.abs() < 1e-12 {
        return None;
    }
    let (s, t) = (cross(w, v) / det, cross(w, u) / det);
    ((0.0..=1.0).contains(&s) && (0.0..=1.0).contains(&t)).then_some((s, t))
}

pub fn nearest_on(p: P, curve: &[P]) -> P {
    let mut best = (f64::INFINITY, p);
    for w in curve.windows(2) {
        let q = nearest(p, w[0], w[1]);
        let d = dist(p, q);
        if d < best.0 {
            best = (d, q);
        }
    }
    best.1
}

/// A place on a curve: arc length from its start, the point, the direction there.
#[derive(Clone, Copy, Debug)]
pub struct Station {
    pub s: f64,
    pub p: P,
    pub t: P,
}

/// A curve with its arc lengths; closed curves repeat their first point.
pub struct Curve {
    points: Vec<P>,
    lengths: Vec<f64>,
    pub closed: bool,
}

impl Curve {
    pub fn new(points: &[P], closed: bool) -> Self {
        let mut points = points.to_vec();
        if closed && points.first() != points.last() {
            points.extend(points.first().copied());
        }
        let mut lengths = vec![0.0];
        for w in points.windows(2) {
            lengths.push(lengths[lengths.len() - 1] + dist(w[0], w[1]));
        }
        Self { points, lengths, closed }
    }

    /// Closed if its ends meet.
    pub fn of(points: &[P]) -> Self {
        let ends = points.first().zip(points.last()).map_or(0.0, |(a, b)| dist(*a, *b));
        Self::new(points, points.len() > 3 && ends < 0.6)
    }

    pub fn length(&self) -> f64 {
        self.lengths[self.lengths.len() - 1]
    }

    pub fn at(&self, s: f64) -> P {
        let total = self.length();
        let s = if self.closed { s.rem_euclid(total.max(1e-9)) } else { s.clamp(0.0, total) };
        let k = self.lengths.partition_point(|&l| l <= s).clamp(1, self.points.len().max(2) - 1);
        if self.points.len() < 2 {
            return self.points[0];
        }
        let span = self.lengths[k] - self.lengths[k - 1];
        let share = if span > 1e-12 { (s - self.lengths[k - 1]) / span } else { 0.0 };
        along(self.points[k - 1], sub(self.points[k], self.points[k - 1]), share)
    }

    /// Does the curve turn by more than `limit` degrees within 1 mm somewhere near `s`?
    pub fn corner_near(&self, s: f64, limit: f64) -> bool {
        let chord = |a: f64, b: f64| sub(self.at(b), self.at(a));
        let inside = |s: f64| self.closed || (0.5..self.length() - 0.5).contains(&s);
        let places = (-3..=3).map(|k| s + f64::from(k) * 0.3);
        places.filter(|s| inside(*s)).any(|s| turn(chord(s - 0.5, s), chord(s, s + 0.5)) > limit)
    }

    /// Stations every `step` or a little less, half a step from the ends.
    pub fn stations(&self, step: f64) -> Vec<Station> {
        let n = (self.length() / step).ceil().max(1.0);
        let real = self.length() / n;
        (0..n as usize)
            .map(|k| {
                let s = (k as f64 + 0.5) * real;
                let chord = |a: f64, b: f64| unit(sub(self.at(b), self.at(a)));
                Station { s, p: self.at(s), t: chord(s - 0.25, s + 0.25) }
            })
            .collect()
    }
}

/// An area by the even-odd rule, with a grid over its edges.
pub struct Area {
    pub rings: Vec<Vec<P>>,
    edges: Vec<(P, P)>,
    bands: Vec<Vec<u32>>,
    low: P,
    pub high: P,
}

const BAND: f64 = 0.5;

impl Area {
    pub fn new(rings: Vec<Vec<P>>) -> Self {
        let (mut low, mut high) = ([f64::INFINITY; 2], [f64::NEG_INFINITY; 2]);
        for p in rings.iter().flatten() {
            for axis in 0..2 {
                low[axis] = low[axis].min(p[axis]);
                high[axis] = high[axis].max(p[axis]);
            }
        }
        let mut edges = Vec::new();
        for ring in &rings {
            for k in 0..ring.len() {
                edges.push((ring[k], ring[(k + 1) % ring.len()]));
            }
        }
        let n = if edges.is_empty() { 0 } else { ((high[1] - low[1]) / BAND) as usize + 1 };
        let mut bands = vec![Vec::new(); n];
        for (k, (a, b)) in edges.iter().enumerate() {
            let band = |y: f64| (((y - low[1]) / BAND) as usize).min(n - 1);
            for list in &mut bands[band(a[1].min(b[1]))..=band(a[1].max(b[1]))] {
                list.push(k as u32);
            }
        }
        Self { rings, edges, bands, low, high }
    }

    pub fn low(&self) -> P {
        self.low
    }

    pub fn contains(&self, p: P) -> bool {
        if (0..2).any(|axis| p[axis] < self.low[axis] || p[axis] > self.high[axis]) {
            return false;
        }
        let band = (((p[1] - self.low[1]) / BAND) as usize).min(self.bands.len() - 1);
        let crossings = self.bands[band].iter().filter(|&&k| {
            let (a, b) = self.edges[k as usize];
            (a[1] > p[1]) != (b[1] > p[1])
                && p[0] < (b[0] - a[0]) * (p[1] - a[1]) / (b[1] - a[1]) + a[0]
        });
        crossings.count() % 2 == 1
    }

    /// Distance to the nearest edge, or `max` if none is nearer.
    pub fn edge_distance(&self, p: P, max: f64) -> f64 {
        let band = |y: f64| ((y - self.low[1]) / BAND).floor();
        let first = band(p[1] - max).max(0.0) as usize;
        let last = band(p[1] + max).min(self.bands.len() as f64 - 1.0);
        let mut best = max;
        if last < 0.0 {
            return best;
        }
        for list in self.bands.iter().take(last as usize + 1).skip(first) {
            for &k in list {
                let (a, b) = self.edges[k as usize];
                if a[0].min(b[0]) - p[0] < best && p[0] - a[0].max(b[0]) < best {
                    best = best.min(dist(p, nearest(p, a, b)));
                }
            }
        }
        best
    }

    /// Inside, and at least `by` from every edge.
    pub fn holds(&self, p: P, by: f64) -> bool {
        self.contains(p) && self.edge_distance(p, by) >= by
    }

    /// Inside, or nearer than `by` to an edge.
    pub fn reaches(&self, p: P, by: f64) -> bool {
        self.contains(p) || self.edge_distance(p, by) < by
    }

    /// Is the whole segment inside, at least `by` from every edge?
    pub fn holds_segment(&self, a: P, b: P, by: f64) -> bool {
        let n = (dist(a, b) / 0.25).ceil().max(1.0) as usize;
        (0..=n).all(|k| self.holds(along(a, sub(b, a), k as f64 / n as f64), by))
    }
}
