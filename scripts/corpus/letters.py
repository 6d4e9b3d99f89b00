"""Block capitals made of satin strokes.

Each glyph is a function of height h and stroke width t (mm) that returns
(width, [Strip or None, ...]) with the lower left corner at (0, 0). Every stroke
starts where a later one will cover the way there; None stands for a trim.
"""
import numpy as np
from shapely.ops import unary_union

from geom import arc, even, join, line, transform
from satin import Strip, ribbon, slab, straight
from sew import satin


def _stem(x, y0, y1, t):
    return straight((x, y0), (x, y1), t)


def _a(h, t):
    w, across = 0.92 * h, t * 1.12
    left = slab((w / 2 - 0.1, h), (across / 2, 0), across)
    right = slab((w / 2 + 0.1, h), (w - across / 2, 0), across)
    y = 0.30 * h
    x = across / 2 + (w / 2 - across / 2) * y / h
    return w, [straight((x, y), (w - x, y), t * 0.9), left, right]


def _c(h, t):
    w = 0.80 * h
    return w, [ribbon(arc(w / 2 + 0.03 * h, h / 2, (w - t) / 2, (h - t) / 2, 48, 312), t)]


def _d(h, t):
    w = 0.78 * h
    r = (h - t) / 2
    bowl = join(line((t * 0.45, h - t / 2), (w - t / 2 - r, h - t / 2)),
                arc(w - t / 2 - r, h / 2, r, r, 90, -90),
                line((w - t / 2 - r, t / 2), (t * 0.45, t / 2)))
    return w, [ribbon(bowl, t), _stem(t / 2, h, 0, t)]


def _e(h, t):
    w = 0.62 * h
    bars = [straight((t * 0.45, y), (x, y), t * 0.92)
            for y, x in ((t * 0.46, w), (h / 2, w * 0.88), (h - t * 0.46, w))]
    return w, bars + [_stem(t / 2, h, 0, t)]


def _f(h, t):
    w, e = _e(h, t)
    return w, e[1:]


def _h(h, t):
    w = 0.76 * h
    return w, [straight((t * 0.45, h / 2), (w - t * 0.45, h / 2), t * 0.92),
               _stem(t / 2, h, 0, t), None, _stem(w - t / 2, h, 0, t)]


def _i(h, t):
    return t, [_stem(t / 2, 0, h, t)]


def _k(h, t):
    w = 0.76 * h
    a = t * 1.15
    return w, [slab((w * 0.42, 0.56 * h), (w - a / 2, 0), a),
               slab((t * 0.8, 0.42 * h), (w - a / 2, h), a), _stem(t / 2, 0, h, t)]


def _l(h, t):
    w = 0.60 * h
    return w, [straight((t * 0.45, t * 0.46), (w, t * 0.46), t * 0.92), _stem(t / 2, 0, h, t)]


def _n(h, t):
    w, a = 0.80 * h, t * 1.15
    return w, [slab((a / 2, h), (w - a / 2, 0), a), _stem(t / 2, h, 0, t), None,
               _stem(w - t / 2, h, 0, t)]


def _o(h, t, start=-90):
    w = 0.90 * h
    ring = arc(w / 2, h / 2, (w - t) / 2, (h - t) / 2, start, start + 360)
    return w, [ribbon(ring, t, True)]


def _q(h, t):
    w, rings = _o(h, t, -48)
    tail = straight((0.58 * w, 0.30 * h), (0.98 * w, -0.02 * h), t * 0.9)
    return w, [*rings, tail]


def _r(h, t):
    w = 0.74 * h
    r = 0.25 * h
    x = w - t / 2 - r
    bowl = join(line((t * 0.45, h - t / 2), (x, h - t / 2)),
                arc(x, h - t / 2 - r, r, r, 90, -90),
                line((x, h - t / 2 - 2 * r), (t * 0.45, h - t / 2 - 2 * r)))
    a = t * 1.12
    leg = slab((0.48 * w, h - t - 2 * r + t * 0.6), (w - a / 2, 0), a)
    return w, [leg, ribbon(bowl, t), _stem(t / 2, h, 0, t)]


