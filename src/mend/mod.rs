//! The library calls: bytes in, mended bytes and an account out; or a survey that changes nothing.

mod analysis;
mod faults;
mod further;
mod log;
mod rounds;
mod short;
mod thread;

pub use analysis::Analysis;

use std::collections::BTreeSet;

use crate::design::AssembleError;
use crate::report::Log;
use crate::settings::Settings;
use crate::tape::{self, Salvage, TapeError, Warning};

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
    #[error("colours given: {given}, stops: {stops}; name one colour for each stop")]
    Colours { given: usize, stops: u32 },
}

/// Recognises, repairs and proves one tape.
///
/// # Errors
/// If the tape cannot be read, or the colours do not match its stops. Nothing else fails: what
/// cannot be repaired is left as it was and reported.
pub fn mend(bytes: &[u8], settings: &Settings) -> Result<Outcome, MendError> {
    let (before, warnings) = analyse(bytes, settings)?;
    let mut settled = further::settle(&before, settings);
    settled.short = short::of(&before, &settled, settings);
    // An unchanged tape is the input byte for byte, unless a salvage dropped its damage.
    let out = settled.bytes.take().unwrap_or_else(|| tape::write(&before.tape));
    let log = log::write(bytes, &out, &before, &settled, warnings, settings);
    Ok(Outcome { bytes: out, log })
}

/// What was read out of a tape that is only looked at.
pub struct Surveyed {
    pub analysis: Analysis,
    /// The log of a repair in which no pass runs: both always find the same.
    pub log: Log,
}

/// Recognises and measures one tape; changes nothing.
///
/// # Errors
/// As [`mend`].
pub fn survey(bytes: &[u8], settings: &Settings) -> Result<Surveyed, MendError> {
    let settings = &Settings { passes: BTreeSet::new(), ..settings.clone() };
    let (analysis, warnings) = analyse(bytes, settings)?;
    let settled = rounds::unchanged(Vec::new(), Vec::new(), 0);
    let log = log::write(bytes, bytes, &analysis, &settled, warnings, settings);
    Ok(Surveyed { analysis, log })
}

fn analyse(bytes: &[u8], settings: &Settings) -> Result<(Analysis, Vec<Warning>), MendError> {
    let (tape, warnings) = tape::read(bytes, Salvage::from(settings.salvage))?;
    let analysis = Analysis::of(tape, settings);
    let stops = analysis.design.stop_count();
    match &settings.colours {
        Some(colours) if colours.len() != stops as usize => {
            Err(MendError::Colours { given: colours.len(), stops })
        }
        _ => Ok((analysis, warnings)),
    }
}

/// Why a planned tape cannot be judged: a fault of this program, never of the tape.
#[derive(Debug, thiserror::Error)]
enum BuildError {
    #[error(transparent)]
    Assemble(#[from] AssembleError),
    #[error("what would be written cannot be read back: {0}")]
    ReadBack(#[from] TapeError),
}
