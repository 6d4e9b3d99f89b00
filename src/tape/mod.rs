//! DST tape: reader and writer. Nothing else in the program knows a byte layout.
//!
//! Layout after "Embroidery format DST", "Tajima Ternary" and "DST" (achatina.de): a header of 512
//! bytes, then records of three bytes, ended by `00 00 F3`; some files carry bytes after it.

mod error;
mod escape;
mod header;
mod read;
mod record;
mod write;

pub use error::{TapeError, Warning};
pub use escape::inert;
pub use header::{Header, ThreadEntry, renewed};
pub use read::{FAR, Salvage, read};
pub use record::{Kind, Record};
pub use write::write;

use crate::design::Pt;

/// A tape as read, byte for byte. Two tapes are equal if their files are.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Tape {
    /// The 512 header bytes as they stood in the file.
    pub header: Vec<u8>,
    /// All records before the end record.
    pub records: Vec<Record>,
    /// The end record and every byte after it.
    pub tail: Vec<u8>,
}

impl Tape {
    /// What the header says, which is never to be trusted for anything but the label.
    pub fn parsed_header(&self) -> Header {
        Header::parse(&self.header)
    }

    /// Number of records of one kind.
    pub fn count(&self, kind: Kind) -> usize {
        self.records.iter().filter(|record| record.kind() == kind).count()
    }

    /// Smallest and largest position over all records, the start point (0, 0) included; points.
    pub fn extents(&self) -> (Pt, Pt) {
        let (mut at, mut low, mut high) = (Pt::default(), Pt::default(), Pt::default());
        for record in &self.records {
            at = at + record.delta();
            low = Pt::new(low.x.min(at.x), low.y.min(at.y));
            high = Pt::new(high.x.max(at.x), high.y.max(at.y));
        }
        (low, high)
    }

    /// Position after all records, from the start point (0, 0); points.
    pub fn final_position(&self) -> Pt {
        self.records.iter().fold(Pt::default(), |at, record| at + record.delta())
    }
}
