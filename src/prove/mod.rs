//! Judges what would be written against the original.
