//! Run stitches along a line.

use geo::Coord;

use crate::geometry::polyline::{
    Measured, distance, nearest_on_segment, simplify, without_repeats,
};
use crate::geometry::vector::turn;

/// How a run is sewn; lengths in mm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct RunStyle {
    /// Stitch length on straight and gently curved lines.
    pub stitch: f64,
    /// Stitch length in tight curves.
    pub curve_stitch: f64,
    /// Stitches are made no shorter than this to follow a curve.
    pub least: f64,
}

impl RunStyle {
    pub fn of(stitch: f64) -> Self {
        Self { stitch, curve_stitch: stitch.min(1.5), least: 1.0 }
    }
}

/// A stitch may cut a curve by this much, mm: one point.
const CHORD_ERROR: f64 = 0.1;
/// Stitches under 0.8 mm are no run (J: the needle hardly moves on); a point more, as rounding takes it.
const SHORTEST: f64 = 0.9;
/// A line that turns by more than this within `CORNER_REACH` has a corner, which is kept sharp.
const CORNER_DEGREES: f64 = 40.0;
const CORNER_REACH: f64 = 0.8;

/// Needle points along a line, its ends included: equal stitches on straight lines, shorter ones
/// where a curve asks for it, and one needle point in every corner.
pub fn run(line: &[Coord<f64>], style: RunStyle) -> Vec<Coord<f64>> {
    let line = without_repeats(line);
    let measured = Measured::new(&line);
    if line.len() < 2 {
        return line;
    }
    let mut cuts = vec![0.0];
    let mut bounds = corners(&line, &measured);
    bounds.push(measured.length());
    for bound in bounds {
        let from = cuts.last().copied().unwrap_or(0.0);
        section(&line, &measured, from, bound, style, &mut cuts);
    }
    cuts.into_iter().filter_map(|along| measured.at(along)).collect()
}

/// Places of the corners between the ends of a line, mm from its start.
fn corners(line: &[Coord<f64>], measured: &Measured) -> Vec<f64> {
    let total = measured.length();
    let rough = simplify(line, CHORD_ERROR / 2.0);
    let mut places = Vec::new();
    let mut k = 0;
    for vertex in rough.iter().skip(1).take(rough.len().saturating_sub(2)) {
        // The rough line's vertices are vertices of the line, in its order.
        while line[k] != *vertex {
            k += 1;
        }
        let along = measured.vertex(k);
        let reach = CORNER_REACH.min(along).min(total - along);
        if let (Some(a), Some(b)) = (measured.at(along - reach), measured.at(along + reach)) {
            places.push((turn(*vertex - a, b - *vertex).abs(), along));
        }
    }
    places.retain(|(degrees, along)| {
        *degrees >= CORNER_DEGREES && *along >= CORNER_REACH && total - along >= CORNER_REACH
    });
    // The sharpest first; a lesser one close to it is part of the same corner.
    places.sort_by(|a, b| b.0.total_cmp(&a.0).then(a.1.total_cmp(&b.1)));
    let mut kept: Vec<f64> = Vec::new();
    for (_, along) in places {
        if kept.iter().all(|other| (other - along).abs() >= CORNER_REACH) {
            kept.push(along);
        }
    }
    kept.sort_by(f64::total_cmp);
    kept
}

/// Cuts the line from `from` (already cut) to `to` into stitches.
fn section(
    line: &[Coord<f64>],
    measured: &Measured,
    from: f64,
    to: f64,
    style: RunStyle,
    cuts: &mut Vec<f64>,
) {
    let parts = ((to - from) / style.stitch - 1e-9).ceil().max(1.0);
    let equal = |k: f64| from + (to - from) * k / parts;
    let mut k = 0.0;
    while k < parts && cuts_little(line, measured, equal(k), equal(k + 1.0)) {
        k += 1.0;
    }
    if k == parts {
        cuts.extend((1..=parts as usize).map(|k| equal(k as f64)));
        return;
    }
    let mut at = from;
    while to - at > style.least * 1.5 {
        let mut length = style.stitch;
        while length > style.least && !cuts_little(line, measured, at, (at + length).min(to)) {
            length = if length > style.curve_stitch { style.curve_stitch } else { length - 0.1 };
        }
        at = (at + length.max(style.least)).min(to);
        cuts.push(at);
    }
    if to - at > 1e-9 {
        if to - at < style.least {
            share_out(line, measured, from, to, cuts);
        } else {
            cuts.push(to);
        }
    }
}

