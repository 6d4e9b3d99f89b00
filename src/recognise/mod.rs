//! From needle points to objects.
