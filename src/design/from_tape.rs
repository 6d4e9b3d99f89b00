use super::Design;
use crate::tape::Tape;

/// Flattens a tape into needle points.
pub fn from_tape(_tape: &Tape) -> Design {
    Design::default()
}
