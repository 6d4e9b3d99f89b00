use std::ops::Range;

use super::trim::{self, TRIM_JUMPS, TrimRule};
use super::{Design, Link, Pt, loose};
use crate::tape::{Kind, Record, Tape};

/// Flattens a tape into needle points. A trim is [`TRIM_JUMPS`] consecutive jumps, or a pair of
/// opposite marker jumps.
pub fn from_tape(tape: &Tape) -> Design {
    from_tape_counting(tape, TRIM_JUMPS)
}

/// Flattens a tape for machines that cut after `trim_jumps` consecutive jumps (at least 1).
pub fn from_tape_counting(tape: &Tape, trim_jumps: u32) -> Design {
    let mut walk = Walk::default();
    let mut design = Design::default();
    design.trim.jumps = trim_jumps.max(1);
    for (index, record) in tape.records.iter().enumerate() {
        walk.take(*record);
        if record.kind() == Kind::Stitch {
            let range = walk.start..index + 1;
            walk.start = index + 1;
            design.push(&tape.records, range, &mut walk);
        }
    }
    design.closing = walk.start..tape.records.len();
    design.final_position = walk.at;
    design.stretches = stretches(&design.links);
    let links = design.links.iter().zip(&design.records).skip(1);
    let trims = links.filter(|(link, _)| **link == Link::Trim);
    design.trim.form = trim::form(trims.map(|(_, range)| &tape.records[range.clone()]));
    design.loose = loose::ways(tape, &design);
    design
}

#[derive(Default)]
struct Walk {
    at: Pt,
    /// First record since the last penetration.
    start: usize,
    /// Sequin mode is on.
    sequin: bool,
    /// Sequin mode was on, or was switched, since the last penetration.
    touched: bool,
}

impl Walk {
    fn take(&mut self, record: Record) {
        self.at = self.at + record.delta();
        if record.kind() == Kind::SequinToggle {
            self.sequin = !self.sequin;
            self.touched = true;
        }
    }
}

impl Design {
    fn push(&mut self, records: &[Record], range: Range<usize>, walk: &mut Walk) {
        let way = &records[range.clone()];
        let sequin = walk.touched || walk.sequin;
        walk.touched = false;
        let link = link(way, sequin, self.trim);
        let stop = match (self.stops.last(), link) {
            (None, _) => 0,
            (Some(last), Link::Stop) => last + 1,
            (Some(last), _) => *last,
        };
        self.points.push(walk.at);
        self.links.push(if self.links.is_empty() && link == Link::Sewn {
            Link::Jump
        } else {
            link
        });
        self.records.push(range);
        self.stops.push(stop);
        self.sequin.push(sequin);
    }
}

/// How these records, the last of them a stitch, lead to a needle point. Jumps in sequin mode drop
/// sequins and make no trim.
pub(super) fn link(way: &[Record], sequin: bool, trim: TrimRule) -> Link {
    if way.iter().any(|record| record.kind() == Kind::Stop) {
        Link::Stop
    } else if way.len() == 1 {
        Link::Sewn
    } else if !sequin && trim.is_trim(way) {
        Link::Trim
    } else {
        Link::Jump
    }
}

fn stretches(links: &[Link]) -> Vec<Range<usize>> {
    links
        .chunk_by(|_, next| *next == Link::Sewn)
        .scan(0, |start, chunk| {
            let range = *start..*start + chunk.len();
            *start = range.end;
            Some(range)
        })
        .collect()
}
