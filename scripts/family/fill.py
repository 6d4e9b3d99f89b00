"""Needle points of fills: rows with stagger, joined at their ends, section by section."""
import numpy as np
import shapely
from shapely.geometry import LineString, Polygon

import curves
import footprint
import rows

LONGEST = 8.0   # mm; random offsets never make a stitch much longer
UNEVEN = (0.0, 0.41, 0.73, 0.18, 0.57, 0.88, 0.29)


def draw(rng, angle=None):
    """Sewing parameters of one fill."""
    p = {
        "angle": rng.uniform(0, 180) if angle is None else angle,
        "pitch": rng.uniform(0.18, 0.6), "stitch": rng.uniform(2.0, 7.0),
        "stagger": rng.choice(["2", "3", "4", "irregular", "random"]),
        "join": rng.choice(["square", "zigzag"]), "passes": 1, "pitch_end": None,
        "seed": int(rng.integers(1 << 31)),
    }
    return p


def offset(p, k, noise):
    """Where the grid of row `k` begins, as a share of the stitch length."""
    kind = p["stagger"]
    if kind == "random":
        return noise[k % len(noise)]
    if kind == "irregular":
        return UNEVEN[k % len(UNEVEN)]
    n = int(kind)
    order = {2: (0, 1), 3: (0, 1, 2), 4: (0, 2, 1, 3)}[n]
    return order[k % n] / n


def row_points(p, k, a, b, noise):
    """Needle points of a row from `a` to `b` (both included), the inner ones on the grid."""
    lo, hi = min(a[0], b[0]), max(a[0], b[0])
    pitch = p["stitch"]
    margin = min(1.0, 0.3 * pitch)
    first = np.ceil((lo - offset(p, k, noise) * pitch) / pitch)
    xs = (np.arange(first, first + (hi - lo) / pitch + 2) + offset(p, k, noise)) * pitch
    if p["stagger"] == "random":
        xs = xs + noise[(k + np.arange(len(xs))) % len(noise)] * min(0.3 * pitch, LONGEST - pitch)
    xs = xs[(xs > lo + margin) & (xs < hi - margin)]
    if b[0] < a[0]:
        xs = xs[::-1]
    t = (xs - a[0]) / (b[0] - a[0]) if b[0] != a[0] else xs * 0
    return np.vstack([a, np.column_stack([xs, a[1] + t * (b[1] - a[1])]), b])


def section_order(section, p):
    """Rows in sewing order: once through, or out on every other row and back between."""
    if p["passes"] == 2 and len(section) > 3:
        return section[::2] + section[1::2][::-1]
    return section


def sew_section(section, p, side, noise, inside):
    """Needle points of a section from its first row, beginning on `side` (0 left, 1 right).

    Also the row ends as (index, side, needle point). `inside` tells whether a stitch stays in
    the shape.
    """
    order, out, ends = section_order(section, p), [], []
    if p["join"] == "zigzag" and len(order) > 6:
        for i, (row, nxt) in enumerate(zip(order, order[1:])):
            a, b = np.array([row[2 + side], row[1]]), np.array([nxt[3 - side], nxt[1]])
            out.append(row_points(p, row[0], a, b, noise)[1 if i else 0:])
            ends.append((row[0], side, a))
            side = 1 - side
        last = order[-1]
        ends.append((last[0], side, np.array([last[2 + side], last[1]])))
        return np.vstack(out), ends
    for row in order:
        a, b = np.array([row[2 + side], row[1]]), np.array([row[3 - side], row[1]])
        if out and np.hypot(*(a - out[-1][-1])) > p["stitch"] and inside(out[-1][-1], a):
            # The edge lies along the rows here: step along it.
            out.append(curves.no_longer(np.vstack([out[-1][-1:], a]), p["stitch"])[1:-1])
        out.append(row_points(p, row[0], a, b, noise))
        ends += [(row[0], side, a), (row[0], 1 - side, b)]
        side = 1 - side
    return np.vstack(out), ends


def between_rows(pts, ends, grid):
    """Strips between neighbouring rows, through all their needle points (curved rows)."""
    ys = np.unique([e[2][1] for e in ends])
    rows_of = [pts[np.abs(pts[:, 1] - y) < 1e-5] for y in ys]
    lines = [grid(r[np.argsort(r[:, 0])]) for r in rows_of]
    return [Polygon(np.vstack([a, b[::-1]])) for a, b in zip(lines, lines[1:])]


