"""Fill rows: a shape cut into level rows, and the rows gathered into sections."""
import numpy as np


def edges(shape):
    """All edges of a polygon or multipolygon as an array of x1, y1, x2, y2."""
    out = []
    for g in getattr(shape, "geoms", [shape]):
        for ring in (g.exterior, *g.interiors):
            c = np.asarray(ring.coords)
            out.append(np.hstack([c[:-1], c[1:]]))
    return np.vstack(out)


def scan(shape, heights, least=0.4):
    """For each height the intervals of x inside the shape, those under `least` left out."""
    e = edges(shape)
    out = []
    for y in heights:
        hit = (e[:, 1] <= y) != (e[:, 3] <= y)
        x1, y1, x2, y2 = e[hit].T
        xs = np.sort(x1 + (y - y1) * (x2 - x1) / (y2 - y1))
        out.append([(l, r) for l, r in zip(xs[::2], xs[1::2]) if r - l >= least])
    return out


def heights(low, high, pitch, pitch_end=None):
    """Row heights from low to high; the pitch may change evenly from one value to another."""
    pitch_end = pitch if pitch_end is None else pitch_end
    mean = (pitch + pitch_end) / 2
    n = max(2, int((high - low) / mean))
    steps = np.linspace(pitch, pitch_end, n - 1)
    ys = np.concatenate(([0.0], np.cumsum(steps)))
    return low + (high - low - ys[-1]) / 2 + ys


def sections(ys, intervals):
    """Chains of rows (index, y, left, right) that follow one another one to one."""
    done, live = [], []
    for k, (y, row) in enumerate(zip(ys, intervals)):
        meets = lambda s, iv: s[-1][2] < iv[1] and iv[0] < s[-1][3]
        hits = [[i for i, s in enumerate(live) if meets(s, iv)] for iv in row]
        claims = [sum(i in h for h in hits) for i in range(len(live))]
        new = []
        for iv, h in zip(row, hits):
            if len(h) == 1 and claims[h[0]] == 1:
                live[h[0]].append((k, y, *iv))
                new.append(live[h[0]])
            else:
                new.append([(k, y, *iv)])
        done += [s for s in live if not any(s is t for t in new)]
        live = new
    return [s for s in done + live if len(s) > 1]
