//! Lengths, resampling, nearest points and offsets of polylines. All lengths in mm.

mod offset;

pub use offset::{offset, offset_closed};

use geo::Coord;

pub use super::vector::distance;
use super::vector::{left_of, unit};

/// Two positions closer than this are one (a hundredth of a tape point).
const SAME: f64 = 1e-3;

/// The position a share `t` (0 to 1) of the way from `a` to `b`.
pub fn lerp(a: Coord<f64>, b: Coord<f64>, t: f64) -> Coord<f64> {
    Coord { x: a.x + (b.x - a.x) * t, y: a.y + (b.y - a.y) * t }
}

/// Unit vector from `a` to `b`; `None` where they are the same.
pub fn heading(a: Coord<f64>, b: Coord<f64>) -> Option<Coord<f64>> {
    (distance(a, b) > 1e-9).then(|| unit(b - a))
}

/// Length of a polyline, mm.
pub fn length(line: &[Coord<f64>]) -> f64 {
    line.windows(2).map(|pair| distance(pair[0], pair[1])).sum()
}

/// The nearest place of a polyline to a position.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Nearest {
    /// Distance from the start of the line, mm along it.
    pub along: f64,
    pub at: Coord<f64>,
    /// How far away it is, mm.
    pub distance: f64,
}

/// A polyline with its lengths, for many questions about one line.
#[derive(Clone, Debug)]
pub struct Measured<'a> {
    line: &'a [Coord<f64>],
    /// Distance of each vertex from the start.
    ends: Vec<f64>,
}

impl<'a> Measured<'a> {
    pub fn new(line: &'a [Coord<f64>]) -> Self {
        let mut sum = 0.0;
        let mut ends = Vec::with_capacity(line.len());
        for (i, at) in line.iter().enumerate() {
            if i > 0 {
                sum += distance(line[i - 1], *at);
            }
            ends.push(sum);
        }
        Self { line, ends }
    }

    pub fn length(&self) -> f64 {
        self.ends.last().copied().unwrap_or(0.0)
    }

    /// Distance of vertex `index` from the start.
    pub fn vertex(&self, index: usize) -> f64 {
        self.ends.get(index).copied().unwrap_or_else(|| self.length())
    }

    /// Indices of the vertices strictly between two places.
    pub fn vertices(&self, from: f64, to: f64) -> std::ops::Range<usize> {
        let first = self.ends.partition_point(|end| *end <= from + SAME);
        let end = self.ends.partition_point(|end| *end < to - SAME);
        first..end.max(first)
    }

    /// Index of the segment that holds the place `along`, and the share of it that lies before.
    pub(crate) fn segment(&self, along: f64) -> Option<(usize, f64)> {
        if self.line.len() < 2 {
            return None;
        }
        let along = along.clamp(0.0, self.length());
        let i = self.ends.partition_point(|end| *end < along).clamp(1, self.line.len() - 1) - 1;
        let span = self.ends[i + 1] - self.ends[i];
        Some((i, if span > 0.0 { (along - self.ends[i]) / span } else { 0.0 }))
    }

    /// The position `along` mm from the start, clamped to the ends; `None` for an empty line.
    pub fn at(&self, along: f64) -> Option<Coord<f64>> {
        match self.segment(along) {
            Some((i, t)) => Some(lerp(self.line[i], self.line[i + 1], t)),
            None => self.line.first().copied(),
        }
    }

    /// Unit direction of the line `along` mm from the start; `None` where the line has no length.
    pub fn tangent(&self, along: f64) -> Option<Coord<f64>> {
        let (i, _) = self.segment(along)?;
        // Neighbours of no length have no direction: look forwards, then backwards.
        (i..self.line.len() - 1)
            .chain((0..i).rev())
            .find_map(|k| heading(self.line[k], self.line[k + 1]))
    }

    /// Unit normal to the left of the line `along` mm from the start.
    pub fn normal(&self, along: f64) -> Option<Coord<f64>> {
        self.tangent(along).map(left_of)
    }

