//! The 512 header bytes: what they say, and how to put them right without losing anything.

mod counts;
mod fields;
mod threads;

use super::{Tape, Warning};
use counts::Habits;
use fields::Field;
pub use threads::ThreadEntry;

/// What a header says. Nothing in it is to be trusted: the records count.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Header {
    /// Bytes from a stranger: show them through [`super::inert`] only.
    pub label: Vec<u8>,
    /// `ST`: records, the end record included.
    pub records: Option<i64>,
    /// `CO`: colour changes.
    pub changes: Option<i64>,
    /// `+X`, `-X`, `+Y`, `-Y`: reach from the start point, magnitudes in points.
    pub reach: [Option<i64>; 4],
    /// `AX`, `AY`: last position minus start, points.
    pub last: [Option<i64>; 2],
    /// `MX`, `MY`: last position of the file before this one in a set, points.
    pub before: [Option<i64>; 2],
    /// `PD`: name of that file.
    pub set: Vec<u8>,
    /// Thread of each stop, where the writer noted it.
    pub threads: Vec<ThreadEntry>,
}

impl Header {
    pub(super) fn parse(bytes: &[u8]) -> Self {
        let text = |field: Field| field.value(bytes).map(<[u8]>::to_vec).unwrap_or_default();
        let number = |field: Field| field.value(bytes).and_then(fields::number);
        Self {
            label: fields::trim(&text(Field::Label)).to_vec(),
            records: number(Field::Records),
            changes: number(Field::Changes),
            reach: [Field::PlusX, Field::MinusX, Field::PlusY, Field::MinusY]
                .map(|field| number(field).map(i64::saturating_abs)),
            last: [Field::LastX, Field::LastY].map(number),
            before: [Field::BeforeX, Field::BeforeY].map(number),
            set: text(Field::Set),
            threads: threads::entries(bytes),
        }
    }

    /// Where it disagrees with the records. Counting habits of known writers are no disagreement.
    pub fn differences(&self, tape: &Tape) -> Vec<Warning> {
        let habits = Habits::of(self, tape);
        let (mut warnings, mut unreadable) = (Vec::new(), Vec::new());
        if habits.swapped {
            warnings.push(Warning::HeaderSwapped);
        }
        for (field, counted) in habits.counted(tape) {
            match self.number(field) {
                Some(says) if says == counted => {}
                Some(says) => {
                    warnings.push(Warning::HeaderDiffers { field: field.tag(), says, counted });
                }
                None => unreadable.push(field.tag()),
            }
        }
        if !unreadable.is_empty() {
            warnings.push(Warning::HeaderUnreadable { fields: unreadable });
        }
        warnings
    }

    fn number(&self, field: Field) -> Option<i64> {
        match field {
            Field::Records => self.records,
            Field::Changes => self.changes,
            Field::PlusX => self.reach[0],
            Field::MinusX => self.reach[1],
            Field::PlusY => self.reach[2],
            Field::MinusY => self.reach[3],
            Field::LastX => self.last[0],
            Field::LastY => self.last[1],
            Field::BeforeX => self.before[0],
            Field::BeforeY => self.before[1],
            Field::Label | Field::Set => None,
        }
    }
}

/// The header of `before`, put right for the records of `after`: known numbers are rewritten in
/// place in the file's own manner, thread entries follow the stops, all else stays as it was.
///
/// `order` gives, for each stop of `after`, the stop of `before` that it was (`None`: a new one).
pub fn renewed(before: &Tape, after: &Tape, order: &[Option<u32>]) -> Vec<u8> {
    let habits = Habits::of(&before.parsed_header(), before);
    let mut bytes = before.header.clone();
    for (field, counted) in habits.counted(after) {
        fields::rewrite(&mut bytes, field, counted);
    }
    threads::permute(&mut bytes, order);
    bytes
}
