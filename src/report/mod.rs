//! What was found, changed and proved: the change log (JSON) and the account in words.

mod change;

pub use change::{Change, Grade, Place};
