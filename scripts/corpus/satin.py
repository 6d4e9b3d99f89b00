"""Satin columns: two matched rails, and the needle points that swing between them."""
from dataclasses import dataclass

import numpy as np
from shapely.geometry import LineString, Point, Polygon
from shapely.ops import unary_union

from geom import arc_lengths, at, even, left_normals


@dataclass
class Strip:
    """Rails a (left) and b (right): (n, 2) mm, point k of one faces point k of the other."""
    a: np.ndarray
    b: np.ndarray
    closed: bool = False

    def flipped(self):
        return Strip(self.a[::-1], self.b[::-1], self.closed)

    def swapped(self):
        return Strip(self.b, self.a, self.closed)

    def mid(self):
        return (self.a + self.b) / 2

    def widths(self):
        return np.hypot(*(self.a - self.b).T)

    def stations(self):
        """Arc measure of the longer side at each rung."""
        step = np.maximum(np.hypot(*np.diff(self.a, axis=0).T),
                          np.hypot(*np.diff(self.b, axis=0).T))
        return np.concatenate(([0], np.cumsum(step)))

    def rung(self, s):
        st = self.stations()
        pick = lambda r: np.column_stack((np.interp(s, st, r[:, 0]), np.interp(s, st, r[:, 1])))
        return pick(self.a), pick(self.b)

    def outline(self):
        if self.closed:
            r1, r2 = Polygon(self.a), Polygon(self.b)
            outer, inner = (r1, r2) if r1.area > r2.area else (r2, r1)
            return outer.difference(inner)
        shape = Polygon(np.vstack((self.a, self.b[::-1])))
        if shape.is_valid:
            return shape
        quads = [Polygon((self.a[k], self.a[k + 1], self.b[k + 1], self.b[k]))
                 for k in range(len(self.a) - 1)]
        return unary_union([q.buffer(1e-4) for q in quads]).buffer(-1e-4)


def ribbon(spine, width, closed=False):
    """Column of given width (number or array per spine point) round a smooth spine.

    A closed spine repeats its first point at the end.
    """
    spine = np.asarray(spine, float)
    if closed:
        n = left_normals(spine[:-1], True)
        n = np.vstack((n, n[:1]))
    else:
        n = left_normals(spine)
    half = np.broadcast_to(np.asarray(width, float) / 2, len(spine))[:, None]
    return Strip(spine + n * half, spine - n * half, closed)


def rails(a, b, n=None):
    """Column between two curves, matched by fraction of their lengths."""
    n = n or int(max(arc_lengths(a)[-1], arc_lengths(b)[-1]) / 0.1) + 2
    t = np.linspace(0, 1, n)
    return Strip(at(np.asarray(a, float), t * arc_lengths(a)[-1]),
                 at(np.asarray(b, float), t * arc_lengths(b)[-1]))


def panel(a, b):
    """Column between two polylines of equally many vertices, matched leg by leg."""
    legs = []
    for k in range(len(a) - 1):
        n = int(max(np.hypot(*np.subtract(a[k + 1], a[k])),
                    np.hypot(*np.subtract(b[k + 1], b[k]))) / 0.1) + 2
        t = np.linspace(0, 1, n)[0 if k == 0 else 1:, None]
        legs.append([np.asarray(r[k], float) * (1 - t) + np.asarray(r[k + 1], float) * t
                     for r in (a, b)])
    return Strip(np.vstack([p for p, _ in legs]), np.vstack([q for _, q in legs]))


def mitred(pieces, left, right, fan=None):
    """Closed column round smooth pieces that meet at corners, mitred there.

    `left`, `right`: signed distances of the rails from the spine (mm, left
    positive). Near a corner the crossings fan over `fan` mm of spine, so that
    they never crowd on the inner side.
    """
    fan = fan or 2.0 * abs(left - right)
    spines = [even(p, 0.1) for p in pieces]
    side_a = _mitre_side(spines, left)
    side_b = _mitre_side(spines, right)
    a, b = [], []
    for spine, ra, rb in zip(spines, side_a, side_b):
        ka, kb = _matched(spine, ra, rb, left, right, fan)
        a.append(ka)
        b.append(kb)
    close = lambda parts: np.vstack([p[:-1] for p in parts] + [parts[0][:1]])
    return Strip(close(a), close(b), True)


