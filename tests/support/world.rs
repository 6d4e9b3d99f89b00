//! What the truth says of a design, as geometry: objects, junctions, and what is sewn where in the
//! original and in a tape made from it.

use std::collections::BTreeMap;

use super::decode::{self, Change, Kind, Tape};
use super::lines::{Lines, Stitch};
use super::plane::{Area, P, dist};
use super::{Fault, Truth};

pub struct Piece {
    pub id: String,
    pub class: String,
    pub stop: usize,
    pub first: usize,
    pub last: usize,
    pub area: Area,
    pub rails: Option<[Vec<P>; 2]>,
    pub closed: bool,
    pub hides: bool,
    pub angle: Option<f64>,
    pub row_pitch: Option<f64>,
    /// Least and greatest length of the crossings of a satin, mm.
    pub width: Option<[f64; 2]>,
}

pub struct Shared {
    pub under: usize,
    pub over: usize,
    pub kind: String,
    /// As the truth of the unchanged design states them.
    pub overlap: [f64; 2],
    pub length: f64,
    pub curve: Vec<P>,
}

/// The truth of one design, moved like its tape.
pub struct World {
    pub name: String,
    pub pieces: Vec<Piece>,
    pub shared: Vec<Shared>,
    pub faults: Vec<Fault>,
    pub original: Sewing,
}

impl World {
    /// `bytes` is the original tape after `change`.
    pub fn new(truth: Truth, bytes: &[u8], change: &Change) -> Self {
        let move_all = |ring: &[P]| ring.iter().map(|p| change.place(*p)).collect::<Vec<_>>();
        let pieces: Vec<Piece> = truth
            .objects
            .into_iter()
            .map(|o| Piece {
                area: Area::new(o.outline.iter().flatten().map(|r| move_all(r)).collect()),
                rails: o.rails.map(|rails| rails.map(|r| move_all(&r))),
                closed: o.closed,
                hides: o.hides,
                angle: o.angle_deg.map(|a| if change.mirror { 180.0 - a } else { a }),
                row_pitch: o.row_pitch_mm.map(|p| p * change.scale),
                width: o.width_mm.map(|w| w.map(|v| v * change.scale)),
                id: o.id,
                class: o.class,
                stop: o.stop as usize,
                first: o.first,
                last: o.last,
            })
            .collect();
        let index: BTreeMap<&str, usize> =
            pieces.iter().enumerate().map(|(k, p)| (p.id.as_str(), k)).collect();
        let shared = truth
            .junctions
            .iter()
            .map(|j| Shared {
                under: index[j.under.as_str()],
                over: index[j.over.as_str()],
                kind: j.kind.clone(),
                overlap: j.overlap_mm,
                length: j.length_mm,
                curve: move_all(&j.curve),
            })
            .collect();
        let original = Sewing::original(bytes);
        Self { name: truth.name, shared, faults: truth.faults, original, pieces }
    }

    pub fn piece(&self, id: &str) -> usize {
        self.pieces.iter().position(|p| p.id == id).unwrap_or_else(|| panic!("no object {id}"))
    }

    /// Stitches of the original with the object that they belong to: all that is sewn after the
    /// object before it, up to its own last stitch.
    pub fn owners(&self) -> Owners {
        let mut order: Vec<usize> = (0..self.pieces.len()).collect();
        order.sort_by_key(|&k| self.pieces[k].last);
        let mut out = BTreeMap::new();
        for s in &self.original.stitches {
            let k = order.partition_point(|&k| self.pieces[k].last < s.rank);
            if let Some(&piece) = order.get(k) {
                let top = s.rank >= self.pieces[piece].first;
                out.insert((s.stop, ends(s.a, s.b)), Owner { piece, top });
            }
        }
        Owners(out)
    }
}

/// Whose the stitches of the original are, by their thread and ends: stitches in two threads may lie
/// in one place.
pub struct Owners(BTreeMap<(usize, Ends), Owner>);

impl Owners {
    pub fn of(&self, s: &Stitch) -> Option<&Owner> {
        self.0.get(&(s.stop, ends(s.a, s.b)))
    }
}

/// Whose a stitch of the original is.
#[derive(Clone, Copy)]
pub struct Owner {
    pub piece: usize,
    /// Part of the top stitching (else of what lies beneath it, or of a way to it).
    pub top: bool,
}

/// A stitch by its ends, in points.
pub type Ends = [[i32; 2]; 2];

/// Both ends in a fixed order.
pub fn ends(a: P, b: P) -> Ends {
    let points = |p: P| p.map(|v| (v * 10.0).round() as i32);
    let mut out = [points(a), points(b)];
    out.sort_unstable();
    out
}

/// A tape as stitches, its stops named after those of the original.
pub struct Sewing {
    pub tape: Tape,
    pub stitches: Vec<Stitch>,
    pub per_stop: Vec<Lines>,
    /// For each stop the stop of the original that it was.
    names: Vec<usize>,
}

