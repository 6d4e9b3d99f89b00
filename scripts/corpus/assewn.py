"""Outlines as sewn: the needle points on the grid, and what lies between their lines."""
import numpy as np
from shapely import polygons as shp_polygons
from shapely.ops import unary_union

from compile import to_points

SEAM = 0.002  # mm, closes the hair lines that a union of many strips leaves
SAME = 0.98  # overlap from which a fill's drawn outline is also its outline as sewn


def on_grid(points):
    """Rounded as the tape rounds them, mm; repeats dropped."""
    p = np.array([to_points(q) for q in points], float) / 10
    keep = np.concatenate(([True], np.abs(np.diff(p, axis=0)).sum(axis=1) > 0))
    return p[keep]


def column(points):
    """Union of the strips between neighbouring crossings; neighbours share a needle point."""
    p = on_grid(points)
    strips = shp_polygons(np.stack((p[:-2], p[1:-1], p[2:]), axis=1))
    return _closed([s for s in strips if s.area > 1e-6], SEAM)


def rows(passes, angle, row_pitch):
    """Union of the strips between neighbouring rows, closed by a row pitch."""
    a = np.radians(angle)
    along = np.array((np.cos(a), np.sin(a)))
    strips = []
    for points in passes:
        ends = _row_ends(on_grid(points), along)
        for (p, q), (r, s) in zip(ends[:-1], ends[1:]):
            strip = shp_polygons((p, q, r, s))
            strips.append(strip if strip.is_valid else strip.convex_hull)
    return _closed(strips, row_pitch)


def _row_ends(points, along):
    """(first, last) needle point of each row: the stitches run the other way in the next."""
    out = []
    for p, q in zip(points[:-1], points[1:]):
        d = q - p
        way = np.sign(d @ along) if abs(d @ along) > 0.5 * np.hypot(*d) else 0
        if way and out and out[-1][0] == way and (out[-1][2] == p).all():
            out[-1][2] = q
        elif way:
            out.append([way, p, q])
    return [(p, q) for _, p, q in out]


def fill(drawn, passes, angle, row_pitch):
    """The drawn outline where it is what was sewn, else the rows' own."""
    sewn = rows(passes, angle, row_pitch)
    share = drawn.intersection(sewn).area / drawn.union(sewn).area
    return drawn if share >= SAME else sewn


def _closed(shapes, by):
    return unary_union(shapes).buffer(by, join_style="mitre").buffer(-by, join_style="mitre")