def _extended(curve, by):
    t0 = curve[0] - curve[1]
    t1 = curve[-1] - curve[-2]
    return np.vstack((curve[0] + t0 / np.hypot(*t0) * by, curve,
                      curve[-1] + t1 / np.hypot(*t1) * by))


def _mitre_side(spines, d):
    offs = [s + left_normals(s) * d for s in spines]
    reach = 4 * abs(d) + 1.0
    longer = [_extended(o, reach) for o in offs]
    n = len(offs)
    corner = [_meet(longer[k], longer[(k + 1) % n], spines[k][-1]) for k in range(n)]
    return [_trimmed(longer[k], corner[k - 1], corner[k]) for k in range(n)]


def _meet(c1, c2, near):
    hit = LineString(c1).intersection(LineString(c2))
    found = [hit] if hit.geom_type == "Point" else [g for g in getattr(hit, "geoms", [])]
    found = [g if g.geom_type == "Point" else g.centroid for g in found]
    if not found:
        raise ValueError("rails do not meet at a corner")
    g = min(found, key=lambda g: g.distance(Point(near)))
    return np.array((g.x, g.y))


def _trimmed(curve, start, end):
    ls = LineString(curve)
    s0, s1 = ls.project(Point(start)), ls.project(Point(end))
    s = arc_lengths(curve)
    inner = curve[(s > s0 + 1e-6) & (s < s1 - 1e-6)]
    return np.vstack((start, inner, end))


def _matched(spine, ra, rb, left, right, fan):
    """Rungs square to the spine in the middle, linear in between towards corners."""
    s = arc_lengths(spine)
    fan = min(fan, s[-1] * 0.45)
    core = spine[(s >= fan) & (s <= s[-1] - fan)]
    normals = left_normals(spine)[(s >= fan) & (s <= s[-1] - fan)]
    la, lb = LineString(ra), LineString(rb)
    sa = [la.project(Point(p)) for p in core + normals * left]
    sb = [lb.project(Point(p)) for p in core + normals * right]
    n = max(4, int(fan / 0.1))
    fa = np.concatenate((np.linspace(0, sa[0], n, endpoint=False), sa,
                         np.linspace(sa[-1], la.length, n + 1)[1:]))
    fb = np.concatenate((np.linspace(0, sb[0], n, endpoint=False), sb,
                         np.linspace(sb[-1], lb.length, n + 1)[1:]))
    return at(ra, fa), at(rb, fb)


def crossings(strip, pitch, square=False, lap=3):
    """Needle points A0, B0, A1, B1 ... ; returns (points, real same-side pitch).

    Both passes slanted alike (B half a pitch on), or one pass square and the
    return slanted. A closed column runs on over its first `lap` crossings.
    """
    s = strip.stations()
    total = s[-1]
    n = max(2, int(round(total / pitch)))
    p = total / n
    count = n + lap if strip.closed else n
    sa = np.arange(count + 1) * p
    sb = sa if square else np.minimum(sa + p / 2, total if not strip.closed else np.inf)
    wrap = (lambda v: np.mod(v, total)) if strip.closed else (lambda v: np.clip(v, 0, total))
    a, _ = strip.rung(wrap(sa))
    _, b = strip.rung(wrap(sb))
    out = np.empty((2 * len(a), 2))
    out[0::2], out[1::2] = a, b
    if not strip.closed and not square:
        # Close both ends square: B at the very start, and the last B at the very end.
        out = np.vstack((strip.b[:1], out))
    return out, p


def split_points(points, limit=7.0):
    """Split satin: one inner needle point per crossing over `limit`, alternating."""
    out, flags = [points[0]], [False]
    for k, (p, q) in enumerate(zip(points[:-1], points[1:])):
        if np.hypot(*(q - p)) > limit:
            f = (0.44, 0.5, 0.56, 0.5)[k % 4]
            out.append(p + (q - p) * f)
            flags.append(True)
        out.append(q)
        flags.append(False)
    return np.array(out), flags


def straight(p, q, width):
    """Plain bar from p to q."""
    return ribbon(even(np.array((p, q), float), 0.1), width)


def slab(p, q, across):
    """Slanted bar whose ends and crossings are horizontal, `across` mm wide."""
    spine = even(np.array((p, q), float), 0.1)
    half = np.array((across / 2, 0.0))
    left = half if q[1] < p[1] else -half
    return Strip(spine + left, spine - left)
