use super::{Kind, Record, Tape, TapeError, Warning};
use crate::design::Pt;

/// What to do about a damaged tape.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Salvage {
    /// Refuse it.
    #[default]
    Refuse,
    /// Read up to the damage and say what was dropped.
    UpToDamage,
}

impl From<bool> for Salvage {
    fn from(salvage: bool) -> Self {
        if salvage { Self::UpToDamage } else { Self::Refuse }
    }
}

const HEADER: usize = 512;

/// No machine's field comes near: 3 m in points (J). Beyond it a tape is damaged, and sums of
/// positions stay far from overflow.
pub const FAR: i32 = 30_000;

/// A single 0x1A after the end record is a habit of some writers, not worth a warning.
const END_OF_TEXT: &[u8] = &[0x1A];

/// Reads a tape. Without salvage, [`super::write`] gives back exactly the bytes that were read;
/// with it, what is written is a sound tape that is read without salvage.
///
/// # Errors
/// The first damage by byte offset; with salvage only what leaves no needle point to work on.
pub fn read(bytes: &[u8], salvage: Salvage) -> Result<(Tape, Vec<Warning>), TapeError> {
    let header = match bytes.len() {
        0 => return Err(TapeError::Empty),
        len if len < HEADER => return Err(TapeError::ShortHeader { offset: len }),
        HEADER => return Err(TapeError::HeaderOnly),
        _ => bytes[..HEADER].to_vec(),
    };
    let layout = Layout::of(bytes);
    let mut walk = Walk { records: Vec::with_capacity(layout.end), ..Walk::default() };
    let damage = walk.through(bytes, &layout, salvage).err();
    if let Some(damage) = damage.clone().filter(|_| salvage == Salvage::Refuse) {
        return Err(damage);
    }
    let end = HEADER + 3 * walk.records.len();
    if !walk.records.iter().any(|record| record.kind() == Kind::Stitch) {
        return Err(TapeError::NoNeedle { offset: end });
    }
    let mut warnings = walk.warnings(&bytes[end..], damage.as_ref());
    let tail = if damage.is_some() { Record::END.to_vec() } else { bytes[end..].to_vec() };
    let tape = Tape { header, records: walk.records, tail };
    warnings.extend(tape.parsed_header().differences(&tape));
    Ok((tape, warnings))
}

/// Where sewing and the end lie, as numbers of records from the first one.
struct Layout {
    /// Records until the first that is damaged or cut off, the end record and what follows
    /// included.
    sound: usize,
    /// First end record that no movement follows; `sound` if there is none.
    end: usize,
    /// One past the last record with movement.
    sewn: usize,
}

impl Layout {
    fn of(bytes: &[u8]) -> Self {
        let records = || records(bytes).take_while(|record| record.in_sync());
        let moves = |record: &Record| record.delta() != Pt::default();
        let sound = records().count();
        let sewn = records().enumerate().filter(|(_, r)| moves(r)).last().map_or(0, |(i, _)| i + 1);
        let end = records().skip(sewn).position(|record| record.bytes == Record::END);
        Self { sound, end: end.map_or(sound, |at| sewn + at), sewn }
    }

    fn has_end(&self) -> bool {
        self.end < self.sound
    }
}

/// Whole records after the header.
fn records(bytes: &[u8]) -> impl Iterator<Item = Record> + '_ {
    bytes[HEADER..].as_chunks::<3>().0.iter().map(|&bytes| Record { bytes })
}

#[derive(Default)]
struct Walk {
    records: Vec<Record>,
    /// Offsets of the end records that were read as stops.
    early_ends: Vec<usize>,
}

impl Walk {
    /// Takes in records up to the end record (left out) or the first damage.
    fn through(
        &mut self,
        bytes: &[u8],
        layout: &Layout,
        salvage: Salvage,
    ) -> Result<(), TapeError> {
        let mut at = Pt::default();
        for (index, mut record) in records(bytes).take(layout.end).enumerate() {
            let offset = HEADER + 3 * index;
            if record.bytes == Record::END {
                if salvage == Salvage::Refuse || !layout.has_end() {
                    return Err(layout.early_end(bytes, index));
                }
                self.early_ends.push(offset);
                record = Record::STOP;
            }
            at = at + record.delta();
            if at.x.abs() > FAR || at.y.abs() > FAR {
                return Err(TapeError::OutOfReach { offset, at });
            }
            self.records.push(record);
        }
        if layout.has_end() { Ok(()) } else { Err(layout.damage(bytes)) }
    }

    /// What to say about the bytes that were not read, and about how the others were.
    fn warnings(&self, rest: &[u8], damage: Option<&TapeError>) -> Vec<Warning> {
        let offset = HEADER + 3 * self.records.len();
        let mut warnings = Vec::new();
        if let Some(&offset) = self.early_ends.first() {
            warnings.push(Warning::EndReadAsStop { offset, count: self.early_ends.len() });
        }
        match (damage, rest) {
            (None, [_, _, _, after @ ..]) if !after.is_empty() && after != END_OF_TEXT => {
                warnings.push(Warning::AfterEnd { offset: offset + 3, bytes: after.len() });
            }
            (None, _) => {}
            (Some(damage), rest) => {
                if !rest.is_empty() {
                    let (bytes, damage) = (rest.len(), damage.clone());
                    warnings.push(Warning::Dropped { offset, bytes, damage });
                }
                warnings.push(Warning::EndAdded { offset });
            }
        }
        warnings
    }
}

impl Layout {
    fn early_end(&self, bytes: &[u8], index: usize) -> TapeError {
        let next = records(bytes)
            .enumerate()
            .skip(index + 1)
            .find(|(_, record)| record.delta() != Pt::default())
            .map_or(self.sewn, |(next, _)| next);
        TapeError::EarlyEnd { offset: HEADER + 3 * index, sewing: HEADER + 3 * next }
    }

    /// Why the records stop without an end record.
    fn damage(&self, bytes: &[u8]) -> TapeError {
        let offset = HEADER + 3 * self.sound;
        match bytes[offset..] {
            [] => TapeError::MissingEnd { offset },
            [a, b, c, ..] => TapeError::NoRecord { offset, bytes: [a, b, c] },
            ref rest => TapeError::PartialRecord { offset, bytes: rest.len() },
        }
    }
}
