"""Tatami fill: rows at an angle, sections, and the hidden way between sections."""
from dataclasses import dataclass

import numpy as np
from shapely import affinity
from shapely.geometry import LineString, Point, Polygon
from shapely.ops import unary_union

from geom import polygons, route
from runs import run_points

TINY = 0.35  # mm, rows shorter than this are left out


@dataclass
class Section:
    rows: list  # (y, x0, x1, rank) bottom to top, in the turned frame
    shape: object = None


def fill_passes(poly, angle, row_pitch, stitch=4.0, join="step", start=None, top="fill",
                travel_inset=0.5, hidden=None):
    """Needle points of a fill as [(label, points)], in sewing order.

    join: "step" = a short stitch up the edge to the next row; "vee" = the last
    point of a row is the first of the next. `hidden`: region the way between
    sections may use (default: the polygon pulled in).
    """
    turned = affinity.rotate(poly, -angle, origin=(0, 0))
    sections = _sections(turned, row_pitch)
    way = affinity.rotate(hidden, -angle, origin=(0, 0)) if hidden is not None else (
        turned.buffer(-travel_inset))
    here = _turn(np.array([start]), -angle)[0] if start is not None else None
    passes = []
    todo = list(range(len(sections)))
    for k, points in _sewing_order(sections, here, stitch, join):
        if here is not None:
            link = _link(here, points[0], [sections[j].shape for j in todo], way)
            if len(link):
                passes.append(("travel", link))
        passes.append((top, points))
        here = points[-1]
        todo.remove(k)
    return [(label, _turn(p, angle)) for label, p in passes]


def _turn(p, angle):
    a = np.radians(angle)
    return np.asarray(p, float) @ np.array([[np.cos(a), np.sin(a)], [-np.sin(a), np.cos(a)]])


def _row_heights(y0, y1, pitch):
    n = max(1, int(round((y1 - y0) / pitch)))
    real = (y1 - y0) / n
    return y0 + real * (np.arange(n) + 0.5), real


def _spans(shape, y):
    x0, _, x1, _ = shape.bounds
    hit = shape.intersection(LineString(((x0 - 1, y), (x1 + 1, y))))
    lines = [hit] if hit.geom_type == "LineString" else list(getattr(hit, "geoms", []))
    spans = sorted((g.bounds[0], g.bounds[2]) for g in lines if g.geom_type == "LineString")
    return [(a, b) for a, b in spans if b - a > TINY]


def _sections(shape, pitch):
    """Runs of rows that follow each other one to one; a split or merge starts new ones."""
    _, y0, _, y1 = shape.bounds
    heights, _ = _row_heights(y0, y1, pitch)
    done, active = [], []
    for rank, y in enumerate(heights):
        spans = _spans(shape, y)
        touch = [[j for j, sec in enumerate(active) if _overlap(sec.rows[-1][1:3], s)] for s in spans]
        takers = [[i for i in range(len(spans)) if j in touch[i]] for j in range(len(active))]
        fresh = []
        for i, span in enumerate(spans):
            if len(touch[i]) == 1 and len(takers[touch[i][0]]) == 1:
                sec = active[touch[i][0]]
            else:
                sec = Section([])
                done.append(sec)
            sec.rows.append((y, *span, rank))
            fresh.append(sec)
        active = fresh
    for sec in done:
        sec.shape = _section_shape(sec, pitch)
    return done


def _overlap(a, b):
    return min(a[1], b[1]) - max(a[0], b[0]) > 0.05


def _section_shape(sec, pitch):
    left = [(x0, y) for y, x0, _, _ in sec.rows]
    right = [(x1, y) for y, _, x1, _ in sec.rows]
    if len(sec.rows) == 1:
        return LineString((left[0], right[0])).buffer(pitch)
    return Polygon(left + right[::-1]).buffer(pitch * 0.75)


def _sewing_order(sections, here, stitch, join, keep=40):
    """[(index, needle points)]: beam search for an order with short, hidden links.

    A link is hidden when it runs below rows that are still to come.
    """
    variants = [[_row_points(rows, stitch, join, left)
                 for rows in (sec.rows, sec.rows[::-1]) for left in (True, False)]
                for sec in sections]
    parts = {}

    def unsewn(todo):
        if todo not in parts:
            parts[todo] = polygons(unary_union([sections[j].shape for j in sorted(todo)]))
        return parts[todo]

    states = [(0.0, here, frozenset(range(len(sections))), ())]
    while states[0][2]:
        nexts = []
        for cost, at, todo, path in states:
            for k in sorted(todo):
                for v, points in enumerate(variants[k]):
                    step = 0.0 if at is None else np.hypot(*(points[0] - at))
                    if step > 1.2 and not _same_part(unsewn(todo), at, points[0]):
                        step += 100
                    left = todo - {k}
                    nexts.append((cost + step, points[-1], left, path + ((k, v),)))
        # Every part that is cut off from the needle will cost a visible link.
        nexts.sort(key=lambda s: (s[0] + 100 * _cut_off(unsewn(s[2]), s[1]), s[3]))
        states = nexts[:keep]
    return [(k, variants[k][v]) for k, v in states[0][3]]


