"""Faults that follow from the truth geometry. Bounds as the design states them."""
import numpy as np
from shapely.geometry import LineString

from geom import tangents
from junctions import guarded_share

ACT_OVERLAP = 0.9  # mm
GAP = 0.4  # mm, wider is design
MIN_RUN = 3.0  # mm alongside
CROSS = 60.0  # degrees


def find(objects, junctions, flat=False):
    """Faults in a fixed order; each {"kind", "objects", "repairable", "note"}."""
    out = []
    if not flat:
        out += upright(objects)
    out += thin_overlaps(junctions)
    out += missing_edge_runs(objects)
    if not flat:
        out += unguarded(junctions)
        out += seam(objects)
    return out


def _fault(kind, objects, repairable, note):
    return {"kind": kind, "objects": objects, "repairable": repairable, "note": note}


def upright(objects):
    return [_fault("upright fill", [o.id], True, f"rows at {o.angle:g} degrees")
            for o in objects
            if o.cls == "fill" and not o.held and abs(o.angle % 180 - 90) <= 30]


def thin_overlaps(junctions):
    """Judged on the samples that stay thin for at least 3 mm together."""
    out = []
    for j in junctions:
        if j.under.held or j.over.held:
            continue
        thin = j.length_where((j.overlap < ACT_OVERLAP) & (j.overlap >= -GAP))
        if thin < MIN_RUN or j.kind == "push-push":
            continue
        pair = [j.under.id, j.over.id]
        if not j.over.hides:
            out.append(_fault("thin overlap", pair, False, "open satin does not hide"))
            continue
        room = j.length_where((j.overlap < ACT_OVERLAP) & (j.overlap >= -GAP) & (j.room >= 1.4))
        if room >= MIN_RUN:
            out.append(_fault("thin overlap", pair, True,
                              f"{j.kind}, reaches {j.overlap.min():.2f} to {j.overlap.max():.2f} mm "
                              f"under along {j.length:.1f} mm"))
    return out


def missing_edge_runs(objects):
    out = []
    for o in objects:
        if o.cls not in ("satin", "split-satin", "fill") or o.held:
            continue
        if o.cls == "fill" or o.width[1] >= 1.5:
            if not o.has("edge-run"):
                out.append(_fault("edge run missing", [o.id], True, _has(o)))
        elif o.width[1] >= 0.8 and not o.has("centre-run", "edge-run"):
            out.append(_fault("edge run missing", [o.id], True, "narrow: wants a centre run"))
    return out


def _has(o):
    kinds = sorted({u["kind"] for u in o.underlay})
    return "has " + ", ".join(kinds) if kinds else "no underlay"


def unguarded(junctions):
    out = []
    for j in junctions:
        if j.under.held or j.over.held or "fill" not in (j.under.cls, j.over.cls):
            continue
        needs = j.crossing >= CROSS
        both = (j.square_under <= 90 - CROSS) & (j.square_over <= 90 - CROSS)
        need = needs | both
        if j.length_where(need) < MIN_RUN:
            continue
        if guarded_share(j, need) >= 0.85:
            continue
        out.append(_fault("unguarded crossing", [j.under.id, j.over.id], j.over.hides,
                          f"{j.length_where(needs):.1f} mm cross by 60 degrees or more, "
                          f"{j.length_where(both):.1f} mm both square to the curve"))
    return out


def seam(objects):
    out = []
    for o in objects:
        if o.cls not in ("satin", "split-satin", "fill") or o.held:
            continue
        thin = _thin_on_seam(o)
        if thin:
            out.append(_fault("thin detail on the seam", [o.id], False, thin))
        if _crosses_seam(o) and not o.has("zigzag", "fill-underlay"):
            out.append(_fault("seam crossing", [o.id], True, "no underlay square to it at the seam"))
    return out


def _thin_on_seam(o):
    """An upright satin narrower than 2 mm within 3 mm of the seam, 3 mm or more of it."""
    if o.strip is None:
        return None
    mid, w = o.strip.mid(), o.strip.widths()
    t = tangents(mid)
    close = np.minimum(np.abs(o.strip.a[:, 0]), np.abs(o.strip.b[:, 0])) < 3.0
    hit = (w < 2.0) & close & (np.abs(t[:, 1]) > np.cos(np.radians(30)))
    step = np.hypot(*np.gradient(mid, axis=0).T)
    if (step * hit).sum() < MIN_RUN:
        return None
    return f"upright, {w[hit].min():.1f} to {w[hit].max():.1f} mm wide"


def _crosses_seam(o):
    """Well to both sides of the seam; a column that stands on it does not cross it."""
    x0, _, x1, _ = o.outline.bounds
    return x0 < -2 and x1 > 2 and o.outline.intersects(LineString(((0, -200), (0, 400))))
