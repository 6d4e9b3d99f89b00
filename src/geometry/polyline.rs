//! Lengths, resampling, nearest points and offsets of polylines.
