//! Ways on loose thread that hold more jumps than they need: each costs the machine a turn.

use super::from_tape::link;
use super::moves::linked;
use super::trim::is_marked;
use super::{Design, Link};
use crate::tape::Tape;

/// So many records more than a way needs are a habit of the file, not waste (J).
const ROOM: usize = 1;

/// Penetrations that are reached by more jumps than the file's own form of such a way needs. Ways
/// with a marker pair in a file whose trims have none are left alone: the pair means something.
pub fn ways(tape: &Tape, design: &Design) -> Vec<u32> {
    let is_loose = |i: &usize| {
        let was = design.links[*i];
        if !matches!(was, Link::Jump | Link::Trim) || design.sequin[*i] || *i == 0 {
            return false;
        }
        let way = &tape.records[design.records[*i].clone()];
        let by = design.points[*i] - design.points[*i - 1];
        let Ok(fresh) = linked(was, by, design.trim, f64::INFINITY) else { return false };
        way.len() > fresh.len() + ROOM
            && link(&fresh, false, design.trim) == was
            && is_marked(way) == is_marked(&fresh)
    };
    (0..design.points.len()).filter(is_loose).filter_map(|i| u32::try_from(i).ok()).collect()
}
