//! Fast point and ray questions about one area.
