"""Run stitches: a curve cut into stitches of even length."""
import numpy as np

from geom import arc_lengths, at


def run_points(curve, stitch=2.2, corner=25.0):
    """Needle points along a curve, corners kept, first and last point included.

    A vertex that turns by more than `corner` degrees within 0.3 mm is a fold or
    corner and gets a needle point of its own; between corners lengths are even.
    """
    curve = _clean(np.asarray(curve, float))
    if len(curve) < 2:
        return curve
    cuts = _corners(curve, corner)
    s = arc_lengths(curve)
    out = [curve[0]]
    for a, b in zip(cuts[:-1], cuts[1:]):
        n = max(1, int(round((s[b] - s[a]) / stitch)))
        out.extend(at(curve, np.linspace(s[a], s[b], n + 1)[1:]))
    return np.array(out)


def there_and_back(curve, stitch=2.2):
    go = run_points(curve, stitch)
    return np.vstack((go, go[-2::-1]))


def bean(curve, stitch=2.2):
    """Each stitch three times: forward, back, forward ("any odd number of
    passes, 3 usual", Images, May 2021)."""
    go = run_points(curve, stitch)
    out = [go[0]]
    for p, q in zip(go[:-1], go[1:]):
        out += [q, p, q]
    return np.array(out)


def _clean(c):
    keep = np.concatenate(([True], np.hypot(*np.diff(c, axis=0).T) > 1e-6))
    return c[keep]


def _corners(curve, limit):
    s = arc_lengths(curve)
    before = curve - at(curve, np.maximum(0, s - 0.15))
    after = at(curve, np.minimum(s[-1], s + 0.15)) - curve
    size = np.hypot(*before.T) * np.hypot(*after.T)
    turn = np.degrees(np.arccos(np.clip((before * after).sum(axis=1) / np.maximum(size, 1e-9), -1, 1)))
    cuts = [0]
    for i in range(1, len(curve) - 1):
        if turn[i] > limit and s[i] - s[cuts[-1]] > 0.7 and s[-1] - s[i] > 0.7:
            cuts.append(i)
    return cuts + [len(curve) - 1]
