"""Needle points of a satin column over a strip."""
import numpy as np

import footprint

NARROW = 0.4  # mm; a column is not sewn where it is narrower than this


def draw(rng, widest):
    """Sewing parameters of one column."""
    p = {
        "pitch": rng.uniform(0.25, 0.7),
        "phase": rng.choice([0.0, 0.5]),          # 0: one pass square, the return slanted
        "on": rng.choice(["spine", "outer"]),
        "short": rng.random() < 0.7,
        "jag": (0.0, 0.0), "split": None, "split_max": rng.uniform(4.0, 7.0),
    }
    if widest > 6.0 and rng.random() < 0.75 or widest > 11.5:
        p["split"] = rng.choice(["regular", "random"])
    return p


def crossings(strip, p):
    """Needle points on the two rails as drawn, and the same-side pitch they really have."""
    along = strip.along(p["on"])
    n = max(2, round(along[-1] / p["pitch"]))
    ka = np.arange(n + 1)
    kb = ka if p["phase"] == 0 else ka[:-1] + 0.5
    sample = lambda rail, k: np.column_stack(
        [np.interp(k / n * along[-1], along, rail[:, i]) for i in (0, 1)])
    a, b = sample(strip.a, ka), sample(strip.b, kb)
    da, db = (np.hypot(*np.diff(r, axis=0).T) for r in (a, b))
    m = min(len(da), len(db))
    # Ten neighbours together: on the grid a single step is not to be had better than 0.1 mm.
    window = min(10, m)
    steps = np.convolve((da[:m] + db[:m]) / 2, np.ones(window) / window, "valid")
    return a, b, float(np.median(steps))


def pull_in(rng, rail, other, p, side):
    """Jags and short stitches: needle points moved into the column; True where short."""
    m = min(len(rail), len(other))
    toward = other[np.minimum(np.arange(len(rail)), m - 1)] - rail
    width = np.maximum(np.hypot(*toward.T), 1e-6)
    f = np.minimum(rng.uniform(0, p["jag"][side], len(rail)) / width, 0.35)
    short = np.zeros(len(rail), bool)
    if p["short"]:
        step = np.hypot(*np.gradient(rail, axis=0).T)
        out = np.hypot(*np.gradient(other, axis=0).T)[np.minimum(np.arange(len(rail)), len(other) - 1)]
        tight = (step < 0.6 * p["pitch"]) & (step < 0.6 * out) & (width > 1.2)
        short = tight & (np.arange(len(rail)) % 2 == 1)
        short[:2] = short[-2:] = False           # never at an end of the column
        f = np.where(short, p.get("depth", 0.25), f)
    return rail + toward * f[:, None], short


def split_points(rng, start, end, p, k):
    """Inner needle points of one pass, so that no stitch is longer than the limit."""
    length = np.hypot(*(end - start))
    if p["split"] is None or length <= p["split_max"]:
        return np.empty((0, 2))
    n = int(np.ceil(length / p["split_max"]))
    f = np.arange(1, n) / n
    room = min(1 / n - 1.5 / length, 0.18)
    if p["split"] == "random":
        f = f + rng.uniform(-room, room, n - 1)
    else:
        f = f + (k % 4 - 1.5) / 1.5 * room * 0.6
    return start + (end - start) * np.clip(f, 0.12, 0.88)[:, None]


def points(rng, strip, p):
    """Needle points in order, with labels, sides (0, 1 on a rail; -1 inside) the pitch, and
    whether there are short stitches."""
    a, b, pitch = crossings(strip, p)
    (a2, sa), (b2, sb) = pull_in(rng, a, b, p, 0), pull_in(rng, b, a, p, 1)
    pts, labels, sides = [], [], []
    for k in range(len(a2) + len(b2)):
        rail, short, i = (a2, sa, k // 2) if k % 2 == 0 else (b2, sb, k // 2)
        if i >= len(rail):
            break
        inner = split_points(rng, pts[-1], rail[i], p, k) if pts else []
        label = "split-satin" if len(inner) else "satin"
        pts += [*inner, rail[i]]
        labels += [label] * (len(inner) + 1)
        sides += [-1] * len(inner) + [-1 if short[i] else k % 2]
    return np.array(pts), labels, np.array(sides), pitch, bool(sa.any() or sb.any())


def sew(sheet, strip, p, name, **extra):
    """Sew the column from where the needle is and note the object."""
    strip = strip.clipped(NARROW)
    pts, labels, sides, pitch, short = points(sheet.rng, strip, p)
    first = sheet.count()
    sheet.add(pts, labels)
    on_grid = sheet.grid(pts) / 10
    rail = sides >= 0
    rail_points, rail_sides = on_grid[rail], sides[rail]
    width = np.hypot(*np.diff(rail_points, axis=0).T)[np.diff(rail_sides) != 0]
    shape = footprint.strip(rail_points, rail_sides, strip.closed)
    split = labels.count("split-satin") * 2 > len(labels)
    sheet.styles.update({name, "pass-" + ("square" if p["phase"] == 0 else "slanted")})
    sheet.styles.update({"short-stitches"} if short else set())
    sheet.styles.update({f"split-{p['split']}"} if "split-satin" in labels else set())
    return note(sheet, first, "split-satin" if split else "satin", name, shape,
                same_side_pitch_mm=round(pitch, 3), closed=strip.closed,
                short_stitches=short,
                width_mm=[round(float(v), 2) for v in np.percentile(width, (5, 50, 95))], **extra)


def note(sheet, first, cls, style, shape, **extra):
    """Record an object whose top stitching runs from `first` to the last needle point."""
    o = {"id": f"o{len(sheet.objects)}", "class": cls, "style": style, "stop": sheet.stop,
         "first": first, "last": sheet.count() - 1, "shape": shape, "closed": False,
         "angle_deg": None, "row_pitch_mm": None, "stitch_mm": None, "same_side_pitch_mm": None,
         "width_mm": None, "underlay": []}
    o.update(extra)
    sheet.objects.append(o)
    return o
