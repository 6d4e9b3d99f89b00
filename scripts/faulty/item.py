"""One planned object: what is sewn, where in the order, and whether it can be sewn at all."""
from dataclasses import dataclass, replace

import corpus  # noqa: F401
import numpy as np
import sew
from draw import Misfit
from geom import ring_points
from satin import Strip
from shapely import affinity
from shapely.geometry import LineString, Point, Polygon

LEAST = 0.9  # mm
WIDEST = 9.0  # mm, satin


@dataclass
class Item:
    name: str
    layer: int  # sewing order within its group; one layer never spans two stops
    strip: Strip = None  # of a satin
    area: Polygon = None  # of a fill
    angle: float = 0.0
    underlay: tuple = ()
    guards: tuple = ()

    def shape(self):
        return self.area if self.strip is None else self.strip.outline()

    def moved(self, dx, dy):
        by = np.array((dx, dy))
        if self.strip is None:
            return replace(self, area=affinity.translate(self.area, dx, dy),
                           guards=tuple(g + by for g in self.guards))
        return replace(self, strip=Strip(self.strip.a + by, self.strip.b + by, self.strip.closed))


def check_strip(strip, what="column"):
    """A column a careful hand would sew: no crossed rails, no needle width, no long crossings."""
    widths = strip.widths()
    if widths.min() < LEAST - 0.01 or widths.max() > WIDEST:
        raise Misfit(f"{what}: {widths.min():.1f} to {widths.max():.1f} mm wide")
    rings = [strip.a, strip.b] if strip.closed else [np.vstack((strip.a, strip.b[::-1]))]
    if not all(Polygon(r).is_valid for r in rings):
        raise Misfit(f"{what}: rails cross")
    if strip.closed and strip.outline().geom_type != "Polygon":
        raise Misfit(f"{what}: rails touch")
    return strip


def check_area(area, what="area"):
    """In one piece and nowhere a sliver."""
    if area.geom_type != "Polygon" or not area.is_valid or area.area < 25:
        raise Misfit(f"{what}: not one area")
    core = area.buffer(-LEAST)
    if core.geom_type != "Polygon" or core.is_empty:
        raise Misfit(f"{what}: falls apart at a thin place")
    if area.difference(core.buffer(LEAST + 0.35)).area > 0.015 * area.area:
        raise Misfit(f"{what}: slivers")
    return area


def sew_item(sw, item, name):
    if item.strip is not None:
        return sew.satin(sw, name, item.strip, item.underlay)
    return sew.fill(sw, name, item.area, item.angle, item.underlay, start=_start(item.area),
                    guards=item.guards, centre=_centre(item.area) if "centre" in item.underlay else None)


def _start(area):
    """Low and near the middle of the cap."""
    ring = ring_points(area.buffer(-0.8).exterior)
    return tuple(ring[np.argmin(ring[:, 1] + 0.3 * np.abs(ring[:, 0]))])


def _centre(area):
    """The longest level line inside, for a lone run under a fill."""
    inner = area.buffer(-1.2)
    x0, y0, x1, y1 = inner.bounds
    best = None
    for y in np.linspace(y0, y1, 9)[1:-1]:
        hit = inner.intersection(LineString(((x0 - 1, y), (x1 + 1, y))))
        for g in getattr(hit, "geoms", [hit]):
            if g.geom_type == "LineString" and (best is None or g.length > best.length):
                best = g
    if best is None or best.length < 3:
        raise Misfit("no room for a centre run")
    return np.array(best.coords)


def box_in(area, margin, aspect):
    """(x, y, width, height): the widest box of that aspect round the middle of the area."""
    inner = area.buffer(-margin)
    if inner.is_empty:
        raise Misfit("no room inside")
    c = area.centroid if inner.contains(area.centroid) else inner.representative_point()
    fits = lambda w: inner.covers(_box(c, w, w / aspect))
    low, high = 0.0, 120.0
    for _ in range(24):
        mid = (low + high) / 2
        low, high = (mid, high) if fits(mid) else (low, mid)
    return c.x, c.y, low, low / aspect


def _box(c: Point, w, h):
    x, y = w / 2, h / 2
    return Polygon(((c.x - x, c.y - y), (c.x + x, c.y - y), (c.x + x, c.y + y), (c.x - x, c.y + y)))


def bounds(items):
    b = np.array([i.shape().bounds for i in items])
    return (*b[:, :2].min(axis=0), *b[:, 2:].max(axis=0))


def first_fit(make, tries, slack, rng, kit, w, h):
    """The first group drawn that fits the box to within the slack (mm); None if none of the tries does."""
    for _ in range(tries):
        try:
            group = make(rng, kit, w, h)
        except Misfit:
            continue
        x0, y0, x1, y1 = bounds(group)
        if x1 - x0 <= w + slack and y1 - y0 <= h + slack:
            return group
    return None
