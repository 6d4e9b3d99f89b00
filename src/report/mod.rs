//! What was found, changed and proved: change log and survey (JSON), the account in words, pictures.

pub mod account;
mod cautions;
mod change;
mod facts;
mod log;
mod object_line;
pub mod picture;
mod proof;
#[cfg(test)]
pub(crate) mod sample;
#[cfg(test)]
mod schema_tests;
pub mod survey;
pub mod thread;
pub mod words;

pub use cautions::cautions;
pub use change::{Change, Grade, Place};
pub use facts::{Sewing, TapeFacts};
pub use log::{
    BeforeAfter, FileFacts, InForce, Log, Refusal, Refused, Report, SCHEMA_VERSION, State,
    StopLine, Tool, Undone, json_schema,
};
pub use object_line::ObjectLine;
pub use proof::{Exposure, JunctionProof, Proof, Spread};

use std::fmt::Write;

use sha2::{Digest, Sha256};

/// SHA-256 of some bytes in lower-case hexadecimal.
pub fn sha256_hex(bytes: &[u8]) -> String {
    Sha256::digest(bytes).iter().fold(String::with_capacity(64), |mut hex, byte| {
        // Writing to a string cannot fail.
        let _ = write!(hex, "{byte:02x}");
        hex
    })
}

/// A measured value for a report: rounded, finite (JSON has no other numbers), never `-0`.
pub fn round(value: f64, decimals: i32) -> f64 {
    let scale = 10f64.powi(decimals);
    let rounded = (value * scale).round() / scale;
    if rounded.is_finite() { rounded + 0.0 } else { 0.0 }
}

/// Direction of a line for a report: rounded degrees in [0, 180).
pub fn round_angle(degrees: f64, decimals: i32) -> f64 {
    round(degrees, decimals).rem_euclid(180.0)
}
