//! DST tape: reader and writer. Nothing else in the program knows a byte layout.

mod record;

pub use record::{Kind, Record};

/// A tape as read, byte for byte.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Tape {
    /// The 512 header bytes as they stood in the file.
    pub header: Vec<u8>,
    /// All records before the end record.
    pub records: Vec<Record>,
    /// The end record and every byte after it.
    pub tail: Vec<u8>,
}
