"""Junctions measured on the truth outlines: where edges of two objects run alongside."""
from dataclasses import dataclass

import numpy as np
from shapely import clip_by_rect, get_coordinates, points as shp_points
from shapely.geometry import LineString
from shapely.geometry.polygon import orient
from shapely.ops import unary_union
from shapely.prepared import prep

from geom import arc_lengths, at, polygons, ring_points

STEP = 0.25  # mm between samples
REACH = 3.0  # mm, deepest overlap still called a junction
OUT = 0.4  # mm, widest gap still called one
MIN_RUN = 3.0


@dataclass
class Junction:
    under: object
    over: object
    curve: np.ndarray  # (n, 2) mm on the edge of `over`
    overlap: np.ndarray  # (n,) mm, negative = gap
    room: np.ndarray  # (n,) mm of `over` square to its edge
    crossing: np.ndarray  # degrees between stitch directions, 0..90
    square_under: np.ndarray  # degrees between each side's stitches and the normal
    square_over: np.ndarray
    kind: str = ""

    @property
    def length(self):
        return len(self.curve) * STEP

    def length_where(self, mask):
        return float(mask.sum() * STEP)


def find(objects):
    out = []
    tops = [o for o in objects if o.cls in ("satin", "split-satin", "fill")]
    for i, over in enumerate(tops):
        for k, under in enumerate(tops[:i]):
            if over.outline.distance(under.outline) <= OUT:
                # What hides the one sewn first parts it from the other, in whatever order.
                above = [o for o in tops[k + 1:] if o.hides and o is not over]
                out += _between(under, over, above)
    return out


def _between(under, over, above):
    hidden = unary_union([o.outline for o in above if o.outline.intersects(
        over.outline)]) if above else None
    found = []
    for part in polygons(over.outline):
        part = orient(part)
        for ring in (part.exterior, *part.interiors):
            found += _along(under, over, ring_points(ring), hidden)
    return found


def _along(under, over, ring, hidden):
    total = arc_lengths(ring)[-1]
    n = max(8, int(total / STEP))
    s = np.arange(n) * total / n
    p = at(ring, s)
    ahead, behind = at(ring, (s + 0.1) % total), at(ring, (s - 0.1) % total)
    t = ahead - behind
    t /= np.maximum(np.hypot(t[:, 0], t[:, 1]), 1e-9)[:, None]
    normal = np.column_stack((t[:, 1], -t[:, 0]))  # outward: rings are oriented
    depth, room = _probe(under.outline, over.outline, p, normal, hidden)
    found = []
    for idx in stretches(depth, total / n):
        found.append(_measured(under, over, p[idx], normal[idx], depth[idx], room[idx]))
    return found


def _probe(under, over, p, normal, hidden):
    """Per sample: how far `under` reaches in (nan where no junction), and `over`'s own depth."""
    n = len(p)
    depth, room = np.full(n, np.nan), np.zeros(n)
    near = prep(under.buffer(OUT + 0.05))
    cover = prep(hidden.buffer(-0.05)) if hidden is not None and not hidden.is_empty else None
    for k in range(n):
        if k % 40 == 0:
            # Work on the neighbourhood of the next 40 samples only.
            here = (*(p[k:k + 40].min(axis=0) - 9), *(p[k:k + 40].max(axis=0) + 9))
            over_here, under_here = clip_by_rect(over, *here), clip_by_rect(under, *here)
        if not near.intersects(shp_points(*p[k])):
            continue
        if cover is not None and cover.contains(shp_points(*(p[k] + normal[k] * 0.1))):
            continue
        room[k] = _run_in(over_here, p[k] - normal[k] * 1e-3, -normal[k], 8.0)
        depth[k] = _reach(under_here, p[k], normal[k], room[k])
    return depth, room


def _spans(shape, p, d, s0, s1):
    hit = shape.intersection(LineString((p + d * s0, p + d * s1)))
    lines = [hit] if hit.geom_type == "LineString" else list(getattr(hit, "geoms", []))
    out = []
    for g in lines:
        if g.geom_type == "LineString" and not g.is_empty:
            c = (get_coordinates(g) - p) @ d
            out.append((c.min(), c.max()))
    return sorted(out)


def _run_in(shape, p, d, far):
    for a, b in _spans(shape, p, d, 0, far):
        if a < 0.02:
            return b
    return 0.0


def _reach(under, p, normal, room):
    # Coordinate runs inward; the visible side of `under` lies at negative values.
    for a, b in _spans(under, p, -normal, -1.0, REACH + 0.5):
        if a <= -0.1 and b > -OUT - 1e-6:
            if b >= min(room - 0.02, REACH):
                return np.nan  # passes right through below: nothing can open here
            return b
    return np.nan


def stretches(depth, step, slope=0.6, bridge=0.75):
    """Index arrays of samples that belong together, at least 3 mm long."""
    n = len(depth)
    ok = ~np.isnan(depth)
    span = max(1, int(round(0.5 / step)))
    for k in range(n):
        a, b = depth[(k - span) % n], depth[(k + span) % n]
        if ok[k] and not (np.isnan(a) or np.isnan(b)):
            if abs(b - a) / (2 * span * step) > slope:
                ok[k] = False
    if not ok.any():
        return []
    first = 0 if ok.all() else int(np.argmin(ok))
    order = [(first + k) % n for k in range(n)]
    out, now, missed = [], [], 0
    for k in order:
        if ok[k] and not np.isnan(depth[k]):
            now.append(k)
            missed = 0
        elif now:
            missed += 1
            if missed * step > bridge:
                out.append(now)
                now, missed = [], 0
    out.append(now)
    return [np.array(g) for g in out if len(g) * step >= MIN_RUN]


def _angle(u, v):
    return np.degrees(np.arccos(np.clip(np.abs((u * v).sum(axis=1)), 0, 1)))


def _measured(under, over, p, normal, depth, room):
    du, do = under.directions(p), over.directions(p)
    su, so = _angle(du, normal), _angle(do, normal)
    j = Junction(under, over, p, depth, room, _angle(du, do), su, so)
    j.kind = _kind(j)
    return j


def _kind(j):
    if j.under.cls == "fill" and j.over.cls != "fill":
        return "fill-under-border"
    name = lambda a: "pull" if np.median(a) < 30 else "push" if np.median(a) > 60 else "skew"
    return f"{name(j.square_under)}-{name(j.square_over)}"


def guarded_share(j, need):
    """Share of the needy samples that guard stitches span; set by truth.attach_guards."""
    spans = getattr(j, "guards", None)
    if not spans or not need.any():
        return 0.0
    lines = unary_union([LineString(g) for g in spans]).buffer(0.75)
    inside = prep(lines)
    hits = [inside.contains(shp_points(*p)) for p in j.curve[need]]
    return sum(hits) / len(hits)
