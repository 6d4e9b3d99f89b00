"""Habits of the file and the underlay of each object, drawn at random."""
import corpus  # noqa: F401
from draw import chance, pick, uniform
from model import Style

# What a digitizer puts under satins and fills; the later entries are what caps want.
COLUMN_KITS = ((), ("centre",), ("edge",), ("zigzag",), ("edge", "zigzag"))
NARROW_KITS = ((), ("centre",), ("edge",))
AREA_KITS = ((), ("edge",), ("fill",), ("centre",), ("edge", "fill"))
THREADS = (("#1D3557", "harbour navy", "101"), ("#B5382F", "signal red", "102"),
           ("#F1EDE0", "sail white", "103"), ("#3B8686", "tide teal", "104"),
           ("#D9B44A", "brass", "105"))


def style(rng):
    return Style(
        trim=pick(rng, ("jumps", "markers", "landing")), zero_landing=chance(rng, 0.3),
        double_folds=chance(rng, 0.25), tie=uniform(rng, 0.6, 1.4), square=chance(rng, 0.4),
        pitch=uniform(rng, 0.36, 0.48), row_pitch=uniform(rng, 0.18, 0.26, 3),
        stitch=uniform(rng, 3.0, 5.0), join=pick(rng, ("step", "vee")), end_1a=chance(rng, 0.4),
        swap_y=chance(rng, 0.25), dangling_change=chance(rng, 0.15),
        threads=THREADS if chance(rng, 0.2) else ())


class Kit:
    """One habit for the whole file, kept to more often than not."""

    def __init__(self, rng):
        self.rng = rng
        self.careful = chance(rng, 0.1)  # all underlay as caps want it
        self.column = pick(rng, COLUMN_KITS, (1, 4, 2, 2, 3))
        self.area = pick(rng, AREA_KITS, (1, 2, 2, 1, 4))

    def under_column(self, strip):
        widths = strip.widths()
        wide = sorted(widths)[len(widths) // 4] >= 2.2
        if self.careful:
            return ("edge", "zigzag") if wide else ("edge",) if widths.max() >= 1.5 else ("centre",)
        if chance(self.rng, 0.6) and (wide or self.column in NARROW_KITS):
            return self.column
        if wide:
            return pick(self.rng, COLUMN_KITS, (1, 3, 2, 2, 3))
        return pick(self.rng, NARROW_KITS, (1, 4, 2))

    def under_area(self):
        if self.careful:
            return "edge", "fill"
        return self.area if chance(self.rng, 0.6) else pick(self.rng, AREA_KITS, (2, 3, 3, 1, 4))
