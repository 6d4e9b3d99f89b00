"""Curves as arrays of points (mm), densely sampled; nothing here knows about stitches."""
import numpy as np

STEP = 0.05  # mm between samples of a drawn curve: half the grid of the tape


def arclength(points):
    d = np.hypot(*np.diff(points, axis=0).T)
    return np.concatenate(([0.0], np.cumsum(d)))


def at(points, s, along=None):
    """Points at arc lengths `s` (array)."""
    along = arclength(points) if along is None else along
    return np.column_stack([np.interp(s, along, points[:, i]) for i in (0, 1)])


def spaced(points, step):
    """The same curve with equal steps of about `step`, both ends kept."""
    points = np.asarray(points, float)
    along = arclength(points)
    n = max(1, round(along[-1] / step))
    return at(points, np.linspace(0, along[-1], n + 1), along)


def by_heading(heading, length):
    """Integrate a heading (radians, function of 0..1) into a curve centred on the origin."""
    n = max(8, int(length / STEP))
    h = heading((np.arange(n) + 0.5) / n)
    steps = np.column_stack([np.cos(h), np.sin(h)]) * (length / n)
    points = np.vstack([[0, 0], np.cumsum(steps, axis=0)])
    return points - points.mean(axis=0)


def normals(points, closed=False):
    """Unit normals to the left of the curve."""
    if closed:
        d = np.roll(points, -1, axis=0) - np.roll(points, 1, axis=0)
    else:
        d = np.gradient(points, axis=0)
    d /= np.maximum(np.hypot(*d.T), 1e-9)[:, None]
    return np.column_stack([-d[:, 1], d[:, 0]])


def turn(points, degrees):
    a = np.radians(degrees)
    m = np.array([[np.cos(a), -np.sin(a)], [np.sin(a), np.cos(a)]])
    return np.asarray(points, float) @ m.T


def wobble(rng, radius, depth, waves=(2, 3, 4, 5)):
    """Closed smooth curve around the origin, not repeated at its end."""
    t = np.linspace(0, 2 * np.pi, max(64, int(2 * np.pi * radius / STEP)), endpoint=False)
    r = np.ones_like(t)
    for k in waves:
        r += rng.uniform(-depth, depth) / k * np.cos(k * t + rng.uniform(0, 2 * np.pi))
    return np.column_stack([np.cos(t), np.sin(t)]) * (radius * r)[:, None]


def no_longer(points, limit):
    """The same line with every step over `limit` cut into equal ones."""
    out = [points[:1]]
    for a, b in zip(points, points[1:]):
        n = max(1, int(np.ceil(np.hypot(*(b - a)) / limit)))
        out.append(a + (b - a) * (np.arange(1, n + 1) / n)[:, None])
    return np.vstack(out)