/// Ends a section whose last piece is too short to stand alone: the stitches before it take it in.
fn share_out(line: &[Coord<f64>], measured: &Measured, from: f64, to: f64, cuts: &mut Vec<f64>) {
    // Stitches back from the end, and how many are sewn in their place.
    for (back, count) in [(1, 1), (1, 2), (2, 2), (2, 3), (3, 3), (3, 4), (4, 4), (4, 5)] {
        let Some(first) = cuts.len().checked_sub(1 + back) else { break };
        let start = cuts[first];
        if start < from - 1e-9 {
            break;
        }
        let length = (to - start) / count as f64;
        let at = |k: usize| start + length * k as f64;
        let is_close = || (0..count).all(|k| cuts_little(line, measured, at(k), at(k + 1)));
        if length >= SHORTEST && (count > back || is_close()) {
            cuts.truncate(first + 1);
            cuts.extend((1..=count).map(at));
            return;
        }
    }
    if cuts.len() > 1 && cuts[cuts.len() - 1] > from {
        let last = cuts.len() - 1;
        cuts[last] = (cuts[last - 1] + to) / 2.0;
    }
    cuts.push(to);
}

/// Does a stitch between two places leave the line by no more than the chord error?
fn cuts_little(line: &[Coord<f64>], measured: &Measured, from: f64, to: f64) -> bool {
    let (Some(a), Some(b)) = (measured.at(from), measured.at(to)) else { return true };
    let inside = measured.vertices(from, to);
    line[inside].iter().all(|at| distance(nearest_on_segment(a, b, *at).0, *at) <= CHORD_ERROR)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::polyline::nearest;

    fn c(x: f64, y: f64) -> Coord<f64> {
        Coord { x, y }
    }

    fn lengths(points: &[Coord<f64>]) -> Vec<f64> {
        points.windows(2).map(|p| distance(p[0], p[1])).collect()
    }

    #[test]
    fn straight_lines_get_equal_stitches() {
        let points = run(&[c(0.0, 0.0), c(9.0, 0.0)], RunStyle::of(2.0));
        assert_eq!(points.len(), 6);
        assert!(lengths(&points).iter().all(|l| (l - 1.8).abs() < 1e-9));
    }

    #[test]
    fn corners_stay_sharp() {
        let line = [c(0.0, 0.0), c(5.0, 0.0), c(5.0, 5.0), c(0.0, 5.0), c(0.0, 0.0)];
        let points = run(&line, RunStyle::of(2.0));
        for corner in line {
            assert!(points.iter().any(|p| distance(*p, corner) < 1e-9));
        }
        assert!(lengths(&points).iter().all(|l| (1.0..=2.0 + 1e-9).contains(l)));
    }

    #[test]
    fn curves_are_cut_by_a_point_at_most() {
        for radius in [1.5, 2.5, 6.0] {
            let line: Vec<_> = (0..=200)
                .map(|k| f64::from(k) * std::f64::consts::TAU / 200.0)
                .map(|a| c(radius * a.cos(), radius * a.sin()))
                .collect();
            let points = run(&line, RunStyle::of(2.0));
            // Sagitta of a chord of the circle: r − √(r² − (l/2)²).
            for l in lengths(&points) {
                let sagitta = radius - (radius * radius - l * l / 4.0).max(0.0).sqrt();
                assert!(sagitta <= CHORD_ERROR + 1e-3 || l < 1.01, "r {radius}: {l}");
                assert!((0.5..=2.01).contains(&l), "r {radius}: {l}");
            }
            assert!(points.iter().all(|p| nearest(&line, *p).is_some_and(|n| n.distance < 1e-6)));
        }
    }

    #[test]
    fn a_tight_bend_in_a_long_line_shortens_stitches_only_there() {
        let bend = (0..=30).map(|k| {
            let a = std::f64::consts::PI * f64::from(k) / 30.0 - std::f64::consts::FRAC_PI_2;
            c(20.0 + 2.0 * a.cos(), 2.0 + 2.0 * a.sin())
        });
        let line: Vec<_> = std::iter::once(c(0.0, 0.0)).chain(bend).chain([c(0.0, 4.0)]).collect();
        let points = run(&line, RunStyle::of(2.0));
        let straight = lengths(&points).iter().filter(|l| (**l - 2.0).abs() < 1e-9).count();
        assert!(straight >= 16, "{:?}", lengths(&points));
        assert!(lengths(&points).iter().all(|l| *l >= 0.75));
    }

    #[test]
    fn what_is_left_at_the_end_of_a_curve_makes_no_short_stitch() {
        // Arcs of 2 to 6 mm radius, from 4 to 9 mm long.
        for radius in [2.0, 3.0, 4.0, 6.0] {
            for tenths in 40..90 {
                let length = f64::from(tenths) / 10.0;
                let at = |k: u32| length / radius * f64::from(k) / 200.0;
                let line: Vec<_> =
                    (0..=200).map(|k| c(radius * at(k).cos(), radius * at(k).sin())).collect();
                let points = run(&line, RunStyle::of(2.0));
                let least = lengths(&points).into_iter().fold(f64::INFINITY, f64::min);
                assert!(least >= 0.8, "radius {radius}, {length} mm: {least}");
            }
        }
    }

    #[test]
    fn nothing_and_single_points_pass_through() {
        assert!(run(&[], RunStyle::of(2.0)).is_empty());
        assert_eq!(run(&[c(1.0, 1.0)], RunStyle::of(2.0)).len(), 1);
    }
}