impl Sewing {
    pub fn original(bytes: &[u8]) -> Self {
        let tape = decode::decode(bytes);
        let stops = tape.needles.last().map_or(1, |n| n.stop + 1);
        Self::with_stops(tape, &(0..stops).collect::<Vec<_>>())
    }

    /// Stops may have changed places: each goes by the original stop whose cover it has most of.
    pub fn mended(bytes: &[u8], original: &Self) -> Self {
        let tape = decode::decode(bytes);
        let ours = Self::with_stops(tape, &(0..).take(256).collect::<Vec<_>>());
        let names = matched(&original.covers(), &ours.covers());
        Self::with_stops(ours.tape, &names)
    }

    fn with_stops(tape: Tape, names: &[usize]) -> Self {
        let mm = |p: [i32; 2]| p.map(|v| f64::from(v) / 10.0);
        let stitches: Vec<Stitch> = tape
            .needles
            .windows(2)
            .enumerate()
            .filter(|(_, w)| w[1].sewn)
            .map(|(k, w)| Stitch {
                a: mm(w[0].at),
                b: mm(w[1].at),
                rank: k + 1,
                stop: names[w[1].stop],
            })
            .collect();
        let stops = stitches.iter().map(|s| s.stop + 1).max().unwrap_or(0);
        let per_stop = (0..stops)
            .map(|stop| Lines::new(stitches.iter().filter(|s| s.stop == stop).copied().collect()))
            .collect();
        Self { tape, stitches, per_stop, names: names.to_vec() }
    }

    /// Stitches that end at penetrations `first` to `last`.
    pub fn span(&self, first: usize, last: usize) -> impl Iterator<Item = &Stitch> {
        self.stitches.iter().filter(move |s| (first..=last).contains(&s.rank))
    }

    pub fn stop(&self, stop: usize) -> &[Stitch] {
        self.per_stop.get(stop).map_or(&[], |lines| &lines.items)
    }

    /// Cells of 0.5 mm that each stop touches.
    fn covers(&self) -> Vec<std::collections::BTreeSet<[i32; 2]>> {
        let cell = |p: P| p.map(|v| (v * 2.0).floor() as i32);
        self.per_stop
            .iter()
            .map(|lines| lines.items.iter().flat_map(|s| s.walk(0.25)).map(cell).collect())
            .collect()
    }

    /// Jump records that carry a loose, uncut thread, as stitches: runs shorter than the file's own
    /// trims (`trim` jumps), but for those that a pair of jumps more than the way needs marks as trims.
    pub fn bare_jumps(&self, trim: usize) -> Vec<Stitch> {
        let mm = |p: [i32; 2]| p.map(|v| f64::from(v) / 10.0);
        let needles = self.tape.needles.windows(2).enumerate();
        needles
            .filter(|(_, w)| w[0].stop == w[1].stop && w[1].jumps > 0)
            .filter(|(_, w)| w[1].jumps < trim && w[1].jumps < needed(w[0].at, w[1].at) + MARK)
            .map(|(k, w)| Stitch {
                a: mm(w[0].at),
                b: mm(w[1].at),
                rank: k + 1,
                stop: self.names[w[1].stop],
            })
            .filter(|s| dist(s.a, s.b) > 0.0)
            .collect()
    }

    /// Fewest jumps between two stitches of one stop.
    pub fn shortest_jump_run(&self) -> usize {
        let same = self.tape.needles.windows(2).filter(|w| w[0].stop == w[1].stop);
        same.map(|w| w[1].jumps).filter(|n| *n > 0).min().unwrap_or(0)
    }

    pub fn count(&self, kind: Kind) -> usize {
        self.tape.records.iter().filter(|r| r.kind == kind).count()
    }
}

/// Jumps of a pair that marks a trim.
const MARK: usize = 2;

/// Fewest jumps from one place to another.
fn needed(from: [i32; 2], to: [i32; 2]) -> usize {
    let far = (0..2).map(|axis| (to[axis] - from[axis]).unsigned_abs()).max().unwrap_or(0);
    far.div_ceil(decode::MOVE_LIMIT.unsigned_abs()) as usize
}

/// For each new stop the old one with the best shared cover, best pairs first.
fn matched<T: Ord>(
    old: &[std::collections::BTreeSet<T>],
    new: &[std::collections::BTreeSet<T>],
) -> Vec<usize> {
    let mut pairs = Vec::new();
    for (i, a) in old.iter().enumerate() {
        for (j, b) in new.iter().enumerate() {
            let both = a.intersection(b).count();
            let share = both as f64 / (a.len() + b.len() - both).max(1) as f64;
            pairs.push((share, i, j));
        }
    }
    pairs.sort_by(|a, b| b.0.total_cmp(&a.0).then((a.1, a.2).cmp(&(b.1, b.2))));
    // A stop without a partner keeps a number that no original stop has.
    let mut names: Vec<usize> = (0..new.len()).map(|j| old.len() + j).collect();
    let mut taken = vec![false; old.len()];
    for (_, i, j) in pairs {
        if !taken[i] && names[j] >= old.len() {
            (taken[i], names[j]) = (true, i);
        }
    }
    names
}
