"""Areas for fills, in mm around the origin."""
import numpy as np
import shapely
from shapely import affinity
from shapely.geometry import Point, Polygon

import curves


def blob(rng, radius):
    return Polygon(curves.wobble(rng, radius, 0.3)[::8])


def ellipse(rng, radius):
    return affinity.scale(Point(0, 0).buffer(radius, quad_segs=32), 1, rng.uniform(0.5, 1))


def box(rng, radius):
    half = np.array([radius, radius * rng.uniform(0.35, 1)]) * 0.9
    corner = rng.choice([0.0, half.min() * rng.uniform(0.1, 0.6)])
    return shapely.box(*(-half + corner), *(half - corner)).buffer(corner or 0)


def polygon(rng, radius):
    n = int(rng.integers(3, 8))
    t = np.sort(2 * np.pi * (np.arange(n) + rng.uniform(-0.25, 0.25, n)) / n)
    return Polygon(np.column_stack([np.cos(t), np.sin(t)]) * radius * rng.uniform(0.75, 1, (n, 1)))


def star(rng, radius):
    n = int(rng.integers(4, 8))
    t = np.arange(2 * n) * np.pi / n
    r = np.where(np.arange(2 * n) % 2, rng.uniform(0.4, 0.65), 1.0) * radius
    return Polygon(np.column_stack([np.cos(t), np.sin(t)]) * r[:, None])


def letter(rng, radius):
    """L, U, T, E or H of broad bars: many sections whatever the angle."""
    w = rng.uniform(0.25, 0.4) * radius
    bars = {"L": [(-1, -1, 0, 1), (-1, -1, 1, 0)], "U": [(-1, -1, 0, 1), (-1, -1, 1, 0), (1, -1, 0, 1)],
            "T": [(0, -1, 0, 1), (-1, 1, 1, 0)], "H": [(-1, -1, 0, 1), (1, -1, 0, 1), (-1, 0, 1, 0)],
            "E": [(-1, -1, 0, 1), (-1, -1, 1, 0), (-1, 0, 1, 0), (-1, 1, 1, 0)]}
    r = 0.75 * radius
    parts = []
    for x, y, across, up in bars[rng.choice(list(bars))]:
        to = (r if across else x * r, r if up else y * r)
        parts.append(shapely.LineString([(x * r, y * r), to]).buffer(w / 2, cap_style="square"))
    return shapely.union_all(parts)


def crescent(rng, radius):
    c = Point(0, 0).buffer(radius, quad_segs=32)
    bite = Point(radius * rng.uniform(0.4, 0.7), 0).buffer(radius * rng.uniform(0.6, 0.85), quad_segs=32)
    return largest(c.difference(bite).buffer(-0.4).buffer(0.4))


def comb(rng, radius):
    """A bar with teeth: sections that end in the open."""
    n = int(rng.integers(2, 5))
    w = 1.8 * radius / (2 * n - 1)
    teeth = [shapely.box(-0.9 * radius + 2 * i * w, 0, -0.9 * radius + (2 * i + 1) * w,
                         radius * rng.uniform(0.4, 0.9)) for i in range(n)]
    return shapely.union_all([shapely.box(-0.9 * radius, -0.5 * radius, 0.9 * radius, 0.1), *teeth])


def necked(rng, radius):
    """Two bodies joined by a neck in which rows are shorter than a stitch."""
    neck = rng.uniform(0.8, 2.2)
    r = radius * rng.uniform(0.3, 0.42)
    a, b = Point(0, radius - r).buffer(r, quad_segs=24), Point(0, r - radius).buffer(r, quad_segs=24)
    bar = shapely.box(-neck / 2, -radius + r, neck / 2, radius - r)
    return shapely.union_all([a, b, bar])


def holed(rng, radius):
    base = PLAIN[rng.integers(3)](rng, radius)
    for _ in range(int(rng.integers(1, 4))):
        r = rng.uniform(0.12, 0.35) * radius
        a, d = rng.uniform(0, 2 * np.pi), rng.uniform(0, 0.6) * radius
        hole = affinity.translate(PLAIN[rng.integers(3)](rng, r), d * np.cos(a), d * np.sin(a))
        if r > 1.0 and base.buffer(-1.5).contains(hole):
            base = base.difference(hole)
    if not base.interiors:
        base = base.difference(base.representative_point().buffer(0.25 * radius))
    return largest(base)


def islands(rng, radius):
    """A few separate bodies of one fill."""
    n = int(rng.integers(2, 4))
    r = radius / n
    return shapely.union_all([largest(affinity.translate(
        PLAIN[rng.integers(len(PLAIN))](rng, r * 0.85), (2 * i + 1 - n) * r, rng.uniform(-0.5, 0.5) * r))
        for i in range(n)])


def largest(shape):
    return max(getattr(shape, "geoms", [shape]), key=lambda g: g.area)


PLAIN = (blob, ellipse, box, polygon, star, letter, crescent, comb)
