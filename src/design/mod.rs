//! The needle points of a tape as a flat list, cut into stretches at stops, trims and jumps.

mod assemble;
mod from_tape;
mod loose;
mod moves;
mod point;
mod summary;
mod trim;

pub use assemble::{AssembleError, Assembled, assemble, assemble_linked};
pub use from_tape::{from_tape, from_tape_counting};
pub use point::Pt;
pub use summary::Summary;
pub use trim::{TRIM_JUMPS, TrimForm, TrimRule};

use std::ops::Range;

/// How the needle gets to a point from the needle point before it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, serde::Serialize, serde::Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Link {
    /// An ordinary stitch.
    Sewn,
    /// Jumps without a trim: the thread stays.
    Jump,
    /// Jumps in the file's trim form: the machine cuts.
    Trim,
    /// A colour change (with whatever jumps surround it).
    Stop,
}

/// Every needle penetration of a tape, in order.
///
/// `points[i]` is the needle point, `links[i]` how it is reached and `records[i]` the tape records
/// (indices into `Tape::records`) that lead from penetration `i - 1` to it, its own record last.
/// Record kinds that are no penetration (jumps, stops, sequin toggles) are part of the next
/// penetration's range; what follows the last penetration is `closing`. `links[0]` leads from the
/// start point (0, 0), which is no needle point: it is never [`Link::Sewn`].
#[derive(Clone, Debug, Default)]
pub struct Design {
    pub points: Vec<Pt>,
    pub links: Vec<Link>,
    pub records: Vec<Range<usize>>,
    /// Stop (0-based colour block) of each penetration; a change without stitches after it
    /// (dangling) makes no stop.
    pub stops: Vec<u32>,
    /// Stretches: maximal ranges of penetrations joined by [`Link::Sewn`].
    pub stretches: Vec<Range<usize>>,
    /// Records after the last penetration, the end record excluded.
    pub closing: Range<usize>,
    /// Position after all records (points).
    pub final_position: Pt,
    /// Penetrations that lie in sequin mode or carry a sequin toggle: never to be touched.
    pub sequin: Vec<bool>,
    /// How this file asks for a trim, and what counts as one.
    pub trim: TrimRule,
    /// Penetrations that are reached by more jumps than they need.
    pub loose: Vec<u32>,
}

impl Design {
    /// Number of colour blocks that hold at least one needle point.
    pub fn stop_count(&self) -> u32 {
        self.stops.last().map_or(0, |last| last + 1)
    }
}
