"""What the generator knows about each object it sews."""
from dataclasses import dataclass, field

import numpy as np


@dataclass
class Object:
    id: str
    cls: str  # satin | split-satin | fill | run | bean | unsure
    stop: int
    first: int  # needle penetration indices, inclusive, top stitching only
    last: int
    outline: object = None  # shapely polygon(s), mm, as drawn
    sewn: object = None  # the same as sewn, on the grid
    strip: object = None  # satin.Strip
    closed: bool = False
    angle: float = None
    row_pitch: float = None
    stitch: float = None
    pitch: float = None
    width: tuple = None
    underlay: list = field(default_factory=list)  # {"kind", "first", "last"}
    hides: bool = False
    held: bool = False

    def has(self, *kinds):
        return any(u["kind"] in kinds for u in self.underlay)

    def directions(self, points):
        """Stitch direction (unit vectors, sign free) at each point; None for runs."""
        points = np.asarray(points, float)
        if self.cls == "fill":
            a = np.radians(self.angle)
            return np.tile((np.cos(a), np.sin(a)), (len(points), 1))
        if self.strip is None:
            return None
        mid = self.strip.mid()
        d = self.strip.b - self.strip.a
        d = d / np.maximum(np.hypot(d[:, 0], d[:, 1]), 1e-9)[:, None]
        rails = np.vstack((self.strip.a, self.strip.b, mid))
        d = np.vstack((d, d, d))
        near = [int(np.argmin(((rails - p) ** 2).sum(axis=1))) for p in points]
        return d[near]


@dataclass
class Style:
    """Tape and stitch habits of one file."""
    trim: str = "jumps"  # jumps | markers | landing
    zero_landing: bool = False  # a zero-length stitch where a jump ends
    double_folds: bool = False  # zero-length stitch at fold points
    tie: float = 1.1  # mm
    square: bool = False  # satin: one pass square, the return slanted
    pitch: float = 0.42  # satin, same side
    row_pitch: float = 0.21
    stitch: float = 4.0
    join: str = "step"
    end_1a: bool = False
    swap_y: bool = False
    dangling_change: bool = False
    threads: tuple = ()  # header thread entries
