"""Outlines as sewn: the area between the outermost needle points, no thread width."""
import numpy as np
import shapely
from shapely.geometry import Polygon

CLOSE = 0.02  # mm; closes the slits that rounding leaves between neighbouring strips


def strip(points, sides, closed=False):
    """Area of a strip whose needle points lie on side 0 or 1, in sewing order."""
    sides = np.asarray(sides)
    a, b = points[sides == 0], points[sides == 1]
    if not closed and len(a) > 1 and len(b) > 1:
        whole = Polygon(np.vstack([a, b[::-1]]))
        if whole.is_valid:
            return whole
    last, triangles = {}, []
    for p, side in zip(points, sides):
        if 0 in last and 1 in last:
            triangles.append((last[side], p, last[1 - side]))
        last[side] = p
    return union(shapely.polygons(np.array(triangles)), CLOSE)


def union(parts, close):
    """Union with slits narrower than twice `close` shut."""
    parts = [areas(shapely.make_valid(p)) for p in np.atleast_1d(parts)]
    whole = shapely.union_all(parts)
    shut = whole.buffer(close, quad_segs=4).buffer(-close, join_style="mitre")
    # Together with what was there: shutting must never lose a part.
    return areas(shapely.union_all([areas(shapely.make_valid(shut)), *parts]))


def areas(shape):
    """Only the polygons of a mixed collection."""
    parts = shapely.get_parts(shape)
    return shapely.union_all([p for p in parts if "Polygon" in p.geom_type])


def rings(shape):
    """Polygons as lists of rings of [x, y], the outer ring first, no point repeated."""
    parts = getattr(shape, "geoms", [shape])
    out = []
    for g in parts:
        if g.geom_type != "Polygon" or g.area < 0.05:
            continue
        g = g.simplify(0.01)
        out.append([[[round(x, 2) + 0.0, round(y, 2) + 0.0] for x, y in r.coords[:-1]]
                    for r in (g.exterior, *g.interiors)])
    return out
