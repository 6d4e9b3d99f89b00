use super::fields::Field;
use super::{Header, Tape};
use crate::tape::Kind;

/// How the writer of a file counts, seen from its header and its records.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Habits {
    records: Records,
    /// `CO` counts colours instead of changes.
    colours: bool,
    /// `+Y` and `-Y` stand the other way round.
    pub swapped: bool,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Records {
    WithEnd,
    WithoutEnd,
    StitchesOnly,
}

impl Habits {
    pub fn of(header: &Header, tape: &Tape) -> Self {
        // With the end record first: that is what all measured files do.
        let records = [Records::WithEnd, Records::WithoutEnd, Records::StitchesOnly]
            .into_iter()
            .find(|way| header.records == Some(way.count(tape)))
            .unwrap_or(Records::WithEnd);
        let changes = whole(tape.count(Kind::Stop));
        let [_, _, up, down] = reach(tape);
        let says = [header.reach[2], header.reach[3]];
        Self {
            records,
            colours: header.changes == Some(changes + 1),
            swapped: up != down && says == [Some(down), Some(up)],
        }
    }

    /// The numbers that the header of this tape should hold, in this writer's way of counting.
    pub fn counted(self, tape: &Tape) -> [(Field, i64); 8] {
        let [right, left, mut up, mut down] = reach(tape);
        if self.swapped {
            (up, down) = (down, up);
        }
        let last = tape.final_position();
        let changes = whole(tape.count(Kind::Stop)) + i64::from(self.colours);
        [
            (Field::Records, self.records.count(tape)),
            (Field::Changes, changes),
            (Field::PlusX, right),
            (Field::MinusX, left),
            (Field::PlusY, up),
            (Field::MinusY, down),
            (Field::LastX, i64::from(last.x)),
            (Field::LastY, i64::from(last.y)),
        ]
    }
}

impl Records {
    fn count(self, tape: &Tape) -> i64 {
        match self {
            Self::WithEnd => whole(tape.records.len()) + 1,
            Self::WithoutEnd => whole(tape.records.len()),
            Self::StitchesOnly => whole(tape.count(Kind::Stitch)),
        }
    }
}

/// Right, left, up and down from the start point, points.
fn reach(tape: &Tape) -> [i64; 4] {
    let (low, high) = tape.extents();
    [high.x, -low.x, high.y, -low.y].map(i64::from)
}

/// A count as a header number; no memory holds a tape on which this saturates.
fn whole(count: usize) -> i64 {
    i64::try_from(count).unwrap_or(i64::MAX)
}
