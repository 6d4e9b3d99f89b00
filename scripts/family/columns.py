"""Plans of single satin columns of every form."""
import numpy as np
import shapely

import curves
import satin
import strip as strips
import underlay
from plan import Plan, of_strips

UNDER = ((), ("centre-run",), ("edge-run",), ("zigzag",), ("centre-run", "zigzag"),
         ("edge-run", "zigzag"), ("edge-run", "centre-run"), ("centre-run", "edge-run", "zigzag"))


def kinds(rng, width):
    """Underlay that fits a column: narrow ones hold nothing but a centre run."""
    if width < 1.8:
        return UNDER[rng.integers(0, 2)]
    return UNDER[rng.integers(0, len(UNDER))]


def sew_column(sheet, strip, p, name, under, return_home=False, **extra):
    """Underlay and top of one column, beginning with a tie or a run from where the needle is."""
    strip = strip.clipped(satin.NARROW)
    notes, strip = underlay.under_column(sheet, strip, under, return_home)
    sheet.start(strip.a[0], strip.b[0])
    if not sheet.pending:
        sheet.travel(strip.a[0])
    return satin.sew(sheet, strip, p, name, underlay=notes, **extra)


def profile(rng, n, width, kind):
    """Width along the column."""
    t = np.linspace(0, 1, n)
    if kind == "linear":
        return width * (1 - rng.uniform(0.3, 0.8) * t)
    if kind == "bulge":
        low = rng.uniform(0.2, 0.6)
        return width * (low + (1 - low) * np.sin(np.pi * t))
    if kind == "wave":
        return width * (1 - rng.uniform(0.15, 0.3) * (1 + np.sin(rng.uniform(1, 3) * 2 * np.pi * t)))
    if kind == "taper":
        return width * np.clip((1 - t) / rng.uniform(0.2, 1.0), 0.02, 1)
    if kind == "taper-both":
        return width * np.clip(np.minimum(t, 1 - t) / rng.uniform(0.15, 0.5), 0.02, 1)
    return np.full(n, width)


def spine(rng, form, width, length):
    """Centre line; its bends never fold the inner rail."""
    tightest = length / (0.62 * width)        # largest total turn at that radius
    if form == "straight":
        return curves.by_heading(lambda t: 0 * t, length)
    if form == "curved":
        total = rng.uniform(0.5, 1) * min(4.5, tightest)
        return curves.by_heading(lambda t: total * t, length)
    if form == "s-curve":
        swing = min(1.4, tightest / (2 * np.pi)) * rng.uniform(0.5, 1)
        return curves.by_heading(lambda t: swing * np.sin(2 * np.pi * t), length)
    # Rounded corner: straight, a short arc round the corner, straight.
    total = rng.uniform(0.8, 2.3)
    share = min(0.8, total * width * rng.uniform(0.62, 0.9) / length)
    return curves.by_heading(lambda t: total * np.clip((t - 0.5) / share + 0.5, 0, 1), length)


def single(rng):
    """One open column of any form and width profile."""
    form = rng.choice(["straight", "curved", "s-curve", "rounded-corner"])
    kind = rng.choice(["constant", "constant", "linear", "bulge", "wave", "taper", "taper-both"])
    width = rng.uniform(0.8, 12.0)
    length = rng.uniform(max(8.0, 2.0 * width), max(50.0, 5.0 * width))
    if form == "rounded-corner":
        length = max(length, 5 * width)
    line = curves.turn(spine(rng, form, width, length), rng.uniform(0, 360))
    s = strips.from_spine(line, profile(rng, len(line), width, kind))
    if s.folds():
        kind, s = "constant", strips.from_spine(line, width)
    p = satin.draw(rng, width)
    under = kinds(rng, width)
    name = f"satin-{form}" + ("" if kind == "constant" else f"-{kind}")
    angle = None
    if form == "straight":
        d = line[-1] - line[0]
        angle = round(float(np.degrees(np.arctan2(d[1], d[0])) + 90) % 180, 1)
    return Plan(name, of_strips([s]),
                lambda sheet: sew_column(sheet, s, p, name, under, angle_deg=angle))


def jagged(rng):
    """A column with one or both edges ragged, as for fur or grass."""
    width = rng.uniform(2.5, 9.0)
    length = rng.uniform(2.5 * width, max(45.0, 4 * width))
    line = curves.turn(spine(rng, rng.choice(["straight", "curved", "s-curve"]), width, length),
                       rng.uniform(0, 360))
    s = strips.from_spine(line, profile(rng, len(line), width, rng.choice(["constant", "bulge"])))
    p = satin.draw(rng, width)
    jag = rng.uniform(0.5, 1.5)
    p.update(jag=((jag, 0.0), (0.0, jag), (jag, jag))[rng.integers(3)], short=False)
    return Plan("satin-jagged", of_strips([s]),
                lambda sheet: sew_column(sheet, s, p, "satin-jagged", kinds(sheet.rng, width)))


def ring_strip(rng, line, width):
    """A closed column beginning anywhere and closed over its first stitches."""
    line = np.roll(line, -int(rng.integers(len(line))), axis=0)
    s = strips.from_spine(line, width, closed=True)
    if rng.random() < 0.5:
        s.a, s.b = s.b, s.a
    extra = int(rng.uniform(0.2, 1.5) / curves.STEP)
    s.a, s.b = (np.vstack([r, r[1:extra]]) for r in (s.a, s.b))
    return s


def closed_line(rng, radius, width):
    """A closed centre line gentle enough for the width."""
    form = rng.choice(["circle", "ellipse", "blob", "rounded-box"])
    if form == "circle":
        return curves.wobble(rng, radius, 0.0)
    if form == "blob":
        return curves.wobble(rng, radius, min(0.25, 0.12 * radius / width))
    if form == "ellipse":
        return curves.wobble(rng, radius, 0.0) * (1, rng.uniform(0.65, 0.9))
    corner = max(0.7 * width, 0.25 * radius)
    half = max(radius - corner, 0.1)
    box = shapely.box(-half, -half * rng.uniform(0.5, 1), half, half).buffer(corner, quad_segs=24)
    return curves.spaced(np.asarray(box.exterior.coords)[::-1], curves.STEP)[:-1]


def ring(rng):
    width = rng.uniform(0.8, 10.0)
    radius = rng.uniform(max(4.0, 1.6 * width), 20.0)
    s = ring_strip(rng, closed_line(rng, radius, width), width)
    p = satin.draw(rng, width)
    under = kinds(rng, width)
    return Plan("satin-ring", of_strips([s]),
                lambda sheet: sew_column(sheet, s, p, "satin-ring", under))
