//! What holds an edge: edge runs that halve its pull, stitches of its colour across the curve.

use geo::Coord;

use crate::design::Link;
use crate::garment::Numbers;
use crate::geometry::segments::{Segment, SegmentGrid};
use crate::geometry::vector::{between_lines, cross, distance, dot, left_of, line_angle, unit};
use crate::objects::{Label, Object, Objects};

/// Rounding to whole points, mm.
const ROUNDING_MM: f64 = 0.05;

/// What may lie under the objects of one tape: all that is neither top stitching of an area nor a
/// tie. Which object it belongs to is not asked: the recogniser may tell it otherwise in one tape
/// than in the other.
pub struct Underlay {
    grid: SegmentGrid,
    /// For each segment the place of its object, and its stop.
    of: Vec<Piece>,
}

#[derive(Clone, Copy)]
struct Piece {
    position: usize,
    stop: u32,
}

/// An edge of an object at a sample.
#[derive(Clone, Copy)]
pub struct Side<'a> {
    pub object: &'a Object,
    /// Place of the object in the sewing order.
    pub position: usize,
    /// Point of the edge, mm.
    pub at: Coord<f64>,
    /// Unit normal, pointing into the object.
    pub inward: Coord<f64>,
}

impl Underlay {
    pub fn of(objects: &Objects) -> Self {
        let (mut segments, mut of) = (Vec::new(), Vec::new());
        for (position, object) in objects.items.iter().enumerate() {
            for segment in hidden(object) {
                segments.push(segment);
                of.push(Piece { position, stop: object.stop });
            }
        }
        Self { grid: SegmentGrid::new(segments), of }
    }

    /// Does an edge run lie beside an edge?
    pub fn holds_edge(&self, side: &Side, n: &Numbers) -> bool {
        let along = line_angle(left_of(side.inward));
        let near = self.grid.near(side.at, n.edge_run_far_mm + ROUNDING_MM);
        near.into_iter().any(|(i, off)| {
            let piece = self.of[i];
            let own = piece.position <= side.position && piece.stop == side.object.stop;
            let [a, b] = self.grid.segments()[i];
            own && off >= n.edge_run_near_mm - ROUNDING_MM
                && dot((a + b) / 2.0 - side.at, side.inward) > 0.0
                && between_lines(line_angle(b - a), along) <= n.edge_run_parallel_deg
        })
    }

    /// Share of the curve near a sample that stitches in the colour of the object sewn first,
    /// sewn before it, cover across the curve: a guard.
    pub fn cover_across(
        &self,
        under: &Side,
        same_colour: impl Fn(u32, u32) -> bool,
        n: &Numbers,
    ) -> f64 {
        // A window of two steps of the guard's own zigzag.
        let half = n.guard_hold_every_mm;
        let along = left_of(under.inward);
        let span = n.guard_hold_mm - ROUNDING_MM;
        let covered = self
            .grid
            .near(under.at, half)
            .into_iter()
            .filter(|(i, _)| {
                let piece = self.of[*i];
                piece.position <= under.position && same_colour(piece.stop, under.object.stop)
            })
            .map(|(i, _)| {
                let [a, b] = self.grid.segments()[i];
                let depths = [a, b].map(|p| dot(p - under.at, under.inward));
                let (low, high) = (depths[0].min(depths[1]), depths[0].max(depths[1]));
                if low > -span || high < span {
                    return 0.0;
                }
                let at = a + (b - a) * (depths[0] / (depths[0] - depths[1]));
                if dot(at - under.at, along).abs() > half {
                    return 0.0;
                }
                n.thread_width_mm / cross(unit(b - a), along).abs().max(0.1)
            })
            .fold(0.0, |sum, part| sum + part);
        (covered / (2.0 * half)).min(1.0)
    }
}

/// Stitches of an object that may lie under others.
fn hidden(object: &Object) -> Vec<Segment> {
    let mut last: Option<Coord<f64>> = None;
    let mut found = Vec::new();
    for part in &object.parts {
        let counts =
            !matches!(part.label, Label::Satin | Label::SplitSatin | Label::Fill | Label::Tie);
        for (k, needle) in part.needles.iter().enumerate() {
            let at = needle.at.mm();
            let from = last.replace(at);
            let sewn = k > 0 || part.link == Link::Sewn;
            if let Some(from) = from.filter(|from| counts && sewn && distance(*from, at) > 0.0) {
                found.push([from, at]);
            }
        }
    }
    found
}
