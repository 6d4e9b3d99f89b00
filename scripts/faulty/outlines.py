"""Closed outlines round the origin, and the columns that follow them."""
from dataclasses import dataclass

import artwork as art
import numpy as np
from draw import Misfit, chance, pick, uniform, whole
from geom import arc, even, join, left_normals, line, transform
from satin import Strip, mitred
from shapely.geometry import Polygon


@dataclass
class Outline:
    """Counter-clockwise pieces; one smooth piece, or several that meet at corners."""
    kind: str
    pieces: list

    @property
    def smooth(self):
        return len(self.pieces) == 1

    def column(self, inward, outward):
        """Closed column from `inward` mm inside the outline to `outward` mm outside it."""
        if not self.smooth:
            return mitred(self.pieces, inward, -outward)
        spine = self.pieces[0]
        n = left_normals(spine[:-1], True)
        n = np.vstack((n, n[:1]))
        wide = lambda d: np.broadcast_to(np.asarray(d, float), len(spine))[:, None]
        return Strip(spine + n * wide(inward), spine - n * wide(outward), True)

    def bend(self):
        """Smallest radius of a smooth outline, mm."""
        d = np.diff(self.pieces[0], axis=0)
        if len(d) < 60:
            raise Misfit("outline too small")
        way = np.arctan2(d[:, 1], d[:, 0])
        turn = np.abs(np.angle(np.exp(1j * np.diff(way))))
        step = np.hypot(d[:, 0], d[:, 1]).mean()
        return float(5 * step / np.convolve(turn, np.ones(5), "valid").max())


def disc(rng, w, h):
    r, a = min(w, h) / 2, uniform(rng, 0, 360)
    return Outline("disc", [even(arc(0, 0, r, r, a, a + 360), 0.1)])


def ellipse(rng, w, h):
    w, h = min(w, 2.0 * h), min(h, 2.0 * w)
    a = uniform(rng, 0, 360)
    return Outline("ellipse", [even(arc(0, 0, w / 2, h / 2, a, a + 360), 0.1)])


def round_box(rng, w, h):
    r = uniform(rng, 0.18, 0.36) * min(w, h)
    x, y = w / 2 - r, h / 2 - r
    c = join(line((-x, -h / 2), (x, -h / 2)), arc(x, -y, r, r, -90, 0), line((w / 2, -y), (w / 2, y)),
             arc(x, y, r, r, 0, 90), line((x, h / 2), (-x, h / 2)), arc(-x, y, r, r, 90, 180),
             line((-w / 2, y), (-w / 2, -y)), arc(-x, -y, r, r, 180, 270))
    c = even(c, 0.1)
    k = whole(rng, 0, len(c) - 2)
    return Outline("round-box", [np.vstack((c[k:-1], c[:k + 1]))])


def shield(rng, w, h):
    w = min(w, 2.2 * h)
    drop = h * uniform(rng, 0.25, 0.45)
    return Outline("shield", art.shield(w / 2, h / 2, -h / 2 + drop + 0.12 * h, -h / 2,
                                        h * uniform(rng, 0.03, 0.1), drop))


def _cornered(kind, corners):
    c = [tuple(p) for p in corners]
    return Outline(kind, [line(p, q) for p, q in zip(c, c[1:] + c[:1])])


def polygon(rng, w, h):
    n = pick(rng, (3, 4, 5, 6, 8), (1, 2, 2, 2, 1))
    a = np.radians(uniform(rng, 0, 360) + 360 / n * (np.arange(n) + rng.uniform(-0.12, 0.12, n)))
    c = np.column_stack((np.cos(a), np.sin(a)))
    span = c.max(axis=0) - c.min(axis=0)
    w, h = min(w, 1.9 * h), min(h, 1.9 * w)
    return _cornered("polygon", (c - c.min(axis=0) - span / 2) / span * (w, h))


def star(rng, w, h):
    tips, r = whole(rng, 5, 7), min(w, h) / 2
    c = art.star(0, 0, r, tips, uniform(rng, 0.52, 0.64))
    return _cornered("star", transform(c, uniform(rng, 0, 360 / tips)))


def swallowtail(rng, w, h):
    w = min(w, 2.4 * h)
    x, y, cut = w / 2, h / 2, w * uniform(rng, 0.12, 0.25)
    c = [(-x, -y), (x, -y), (x - cut, 0), (x, y), (-x, y)]
    return _cornered("swallowtail", c if chance(rng, 0.5) else [(-p, q) for p, q in c[::-1]])


def flag(rng, w, h):
    w = min(w, 2.6 * h)
    rise = uniform(rng, 0.05, 0.1) * h
    x = np.linspace(-w / 2, w / 2, int(w / 0.1) + 1)
    swing = rise * np.sin(2 * np.pi * x / (w / uniform(rng, 0.8, 1.6)) + uniform(rng, 0, 6.28))
    y = h / 2 - rise
    low, high = np.column_stack((x, swing - y)), np.column_stack((x, swing + y))[::-1]
    return Outline("flag", [low, line(low[-1], high[0]), high, line(high[-1], low[0])])


def draw(rng, w, h):
    make = pick(rng, (disc, ellipse, round_box, shield, polygon, star, swallowtail, flag),
                (3 if w < 1.6 * h else 1, 3, 3, 3, 2.5, 1.5, 1.5, 2))
    if min(w, h) < 9:
        raise Misfit("no room for an area")
    return make(rng, w, h)


def inside(strip):
    return Polygon(strip.a)


def outside(strip):
    return Polygon(strip.b)
