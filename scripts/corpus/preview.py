"""Draws a tape as thread, read with the decoder of verify.py.

Usage: preview.py FILE.dst OUT.png [pixels per mm] [x0 y0 x1 y1]
"""
import sys
import tomllib
from pathlib import Path

import numpy as np
from PIL import Image, ImageDraw

from verify import records

DEFAULT = ["#1f3a5f", "#c9a227", "#b23a48", "#2f7f79", "#e8e4d8", "#444444"]


def threads(path):
    order = path.parent / "order.toml"
    if order.exists():
        return [s["colour"] for s in tomllib.loads(order.read_text())["stops"]]
    return DEFAULT


def positions(data):
    """[(kind, x, y)] in absolute points."""
    out, x, y = [], 0, 0
    for dx, dy, kind in records(data):
        x, y = x + dx, y + dy
        out.append((kind, x, y))
    return out


def shade(colour, dx, dy, k):
    """Thread catches light by direction; alternate a little so that stitches show."""
    rgb = np.array([int(colour[i:i + 2], 16) for i in (1, 3, 5)], float)
    a = np.arctan2(dy, dx)
    light = 0.80 + 0.20 * abs(np.cos(a - 0.6)) + (0.05 if k % 2 else -0.05)
    return tuple(int(v) for v in np.clip(rgb * light + 8, 0, 255))


def draw(path, out, scale=16.0, box=None):
    tape = positions(path.read_bytes())
    colours = threads(path)
    xy = np.array([r[1:] for r in tape if r[0] != "end"]) / 10
    x0, y0, x1, y1 = box or (*(xy.min(0) - 2), *(xy.max(0) + 2))
    s = scale * 2
    img = Image.new("RGB", (int((x1 - x0) * s), int((y1 - y0) * s)), "#8d9aa6")
    d = ImageDraw.Draw(img)
    px = lambda x, y: ((x - x0) * s, (y1 - y) * s)
    stop, last, jumped, k = 0, (0.0, 0.0), True, 0
    for kind, x, y in tape:
        x, y = x / 10, y / 10
        if kind == "change":
            stop, jumped = stop + 1, True
        elif kind == "jump":
            jumped = True
        elif kind == "stitch":
            if not jumped:
                c = shade(colours[stop % len(colours)], x - last[0], y - last[1], k)
                d.line([px(*last), px(x, y)], fill=c, width=max(1, int(0.38 * s)))
                k += 1
            jumped = False
        last = (x, y)
    d.line([px(0, y0), px(0, y0 + 1.5)], fill="#ff3030", width=2)
    img.resize((img.width // 2, img.height // 2), Image.LANCZOS).save(out)


if __name__ == "__main__":
    box = [float(v) for v in sys.argv[4:8]] if len(sys.argv) > 7 else None
    draw(Path(sys.argv[1]), sys.argv[2], float(sys.argv[3]) if len(sys.argv) > 3 else 16.0, box)
