"""Sewing whole objects: underlay, top stitching, and the record of both."""
import numpy as np
from shapely.geometry import LineString

import assewn
import underlay as under
from fill import fill_passes, perpendicular
from geom import route
from model import Object
from runs import bean, run_points, there_and_back
from satin import crossings, split_points


def _span(sw, label, points, fold=None):
    """Sew points under one label; returns the inclusive index span."""
    first = sw.count
    sw.path(points, label, fold)
    return first, sw.count - 1


def satin(sw, name, strip, underlay=("centre",), way=None, pitch=None, square=None,
          hides=True, held=False):
    """Satin column. `underlay`: any of "centre", "edge", "zigzag", in sewing order.

    A single centre run or zigzag goes out to the far end and the satin comes
    back; after an edge run alone the satin runs from start to end.
    """
    style = sw.style
    parts = _satin_underlay(strip, underlay)
    back = (not strip.closed) and _ends_far(underlay)
    top = strip.flipped() if back else strip
    pitch = pitch or style.pitch
    square = style.square if square is None else square
    points, real = crossings(top, pitch, square)
    lead = parts[0][1] if parts else points[:2]
    spans = []
    sw.go(lead[0], lead[min(1, len(lead) - 1)], way)
    for kind, path, fold in parts:
        if np.hypot(*(sw.at - path[0])) > 1.6:
            _hidden_hop(sw, path[0], strip)
        spans.append((kind, _span(sw, kind, path, fold)))
    if np.hypot(*(sw.at - points[0])) > 1.6:
        _hidden_hop(sw, points[0], strip)
    first, last, cls = _satin_top(sw, points, style)
    w = strip.widths()
    obj = Object(name, cls, sw.stop, first, last, strip.outline(),
                 assewn.column(points), strip, strip.closed, pitch=real,
                 width=(float(w.min()), float(w.max())), hides=hides, held=held,
                 underlay=[{"kind": k, "first": a, "last": b} for k, (a, b) in spans])
    sw.objects.append(obj)
    return obj


def _satin_top(sw, points, style):
    split, inner = split_points(points)
    if any(inner):
        return (*_span(sw, "split-satin", split), "split-satin")
    fold = len(points) - 1 if style.double_folds else None
    return (*_span(sw, "satin", points, fold), "satin")


def _satin_underlay(strip, kinds):
    out = []
    for kind in kinds:
        if kind == "centre":
            out.append(("centre-run", under.centre_run(strip), None))
        elif kind == "edge":
            out.append(("edge-run", under.edge_run(strip), None))
        elif kind == "zigzag":
            out.append(("zigzag", under.zigzag(strip), None))
    return out


def _ends_far(kinds):
    return sum(k in ("centre", "zigzag") for k in kinds) % 2 == 1


def _hidden_hop(sw, p, strip):
    region = strip.outline().buffer(-0.25)
    path = route(sw.at, p, region)
    sw.path(run_points(path if path is not None else np.vstack((sw.at, p)), 2.2)[1:], "travel")


def fill(sw, name, poly, angle, underlay=("edge", "fill"), way=None, start=None, guards=(),
         row_pitch=None, stitch=None, join=None, centre=None, held=False):
    """Tatami fill. `centre`: polyline sewn as the only underlay when "centre" is asked.

    `guards`: curves sewn first as open zigzags, hidden under what comes later.
    """
    style = sw.style
    row_pitch, stitch = row_pitch or style.row_pitch, stitch or style.stitch
    inner = poly.buffer(-0.5)
    spans = []
    for curve in guards:
        g = under.guard(curve)
        sw.go(g[0], g[1], way or inner)
        spans.append(("guard", _span(sw, "guard", g)))
    for kind, path in _fill_underlay(poly, angle, underlay, centre, start):
        sw.go(path[0], path[-1], inner if sw.sewing and (spans or way is None) else way)
        spans.append((kind, _span(sw, kind, path)))
    here = sw.at if sw.sewing else (start if start is not None else None)
    passes = fill_passes(poly, angle, row_pitch, stitch, join or style.join, here)
    if not spans and not sw.sewing:
        sw.start(passes[0][1][0], passes[0][1][1])
    first = None
    for label, path in passes:
        if label == "fill" and np.hypot(*(sw.at - path[0])) > 1.6:
            sw.go(path[0], path[-1], inner)
        a, b = _span(sw, label, path)
        first = a if first is None and label == "fill" else first
    sewn = assewn.fill(poly, [p for label, p in passes if label == "fill"], angle, row_pitch)
    obj = Object(name, "fill", sw.stop, first, sw.count - 1, poly, sewn, angle=angle,
                 row_pitch=row_pitch, stitch=stitch, hides=row_pitch <= 0.3, held=held,
                 underlay=_merged(spans))
    sw.objects.append(obj)
    return obj


def _fill_underlay(poly, angle, kinds, centre, start):
    out = []
    for kind in kinds:
        if kind == "edge":
            out += [("edge-run", loop) for loop in under.fill_edge_loops(poly, start=start)]
        elif kind == "fill":
            begin = out[-1][1][-1] if out else start
            out += [(label, p) for label, p in perpendicular(poly, angle, start=begin)]
        elif kind == "centre":
            out.append(("centre-run", run_points(centre, 2.2)))
    return out


def _merged(spans):
    """Spans of one kind become one entry, from its first stitch to its last."""
    out = []
    for kind, (a, b) in spans:
        if kind == "travel":
            continue
        if out and out[-1]["kind"] == kind:
            out[-1]["last"] = b
        else:
            out.append({"kind": kind, "first": a, "last": b})
    return out


def run(sw, name, curve, kind="run", stitch=2.2, way=None, held=False):
    """Line work: kind "run", "back" (there and back) or "bean"."""
    points = {"run": run_points, "back": there_and_back, "bean": bean}[kind](curve, stitch)
    label = "bean" if kind == "bean" else "run"
    sw.go(points[0], points[1], way)
    fold = len(points) // 2 if kind == "back" else None
    first, last = _span(sw, label, points, fold)
    shape = LineString(curve)
    sw.objects.append(Object(name, label, sw.stop, first, last, shape, stitch=stitch, held=held))
    return sw.objects[-1]
