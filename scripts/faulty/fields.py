"""The fills of one area: plain, with holes, ring-shaped, or parted along a curve."""
import artwork as art
import numpy as np
import outlines
from draw import Misfit, overlap, pick, uniform, whole
from item import Item, check_area, check_strip
from shapely import affinity
from shapely.geometry import Polygon

CLEAR = 2.6  # mm of fill left round a hole


def draw(rng, kit, line, opening, ground, fill, on_it):
    """Items of the area `ground`; `opening` is what its border leaves visible."""
    way = pick(rng, (_plain, _ring, _holes, _parted), (5, 1, 2.5, 2.5))
    return way(rng, kit, line, opening, ground, fill, on_it)


def _fill(rng, kit, name, layer, area):
    return Item(name, layer, area=check_area(area, name), angle=uniform(rng, 0, 180, 1) % 180,
                underlay=kit.under_area())


def _satin(kit, name, layer, strip):
    return Item(name, layer, check_strip(strip, name), underlay=kit.under_column(strip))


def _plain(rng, kit, line, opening, ground, fill, on_it):
    return [_fill(rng, kit, line.kind, fill, ground)]


def _ring(rng, kit, line, opening, ground, fill, on_it):
    """Ring-shaped fill with a satin ring on its inner edge too."""
    if not line.smooth:
        raise Misfit("only smooth outlines become rings")
    share = uniform(rng, 0.4, 0.62)
    x0, y0, x1, y1 = opening.bounds
    inner = pick(rng, (outlines.disc, outlines.ellipse))(rng, share * (x1 - x0), share * (y1 - y0))
    width = uniform(rng, 1.8, 3.2)
    if inner.bend() < 1.3 * width:
        raise Misfit("inner ring too small")
    frame = inner.column(width / 2, width / 2)
    if not opening.buffer(-4.0).covers(outlines.outside(frame)):
        raise Misfit("ring too thin")
    hole = outlines.outside(frame).buffer(-overlap(rng, width - 0.4), join_style="mitre")
    return [_fill(rng, kit, f"{line.kind}-ring", fill, ground.difference(hole)),
            _satin(kit, "inner-border", on_it, frame)]


def _holes(rng, kit, line, opening, ground, fill, on_it):
    """One or two holes: left bare, framed in satin, or closed by what is sewn later."""
    taken, rest = [], []
    for k in range(whole(rng, 1, 2)):
        make = pick(rng, (_bare, _framed, _plugged, _patched), (1, 2, 2, 1))
        hole, outer, items = make(rng, kit, str(k + 1), fill, on_it)
        spot = _spot(rng, opening, outer, [o for o, _ in taken])
        if spot is None:
            continue
        taken.append((affinity.translate(outer, *spot), affinity.translate(hole, *spot)))
        rest += [i.moved(*spot) for i in items]
    if not taken:
        raise Misfit("no room for a hole")
    for _, hole in taken:
        ground = ground.difference(hole)
    return [_fill(rng, kit, line.kind, fill, ground)] + rest


def _spot(rng, opening, outer, others):
    """A place at random where CLEAR mm of fill stays round it."""
    room = opening.buffer(-CLEAR)
    if room.is_empty:
        return None
    x0, y0, x1, y1 = room.bounds
    for _ in range(30):
        spot = uniform(rng, x0, max(x0, x1)), uniform(rng, y0, max(y0, y1))
        put = affinity.translate(outer, *spot)
        if room.covers(put) and all(put.distance(o) > CLEAR for o in others):
            return spot
    return None


def _outline(rng, low=6.0, high=11.0):
    make = pick(rng, (outlines.disc, outlines.ellipse, outlines.round_box))
    return make(rng, uniform(rng, low, high), uniform(rng, low, high))


def _bare(rng, kit, mark, fill, on_it):
    hole = Polygon(_outline(rng, 5.0, 9.0).pieces[0])
    return hole, hole, []


def _framed(rng, kit, mark, fill, on_it):
    line, width = _outline(rng, 7.0, 12.0), uniform(rng, 1.8, 2.6)
    if line.bend() < 1.2 * width:
        raise Misfit("frame too small")
    frame = line.column(width / 2, width / 2)
    outer = outlines.outside(frame)
    hole = outer.buffer(-overlap(rng, width - 0.4), join_style="mitre")
    return hole, outer, [_satin(kit, f"frame-{mark}", on_it, frame)]


def _plugged(rng, kit, mark, fill, on_it):
    """The hole was cut for a satin object that is sewn into it."""
    d = uniform(rng, 4.5, 8.8)
    strip = pick(rng, (art.ball(0, 0, d), art.tower(0, 0, d * 1.2, d, d * 0.7),
                       art.straight((-d, 0), (d, 0), uniform(rng, 3.0, 6.0))))
    outer = Polygon(strip.outline().exterior)
    hole = outer.buffer(-overlap(rng, 1.2), join_style="mitre")
    return hole, outer, [_satin(kit, f"plug-{mark}", on_it, strip)]


def _patched(rng, kit, mark, fill, on_it):
    """A small fill sewn later into the hole, its edge over the big one's."""
    outer = Polygon(_outline(rng, 8.0, 14.0).pieces[0])
    hole = outer.buffer(-overlap(rng), join_style="mitre")
    return hole, outer, [_fill(rng, kit, f"patch-{mark}", fill + 1, outer)]


def _parted(rng, kit, line, opening, ground, fill, on_it):
    """Two or three fills side by side, each later one over the edge of the one before."""
    count, turn = pick(rng, (2, 3), (3, 1)), uniform(rng, -90, 90)
    span = min(opening.bounds[2] - opening.bounds[0], opening.bounds[3] - opening.bounds[1])
    if span / count < 8:
        raise Misfit("parts too thin")
    rise = pick(rng, (0.0, uniform(rng, 0.5, 1.6)))
    marks = [uniform(rng, -0.15, 0.15) * span] if count == 2 else [-span / 6, span / 6]
    parts, below = [], None
    for k in range(count):
        half = _half(ground, turn, marks[k], rise) if k < count - 1 else None
        area = ground if half is None else ground.intersection(half.buffer(overlap(rng)))
        area = area if below is None else area.difference(below)
        # A needle wants no points sharper than the thread where cut and border meet.
        parts.append(_fill(rng, kit, f"part-{k + 1}", fill + k, area.buffer(-0.4).buffer(0.4)))
        below = half
    return parts


def _half(ground, turn, mark, rise):
    """All that lies below a straight or wavy cut."""
    x = np.arange(-120, 120.1, 0.25)
    cut = np.column_stack((x, mark + rise * np.sin(2 * np.pi * x / 14.0)))
    half = Polygon(np.vstack((cut, [(120, -200), (-120, -200)])))
    c = ground.centroid
    return affinity.translate(affinity.rotate(half, turn, origin=(0, 0)), c.x, c.y)