    /// Nearest place of the line; `None` for an empty line. Linear in the number of vertices.
    pub fn nearest(&self, to: Coord<f64>) -> Option<Nearest> {
        if self.line.len() == 1 {
            let at = self.line[0];
            return Some(Nearest { along: 0.0, at, distance: distance(at, to) });
        }
        let mut best: Option<Nearest> = None;
        for (i, pair) in self.line.windows(2).enumerate() {
            let (at, t) = nearest_on_segment(pair[0], pair[1], to);
            let distance = distance(at, to);
            if best.is_none_or(|b| distance < b.distance) {
                let along = self.ends[i] + t * (self.ends[i + 1] - self.ends[i]);
                best = Some(Nearest { along, at, distance });
            }
        }
        best
    }

    /// The part of the line between two places (mm from the start), vertices between them kept;
    /// reversed where `to` lies before `from`.
    pub fn between(&self, from: f64, to: f64) -> Vec<Coord<f64>> {
        let (low, high) = (from.min(to), from.max(to));
        let mut part: Vec<Coord<f64>> = self.at(low).into_iter().collect();
        part.extend_from_slice(&self.line[self.vertices(low, high)]);
        if high > low {
            part.extend(self.at(high));
        }
        if to < from {
            part.reverse();
        }
        part
    }
}

/// Nearest place of the segment `a`–`b` to a position, and its share of the way from `a` to `b`.
pub fn nearest_on_segment(a: Coord<f64>, b: Coord<f64>, to: Coord<f64>) -> (Coord<f64>, f64) {
    let (dx, dy) = (b.x - a.x, b.y - a.y);
    let square = dx * dx + dy * dy;
    let t = if square > 0.0 {
        (((to.x - a.x) * dx + (to.y - a.y) * dy) / square).clamp(0.0, 1.0)
    } else {
        0.0
    };
    (lerp(a, b, t), t)
}

/// The position `along` mm from the start, clamped to the ends; `None` for an empty line.
pub fn point_at(line: &[Coord<f64>], along: f64) -> Option<Coord<f64>> {
    Measured::new(line).at(along)
}

/// Nearest place of a line to a position; `None` for an empty line.
pub fn nearest(line: &[Coord<f64>], to: Coord<f64>) -> Option<Nearest> {
    Measured::new(line).nearest(to)
}

/// `parts + 1` positions at equal distances along the line, both ends kept.
pub fn resample_into(line: &[Coord<f64>], parts: usize) -> Vec<Coord<f64>> {
    let measured = Measured::new(line);
    let (total, parts) = (measured.length(), parts.max(1));
    (0..=parts).filter_map(|k| measured.at(total * k as f64 / parts as f64)).collect()
}

/// Positions at equal distances of at most `step` mm along the line, both ends kept. A line
/// without length gives its first position alone.
pub fn resample(line: &[Coord<f64>], step: f64) -> Vec<Coord<f64>> {
    let total = length(line);
    if total <= SAME || step <= 0.0 {
        return line.first().copied().into_iter().collect();
    }
    resample_into(line, ((total / step) - 1e-9).ceil().max(1.0) as usize)
}

/// Drops vertices that lie within `tolerance` mm of the line without them (Douglas and Peucker,
/// Algorithms for the reduction of the number of points required to represent a digitized line,
/// 1973). Both ends are kept.
pub fn simplify(line: &[Coord<f64>], tolerance: f64) -> Vec<Coord<f64>> {
    if line.len() < 3 {
        return line.to_vec();
    }
    let mut keep = vec![false; line.len()];
    keep[0] = true;
    keep[line.len() - 1] = true;
    let mut spans = vec![(0, line.len() - 1)];
    while let Some((from, to)) = spans.pop() {
        let mut worst = (tolerance, None);
        for (i, at) in line.iter().enumerate().take(to).skip(from + 1) {
            let off = distance(nearest_on_segment(line[from], line[to], *at).0, *at);
            if off > worst.0 {
                worst = (off, Some(i));
            }
        }
        if let Some(i) = worst.1 {
            keep[i] = true;
            spans.push((from, i));
            spans.push((i, to));
        }
    }
    line.iter().zip(keep).filter_map(|(at, kept)| kept.then_some(*at)).collect()
}

