"""Groups of satin columns without a fill: side by side, end-on, tapering, bent, closed."""
import artwork as art
import numpy as np
import outlines
from draw import Misfit, chance, overlap, pick, uniform, whole
from geom import arc, arc_lengths, even, left_normals, smooth
from item import Item, bounds, check_strip
from satin import panel, ribbon, straight

CROWD = 0.3  # inner pitch, share of the outer one


def _uncrowded(strip):
    """Bent columns whose inner needle points would not crowd."""
    steps = [np.hypot(*np.diff(r, axis=0).T) for r in (strip.a, strip.b)]
    a, b = (np.convolve(s, np.ones(8) / 8, "valid") for s in steps)
    if (np.minimum(a, b) / np.maximum(a, b)).min() < CROWD:
        raise Misfit("bend too tight")
    return check_strip(strip)


def _group(kit, parts, turn=0.0):
    """Items from (name, layer, strip), turned, their bounds centred on the origin."""
    items = [Item(n, k, check_strip(art.placed(s, (0, 0), turn), n), underlay=kit.under_column(s))
             for n, k, s in parts]
    x0, y0, x1, y1 = bounds(items)
    return [i.moved(-(x0 + x1) / 2, -(y0 + y1) / 2) for i in items]


def bars(rng, kit, w, h):
    """Two to four columns side by side, each later one over the edge of the last."""
    count = whole(rng, 2, 4)
    x = np.linspace(-w / 2, w / 2, int(w / 0.1) + 1)
    base = np.column_stack((x, uniform(rng, 0, 0.16) * h * np.cos(np.pi * x / w)))
    n, up, y, parts = left_normals(base), pick(rng, (1, -1)), 0.0, []
    for k in range(count):
        width = uniform(rng, 2.4, min(8.5, max(2.6, 1.3 * h / count)))
        y += 0 if k == 0 else width / 2 - overlap(rng, min(width, parts[-1][3]) - 0.9)
        spine = base + n * up * y
        a, b = (int(uniform(rng, 0, 0.12) * len(x)) for _ in range(2))
        parts.append((f"bar-{k + 1}", k // 2, _uncrowded(ribbon(spine[a:len(x) - b], width)), width))
        y += width / 2
    return _group(kit, [p[:3] for p in parts], uniform(rng, -12, 12) if chance(rng, 0.4) else 0.0)


def tee(rng, kit, w, h):
    """Stems that meet a beam end-on, below it, above it or over it."""
    wide = uniform(rng, 2.4, min(6.5, 0.35 * h))
    beam = ("beam", 1, straight((-w / 2, 0), (w / 2, 0), wide))
    count = whole(rng, 1, max(1, min(4, int(w / 11))))
    side, under = pick(rng, (1, -1)), chance(rng, 0.6)
    stems = []
    for k in range(count):
        width = uniform(rng, 2.0, min(7.0, w / count - 3))
        x = (k + 0.5) * w / count - w / 2
        near = side * (wide / 2 - overlap(rng, wide - 0.6))
        far = side * (wide / 2 + (h - wide) * uniform(rng, 0.7, 1.0))
        stems.append((f"stem-{k + 1}", 0 if under else 2, straight((x, far), (x, near), width)))
    turn = pick(rng, (0.0, 90.0)) if h > 0.8 * w else 0.0
    return _group(kit, stems + [beam] if under else [beam] + stems, turn)


def ell(rng, kit, w, h):
    """An L: one mitred column, or two legs that meet end-on."""
    t = uniform(rng, 2.0, min(6.0, 0.3 * h))
    x, y = uniform(rng, 0.5, 1.0) * min(w, 40), uniform(rng, 0.7, 1.0) * h
    if min(x, y) < 2.2 * t:
        raise Misfit("legs too short")
    if chance(rng, 0.5):
        return _group(kit, [("ell", 0, panel([(0, y), (0, 0), (x, 0)], [(t, y), (t, t), (x, t)]))])
    o = overlap(rng, t - 0.6)
    legs = [("foot", 0, straight((t - o, t / 2), (x, t / 2), t)),
            ("leg", 1, straight((t / 2, y), (t / 2, 0), t))]
    return _group(kit, legs)


def chevrons(rng, kit, w, h):
    t, x = uniform(rng, 2.0, 4.2), min(w, 1.6 * h) / 2
    rise = uniform(rng, 0.4, 0.7) * x
    count = max(1, min(3, int((h - rise) / (t + 1.6))))
    parts = []
    for k in range(count):
        y = k * (t + uniform(rng, 1.3, 2.0))
        top = [(-x, y + rise), (0, y), (x, y + rise)]
        parts.append((f"chevron-{k + 1}", 0, panel(top, [(p, q - t) for p, q in top])))
    if rise + t > h:
        raise Misfit("chevron too high")
    return _group(kit, parts)


def _s_spine(rng, w, h):
    x, y = w / 2, h / 2
    p = [(-x, -y * 0.7), (-x * 0.45, y * uniform(rng, 0.5, 0.9)), (x * 0.1, 0),
         (x * 0.5, -y * uniform(rng, 0.5, 0.9)), (x, y * 0.7)]
    return even(smooth(p), 0.1)


def ess(rng, kit, w, h):
    """An S whose width changes along it."""
    if w < 14 or h < 10:
        raise Misfit("no room for an S")
    spine = _s_spine(rng, min(w, 48) - 5, min(h, 24) - 6)
    u = np.linspace(0, 1, len(spine))
    most = uniform(rng, 2.6, 5.5)
    width = pick(rng, (1.3 + (most - 1.3) * np.sin(np.pi * u), most + (1.2 - most) * u,
                       np.full(len(u), most)))
    return _group(kit, [("ess", 0, _uncrowded(ribbon(spine, width)))])


def relay(rng, kit, w, h):
    """One line sewn as several columns that meet end-on."""
    spine = _s_spine(rng, w - 4, h - 5) if chance(rng, 0.5) else even(
        arc(0, 0, w / 2 - 3, min(h, w) / 2 - 2, 200, 340), 0.1)
    width, total = uniform(rng, 2.6, 6.0), arc_lengths(spine)[-1]
    count = whole(rng, 2, 3)
    if total < 12 * count:
        raise Misfit("line too short")
    parts = []
    for k in range(count):
        o = overlap(rng)
        a, b = int(k * len(spine) / count), int((k + 1) * len(spine) / count + o / 0.1)
        parts.append((f"leg-{k + 1}", k % 2, _uncrowded(ribbon(spine[a:b], width))))
    return _group(kit, sorted(parts, key=lambda p: p[1]))


def tapers(rng, kit, w, h):
    """A fan of columns that run to a point."""
    r = min(w / 2, h)
    if r < 12:
        raise Misfit("no room for a fan")
    count, inner = whole(rng, 3, 6), uniform(rng, 3.0, 5.0)
    foot = min(uniform(rng, 1.6, 5.0), inner * np.pi / count - 0.9)
    parts = []
    for k in sorted(range(count), key=lambda k: abs(k - (count - 1) / 2)):
        a = np.pi * (k + 0.5) / count
        u, bow = np.array((np.cos(a), np.sin(a))), uniform(rng, -0.08, 0.08) * r
        mid = u * (inner + r) / 2 + np.array((-u[1], u[0])) * bow
        spine = even(smooth([u * inner, mid, u * r]), 0.1)
        width = np.linspace(max(foot, 1.3), 0.9, len(spine))
        parts.append((f"tip-{k + 1}", k % 2, _uncrowded(ribbon(spine, width))))
    return _group(kit, sorted(parts, key=lambda p: p[1]))


def rings(rng, kit, w, h):
    """One to three closed columns round each other, sewn inward or outward, and perhaps a ball."""
    count = whole(rng, 1, 3)
    widths = [uniform(rng, 1.8, 4.0) for _ in range(count)]
    make = pick(rng, (outlines.disc, outlines.ellipse, outlines.round_box))
    line = make(rng, min(w, 44) - 9, min(h, 44) - 9)
    if line.bend() < 1.3 * max(widths):
        raise Misfit("ring too small")
    parts, at = [], 0.0
    for k, width in enumerate(widths):
        at -= overlap(rng, min(widths) - 0.5) if k else 0.0
        parts.append((f"ring-{k + 1}", k, line.column(-at, at + width)))
        at += width
    if chance(rng, 0.4):
        parts = [(n, count - 1 - k, s) for n, k, s in parts[::-1]]
    hole = outlines.inside(parts[0][2] if parts[0][0] == "ring-1" else parts[-1][2]).buffer(-1.6)
    if not hole.is_empty and chance(rng, 0.4):
        c, x0 = hole.centroid, hole.bounds
        d = min(8.0, x0[2] - x0[0], x0[3] - x0[1])
        if d >= 3:
            parts.append(("ball", count, art.ball(c.x, c.y, d)))
    return _group(kit, parts)


def bare_outline(rng, kit, w, h):
    """A cornered outline in satin with nothing inside."""
    make = pick(rng, (outlines.star, outlines.polygon, outlines.swallowtail))
    width = uniform(rng, 1.8, 3.2)
    line = make(rng, min(w, 40) - 2 * width, min(h, 40) - 2 * width)
    strip = line.column(width / 2, width / 2)
    if outlines.inside(strip).buffer(-1.2).area < 20:
        raise Misfit("hardly open inside")
    return _group(kit, [(line.kind, 0, strip)])


def draw(rng, kit, w, h):
    if min(w, h) < 7:
        raise Misfit("no room for columns")
    make = pick(rng, (bars, tee, ell, chevrons, ess, relay, tapers, rings, bare_outline),
                (3, 2, 1, 1, 1.5, 1.5, 1.5, 2, 1.5))
    return make(rng, kit, w, h)


def on_fill(rng, kit, w, h):
    """Kinds that look right alone on a fill."""
    if w < 9:
        raise Misfit("no room for columns")
    make = pick(rng, (bars, ell, chevrons, ess, tapers, rings, bare_outline), (2, 1, 1, 1, 1, 1.5, 1.5))
    return make(rng, kit, w, h)
