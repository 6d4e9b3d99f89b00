"""Motifs of Ossel Quay: oars, boats, lighthouse, waves. Each returns satin strips, mm."""
import numpy as np

from geom import bezier, even, join, line, smooth, transform
from satin import Strip, rails, ribbon, straight


def placed(strip, move, turn=0.0, scale=1.0):
    return Strip(transform(strip.a, turn, move, scale), transform(strip.b, turn, move, scale),
                 strip.closed)


def oar(length=30.0, shaft=1.6, blade=(7.5, 3.4)):
    """Oar along +x, grip at 0: grip, shaft and a spoon blade in one column.

    Returned as two strips, shaft then blade; the blade lies over the shaft's end.
    """
    bl, bw = blade
    s = straight((0, 0), (length - bl + 1.2, 0), shaft)
    x = np.linspace(0, bl, 80)
    u = x / bl
    half = shaft / 2 + (bw - shaft) / 2 * np.sin(np.pi / 2 * np.minimum(u / 0.45, 1))
    half = half * np.where(u > 0.9, np.sqrt(np.maximum(1 - ((u - 0.9) / 0.115) ** 2, 0)), 1)
    spine = np.column_stack((length - bl + x, np.zeros_like(x)))
    return s, ribbon(spine, 2 * half)


def wave(x0, x1, y, height=0.9, length=9.0, width=1.8, phase=0.0):
    x = np.linspace(x0, x1, int((x1 - x0) / 0.1) + 1)
    return ribbon(np.column_stack((x, y + height * np.sin(2 * np.pi * (x - phase) / length))), width)


def hull(x0, x1, y, depth=3.0, sheer=1.0, tip=0.9):
    """Rowing boat side: gunwale with sheer above, keel curve below; crossings upright."""
    n = int((x1 - x0) / 0.1) + 1
    u = np.linspace(0, 1, n)
    x = x0 + (x1 - x0) * u
    top = y + sheer * (2 * u - 1) ** 2
    bottom = top - tip - (depth - tip) * np.sin(np.pi * u) ** 0.7
    shift = (2 * u - 1) * -0.6
    return Strip(np.column_stack((x, top)), np.column_stack((x + shift, bottom)))


def rower(x, y, lean=20.0, body=(1.7, 3.4), head=1.9):
    """Back and head of a rower sitting at (x, y)."""
    w, h = body
    back = placed(straight((0, 0), (0, h), w), (x, y), -lean)
    a = np.radians(90 - lean)
    c = (x + np.cos(a) * (h + head * 0.62), y + np.sin(a) * (h + head * 0.62))
    return back, ball(*c, head)


def ball(cx, cy, d):
    """Small disc as one satin; crossings horizontal, flat caps of 0.8 mm."""
    v = np.linspace(-0.94, 0.94, max(12, int(d / 0.1)))
    half = np.sqrt(1 - v ** 2) * d / 2
    y = cy + v * d / 2
    return Strip(np.column_stack((cx - half, y)), np.column_stack((cx + half, y)))


def tower(cx, y0, y1, foot, head):
    return rails(line((cx - foot / 2, y0), (cx - head / 2, y1)),
                 line((cx + foot / 2, y0), (cx + head / 2, y1)))


def roof(cx, y0, y1, base, tip=0.9):
    return rails(line((cx - base / 2, y0), (cx - tip / 2, y1)),
                 line((cx + base / 2, y0), (cx + tip / 2, y1)))


def ray(p, q, w0=0.9, w1=2.0):
    spine = even(np.array((p, q), float), 0.1)
    return ribbon(spine, np.linspace(w0, w1, len(spine)))


def gull(cx, cy, span=8.0, width=1.3):
    """Two wings, each a column that tapers to its tip; sewn from the body outward."""
    wings = []
    for sign in (-1, 1):
        p = [(0, 0), (0.16, 0.17), (0.32, 0.20), (0.5, 0.08)]
        spine = smooth([(cx + sign * span * u, cy + span * v) for u, v in p])
        wings.append(ribbon(spine, np.linspace(width, 0.9, len(spine))))
    return wings


def rocks(cx, y, span, height):
    """Low mound below a tower; crossings upright."""
    u = np.linspace(0, 1, int(span / 0.1))
    x = cx + span * (u - 0.5)
    top = y + 0.9 + (height - 0.9) * np.sin(np.pi * u) ** 0.6 + 0.25 * np.sin(9 * u)
    return Strip(np.column_stack((x, top)), np.column_stack((x, np.full_like(x, y))))


def star(cx, cy, r, tips=5, waist=0.42):
    a = np.radians(90 + 360 / tips * np.arange(tips))
    b = a + np.radians(180 / tips)
    outer = np.column_stack((cx + r * np.cos(a), cy + r * np.sin(a)))
    inner = np.column_stack((cx + waist * r * np.cos(b), cy + waist * r * np.sin(b)))
    return np.vstack([v for pair in zip(outer, inner) for v in pair])


def shield(half, top, shoulder, bottom, crown=2.5, drop=3.0):
    """Outline pieces of a broad shield, counter-clockwise from the bottom point.

    half: half width; shoulder: height where the sides begin to turn in.
    """
    right = join(bezier((0, bottom), (half * 0.45, bottom + drop * 0.35),
                        (half, bottom + drop), (half, shoulder)),
                 line((half, shoulder), (half, top - crown)))
    head = bezier((half, top - crown), (half * 0.4, top + crown * 0.05),
                  (-half * 0.4, top + crown * 0.05), (-half, top - crown))
    left = right[::-1] * (-1, 1)
    return [right, head, left]
