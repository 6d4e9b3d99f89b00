"""Where the groups of a design stand on the cap front."""
from dataclasses import replace

import columns
import emblem
import rowing
from draw import Misfit, chance, pick, uniform
from item import bounds, first_fit
from shapely.ops import unary_union

APART = 1.5  # mm between groups
WIDEST, HIGHEST = 100.0, 50.0  # mm
LOWEST = 11.6  # mm above the brim, ties and rounding included in 11


def cells(rng, count, w, h):
    """[(x, y, w, h)] of each group's cell, the whole box centred on the origin."""
    gap = uniform(rng, 2.0, 5.0)
    if count == 1:
        return [(0, 0, w, h)]
    if count == 2:
        return _two(rng, w, h, gap)
    if chance(rng, 0.6):
        side = uniform(rng, 0.2, 0.3) * (w - 2 * gap)
        mid = w - 2 * gap - 2 * side
        x = mid / 2 + gap + side / 2
        return [(0, 0, mid, h), (-x, 0, side, h * 0.8), (x, 0, side, h * 0.8)]
    left = _two(rng, w, h, gap)
    x, y, cw, ch = left.pop()
    low = (ch - gap) * uniform(rng, 0.4, 0.6)
    high = ch - gap - low
    return left + [(x, y - ch / 2 + low / 2, cw, low), (x, y + ch / 2 - high / 2, cw, high)]


def _two(rng, w, h, gap):
    share = uniform(rng, 0.35, 0.65)
    if h > 36 and w < 75 and chance(rng, 0.5):
        low = share * (h - gap)
        high = h - gap - low
        return [(0, -h / 2 + low / 2, w, low), (0, h / 2 - high / 2, w, high)]
    left = share * (w - gap)
    right = w - gap - left
    return [(-w / 2 + left / 2, 0, left, h), (w / 2 - right / 2, 0, right, h)]


def groups(rng, kit, w, h, centre):
    """Lists of items, each list one group in its place, layers counted from nought."""
    count = pick(rng, (1, 2, 3), (3.5, 4, 2.5))
    out = []
    for x, y, cw, ch in cells(rng, count, w, h):
        group = _one(rng, kit, cw, ch, lone=count == 1)
        out.append(_ranked([i.moved(x + centre[0], y + centre[1]) for i in group]))
    shapes = [unary_union([i.shape() for i in g]) for g in out]
    for k, shape in enumerate(shapes):
        if any(shape.distance(other) < APART for other in shapes[:k]):
            raise Misfit("groups too near each other")
    return out


def _one(rng, kit, w, h, lone):
    """A group that fits the cell; a few goes before the whole design is drawn again."""
    make = pick(rng, (emblem.draw, columns.draw, rowing.draw), (8, 1, 1) if lone else (5, 2.5, 2.5))
    group = first_fit(make, 12, 0.5, rng, kit, w, h)
    if group is None:
        raise Misfit("nothing fits the cell")
    x0, y0, x1, y1 = bounds(group)
    return [i.moved(-(x0 + x1) / 2, -(y0 + y1) / 2) for i in group]


def _ranked(group):
    ranks = {layer: k for k, layer in enumerate(sorted({i.layer for i in group}))}
    return [replace(i, layer=ranks[i.layer]) for i in sorted(group, key=lambda i: i.layer)]
