"""A bordered area: its borders, the fill that reaches under them, and what lies on it."""
from dataclasses import replace

import columns
import fields
import numpy as np
import outlines
import rowing
from draw import Misfit, chance, overlap, pick, uniform
from geom import ring_points
from item import Item, box_in, check_strip, first_fit
from satin import Strip, panel
from shapely import affinity
from shapely.geometry import LineString

# Layers of an emblem, in sewing order; fields.py uses FILL and up to two after it.
EARLY, FILL, ON_IT, BORDER, LATE = 0, 10, 20, 30, 40


def draw(rng, kit, w, h):
    double = chance(rng, 0.35)
    width = uniform(rng, 1.8, min(4.5, 0.1 * min(w, h) + 1.0))
    second = uniform(rng, 1.8, 3.5) if double else 0.0
    lap = overlap(rng, min(width, second) - 0.5) if double else 0.0
    pad = width + 2 * (second - lap)
    line = outlines.draw(rng, w - pad, h - pad)
    if line.kind in ("star", "polygon"):
        width, second = min(width, 2.8), min(second, 2.6)
    first = _first_border(rng, line, width)
    ground = _ground(rng, first, min(width, first.widths().min()))
    items = fields.draw(rng, kit, line, outlines.inside(first), ground, FILL, ON_IT)
    if chance(rng, 0.07):
        return items + _contents(rng, kit, items, outlines.inside(first))
    items += _contents(rng, kit, items, outlines.inside(first))
    items += _borders(rng, kit, line, first, second, lap)
    return _guarded(rng, items, first)


def _first_border(rng, line, width):
    """Constant width, or on a smooth outline one that swells round it."""
    if not line.smooth:
        return check_strip(line.column(width / 2, width / 2), "border")
    if line.bend() < 1.3 * width:
        raise Misfit("border bends too tightly")
    half = width / 2
    if chance(rng, 0.3):
        turn = np.linspace(0, 2 * np.pi, len(line.pieces[0])) * pick(rng, (1, 2))
        half = half * (1 + uniform(rng, 0.1, 0.35) * np.sin(turn + uniform(rng, 0, 6.28)))
        half = np.clip(half, 0.9, 2.25)
        half[-1] = half[0]
    return check_strip(line.column(half, half), "border")


def _ground(rng, first, narrow):
    """The fill's whole area; sometimes a little off its place, as after a sloppy resize."""
    reach = overlap(rng, narrow - 0.4)
    ground = outlines.inside(first).buffer(reach, join_style="mitre")
    if reach > 0.2 and chance(rng, 0.2):
        a, by = uniform(rng, 0, 6.28), uniform(rng, 0.05, 0.2)
        ground = affinity.translate(ground, by * np.cos(a), by * np.sin(a))
    return ground


def _borders(rng, kit, line, first, second, lap):
    item = lambda name, layer, strip: Item(name, layer, check_strip(strip, name),
                                           underlay=kit.under_column(strip))
    if second:
        outer = _outer_border(line, first, second, lap)
        later = chance(rng, 0.65)
        return [item("border", BORDER, first), item("outer-border", LATE if later else EARLY, outer)]
    if line.smooth and chance(rng, 0.15):
        n = len(first.a)
        keep = int(n * uniform(rng, 0.4, 0.75))
        return [item("half-border", BORDER, Strip(first.a[:keep], first.b[:keep]))]
    return [item("border", BORDER, first)]


def _outer_border(line, first, width, lap):
    """Outside the first border, over or under its outer edge by `lap`."""
    half = first.widths() / 2
    if not line.smooth:
        half = half.min()
    return line.column(lap - half, half + width - lap)


def _contents(rng, kit, items, opening):
    """One or two motifs that lie wholly on one fill, or a band whose ends run under the border."""
    grounds = [i for i in items if i.area is not None]
    if len(items) > 1 or grounds[0].area.interiors or chance(rng, 0.25):
        return []
    if chance(rng, 0.25):
        return _band(rng, kit, opening)
    x, y, w, h = max((box_in(opening, 1.8, a) for a in (1.0, 1.5, 2.2, 3.2)), key=lambda b: b[2] * b[3])
    if min(w, h) < 6:
        return []
    if w > 34 and w > 1.7 * h and chance(rng, 0.6):
        half = w / 2 - 1.0
        left = _motif(rng, kit, x - w / 4 - 0.5, y, half, h, "left-")
        return left + _motif(rng, kit, x + w / 4 + 0.5, y, half, h, "right-")
    return _motif(rng, kit, x, y, w, h)


def _motif(rng, kit, x, y, w, h, mark=""):
    """Artwork or columns that fit the box; nothing if none does."""
    make = rowing.draw if chance(rng, 0.6) else columns.on_fill
    group = first_fit(make, 6, 0, rng, kit, w, h)
    if group is None:
        return []
    top = min(i.layer for i in group)
    return [replace(i.moved(x, y), name=mark + i.name, layer=ON_IT + i.layer - top) for i in group]


def _band(rng, kit, opening):
    """A level column from border to border, its ends cut along the border's edge."""
    width, lap = uniform(rng, 3.2, 6.5), overlap(rng, 1.4)
    y = opening.centroid.y + uniform(rng, -0.15, 0.15) * (opening.bounds[3] - opening.bounds[1])
    ends = []
    for level in (y + width / 2, y - width / 2):
        hit = opening.intersection(LineString(((-200, level), (200, level))))
        if hit.geom_type != "LineString" or hit.length < 12:
            return []
        ends.append((hit.bounds[0] - lap, hit.bounds[2] + lap))
    if max(abs(ends[0][k] - ends[1][k]) for k in (0, 1)) > 0.4 * width:
        return []
    (p, q), (r, s) = ends
    rails = ([(p, y + width / 2), (q, y + width / 2)], [(r, y - width / 2), (s, y - width / 2)])
    strip = check_strip(panel(*rails), "band")
    return [Item("band", ON_IT, strip, underlay=kit.under_column(strip))]


def _guarded(rng, items, first):
    """Now and then the digitizer did guard the edge where fill and border cross."""
    fills = [i for i in items if i.area is not None]
    closed = any(i.name == "border" for i in items)
    if len(fills) != 1 or not closed or not chance(rng, 0.15):
        return items
    if not fills[0].area.contains(LineString(ring_points(outlines.inside(first).exterior))):
        return items
    guard = ring_points(outlines.inside(first).exterior)
    return [replace(i, guards=(guard,)) if i.area is not None else i for i in items]
