//! Reads tapes, and keeps the library's failures apart from those of the tape.

use std::fmt::Display;
use std::fs::File;
use std::io::{ErrorKind, Read};
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::Path;
use std::sync::Mutex;

use super::exit::Exit;
use crate::mend::{Outcome, mend};
use crate::settings::Settings;

/// Why a file came to nothing: place, reason and remedy in one line (the caller names the file).
#[derive(Debug)]
pub struct Failure {
    pub exit: Exit,
    pub words: String,
}

impl Failure {
    pub fn refused(words: impl Into<String>) -> Self {
        Self { exit: Exit::Failed, words: words.into() }
    }
}

/// Largest tape, bytes (J): over 20 million records, far beyond any order; guards against
/// devices that never end.
const LARGEST: u64 = 64 << 20;

/// All bytes of a tape.
pub fn read(path: &Path) -> Result<Vec<u8>, Failure> {
    let cannot = |error: std::io::Error| {
        let remedy = match error.kind() {
            ErrorKind::NotFound => "check the name",
            ErrorKind::PermissionDenied => "ask for the right to read it",
            _ => "check the file and its disk",
        };
        Failure::refused(format!("byte 0: cannot be read ({error}); {remedy}"))
    };
    let file = File::open(path).map_err(cannot)?;
    if file.metadata().map_err(cannot)?.is_dir() {
        return Err(Failure::refused("byte 0: is a folder; name the tapes inside it"));
    }
    let mut bytes = Vec::new();
    file.take(LARGEST + 1).read_to_end(&mut bytes).map_err(cannot)?;
    if bytes.len() as u64 > LARGEST {
        return Err(Failure::refused(format!(
            "byte {LARGEST}: no tape is as large as this; check that it is one"
        )));
    }
    Ok(bytes)
}

/// Where the last panic began; kept for the one line that reports it.
static PANIC_PLACE: Mutex<Option<String>> = Mutex::new(None);

/// Keeps panics from printing; [`guarded`] reports them.
pub fn hush_panics() {
    std::panic::set_hook(Box::new(|info| {
        let place = info.location().map(|at| format!("{}:{}", at.file(), at.line()));
        if let Ok(mut kept) = PANIC_PLACE.lock() {
            *kept = place;
        }
    }));
}

/// The library call on one tape.
pub fn work(bytes: &[u8], settings: &Settings) -> Result<Outcome, Failure> {
    guarded(|| mend(bytes, settings))
}

/// Makes one line of an error, and of a panic, which is our own bug.
pub fn guarded<T, E: Display>(call: impl FnOnce() -> Result<T, E>) -> Result<T, Failure> {
    match catch_unwind(AssertUnwindSafe(call)) {
        Ok(outcome) => outcome.map_err(|error| Failure::refused(one_line(&error.to_string()))),
        Err(panic) => {
            let text = panic.downcast_ref::<&str>().copied();
            let text = text.or_else(|| panic.downcast_ref::<String>().map(String::as_str));
            let place = PANIC_PLACE.lock().ok().and_then(|mut place| place.take());
            let words = format!(
                "internal error at {} ({}); nothing was written for it; please report it with \
                 the file",
                place.as_deref().unwrap_or("an unknown place"),
                one_line(text.unwrap_or("no words"))
            );
            Err(Failure { exit: Exit::Bug, words })
        }
    }
}

fn one_line(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_panic_becomes_one_line_and_our_own_bug() {
        let failure = guarded(|| -> Result<(), String> { panic!("index 7\nof 3") }).unwrap_err();
        assert_eq!(failure.exit, Exit::Bug);
        assert!(failure.words.contains("(index 7 of 3)"), "{}", failure.words);
        assert!(failure.words.contains("please report"), "{}", failure.words);
        assert!(!failure.words.contains('\n'));
    }

    #[test]
    fn an_error_is_a_refusal() {
        let failure = guarded(|| Err::<(), _>("byte 7: bad; copy it again")).unwrap_err();
        assert_eq!(
            (failure.exit, failure.words.as_str()),
            (Exit::Failed, "byte 7: bad; copy it again")
        );
    }

    #[test]
    fn the_worst_exit_decides() {
        let all = [Exit::Done, Exit::Eyes, Exit::Failed, Exit::Usage, Exit::Bug];
        assert!(all.is_sorted());
        assert_eq!(all.map(|exit| exit as u8), [0, 2, 4, 64, 70]);
    }
}
