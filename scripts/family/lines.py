"""Plans of runs, beans, motif runs and scribbles."""
import numpy as np
from shapely.geometry import LineString

import curves
import satin
from plan import Plan

MOTIFS = {
    "cross": [(0, 0), (0.5, 0), (0.5, 0.6), (0.5, -0.6), (0.5, 0), (1, 0)],
    "wave": [(0, 0), (0.25, 0.4), (0.5, 0), (0.75, -0.4), (1, 0)],
    "diamond": [(0, 0), (0.5, 0.5), (1, 0), (0.5, -0.5), (0, 0), (1, 0)],
    "step": [(0, 0), (0, 0.6), (0.5, 0.6), (0.5, 0), (1, 0)],
    "tick": [(0, 0), (0.5, 0), (0.25, 0.6), (0.5, 0), (1, 0)],
}


def path(rng):
    """A hand-drawn line: curve, polyline, spiral or closed outline."""
    form = rng.choice(["curve", "polyline", "outline", "spiral", "straight"])
    size = rng.uniform(6.0, 25.0)
    turn = rng.uniform(0, 360)
    if form == "outline":
        line = curves.wobble(rng, size / 2, 0.3)
        return np.vstack([line, line[:1]])
    if form == "spiral":
        t = np.linspace(0, 2 * np.pi * rng.uniform(1.5, 3.0), 800)
        return np.column_stack([np.cos(t), np.sin(t)]) * (size / 2 * (0.2 + 0.8 * t / t[-1]))[:, None]
    if form == "polyline":
        h, out = 0.0, [np.zeros(2)]
        for _ in range(int(rng.integers(2, 6))):
            out.append(out[-1] + rng.uniform(4, 10) * np.array([np.cos(h), np.sin(h)]))
            h += rng.choice([-1, 1]) * rng.uniform(0.4, 1.9)
        return curves.turn(np.array(out) - np.mean(out, axis=0), turn)
    swing = 0 if form == "straight" else rng.uniform(0.3, 1.3)
    k = rng.uniform(0.5, 2.0)
    return curves.turn(curves.by_heading(lambda t: swing * np.sin(2 * np.pi * k * t), 2 * size), turn)


def stitched(rng, line):
    """Needle points along a line; its corners get one each."""
    step = rng.uniform(1.5, 3.5)
    if len(line) > 12:
        return curves.spaced(line, step)
    parts = [curves.spaced(line[i:i + 2], step) for i in range(len(line) - 1)]
    return np.vstack([parts[0]] + [q[1:] for q in parts[1:]])


def bean(points, passes):
    """Each stitch sewn 3 or 5 times: forward, back, forward ..."""
    out = [points[0]]
    for a, b in zip(points, points[1:]):
        out += [b, a] * (passes // 2) + [b]
    return np.array(out)


def motif(rng, line):
    """A small motif repeated along the line in one thread."""
    shape = np.array(MOTIFS[rng.choice(list(MOTIFS))])
    size = rng.uniform(2.5, 5.0)
    knots = curves.spaced(line, size)
    out = [knots[:1]]
    for a, b in zip(knots, knots[1:]):
        d = b - a
        n = np.array([-d[1], d[0]])
        out.append(a + shape[1:, :1] * d + shape[1:, 1:] * n)
    return np.vstack(out)


def line_plan(name, cls, points):
    label = "unsure" if cls == "unsure" else "bean" if cls == "bean" else "run"

    def sew(sheet):
        sheet.start(points[0], points[1])
        if not sheet.pending:
            sheet.travel(points[0])
        first = sheet.count()
        sheet.add(points, label)
        satin.note(sheet, first, cls, name, None)
        sheet.styles.add(name)
    return Plan(name, LineString(points).buffer(0.3), sew)


def single(rng):
    return line_plan("run-single", "run", stitched(rng, path(rng)))


def double(rng):
    """Out and home again, on the same needle points or between them."""
    line = path(rng)
    points = stitched(rng, line)
    back = points[::-1]
    if rng.random() < 0.4 and len(points) > 3:
        back = np.vstack([points[-1:], ((points[1:] + points[:-1]) / 2)[::-1], points[:1]])
    return line_plan("run-double", "run", np.vstack([points, back[1:]]))


def beans(rng):
    return line_plan("bean", "bean", bean(stitched(rng, path(rng)), int(rng.choice([3, 5]))))


def motifs(rng):
    return line_plan("run-motif", "run", motif(rng, path(rng)))


def scribble(rng):
    """Hand-placed stitches: a random walk, strokes thrown any way, or a cloud."""
    n = int(rng.integers(40, 300))
    form = rng.choice(["walk", "strokes", "cloud"])
    radius = rng.uniform(5.0, 14.0)
    if form == "walk":
        h = np.cumsum(rng.uniform(-2.2, 2.2, n))
        steps = np.column_stack([np.cos(h), np.sin(h)]) * rng.uniform(0.6, 6.0, (n, 1))
        points = np.zeros((n, 2))
        for i in range(1, n):
            points[i] = points[i - 1] + steps[i]
            if np.hypot(*points[i]) > radius:
                points[i] *= radius / np.hypot(*points[i]) * rng.uniform(0.3, 0.9)
    elif form == "strokes":
        at = curves.spaced(path(rng), 0.8)
        at = at[np.arange(n) % len(at)] if len(at) < n else at[:n]
        points = at + rng.uniform(-3.0, 3.0, (len(at), 2))
    else:
        points = rng.normal(0, radius / 2.5, (n, 2)).clip(-radius, radius)
    gaps = np.hypot(*np.diff(points, axis=0).T)
    points = points[np.concatenate(([True], gaps > 0.3))]
    return line_plan("scribble-" + form, "unsure", points)
