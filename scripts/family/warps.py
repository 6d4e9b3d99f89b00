"""Bent coordinates for curved fills: rows are level in (u, v) and bent in the plane."""
from dataclasses import dataclass

import numpy as np
import shapely


@dataclass
class Waves:
    """Rows are parallel waves."""
    height: float
    length: float
    shift: float
    angle: float

    def _f(self, u):
        return self.height * np.sin(2 * np.pi * (u / self.length) + self.shift)

    def flatten(self, shape):
        level = shapely.affinity.rotate(shape, -self.angle, origin=(0, 0)).segmentize(0.3)
        return shapely.transform(level, lambda c: np.column_stack([c[:, 0], c[:, 1] - self._f(c[:, 0])]))

    def bend(self, points):
        a = np.radians(self.angle)
        u, v = points[:, 0], points[:, 1] + self._f(points[:, 0])
        return np.column_stack([u * np.cos(a) - v * np.sin(a), u * np.sin(a) + v * np.cos(a)])


@dataclass
class Polar:
    """Rows are arcs round a far centre, or (spokes) rays from it."""
    centre: np.ndarray
    radius: float      # where one unit along an arc is 1 mm
    spokes: bool

    def flatten(self, shape):
        def f(c):
            d = c - self.centre
            r, t = np.hypot(*d.T), np.arctan2(d[:, 1], d[:, 0])
            t = (t - np.arctan2(*(-self.centre)[::-1]) + np.pi) % (2 * np.pi) - np.pi
            arc = t * self.radius
            return np.column_stack([r, arc] if self.spokes else [arc, r])
        return shapely.transform(shape.segmentize(0.3), f)

    def bend(self, points):
        r, arc = points.T if self.spokes else points.T[::-1]
        t = arc / self.radius + np.arctan2(*(-self.centre)[::-1])
        return self.centre + np.column_stack([np.cos(t), np.sin(t)]) * r[:, None]
