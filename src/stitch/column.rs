//! A satin column as a row of stations: matched places on its two rails.

use geo::Coord;

use crate::geometry::polyline::{distance, heading, lerp};
use crate::geometry::vector::{cross, dot, middle, norm};
use crate::objects::{Object, Side};

/// A crossing's direction and an edge's direction are taken to differ by at least this much
/// (sine) when an inset is measured square to the edge: flatter crossings would overshoot.
const FLATTEST: f64 = 0.5;
/// Stations to either side that a direction is taken over.
const REACH: usize = 3;
/// Stations to either side that a jag stands out from, and over which jags even out.
const JAG: usize = 2;
const EVEN: usize = 8;
/// A quarter of the stations of a jagged edge stand out by this, mm: rounding gives half of it.
const JAG_MM: f64 = 0.08;

/// A satin's rails, matched crossing by crossing, in sewing direction.
#[derive(Clone, Debug, PartialEq)]
pub struct Column {
    /// Left and right rail, equally many positions, mm.
    pub rails: [Vec<Coord<f64>>; 2],
    /// The column ends where it starts.
    pub closed: bool,
}

impl Column {
    /// The stations of a satin object: one for every needle point on a rail, its partner taken
    /// half-way between the neighbours on the other rail. `None` for anything else, and for a
    /// satin with fewer than four of them.
    pub fn of(object: &Object) -> Option<Self> {
        let satin = object.satin()?;
        let on_rail: Vec<(Side, Coord<f64>)> = object
            .top()
            .zip(&satin.sides)
            .filter(|(_, side)| **side != Side::Inner)
            .map(|(needle, side)| (*side, needle.at.mm()))
            .collect();
        let partners = |ahead: bool| {
            let mut last = [None, None];
            let mut found = vec![None; on_rail.len()];
            let mut visit = |i: usize| {
                let (side, at) = on_rail[i];
                let own = usize::from(side == Side::Right);
                found[i] = last[1 - own];
                last[own] = Some(at);
            };
            if ahead {
                (0..on_rail.len()).rev().for_each(&mut visit);
            } else {
                (0..on_rail.len()).for_each(&mut visit);
            }
            found
        };
        let (before, after) = (partners(false), partners(true));
        let mut rails = [Vec::new(), Vec::new()];
        for (i, (side, at)) in on_rail.iter().enumerate() {
            let partner = match (before[i], after[i]) {
                (Some(a), Some(b)) => middle(a, b),
                (Some(a), None) | (None, Some(a)) => a,
                (None, None) => continue,
            };
            let own = usize::from(*side == Side::Right);
            rails[own].push(*at);
            rails[1 - own].push(partner);
        }
        let column = (rails[0].len() >= 4).then_some(Self { rails, closed: satin.closed })?;
        Some(Self { rails: [0, 1].map(|rail| column.smoothed(rail)), ..column })
    }

    /// A rail; of a jagged one the line through the middle of its jags, along which the run lies that
    /// holds them up.
    fn smoothed(&self, rail: usize) -> Vec<Coord<f64>> {
        let own = &self.rails[rail];
        let last = own.len() - 1;
        // How far, across the column, a station lies from the mean of those around it.
        let off = |i: usize, reach: usize| {
            let reach = i.min(last - i).min(reach);
            let near = &own[i - reach..=i + reach];
            let sum = near.iter().fold(Coord { x: 0.0, y: 0.0 }, |sum, at| sum + *at);
            let across = heading(own[i], self.rails[1 - rail][i]).unwrap_or_default();
            across * dot(across, sum / near.len() as f64 - own[i])
        };
        // Every second station is the middle of its neighbours; corners stand out, but are few.
        let many = |count: usize| 4 * count >= own.len();
        let bends = own.windows(2 * JAG + 1).filter(|w| {
            let off = w[JAG] - (w[0] + w[2 * JAG]) / 2.0;
            dot(off, off) >= JAG_MM * JAG_MM
        });
        let stand_out = || (0..own.len()).filter(|i| norm(off(*i, JAG)) >= JAG_MM);
        if !many(bends.count()) || !many(stand_out().count()) {
            return own.clone();
        }
        (0..own.len()).map(|i| own[i] + off(i, EVEN)).collect()
    }

    pub fn len(&self) -> usize {
        self.rails[0].len()
    }

    pub fn is_empty(&self) -> bool {
        self.rails[0].is_empty()
    }

    pub fn centre(&self, i: usize) -> Coord<f64> {
        middle(self.rails[0][i], self.rails[1][i])
    }

