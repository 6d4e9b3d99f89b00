//! One stretch of needle points, made ready for measuring.

use std::ops::Range;

use geo::Coord;

use crate::design::Design;
use crate::geometry::polyline::nearest_on_segment;
use crate::geometry::vector::{distance, norm, turn};

/// A heading change from here on ends a row, degrees: rows and curved runs turn less at a needle
/// point, crossings and corners more.
const SWEEP_TURN: f64 = 50.0;

/// A smaller heading change also ends a row where both stitches are long enough for the grid not
/// to bend them this much: a straight row ends there and travel leads on.
const ROW_BEND: f64 = 18.0;
const ROW_BEND_STITCH: f64 = 0.9;

/// A stitch no longer than one point of the tape's grid goes nowhere, mm.
const FOLDED: f64 = 0.105;

/// Needle points this close are the same point up to the grid, mm.
pub const SAME_POINT: f64 = 0.15;

/// The distinct needle points of a stretch. Stitches of no length, or one grid point, are folded into
/// the point before them: every file has some and they say nothing about the shape.
pub struct Track {
    /// Positions in mm.
    pub at: Vec<Coord<f64>>,
    /// Index of each position's (first) penetration in the design.
    pub index: Vec<usize>,
}

impl Track {
    pub fn new(design: &Design, stretch: &Range<usize>) -> Self {
        let mut track = Self { at: Vec::new(), index: Vec::new() };
        for i in stretch.clone() {
            let folded = track
                .at
                .last()
                .is_some_and(|last| distance(*last, design.points[i].mm()) <= FOLDED);
            if !folded {
                track.at.push(design.points[i].mm());
                track.index.push(i);
            }
        }
        track
    }

    /// The part from one of its points to another, both included.
    pub fn between(&self, from: usize, to: usize) -> Self {
        Self { at: self.at[from..=to].to_vec(), index: self.index[from..=to].to_vec() }
    }

    pub fn len(&self) -> usize {
        self.at.len()
    }

    /// Length of the stitch that ends at point `i`, mm.
    pub fn stitch(&self, i: usize) -> f64 {
        distance(self.at[i - 1], self.at[i])
    }

    /// Heading change at point `i`, degrees in (−180, 180]; 0 at the ends.
    pub fn turn(&self, i: usize) -> f64 {
        if i == 0 || i + 1 >= self.len() {
            return 0.0;
        }
        turn(self.at[i] - self.at[i - 1], self.at[i + 1] - self.at[i])
    }

    /// Does the stitch from an inner point `i` go back over the one that leads there?
    pub fn retraces(&self, i: usize) -> bool {
        distance(self.at[i - 1], self.at[i + 1]) <= SAME_POINT
    }

    /// Does a straight row end at point `i`?
    pub fn bends(&self, i: usize) -> bool {
        let turn = self.turn(i).abs();
        turn >= SWEEP_TURN
            || turn >= ROW_BEND
                && self.stitch(i) >= ROW_BEND_STITCH
                && self.stitch(i + 1) >= ROW_BEND_STITCH
    }
}

/// A chain of stitches: a crossing of a satin or a row of a fill. Indices into the track, both inclusive.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Sweep {
    pub first: usize,
    pub last: usize,
}

impl Sweep {
    /// The same stitches, counted from `by` points further on.
    pub fn shifted(self, by: usize) -> Self {
        Self { first: self.first + by, last: self.last + by }
    }

    pub fn stitches(&self) -> usize {
        self.last - self.first
    }

    pub fn chord(&self, track: &Track) -> Coord<f64> {
        track.at[self.last] - track.at[self.first]
    }

    pub fn length(&self, track: &Track) -> f64 {
        norm(self.chord(track))
    }

    /// Where along it, in points of the track, a position lies nearest, and how far off, mm.
    pub fn nearest(&self, track: &Track, to: Coord<f64>) -> Option<(f64, f64)> {
        let stitch = |i: usize| {
            let (at, along) = nearest_on_segment(track.at[i], track.at[i + 1], to);
            (i as f64 + along, distance(at, to))
        };
        (self.first..self.last).map(stitch).min_by(|a, b| a.1.total_cmp(&b.1))
    }

    /// Thread along it, mm.
    pub fn sewn(&self, track: &Track) -> f64 {
        (self.first + 1..=self.last).map(|i| track.stitch(i)).sum()
    }

    pub fn middle(&self, track: &Track) -> Coord<f64> {
        (track.at[self.last] + track.at[self.first]) / 2.0
    }
}

/// The longest runs of sweeps each of which follows the one before.
pub fn chains(sweeps: Vec<Sweep>, follows: impl Fn(&Sweep, &Sweep) -> bool) -> Vec<Vec<Sweep>> {
    let mut chains: Vec<Vec<Sweep>> = Vec::new();
    for sweep in sweeps {
        match chains.last_mut() {
            Some(chain) if chain.last().is_some_and(|last| follows(last, &sweep)) => {
                chain.push(sweep);
            }
            _ => chains.push(vec![sweep]),
        }
    }
    chains
}

/// What lies between the corners of so many degrees, or more, of a line.
pub fn between_corners(track: &Track, (from, to): (usize, usize), corner: f64) -> Vec<Sweep> {
    let corners = (from + 1..to).filter(|i| track.turn(*i).abs() >= corner);
    let ends: Vec<usize> = std::iter::once(from).chain(corners).chain([to]).collect();
    ends.windows(2).map(|w| Sweep { first: w[0], last: w[1] }).collect()
}
