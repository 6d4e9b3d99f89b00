"""Underlay paths for satin columns and fills. All in mm."""
import numpy as np

from geom import arc_lengths, at, polygons, ring_points, start_ring_near
from runs import run_points
from satin import Strip

INSET = 0.6  # mm, edge run inset ("at least 0.6-0.8 mm", Images, Feb 2022)


def centre_run(strip, stitch=2.2):
    return run_points(_shortened(strip).mid(), stitch)


def inset_rail(strip, side, inset=INSET):
    """Rail pulled in by `inset`; where the column is too narrow, the middle line."""
    near, far = (strip.a, strip.b) if side == "a" else (strip.b, strip.a)
    w = np.maximum(strip.widths(), 1e-6)[:, None]
    return near + (far - near) * np.minimum(inset / w, 0.5)


def edge_run(strip, stitch=2.0, inset=INSET):
    """Both edges: a loop up one and down the other, or two closed loops of a ring."""
    strip = _shortened(strip)
    left, right = inset_rail(strip, "a", inset), inset_rail(strip, "b", inset)
    if strip.closed:
        link = run_points(np.vstack((left[-1:], right[:1])), stitch)
        return np.vstack((run_points(left, stitch), link[1:-1], run_points(right, stitch)))
    return run_points(np.vstack((left, right[::-1], left[:1])), stitch)


def zigzag(strip, pitch=2.0, inset=INSET):
    """Open zigzag from start to end; same-side pitch in mm."""
    strip = _shortened(strip)
    inner = Strip(inset_rail(strip, "a", inset), inset_rail(strip, "b", inset))
    s = inner.stations()
    n = max(1, int(round(s[-1] / pitch)))
    stops = np.linspace(0, s[-1], 2 * n + 1)
    pa, pb = inner.rung(stops)
    return np.where((np.arange(len(stops)) % 2 == 0)[:, None], pa, pb)


def _shortened(strip, by=0.5):
    """Stay short of the column ends, so that nothing shows."""
    s = strip.stations()
    if strip.closed or s[-1] < 3 * by:
        return strip
    keep = s[(s > by) & (s < s[-1] - by)]
    return Strip(*strip.rung(np.concatenate(([by], keep, [s[-1] - by]))))


def fill_edge_loops(poly, stitch=2.0, inset=INSET, start=None):
    """One closed run per outline and hole, pulled in."""
    loops = []
    for part in polygons(poly.buffer(-inset, join_style="mitre")):
        for ring in (part.exterior, *part.interiors):
            r = ring_points(ring)
            if start is not None:
                r = start_ring_near(r, start)
            loops.append(run_points(r, stitch))
            start = loops[-1][-1]
    return loops


def guard(curve, half=1.0, pitch=1.2):
    """Open zigzag across a junction curve: same-side pitch along it, +-half across."""
    s = arc_lengths(curve)
    n = max(2, int(round(s[-1] / (pitch / 2))))
    stops = np.linspace(0, s[-1], n + 1)
    p = at(curve, stops)
    ahead, behind = at(curve, np.minimum(stops + 0.2, s[-1])), at(curve, np.maximum(stops - 0.2, 0))
    t = ahead - behind
    t /= np.hypot(t[:, 0], t[:, 1])[:, None]
    normal = np.column_stack((-t[:, 1], t[:, 0]))
    sign = np.where(np.arange(len(p)) % 2 == 0, 1.0, -1.0)[:, None]
    return p + normal * sign * half
