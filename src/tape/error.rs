use crate::design::Pt;

/// Why a tape was refused. Messages name the byte offset and the remedy; the caller adds the file.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum TapeError {
    #[error("byte 0: the file is empty; export or copy it again")]
    Empty,
    #[error(
        "byte {offset}: the file ends inside the 512-byte header, so it holds no stitches; \
         export or copy it again"
    )]
    ShortHeader { offset: usize },
    #[error("byte 512: the file ends after the header and holds no stitches; export it again")]
    HeaderOnly,
    #[error(
        "byte {offset}: the last record has only {bytes} of its 3 bytes, so the file was cut off; \
         copy it again, or read up to there with --salvage"
    )]
    PartialRecord { offset: usize, bytes: usize },
    #[error(
        "byte {offset}: the file stops without an end record, so stitches may be missing; \
         copy it again, or take what is there with --salvage"
    )]
    MissingEnd { offset: usize },
    #[error(
        "byte {offset}: {} is no record (the low two bits of its third byte are not set), so the \
         file is damaged or no DST tape; copy it again, or read up to there with --salvage",
        hex(.bytes)
    )]
    NoRecord { offset: usize, bytes: [u8; 3] },
    #[error(
        "byte {offset}: an end record, but sewing follows it at byte {sewing}; export the file \
         again, or let --salvage choose a reading and say which"
    )]
    EarlyEnd { offset: usize, sewing: usize },
    #[error(
        "byte {offset}: the needle would stand {:.1} mm right of and {:.1} mm above the start, more \
         than 3 m away, so the file is damaged; copy it again, or read up to there with --salvage",
        .at.mm().x, .at.mm().y
    )]
    OutOfReach { offset: usize, at: Pt },
    #[error("byte {offset}: the tape ends here without a single needle point; export it again")]
    NoNeedle { offset: usize },
}

/// What a reader should know about a tape that was read all the same.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum Warning {
    #[error("the header says {field} = {says}, the records make it {counted}; the records count")]
    HeaderDiffers { field: &'static str, says: i64, counted: i64 },
    #[error("the header has no readable {}; the records count", .fields.join(", "))]
    HeaderUnreadable { fields: Vec<&'static str> },
    #[error("the header has +Y and -Y the other way round; the records count")]
    HeaderSwapped,
    #[error("{bytes} bytes follow the end record at byte {offset}; they are kept as they are")]
    AfterEnd { offset: usize, bytes: usize },
    #[error("salvage: {bytes} bytes from byte {offset} were dropped, because of this: {damage}")]
    Dropped { offset: usize, bytes: usize, damage: TapeError },
    #[error("salvage: an end record was added at byte {offset}")]
    EndAdded { offset: usize },
    #[error(
        "salvage: {count} end record(s), the first at byte {offset}, were read as colour changes, \
         because the tape goes on soundly to an end record of its own; check the colour order"
    )]
    EndReadAsStop { offset: usize, count: usize },
}

impl Warning {
    /// Was something of the tape lost or read on a guess? Then a person should look.
    pub fn is_loss(&self) -> bool {
        matches!(self, Self::Dropped { .. } | Self::EndAdded { .. } | Self::EndReadAsStop { .. })
    }
}

/// Bytes as people write them.
fn hex(bytes: &[u8]) -> String {
    bytes.iter().map(|byte| format!("{byte:02X}")).collect::<Vec<_>>().join(" ")
}