    /// Width square to the column at a station, mm.
    pub fn width(&self, i: usize) -> f64 {
        let (a, b) = (self.rails[0][i], self.rails[1][i]);
        let (from, to) = self.around(i);
        match heading(self.centre(from), self.centre(to)) {
            Some(along) => cross(along, b - a).abs(),
            None => distance(a, b),
        }
    }

    /// Unit direction of the column at a station.
    pub fn along(&self, i: usize) -> Option<Coord<f64>> {
        let (from, to) = self.around(i);
        heading(self.centre(from), self.centre(to))
    }

    /// Unit direction of a rail at a station.
    pub fn rail_along(&self, rail: usize, i: usize) -> Option<Coord<f64>> {
        let (from, to) = self.around(i);
        heading(self.rails[rail][from], self.rails[rail][to])
    }

    /// The place `inset` mm inside of a rail (0 = left), square to it but on the crossing itself,
    /// so that it lies inside the column; the middle where the column is too narrow.
    pub fn inset(&self, rail: usize, i: usize, inset: f64) -> Coord<f64> {
        let (own, other) = (self.rails[rail][i], self.rails[1 - rail][i]);
        let length = distance(own, other);
        let Some(across) = heading(own, other) else { return own };
        let sine = self.rail_along(rail, i).map_or(1.0, |along| cross(along, across).abs());
        let by = inset / sine.max(FLATTEST);
        lerp(own, other, (by / length).min(0.5))
    }

    fn around(&self, i: usize) -> (usize, usize) {
        (i.saturating_sub(REACH), (i + REACH).min(self.len() - 1))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fixtures::{circle, ring, satin};

    #[test]
    fn stations_of_a_level_column() {
        let object = satin(1, 0, &[(0.0, 3.0), (20.0, 3.0)], &[(0.0, 0.0), (20.0, 0.0)], 0.4);
        let column = Column::of(&object).unwrap();
        assert_eq!(column.len(), object.top().count());
        for i in 2..column.len() - 2 {
            assert!((column.width(i) - 3.0).abs() < 1e-6);
            assert!((column.inset(0, i, 0.6).y - 2.4).abs() < 1e-6);
            assert!((column.inset(1, i, 0.6).y - 0.6).abs() < 1e-6);
            let skew = column.rails[0][i].x - column.rails[1][i].x;
            assert!(skew.abs() < 0.051, "matched within rounding: {skew}");
        }
    }

    #[test]
    fn insets_of_a_skewed_column_are_square_to_its_edges() {
        let object = satin(1, 0, &[(2.0, 3.0), (22.0, 3.0)], &[(0.0, 0.0), (20.0, 0.0)], 0.4);
        let column = Column::of(&object).unwrap();
        let i = column.len() / 2;
        assert!((column.width(i) - 3.0).abs() < 0.05);
        assert!((column.inset(0, i, 0.6).y - 2.4).abs() < 0.05);
    }

    #[test]
    fn a_narrow_column_is_inset_to_its_middle() {
        let object = satin(1, 0, &[(0.0, 1.0), (20.0, 1.0)], &[(0.0, 0.0), (20.0, 0.0)], 0.4);
        let column = Column::of(&object).unwrap();
        assert!((column.inset(0, 10, 0.6).y - 0.5).abs() < 1e-6);
        assert!((column.inset(1, 10, 0.6).y - 0.5).abs() < 1e-6);
    }

    #[test]
    fn a_jagged_edge_is_taken_in_the_middle_of_its_jags() {
        // Needle points 0, 0.5 and 1 mm deep in turns on the upper edge; the lower one is straight.
        let mut object = satin(1, 0, &[(0.0, 5.0), (20.0, 5.0)], &[(0.0, 0.0), (20.0, 0.0)], 0.4);
        let needles = object.parts.iter_mut().flat_map(|part| &mut part.needles);
        for (k, needle) in needles.filter(|needle| needle.at.y > 0).enumerate() {
            needle.at.y -= 5 * (k as i32 % 3);
        }
        let column = Column::of(&object).unwrap();
        for i in 20..column.len() - 20 {
            let [upper, lower] = [0, 1].map(|rail| column.rails[rail][i].y);
            assert!((upper - 4.5).abs() < 0.15, "{upper}");
            assert!(lower.abs() < 1e-9, "{lower}");
        }
    }

    #[test]
    fn a_ring_is_closed() {
        let object = ring(1, 0, &circle((0.0, 0.0), 10.0, 72), &circle((0.0, 0.0), 7.0, 72), 0.4);
        let column = Column::of(&object).unwrap();
        assert!(column.closed);
        assert!((column.width(50) - 3.0).abs() < 0.1);
    }
}
