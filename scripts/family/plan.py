"""A plan: what an item will cover (its own frame, mm) and how to sew it."""
from dataclasses import dataclass
from typing import Callable

import shapely
from shapely.geometry import Polygon


@dataclass
class Plan:
    name: str
    shape: object                 # shapely geometry, as drawn
    sew: Callable                 # sew(sheet)
    start: tuple = (0.0, 0.0)     # about where sewing begins


def of_strips(strips):
    """Area drawn by columns, for laying items out."""
    parts = []
    for s in strips:
        step = max(1, len(s.a) // 60)
        a, b = s.a[::step], s.b[::step]
        quads = [Polygon([a[i], a[i + 1], b[i + 1], b[i]]).convex_hull for i in range(len(a) - 1)]
        parts += [q for q in quads if q.area > 0]
    return shapely.union_all(parts)
