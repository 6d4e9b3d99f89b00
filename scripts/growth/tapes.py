"""Tapes of any length, to see how time grows with it.

- many: copies of five designs of the corpus, side by side, each in stops of its own;
- stop: the same in a single stop;
- fill: one fill, level rows in one stretch;
- column: one satin in one stretch, wound up as a spiral;
- thrown: stitches that turn as they will, in stretches of up to 50,000.

Units: points of 0.1 mm.
"""
import math
import random
import sys
from pathlib import Path

ROOT = Path(__file__).parents[2]
sys.path.insert(0, str(ROOT / "scripts" / "corpus"))
import dst  # noqa: E402

# About 10,000 stitches of satins, rings, fills, a curved fill, runs and letters, with underlay.
DESIGNS = ["lantern/lantern", "tagline/tagline", "family/0001", "family/0005", "family/0014"]
CELL = 1300  # side of the square that each copy gets; around its start point none needs more
HEADER = 512
KINDS = ["many", "stop", "fill", "column", "thrown"]
THROWN = 50_000  # stitches of one stretch


def records(name):
    """Records of a tape as bytes, its end record left out."""
    body = (ROOT / "corpus" / f"{name}.dst").read_bytes()[HEADER:]
    found = [body[i:i + 3] for i in range(0, len(body) - 2, 3)]
    return found[:found.index(dst.encode(dst.END))]


def is_stitch(record):
    return record[2] & 0xC0 == 0


def is_change(record):
    return record[2] & 0xC0 == 0xC0


def jumps(dx, dy):
    """A move in equal jumps, at least three: the machine trims."""
    n = max(3, -(-max(abs(dx), abs(dy)) // dst.LIMIT))
    xs, ys = ([round(d * i / n) for i in range(n + 1)] for d in (dx, dy))
    return [dst.encode(dst.JUMP, xs[i + 1] - xs[i], ys[i + 1] - ys[i]) for i in range(n)]


def copies(stitches, changes):
    """Copies of the designs until there are so many stitches, in whole rounds of all designs."""
    designs = []
    for name in DESIGNS:
        own = [r for r in records(name) if changes or not is_change(r)]
        moves = [dst.movement(r) for r in own]
        designs.append((own, sum(m[0] for m in moves), sum(m[1] for m in moves)))
    each = sum(is_stitch(r) for own, _, _ in designs for r in own)
    rounds = max(1, round(stitches / each))
    side = int((rounds * len(designs)) ** 0.5) + 1
    out, x, y = [], 0, 0
    for k in range(rounds * len(designs)):
        own, dx, dy = designs[k % len(designs)]
        to_x, to_y = CELL * (k % side - side // 2), CELL * (k // side - side // 2)
        out += [dst.encode(dst.CHANGE)] if changes and k else []
        out += jumps(to_x - x, to_y - y) + own
        x, y = to_x + dx, to_y + dy
    return out


def sewn(points):
    """Jumps to the first point and stitches through all of them."""
    out = jumps(*points[0]) + [dst.encode(dst.STITCH)]
    for (ax, ay), (bx, by) in zip(points, points[1:]):
        out.append(dst.encode(dst.STITCH, bx - ax, by - ay))
    return out


def fill(stitches, pitch=4, stitch=30):
    """Level rows of 3 mm stitches, 0.4 mm apart, on about a square."""
    across = max(2, round((stitches * pitch / stitch) ** 0.5))
    rows = max(2, round(stitches / (across + 1)))
    place = range(-(across // 2), across - across // 2 + 1)
    return [(stitch * i, pitch * (row - rows // 2))
            for row in range(rows) for i in (place if row % 2 == 0 else reversed(place))]


def column(stitches, width=40, pitch=2, turn=60):
    """Crossings of 4 mm, 0.4 mm apart on one rail, along a spiral whose turns lie 6 mm apart."""
    points, angle = [], 2 * math.pi
    for k in range(stitches):
        radius = turn * angle / (2 * math.pi)
        r = radius + width / 2 * (-1) ** k
        points.append((round(r * math.cos(angle)), round(r * math.sin(angle))))
        angle += pitch / radius
    return points


def thrown(stitches):
    """Stretches of needle points anywhere on squares 60 mm wide, side by side."""
    numbers = random.Random(5)
    out, at, x = [], (0, 0), 0
    while stitches > 0:
        count = min(stitches, THROWN)
        points = [(x, 0)]
        while len(points) < count:
            to = tuple(v + numbers.randint(-40, 40) for v in points[-1])
            if 0 <= to[0] - x <= 600 and 0 <= to[1] <= 600:
                points.append(to)
        moved = [(px - at[0], py - at[1]) for px, py in points]
        out += sewn(moved)
        at, x, stitches = points[-1], x + 700, stitches - count
    return out


def tape(kind, stitches):
    """Bytes of a tape of about so many stitches."""
    body = {
        "many": lambda: copies(stitches, True),
        "stop": lambda: copies(stitches, False),
        "fill": lambda: sewn(fill(stitches)),
        "column": lambda: sewn(column(stitches)),
        "thrown": lambda: thrown(stitches),
    }[kind]()
    changes = sum(is_change(r) for r in body)
    # Extents are left out, and more changes than the field holds: no reader may trust them anyway.
    head = dst.header(f"{kind} {stitches}", len(body) + 1, min(changes, 999), (0, 0, 0, 0))
    return head + b"".join(body) + dst.encode(dst.END)
