//! Thread drawn on a 0.1 mm grid: what lies on top, what is covered.
