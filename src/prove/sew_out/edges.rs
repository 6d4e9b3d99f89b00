//! What holds an edge: edge runs that halve its pull, stitches of its colour across the curve.

use geo::Coord;

use crate::garment::Numbers;
use crate::geometry::segments::{Segment, SegmentGrid};
use crate::geometry::vector::{between_lines, cross, dot, left_of, line_angle, unit};
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
        let own = |i: usize| {
            let piece = self.of[i];
            piece.position <= side.position && piece.stop == side.object.stop
        };
        let near = self.grid.near_where(side.at, n.edge_run_far_mm + ROUNDING_MM, own);
        near.into_iter().any(|(i, off)| {
            let [a, b] = self.grid.segments()[i];
            off >= n.edge_run_near_mm - ROUNDING_MM
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
        let depths = |i: usize| self.grid.segments()[i].map(|p| dot(p - under.at, under.inward));
        let crosses = |i: usize| {
            let (piece, [a, b]) = (self.of[i], depths(i));
            a.min(b) <= -span
                && a.max(b) >= span
                && piece.position <= under.position
                && same_colour(piece.stop, under.object.stop)
        };
        let width = |i: usize| {
            let ([a, b], depths) = (self.grid.segments()[i], depths(i));
            let at = a + (b - a) * (depths[0] / (depths[0] - depths[1]));
            if dot(at - under.at, along).abs() > half {
                return 0.0;
            }
            n.thread_width_mm / cross(unit(b - a), along).abs().max(0.1)
        };
        let crossing = self.grid.near_where(under.at, half, crosses).into_iter();
        let covered = crossing.map(|(i, _)| width(i)).fold(0.0, |sum, part| sum + part);
        (covered / (2.0 * half)).min(1.0)
    }
}

/// Stitches of an object that may lie under others.
fn hidden(object: &Object) -> Vec<Segment> {
    let counts =
        |label| !matches!(label, Label::Satin | Label::SplitSatin | Label::Fill | Label::Tie);
    let stitches = object.stitches().filter(|(from, to, label)| counts(*label) && from != to);
    stitches.map(|(from, to, _)| [from, to]).collect()
}
