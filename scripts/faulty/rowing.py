"""Groups of rowing artwork, fitted to a box round the origin."""
import artwork as art
import numpy as np
from draw import Misfit, chance, pick, uniform, whole
from item import Item, bounds, check_strip
from satin import straight


def _group(kit, parts):
    """Items from (name, layer, strip), moved so that their bounds centre on the origin."""
    items = [Item(n, k, check_strip(s, n), underlay=kit.under_column(s)) for n, k, s in parts]
    x0, y0, x1, y1 = bounds(items)
    return [i.moved(-(x0 + x1) / 2, -(y0 + y1) / 2) for i in items]


def _wave_lines(rng, w, count, y=0.0):
    """(parts, top): wave lines one above the other, each wider or narrower than the last."""
    height, width, out = uniform(rng, 0.6, 1.0), uniform(rng, 1.6, 2.8), []
    for k in range(count):
        half = w / 2 * uniform(rng, 0.75, 1.0)
        length = uniform(rng, 9.0, 13.0)
        out.append((f"wave-{k + 1}", 0, art.wave(-half, half, y + height + width / 2, height, length,
                                                 width, uniform(rng, 0, 12))))
        y += 2 * height + width + uniform(rng, 1.3, 2.2)
    return out, y


def waves(rng, kit, w, h):
    if w < 14:
        raise Misfit("too narrow for waves")
    return _group(kit, _wave_lines(rng, w, whole(rng, 1, max(1, min(3, int(h / 5)))))[0])


def boat(rng, kit, w, h):
    """Hull, its crew when there is height for it, and water below."""
    length = uniform(rng, 0.8, 1.0) * min(w, 62)
    if length < 16:
        raise Misfit("too short for a boat")
    parts, y = _wave_lines(rng, length, whole(rng, 0, 2)) if h > 14 else ([], 0.0)
    depth = uniform(rng, 2.8, min(5.5, 0.16 * length + 1.2))
    sheer = uniform(rng, 0.5, 1.3)
    y += depth + 0.3
    parts.append(("hull", 0, art.hull(-length / 2, length / 2, y, depth, sheer, 1.0)))
    if h - y > 8 and chance(rng, 0.75):
        parts += _crew(rng, length, y, depth, min(1.5, (h - y) / 8.5))
    return _group(kit, parts)


def _crew(rng, length, y, depth, size):
    body, head = (uniform(rng, 1.7, 2.2) * size, 3.5 * size), 2.0 * size
    lean, step = uniform(rng, 14, 24), uniform(rng, 6.5, 8.5) * size
    count = max(1, min(6, int((length - 8) / step)))
    out = []
    for k in range(count):
        x = (k - (count - 1) / 2) * step
        back, top = art.rower(x, y - 0.4, lean, body, head)
        out += [(f"rower-{k + 1}", 1, back), (f"head-{k + 1}", 1, top)]
        if depth < 4 and chance(rng, 0.6):
            hand, water = (x + 1.1 * size, y + 1.4), (x - 3.4 * size, y - depth - 0.8)
            out.append((f"sweep-{k + 1}", 1, straight(hand, water, uniform(rng, 1.0, 1.3))))
    return out


def oars(rng, kit, w, h):
    """One oar or two crossed ones."""
    shaft, blade = uniform(rng, 1.4, 2.6), uniform(rng, 3.4, 5.2)
    two = chance(rng, 0.7)
    turn = uniform(rng, 22, 42) if two else uniform(rng, 0, 60)
    a = np.radians(turn)
    length = min((w - blade) / np.cos(a), (h - blade) / max(np.sin(a), 0.05), 46.0)
    if length < 15:
        raise Misfit("too short for an oar")
    parts = []
    for k in range(2 if two else 1):
        side = 1 if k == 0 else -1
        start = (-side * length / 2 * np.cos(a), -length / 2 * np.sin(a))
        pair = art.oar(length, shaft, (0.26 * length, blade))
        for name, strip in zip(("shaft", "blade"), pair):
            lies = turn if k == 0 else 180 - turn
            parts.append((f"oar-{k + 1}-{name}", 0, art.placed(strip, start, lies)))
    return _group(kit, parts)


def lighthouse(rng, kit, w, h):
    high = min(h, 40.0)
    if high < 18 or w < 9:
        raise Misfit("too low for a tower")
    foot = min(8.4, uniform(rng, 0.2, 0.26) * high, w / 1.4)
    head, base, top = foot * uniform(rng, 0.6, 0.75), 1.6, high * 0.62
    rise = head * 0.75
    lap = lambda: uniform(rng, 0.1, 0.9)
    parts = [("rocks", 0, art.rocks(0, 0, min(w, foot * 1.5), 2.4))] if chance(rng, 0.7) else []
    parts.append(("tower", 0, art.tower(0, base, top, foot, head)))
    wide = uniform(rng, 1.6, 2.4)
    y = top + wide / 2 - lap()
    parts.append(("gallery", 1, straight((-head * 0.8, y), (head * 0.8, y), wide)))
    low = y + wide / 2 - lap()
    parts.append(("lantern-room", 1, art.tower(0, low, low + rise, head * 0.8, head * 0.8)))
    low += rise - lap()
    parts.append(("roof", 1, art.roof(0, low, low + 0.8 * head, head * 1.15)))
    if w > 26:
        parts += _beams(rng, head, low - rise / 2, w)
    return _group(kit, parts)


def _beams(rng, head, y, w):
    reach = min(w / 2, 15.0)
    side = pick(rng, (-1, 1))
    return [(f"beam-{k + 1}", 2, art.ray((side * (head * 0.5 + 1.2), y + 0.5 * d),
                                         (side * reach, y + 2.4 * d), 1.0, 1.9))
            for k, d in enumerate((1, -1))]


def sun(rng, kit, w, h):
    d = min(w, h)
    if d < 11:
        raise Misfit("too small for a sun")
    ball = min(8.0, 0.45 * d)
    inner, outer = ball / 2 + uniform(rng, 0.9, 1.6), d / 2
    count = whole(rng, 6, max(6, min(12, int(2 * np.pi * inner / 2.4))))
    parts = [("sun", 0, art.ball(0, 0, ball))]
    # The lowest ray first: nothing low is sewn after what stands above it.
    for k in range(count):
        a = np.radians(-90 + 360 / count * ((k + 1) // 2) * (1 if k % 2 else -1))
        u = np.array((np.cos(a), np.sin(a)))
        parts.append((f"sunray-{k + 1}", 1, art.ray(u * inner, u * min(outer, inner + 9), 1.2, 1.0)))
    return _group(kit, parts)


def gulls(rng, kit, w, h):
    if w < 10 or h < 4:
        raise Misfit("no room for a gull")
    count, parts = max(1, min(3, int(w / 14))), []
    for k in range(count):
        cell = w / count
        span = min(uniform(rng, 8.0, 16.0), cell - 2.5, h / 0.4)
        x = (k + 0.5) * cell
        wings = art.gull(x, uniform(rng, 0, max(0, h - 0.35 * span - 2)), span, max(1.3, 0.13 * span))
        parts += [(f"gull-{k + 1}{side}", k % 2, wing) for side, wing in zip("lr", wings)]
    return _group(kit, parts)


def draw(rng, kit, w, h):
    make = pick(rng, (boat, oars, lighthouse, waves, sun, gulls), (4, 3, 2, 2, 1, 1))
    return make(rng, kit, w, h)
