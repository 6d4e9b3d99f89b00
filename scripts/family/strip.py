"""A column as drawn: two rails sampled alike, and the crossings sewn between them."""
from dataclasses import dataclass

import numpy as np

import curves


@dataclass
class Strip:
    a: np.ndarray                 # left rail, dense
    b: np.ndarray                 # right rail, sampled at the same places
    measure: np.ndarray = None    # what the pitch is counted along; default: mean of both rails
    closed: bool = False

    def width(self):
        return np.hypot(*(self.a - self.b).T)

    def centre(self):
        return (self.a + self.b) / 2

    def flipped(self):
        """The same column sewn from its other end."""
        m = None if self.measure is None else self.measure[-1] - self.measure[::-1]
        return Strip(self.a[::-1], self.b[::-1], m, self.closed)

    def clipped(self, least):
        """Without the ends that are narrower than `least`."""
        keep = np.flatnonzero(self.width() >= least)
        i, j = keep[0], keep[-1] + 1
        m = None if self.measure is None else self.measure[i:j] - self.measure[i]
        return Strip(self.a[i:j], self.b[i:j], m, self.closed)

    def folds(self):
        """A rail runs backward somewhere."""
        way = np.diff(self.centre(), axis=0)
        return any(((np.diff(r, axis=0) * way).sum(axis=1) < 0).any() for r in (self.a, self.b))

    def along(self, on="spine"):
        """Cumulated length by which crossings are spaced."""
        if self.measure is not None:
            return self.measure
        da, db = (np.hypot(*np.diff(r, axis=0).T) for r in (self.a, self.b))
        step = np.maximum(da, db) if on == "outer" else (da + db) / 2
        return np.concatenate(([0.0], np.cumsum(step)))

    def inset(self, d):
        """Both rails drawn in by `d`, never across the middle."""
        f = np.minimum(d / np.maximum(self.width(), 1e-6), 0.42)[:, None]
        return self.a + (self.b - self.a) * f, self.b + (self.a - self.b) * f


def from_spine(spine, width, closed=False):
    """Rails square to a spine; `width` is a number or one per sample."""
    if closed:
        n = curves.normals(spine, closed=True)
    else:
        n = curves.normals(spine)
    half = (np.broadcast_to(width, len(spine)) / 2)[:, None]
    a, b = spine + n * half, spine - n * half
    if closed:
        a, b = np.vstack([a, a[:1]]), np.vstack([b, b[:1]])
    return Strip(a, b, closed=closed)
