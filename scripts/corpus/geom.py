"""Small curve and polygon helpers. All lengths in mm, all curves (n, 2) arrays."""
import numpy as np
from shapely.geometry import LineString, Point, Polygon
from shapely.prepared import prep


def pts(*xy):
    return np.array(xy, float)


def line(p, q, step=0.1):
    n = max(2, int(np.hypot(*(np.subtract(q, p))) / step) + 1)
    t = np.linspace(0, 1, n)[:, None]
    return np.asarray(p, float) * (1 - t) + np.asarray(q, float) * t


def arc(cx, cy, rx, ry, a0, a1, step=0.1):
    """Elliptical arc from a0 to a1 degrees (counter-clockwise if a1 > a0)."""
    n = max(8, int(abs(np.radians(a1 - a0)) * max(rx, ry) / step) + 1)
    a = np.radians(np.linspace(a0, a1, n))
    return np.column_stack((cx + rx * np.cos(a), cy + ry * np.sin(a)))


def bezier(p0, p1, p2, p3, step=0.1):
    n = max(8, int(np.hypot(*np.subtract(p3, p0)) * 1.3 / step))
    t = np.linspace(0, 1, n)[:, None]
    p0, p1, p2, p3 = (np.asarray(p, float) for p in (p0, p1, p2, p3))
    return ((1 - t) ** 3 * p0 + 3 * (1 - t) ** 2 * t * p1
            + 3 * (1 - t) * t ** 2 * p2 + t ** 3 * p3)


def smooth(points, closed=False, step=0.1):
    """Natural-looking curve through the points (Catmull-Rom, resampled)."""
    p = np.asarray(points, float)
    q = np.vstack((p[-1], p, p[:2])) if closed else np.vstack(
        (2 * p[0] - p[1], p, 2 * p[-1] - p[-2]))
    out = []
    for k in range(1, len(q) - 2):
        a, b, c, d = q[k - 1:k + 3]
        t = np.linspace(0, 1, 40, endpoint=False)[:, None]
        out.append(0.5 * (2 * b + (c - a) * t + (2 * a - 5 * b + 4 * c - d) * t ** 2
                          + (3 * b - a - 3 * c + d) * t ** 3))
    out = np.vstack(out + [q[-2][None]])
    return even(out, step)


def join(*parts):
    """Concatenate curves, dropping repeated joints."""
    out = [np.asarray(parts[0], float)]
    for part in parts[1:]:
        part = np.asarray(part, float)
        out.append(part[1:] if np.allclose(part[0], out[-1][-1], atol=1e-6) else part)
    return np.vstack(out)


def arc_lengths(p):
    return np.concatenate(([0], np.cumsum(np.hypot(*np.diff(p, axis=0).T))))


def at(p, s):
    """Points at arc lengths s along p."""
    lengths = arc_lengths(p)
    return np.column_stack((np.interp(s, lengths, p[:, 0]), np.interp(s, lengths, p[:, 1])))


def even(p, step):
    total = arc_lengths(p)[-1]
    return at(p, np.linspace(0, total, max(2, int(round(total / step)) + 1)))


def tangents(p, closed=False):
    if closed:
        d = np.roll(p, -1, axis=0) - np.roll(p, 1, axis=0)
    else:
        d = np.gradient(p, axis=0)
    return d / np.maximum(np.hypot(d[:, 0], d[:, 1]), 1e-9)[:, None]


def left_normals(p, closed=False):
    t = tangents(p, closed)
    return np.column_stack((-t[:, 1], t[:, 0]))


def transform(p, turn=0.0, move=(0, 0), scale=1.0):
    a = np.radians(turn)
    m = np.array([[np.cos(a), np.sin(a)], [-np.sin(a), np.cos(a)]])
    return np.asarray(p, float) @ m * scale + np.asarray(move, float)


def ring_points(ring):
    return np.asarray(ring.coords, float)[:, :2]


def polygons(shape):
    """All polygons of a shapely shape, as a list."""
    if shape.is_empty:
        return []
    if shape.geom_type == "Polygon":
        return [shape]
    return [g for g in shape.geoms if g.geom_type == "Polygon" and g.area > 1e-9]


def biggest(shape):
    return max(polygons(shape), key=lambda g: g.area)


def start_ring_near(ring, p):
    """Closed ring (first point repeated at the end) turned to start near p."""
    r = ring[:-1]
    k = int(np.argmin(np.hypot(*(r - np.asarray(p)).T)))
    return np.vstack((r[k:], r[:k + 1]))


def route(p, q, region):
    """Shortest path from p to q that keeps inside region (visibility graph).

    Ends outside the region are first linked to its nearest point. Returns None
    when the two ends lie in different parts.
    """
    p, q = tuple(map(float, p)), tuple(map(float, q))
    direct = LineString((p, q))
    if region.buffer(1e-3).covers(direct):
        return np.array((p, q))
    part = None
    for g in polygons(region):
        if g.distance(Point(p)) < 1.2 and g.distance(Point(q)) < 1.2:
            part = g if part is None or g.area > part.area else part
    if part is None:
        return None
    simple = biggest(part.buffer(-0.05).simplify(0.05)) if part.area > 1 else part
    inside = prep(part.buffer(1e-3))
    ends = []
    for e in (p, q):
        ends.append(e if part.covers(Point(e)) else _nearest(part, e))
    nodes = [tuple(ends[0]), tuple(ends[1])]
    for ring in (simple.exterior, *simple.interiors):
        nodes += [tuple(c) for c in ring.coords[:-1]]
    path = _dijkstra(np.array(nodes), inside)
    return None if path is None else np.vstack(([p], path, [q]))


def _nearest(part, e):
    shape = part.buffer(-0.02)
    shape = part if shape.is_empty else shape
    ring = shape.boundary
    c = ring.interpolate(ring.project(Point(e)))
    return (c.x, c.y)


def _dijkstra(nodes, inside):
    n = len(nodes)
    dist, prev, done = np.full(n, np.inf), [-1] * n, np.zeros(n, bool)
    dist[0] = 0
    while True:
        open_ = np.where(done, np.inf, dist)
        i = int(np.argmin(open_))
        if not np.isfinite(open_[i]):
            return None
        if i == 1:
            break
        done[i] = True
        step = np.hypot(*(nodes - nodes[i]).T)
        for j in np.nonzero(~done & (dist[i] + step < dist - 1e-9))[0]:
            if inside.covers(LineString((nodes[i], nodes[j]))):
                dist[j], prev[j] = dist[i] + step[j], i
    path, i = [], 1
    while i >= 0:
        path.append(nodes[i])
        i = prev[i]
    return np.array(path[::-1])


def shape_of(points, holes=()):
    s = Polygon(points, holes)
    return s if s.is_valid else biggest(s.buffer(0))
