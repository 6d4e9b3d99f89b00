//! Hand-built objects for unit tests.
