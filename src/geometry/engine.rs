//! Areas: union, intersection, difference, offset; and the area that stitch lines cover.