/// The line without neighbours that lie closer than a thousandth of a mm to each other.
pub fn without_repeats(line: &[Coord<f64>]) -> Vec<Coord<f64>> {
    let mut out: Vec<Coord<f64>> = Vec::with_capacity(line.len());
    for at in line {
        if out.last().is_none_or(|last| distance(*last, *at) > SAME) {
            out.push(*at);
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    fn c(x: f64, y: f64) -> Coord<f64> {
        Coord { x, y }
    }

    fn near(a: Coord<f64>, b: Coord<f64>) -> bool {
        distance(a, b) < 1e-6
    }

    #[test]
    fn measures_an_l_of_three_and_four() {
        let line = [c(0.0, 0.0), c(3.0, 0.0), c(3.0, 4.0)];
        assert!((length(&line) - 7.0).abs() < 1e-12);
        assert!(near(point_at(&line, 5.0).unwrap(), c(3.0, 2.0)));
        assert!(near(point_at(&line, -1.0).unwrap(), c(0.0, 0.0)));
        assert!(near(point_at(&line, 99.0).unwrap(), c(3.0, 4.0)));
        assert_eq!(point_at(&[], 1.0), None);
        let m = Measured::new(&line);
        assert!(near(m.tangent(5.0).unwrap(), c(0.0, 1.0)));
        assert!(near(m.normal(1.0).unwrap(), c(0.0, 1.0)));
    }

    #[test]
    fn resampling_keeps_ends_and_equal_parts() {
        let line = [c(0.0, 0.0), c(3.0, 0.0), c(3.0, 4.0)];
        let parts = resample(&line, 2.0);
        // 7 mm in steps of at most 2: four parts of 1.75.
        assert_eq!(parts.len(), 5);
        assert!(near(parts[1], c(1.75, 0.0)) && near(parts[2], c(3.0, 0.5)));
        assert!(near(parts[0], line[0]) && near(parts[4], line[2]));
        assert_eq!(resample(&line, 7.0).len(), 2);
        assert_eq!(resample(&[c(1.0, 1.0), c(1.0, 1.0)], 1.0).len(), 1);
        assert!(resample(&[], 1.0).is_empty());
    }

    #[test]
    fn nearest_place_of_a_corner() {
        let line = [c(0.0, 0.0), c(3.0, 0.0), c(3.0, 4.0)];
        let hit = nearest(&line, c(5.0, 2.0)).unwrap();
        assert!(near(hit.at, c(3.0, 2.0)));
        assert!((hit.along - 5.0).abs() < 1e-9 && (hit.distance - 2.0).abs() < 1e-9);
    }

    #[test]
    fn part_of_a_line_both_ways() {
        let line = [c(0.0, 0.0), c(3.0, 0.0), c(3.0, 4.0)];
        let m = Measured::new(&line);
        assert_eq!(m.between(1.0, 5.0), vec![c(1.0, 0.0), c(3.0, 0.0), c(3.0, 2.0)]);
        assert_eq!(m.between(5.0, 1.0), vec![c(3.0, 2.0), c(3.0, 0.0), c(1.0, 0.0)]);
    }

    #[test]
    fn simplify_drops_what_lies_on_the_line() {
        let line = [c(0.0, 0.0), c(1.0, 0.04), c(2.0, 0.0), c(3.0, 1.0), c(4.0, 0.0)];
        assert_eq!(simplify(&line, 0.1), vec![c(0.0, 0.0), c(2.0, 0.0), c(3.0, 1.0), c(4.0, 0.0)]);
    }
}