def _s(h, t):
    w = 0.68 * h
    rx, r = (w - t) / 2, (h - t) / 4
    upper = arc(w / 2, h - t / 2 - r, rx, r, 28, 270)
    lower = arc(w / 2, t / 2 + r, rx, r, 90, -152)
    spine = join(upper, lower)
    soft = np.vstack([np.convolve(np.pad(c, 8, "edge"), np.ones(17) / 17, "valid")
                      for c in even(spine, 0.1).T]).T
    return w, [ribbon(soft, t)]


def _t(h, t):
    w = 0.76 * h
    return w, [_stem(w / 2, h - t * 0.5, 0, t), straight((0, h - t * 0.46), (w, h - t * 0.46), t * 0.92)]


def _u(h, t):
    w = 0.78 * h
    r = (w - t) / 2
    spine = join(line((t / 2, h), (t / 2, r + t / 2)),
                 arc(w / 2, r + t / 2, r, r, 180, 360),
                 line((w - t / 2, r + t / 2), (w - t / 2, h)))
    return w, [ribbon(spine, t)]


def _v(h, t):
    w, a = 0.88 * h, t * 1.12
    return w, [slab((w / 2 - 0.1, 0), (a / 2, h), a), slab((w / 2 + 0.1, 0), (w - a / 2, h), a)]


def _w(h, t):
    w, a = 1.22 * h, t * 1.08
    x = [a / 2, w * 0.29, w / 2, w * 0.71, w - a / 2]
    y = [h, 0, h * 0.92, 0, h]
    legs = ((1, 0), (2, 1), (3, 2), (3, 4))
    return w, [slab((x[p], y[p]), (x[q], y[q]), a) for p, q in legs]


def _y(h, t):
    w, a = 0.86 * h, t * 1.12
    m = 0.42 * h
    return w, [_stem(w / 2, m + 0.35 * t, 0, t), slab((w / 2, m), (a / 2, h), a),
               slab((w / 2, m), (w - a / 2, h), a)]


GLYPHS = {"A": _a, "C": _c, "D": _d, "E": _e, "F": _f, "H": _h, "I": _i, "K": _k, "L": _l,
          "N": _n, "O": _o, "Q": _q, "R": _r, "S": _s, "T": _t, "U": _u, "V": _v, "W": _w,
          "Y": _y}


def layout(text, h, t, gap=None, space=None):
    """[(char, x of its left edge)], total width."""
    gap = gap if gap is not None else 0.22 * h
    x, out = 0.0, []
    for ch in text:
        if ch == " ":
            x += (space if space is not None else 0.55 * h) - gap
            continue
        out.append((ch, x))
        x += GLYPHS[ch](h, t)[0] + gap
    return out, x - gap


def placed(ch, h, t, move):
    _, strips = GLYPHS[ch](h, t)
    return [s and Strip(transform(s.a, 0, move), transform(s.b, 0, move), s.closed)
            for s in strips]


def sew_letter(sw, name, strips, underlay=("centre",)):
    """One letter: strokes joined by hidden travel, reached by a trim."""
    shape = unary_union([s.outline() for s in strips if s])
    way, number = None, 0
    for strip in (None, *strips):
        if strip is None:
            sw.cut()
            way = None
            continue
        number += 1
        satin(sw, f"{name}-{number}", strip, underlay, way)
        way = shape.buffer(-0.25)


def sew_word(sw, prefix, text, x, y, h, t, underlay=("centre",), gap=None, space=None,
             order=None):
    """Line of letters from x; `order`: indices in sewing order (default left to right)."""
    places, _ = layout(text, h, t, gap, space)
    for k in order or range(len(places)):
        ch, dx = places[k]
        sew_letter(sw, f"{prefix}-{k + 1}{ch.lower()}", placed(ch, h, t, (x + dx, y)), underlay)
