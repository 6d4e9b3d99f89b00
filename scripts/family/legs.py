"""Plans of several columns that belong together: corners, branches, neighbours in one stretch."""
import numpy as np

import columns
import curves
import satin
from plan import Plan, of_strips
from strip import Strip, from_spine


def leg(start, end, width, cut_start, cut_end):
    """Straight column whose ends are cut along lines x = end + cut * y (0 = square)."""
    d = end - start
    length = np.hypot(*d)
    d = d / length
    n = np.array([-d[1], d[0]])
    h = width / 2
    x = np.arange(-abs(cut_start) * h, length + abs(cut_end) * h, curves.STEP)
    low, high = np.full(len(x), -h), np.full(len(x), h)
    for cut, rest, sign in ((cut_start, x, 1), (cut_end, x - length, -1)):
        # Inside means sign * (rest - cut * y) >= 0.
        if abs(cut) < 1e-9:
            continue
        y = rest / cut
        if sign * cut > 0:
            high = np.minimum(high, y)
        else:
            low = np.maximum(low, y)
    keep = high - low > satin.NARROW
    x, low, high = x[keep], low[keep], high[keep]
    base = start + d * x[:, None]
    return Strip(base + n * high[:, None], base + n * low[:, None], x - x[0])


def corner_points(rng, width, turns):
    points, heading = [np.zeros(2)], rng.uniform(0, 2 * np.pi)
    for t in [0.0, *turns]:
        heading += t
        length = rng.uniform(2.2 * width + 4, 2.2 * width + 18)
        points.append(points[-1] + length * np.array([np.cos(heading), np.sin(heading)]))
    return np.array(points) - np.mean(points, axis=0)


def mitred(rng):
    """Legs cut along the line that halves each corner."""
    width = rng.uniform(1.5, 8.0)
    turns = rng.choice([-1, 1], int(rng.integers(1, 3))) * rng.uniform(0.9, 2.0)
    points = corner_points(rng, width, turns)
    cuts = [0.0, *np.tan(turns / 2), 0.0]
    parts = [leg(points[i], points[i + 1], width, cuts[i], -cuts[i + 1]) for i in range(len(points) - 1)]
    return together(rng, "satin-mitred", parts, width)


def capped(rng):
    """Square corners: one leg runs through, the next butts against its side."""
    width = rng.uniform(1.2, 8.0)
    turns = rng.choice([-1, 1], int(rng.integers(1, 3))) * (np.pi / 2)
    points = corner_points(rng, width, turns)
    tuck = rng.uniform(0.2, min(1.0, 0.4 * width))
    parts = []
    for i in range(len(points) - 1):
        d = (points[i + 1] - points[i]) / np.hypot(*(points[i + 1] - points[i]))
        a = points[i] + d * ((width / 2 - tuck) if i else 0)
        b = points[i + 1] + d * (width / 2 if i + 2 < len(points) else 0)
        parts.append(leg(a, b, width, 0.0, 0.0))
    return together(rng, "satin-capped", parts, width)


def box_border(rng):
    """A closed polygon of mitred legs, begun in the middle of a side."""
    width = rng.uniform(1.5, 5.0)
    n = int(rng.integers(3, 6))
    t = 2 * np.pi * np.arange(n) / n + rng.uniform(0, 2 * np.pi)
    radius = rng.uniform(3.0 * width + 4, 3.0 * width + 14)
    points = np.column_stack([np.cos(t), np.sin(t)]) * radius
    half = (points[0] + points[-1]) / 2
    points = np.vstack([half, points, half])
    cuts = [0.0] + [np.tan(np.pi / n)] * n + [0.0]
    parts = [leg(points[i], points[i + 1], width, cuts[i], -cuts[i + 1]) for i in range(n + 1)]
    return together(rng, "satin-mitred-closed", parts, width)


def together(rng, name, parts, width):
    """Columns sewn one after the other in one stretch, with the same parameters."""
    p = satin.draw(rng, width)
    under = columns.kinds(rng, width)

    def sew(sheet):
        group = f"g{len(sheet.objects)}"
        for s in parts:
            columns.sew_column(sheet, s, p, name, under, return_home=True, group=group)
    return Plan(name, of_strips(parts), sew)


def branches(rng):
    """Columns that meet at a joint, each run out along its middle and sewn back."""
    width = rng.uniform(1.2, 5.0)
    n = int(rng.integers(2, 5))
    headings = rng.uniform(0, 360) + np.cumsum(rng.uniform(60, 360 / n, n))
    parts = []
    for h in headings:
        length = rng.uniform(3 * width, 3 * width + 15)
        bend = rng.uniform(-0.5, 0.5)
        line = curves.by_heading(lambda t: bend * t, length)
        line = curves.turn(line - line[0], h)
        kind = rng.choice(["constant", "taper", "linear"])
        parts.append(from_spine(line, columns.profile(rng, len(line), width, kind)))
    p = satin.draw(rng, width)

    def sew(sheet):
        group = f"g{len(sheet.objects)}"
        for s in parts:
            columns.sew_column(sheet, s, p, "satin-branch", ("out",), group=group)
    return Plan("satin-branch", of_strips(parts), sew)


def two_in_one(rng):
    """Two columns, side by side or end to end, joined by a few running stitches."""
    width = rng.uniform(1.0, 7.0)
    length = rng.uniform(max(8.0, 2 * width), 35.0)
    turn = rng.uniform(0, 360)
    bend = rng.choice([0.0, rng.uniform(0, min(1.0, 0.5 * length / width))])
    line = curves.by_heading(lambda t: bend * (t - 0.5), length)
    gap = rng.uniform(0.5, 5.0)
    if rng.random() < 0.5:
        other = line[::-1] + (0, width + gap)
    else:
        d = line[-1] - line[-2]
        d = d / np.hypot(*d)
        other = line[-1] + d * (gap + np.arange(0, rng.uniform(0.5, 1) * length, curves.STEP)[:, None])
    parts = [from_spine(curves.turn(l, turn), width) for l in (line, other)]
    return together(rng, "satin-two-in-stretch", parts, width)


def run_over(rng):
    """A column that a travel run crosses afterwards, on its way to a line of runs."""
    base = columns.single(rng)
    line = curves.spaced(curves.turn([[0, 0], [rng.uniform(8, 20), 0]], rng.uniform(0, 360)),
                         rng.uniform(1.8, 3.0))

    def sew(sheet):
        base.sew(sheet)
        sheet.travel(base.shape.representative_point().coords[0])
        first = sheet.count()
        sheet.add(sheet.here() + line, "run")
        satin.note(sheet, first, "run", "run-after-satin", None)
        sheet.styles.add("satin-run-over")
    return Plan("satin-run-over", base.shape, sew)
