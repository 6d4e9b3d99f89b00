//! The one library call: bytes in, mended bytes and an account out.

mod analysis;
mod log;
mod rounds;

pub use analysis::Analysis;

use crate::design::AssembleError;
use crate::report::Log;
use crate::settings::Settings;
use crate::tape::{self, Salvage, TapeError};

/// What a run gives back.
#[derive(Clone, Debug)]
pub struct Outcome {
    /// The mended tape; the input's own bytes where nothing was changed.
    pub bytes: Vec<u8>,
    pub log: Log,
}

/// Why a tape could not be worked on.
#[derive(Debug, thiserror::Error)]
pub enum MendError {
    #[error(transparent)]
    Tape(#[from] TapeError),
    #[error("{given} colours are given for {stops} stops; name one for each stop")]
    Colours { given: usize, stops: u32 },
}

/// Recognises, repairs and proves one tape.
///
/// # Errors
/// If the tape cannot be read, or the colours do not match its stops. Nothing else fails: what
/// cannot be repaired is left as it was and reported.
pub fn mend(bytes: &[u8], settings: &Settings) -> Result<Outcome, MendError> {
    let (tape, warnings) = tape::read(bytes, Salvage::from(settings.salvage))?;
    let before = Analysis::of(tape, settings);
    if let Some(colours) = &settings.colours
        && colours.len() != before.design.stop_count() as usize
    {
        return Err(MendError::Colours { given: colours.len(), stops: before.design.stop_count() });
    }
    let mut settled = rounds::settle(&before, settings);
    // An unchanged tape is the input byte for byte, unless a salvage dropped its damage.
    let out = settled.bytes.take().unwrap_or_else(|| tape::write(&before.tape));
    let log = log::write(bytes, &out, &before, &settled, warnings, settings);
    Ok(Outcome { bytes: out, log })
}

/// Why a planned tape cannot be judged: a fault of this program, never of the tape.
#[derive(Debug, thiserror::Error)]
enum BuildError {
    #[error(transparent)]
    Assemble(#[from] AssembleError),
    #[error("what would be written cannot be read back: {0}")]
    ReadBack(#[from] TapeError),
}
