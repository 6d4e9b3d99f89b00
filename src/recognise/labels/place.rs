//! Where a point lies in a top: how far from its edges.

use std::cell::RefCell;
use std::collections::BTreeMap;

use geo::Coord;

use super::super::segment::{Kind, ReadStretch};
use super::super::tops::Top;
use crate::geometry::locate::Locator;
use crate::geometry::polyline::nearest_on_segment;
use crate::geometry::vector::distance;
use crate::objects::Satin;

/// Rails are looked for a little beyond the middle of a column: this share of its width, and mm.
const SEARCH: f64 = 0.65;
const SEARCH_MM: f64 = 0.3;
/// Deeper inside a fill than this (mm) is all the same.
const DEEP: f64 = 2.2;

#[derive(Clone, Copy)]
pub struct Place {
    /// Distance to the nearest edge, mm.
    pub depth: f64,
    /// The same, but not to the ends of a column.
    pub from_rail: f64,
    /// Width of a column there, mm; infinite in a fill.
    pub width: f64,
    /// Distance to its left rail as a share of the width.
    pub share: f64,
}

impl Place {
    /// In the middle of a column that has room beside it?
    pub fn is_middle(&self) -> bool {
        const OFF: f64 = 0.1;
        const ROOM: f64 = 1.2;
        (self.share - 0.5).abs() <= OFF && self.width >= ROOM && self.width.is_finite()
    }
}

/// Finds places; keeps the rails of the columns that it was asked of.
pub struct Places<'a> {
    stretches: &'a [ReadStretch],
    tops: &'a [Top],
    columns: RefCell<BTreeMap<usize, Option<Column>>>,
}

/// A column's rails: they pass by short stitches, its footprint does not.
struct Column {
    rails: [Locator; 2],
    /// Median width, and how far a rail is looked for, mm.
    width: f64,
    search: f64,
    /// First and last crossing of an open column.
    ends: Vec<(Coord<f64>, Coord<f64>)>,
}

impl<'a> Places<'a> {
    pub fn new(stretches: &'a [ReadStretch], tops: &'a [Top]) -> Self {
        Self { stretches, tops, columns: RefCell::default() }
    }

    pub fn of(&self, top: usize, at: Coord<f64>) -> Place {
        let mut columns = self.columns.borrow_mut();
        match columns.entry(top).or_insert_with(|| self.column(top)) {
            Some(column) => column.place(at),
            None => {
                let depth = self.tops[top].footprint.locator().distance_up_to(at, DEEP);
                Place { depth, from_rail: depth, width: f64::INFINITY, share: 0.0 }
            }
        }
    }

    fn column(&self, top: usize) -> Option<Column> {
        let (s, g) = self.tops[top].sections[0];
        match &self.stretches[s].segments[g].kind {
            Kind::Satin(read) | Kind::SplitSatin(read) => Some(Column::new(&read.satin)),
            _ => None,
        }
    }
}

impl Column {
    fn new(satin: &Satin) -> Self {
        let [left, right] = &satin.rails;
        let crossing = |l: Option<&Coord<f64>>, r: Option<&Coord<f64>>| Some((*l?, *r?));
        let ends = [crossing(left.first(), right.first()), crossing(left.last(), right.last())];
        let open = ends.into_iter().flatten().filter(|_| !satin.closed);
        let [_, width, widest] = satin.width;
        Self {
            rails: [Locator::of_line(left), Locator::of_line(right)],
            width,
            search: SEARCH * widest + SEARCH_MM,
            ends: open.collect(),
        }
    }

    fn place(&self, at: Coord<f64>) -> Place {
        // Near one rail the other is as far as the column is wide: that needs no search.
        let [left, right] = [0, 1].map(|side| self.rails[side].distance_up_to(at, self.search));
        let width = match (left < self.search, right < self.search) {
            (true, true) | (false, false) => left + right,
            _ => self.width.max(left + right),
        };
        let share = if left <= right { left / width } else { 1.0 - right / width };
        let to_end = |(a, b): &(_, _)| distance(nearest_on_segment(*a, *b, at).0, at);
        let from_rail = left.min(right);
        let depth = self.ends.iter().map(to_end).fold(from_rail, f64::min);
        Place { depth, from_rail, width, share: if width > 0.0 { share } else { 0.5 } }
    }
}