def between_ends(ends, grid):
    """The area from the left row ends to the right ones (straight rows)."""
    ends = sorted(ends, key=lambda e: e[0])
    left = [e[2] for e in ends if e[1] == 0]
    right = [e[2] for e in ends if e[1] == 1]
    return [Polygon(grid(np.array(left + right[::-1])))]


def outline(pieces, p, grid, drawn):
    """Area of the sections as sewn; `pieces` = (needle points, ends) of each."""
    parts = []
    for pts, ends in pieces:
        parts += between_rows(pts, ends, grid) if p.get("warp") else between_ends(ends, grid)
    widest = max(p["pitch"], p["pitch_end"] or 0)
    # Sections stand a row apart; where rows are joined zigzag or sewn in two passes, their ends
    # are wedges besides. Clipped to the drawn shape, so that holes and bays stay open.
    shut = footprint.union(parts, (1.3 if p["join"] == "square" else 2.6 * p["passes"]) * widest)
    return footprint.union([shut.intersection(drawn), *parts], footprint.CLOSE)


def choose(rest, here, unsewn):
    """The next section, reversed or not, its side, and whether a run to it stays hidden."""
    best = None
    for i, s in enumerate(rest):
        for way in (s, s[::-1]):
            for side in (0, 1):
                p = np.array([way[0][2 + side], way[0][1]])
                d = 0.0 if here is None else np.hypot(*(p - here))
                hidden = here is not None and (
                    d < 0.1 or LineString([here, p]).difference(unsewn).length < 1.0)
                cost = d if hidden or here is None else 2 * d + 5
                if best is None or cost < best[0]:
                    best = (cost, i, way, side, hidden)
    return best[1:]


def draft(shape, p):
    """Pieces of stitching in row coordinates: (needle points, ends, hidden run before it)."""
    noise = np.random.default_rng(p["seed"]).uniform(0, 1, 97)
    x0, y0, x1, y1 = shape.bounds
    ys = rows.heights(y0 + 0.1, y1 - 0.1, p["pitch"], p["pitch_end"])
    rest = rows.sections(ys, rows.scan(shape, ys))
    area = lambda s: Polygon([(r[2], r[1]) for r in s] + [(r[3], r[1]) for r in s[::-1]])
    room = shape.buffer(0.05)
    inside = lambda a, b: room.covers(LineString([a, b]))
    here, pieces = None, []
    while rest:
        unsewn = shapely.union_all([area(s).buffer(1.5 * p["pitch"]) for s in rest]) if len(rest) > 1 \
            else area(rest[0]).buffer(1.5 * p["pitch"])
        i, way, side, hidden = choose(rest, here, unsewn)
        del rest[i]
        pts, ends = sew_section(way, p, side, noise, inside)
        pieces.append((pts, ends, hidden))
        here = pts[-1]
    return pieces


def to_rows(shape, p):
    """The shape turned (and unbent) so that rows are level."""
    if p.get("warp"):
        return p["warp"].flatten(shape)
    return shapely.affinity.rotate(shape, -p["angle"], origin=(0, 0))


def from_rows(points, p):
    return p["warp"].bend(points) if p.get("warp") else curves.turn(points, p["angle"])


def sew(sheet, pieces, p, label="fill"):
    """Sew the pieces; between them a hidden run or a trim. Returns the first penetration."""
    first = None
    for pts, ends, hidden in pieces:
        pts = from_rows(pts, p)
        if first is not None and not hidden:
            sheet.finish()
        sheet.start(pts[0], pts[1])
        if not sheet.pending:
            sheet.travel(pts[0], min(3.5, p["stitch"]))
        first = sheet.count() if first is None else first
        sheet.add(pts, label)
    return first


def footprint_of(sheet, shape, pieces, p):
    """Area as sewn, on the grid."""
    grid = lambda pts: sheet.grid(from_rows(pts, p)) / 10
    drawn = shapely.affinity.translate(shape, *sheet.offset).buffer(0.1)
    return outline([(pts, ends) for pts, ends, _ in pieces], p, grid, drawn)
