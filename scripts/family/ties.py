"""Ties: the few small stitches that hold the thread at a start or an end."""
import numpy as np

FORMS = ("back", "triangle", "star", "forward", "none")


def _frame(a, b):
    d = b - a
    n = np.hypot(*d)
    d = d / n if n > 1e-6 else np.array([1.0, 0.0])
    return d, np.array([-d[1], d[0]])


def tie_in(rng, form, point, toward):
    """Needle points that end on `point`; they lie on the side that will be sewn over."""
    d, n = _frame(point, toward)
    size = rng.uniform(0.5, 1.2)
    if form == "back":
        return _back(rng, point, d, size)
    if form == "triangle":
        return np.array([point, point + d * size, point + d * size / 2 + n * size * 0.8, point])
    if form == "star":
        return _star(point, d, n, size)
    if form == "forward":
        k = int(rng.integers(3, 6))
        step = rng.uniform(0.3, 0.6)
        return np.array([point + d * step * (k - i) for i in range(k)] + [point])
    return np.empty((0, 2))


def tie_off(rng, form, point, before):
    """Needle points after the last one, along what was just sewn."""
    d, n = _frame(point, before)
    size = rng.uniform(0.5, 1.2)
    if form == "back":
        return _back(rng, point, d, size)[1:]
    if form == "triangle":
        return np.array([point + d * size, point + d * size / 2 + n * size * 0.8, point])
    if form == "star":
        return _star(point, d, n, size)[1:]
    if form == "forward":
        step = rng.uniform(0.3, 0.6)
        return np.array([point + d * step * (i + 1) for i in range(int(rng.integers(3, 6)))])
    return np.empty((0, 2))


def _back(rng, point, d, size):
    pairs = int(rng.integers(1, 4))
    out = [point]
    for _ in range(pairs):
        out += [point + d * size, point]
    return np.array(out)


def _star(point, d, n, size):
    """Out and home again in four directions."""
    out = [point]
    for way in (d, n, -d, -n):
        out += [point + way * size * 0.6, point]
    return np.array(out)