def _cut_off(parts, p):
    return sum(g.distance(Point(p)) >= 1.2 for g in parts)


def _same_part(parts, p, q):
    return any(g.distance(Point(p)) < 1.2 and g.distance(Point(q)) < 1.2 for g in parts)


def _row_points(rows, stitch, join, left_first):
    out = []
    for k, (y, x0, x1, rank) in enumerate(rows):
        forward = (k % 2 == 0) == left_first
        # Four rows repeat: "needle points line up again every 4th row" (Printwear, Jul 2019).
        phase = (rank % 4) * stitch / 4
        if join == "vee" and k > 0:
            # The row starts where the one before ended and climbs to its own end.
            xa, ya = out[-1][-1]
            xs = _needles(*((xa, x1) if forward else (x0, xa)), stitch, phase)
            xs = xs if forward else xs[::-1]
            ys = np.interp(xs, *_rising(xa, ya, xs[-1], y))
            out.append(np.column_stack((xs, ys))[1:])
            continue
        xs = _needles(x0, x1, stitch, phase)
        xs = xs if forward else xs[::-1]
        row = np.column_stack((xs, np.full(len(xs), y)))
        if out and np.hypot(*(row[0] - out[-1][-1])) > stitch:
            # An edge nearly along the rows: step along it in stitches of ordinary length.
            out.append(run_points(np.vstack((out[-1][-1], row[0])), 2.4)[1:-1])
        out.append(row)
    if join == "vee" and len(rows) > 1:
        # A level row closes the last V, else a wedge stays open against the next section.
        y, x0, x1, rank = rows[-1]
        xs = _needles(x0, x1, stitch, ((rank + 2) % 4) * stitch / 4)
        xs = xs if len(rows) % 2 == (0 if left_first else 1) else xs[::-1]
        out.append(np.column_stack((xs, np.full(len(xs), y)))[1:])
    return np.vstack(out)


def _rising(xa, ya, xb, yb):
    return ((xa, xb), (ya, yb)) if xa < xb else ((xb, xa), (yb, ya))


def _needles(x0, x1, stitch, phase):
    """Needle points of one row: ends plus the stagger grid; short remainders shared out."""
    first = np.ceil((x0 - phase) / stitch + 1e-9) * stitch + phase
    inner = list(np.arange(first, x1 - 1e-6, stitch))
    if inner and inner[0] - x0 < 1.0:
        inner = _shared(x0, inner)
    if inner and x1 - inner[-1] < 1.0:
        inner = [-v for v in _shared(-x1, [-v for v in inner[::-1]])][::-1]
    return np.array([x0, *inner, x1])


def _shared(end, inner):
    """First inner point too near the end: move it half way to the next, or drop it."""
    if len(inner) > 1:
        return [(end + inner[1]) / 2, *inner[1:]]
    return []


def _link(here, there, shapes, way):
    """Run-stitch path; through rows still to be sewn where they connect, so it gets covered."""
    gap = np.hypot(*(np.asarray(there) - here))
    if gap < 1.2:
        return np.empty((0, 2))
    unsewn = unary_union(shapes).buffer(-0.05)
    path = None
    if unsewn.distance(Point(here)) < 1.2:
        path = route(here, there, unsewn.buffer(-0.3).buffer(0.01))
    if path is None:
        path = route(here, there, way)
    if path is None:
        return np.empty((0, 2))
    return run_points(path, 2.4)[1:-1]


def perpendicular(poly, angle, pitch=2.0, inset=0.6, stitch=2.75, start=None):
    """Sparse rows square to the top rows, pulled in from the edge ("perpendicular
    fill underlay, spacing less than the top stitch length", Images, Feb 2022)."""
    passes = []
    for part in polygons(poly.buffer(-inset)):
        more = fill_passes(part, (angle + 90) % 180, pitch, stitch, "step", start,
                           "fill-underlay", 0.05)
        passes += more
        start = more[-1][1][-1] if more else start
    return passes
