"""Underlay: what is sewn first and hidden under the top stitching."""
import numpy as np
import shapely

import curves
import fill

LONGEST = 7.0  # mm; a longer zigzag stitch is parted


def note(sheet, kind, first):
    sheet.styles.add("under-" + kind)
    return {"kind": kind, "first": first, "last": sheet.count() - 1}


def begin(sheet, points):
    """Get to the first point of a pass: with a tie after a break, else by a run."""
    sheet.start(points[0], points[min(1, len(points) - 1)])
    if not sheet.pending:
        sheet.travel(points[0])
    return sheet.count()


def centre_run(sheet, strip, there_and_back):
    line = curves.spaced(strip.centre(), sheet.rng.uniform(1.5, 3.0))
    if there_and_back:
        line = np.vstack([line, line[-2::-1]])
    first = begin(sheet, line)
    sheet.add(line, "centre-run")
    return note(sheet, "centre-run", first)


def edge_run(sheet, strip):
    a, b = strip.inset(sheet.rng.uniform(0.4, 0.8))
    step = sheet.rng.uniform(1.5, 3.0)
    a, b = curves.spaced(a, step), curves.spaced(b, step)
    if strip.closed:
        first = begin(sheet, a)
        sheet.add(a, "edge-run")
        sheet.travel(b[0])
        sheet.add(b, "edge-run")
    else:
        line = np.vstack([a[:-1], curves.no_longer(np.vstack([a[-1:], b[-1:]]), 3.0), b[-2::-1]])
        first = begin(sheet, line)
        sheet.add(line, "edge-run")
    return note(sheet, "edge-run", first)


def zigzag(sheet, strip, there_and_back):
    a, b = strip.inset(sheet.rng.uniform(0.4, 0.8))
    along = strip.along()
    n = max(2, round(along[-1] / sheet.rng.uniform(1.5, 3.5)))
    s = np.linspace(0, along[-1], 2 * n + 1)
    pick = lambda rail, i: curves.at(rail, s[i], along)[0]
    line = [pick((a, b)[i % 2], [i]) for i in range(2 * n + 1)]
    if there_and_back:
        line += [pick((b, a)[i % 2], [i]) for i in range(2 * n - 1, -1, -1)]
    line = curves.no_longer(np.array(line), LONGEST)
    first = begin(sheet, line)
    sheet.add(line, "zigzag")
    return note(sheet, "zigzag", first)


def under_column(sheet, strip, kinds, return_home=False):
    """Sew underlay of these kinds; returns the notes and the column as it must go on.

    A pass that ends at the far end turns the column round, unless it must come home.
    """
    notes = []
    for i, kind in enumerate(kinds):
        back = (return_home or bool(sheet.rng.random() < 0.5)) and not strip.closed
        if kind == "edge-run":
            notes.append(edge_run(sheet, strip))
            continue
        back = back and kind != "out"     # "out": a run to the far end, sewn back over
        sewer = zigzag if kind == "zigzag" else centre_run
        notes.append(sewer(sheet, strip, back))
        if not back and not strip.closed:
            strip = strip.flipped()
    return notes, strip


def rings_inside(sheet, shape):
    """Edge run of a fill: round every ring of the shape drawn in."""
    inner = shape.buffer(-sheet.rng.uniform(0.5, 1.0))
    step = sheet.rng.uniform(1.8, 3.0)
    first = None
    for g in getattr(inner, "geoms", [inner]):
        if g.is_empty or g.area < 4:
            continue
        for ring in (g.exterior, *g.interiors):
            line = curves.spaced(np.asarray(ring.coords), step)
            if first is not None and not near(sheet, line[0], shape):
                sheet.finish()
            start = begin(sheet, line)
            first = start if first is None else first
            sheet.add(line, "edge-run")
    return None if first is None else note(sheet, "edge-run", first)


def near(sheet, point, shape):
    """A straight run from the needle to `point` stays inside the shape."""
    return shapely.LineString([sheet.here(), point]).difference(shape).length < 0.5


def rows_under(sheet, shape, angle):
    """Wide rows of long stitches across the later ones: the note and the area they cover."""
    rng = sheet.rng
    p = fill.draw(rng, angle % 180)
    p.update(pitch=rng.uniform(1.5, 3.5), stitch=rng.uniform(2.5, 4.0), join=rng.choice(["square", "zigzag"]),
             stagger="random")
    inner = shape.buffer(-rng.uniform(0.5, 1.0))
    pieces = [] if inner.is_empty else fill.draft(fill.to_rows(inner, p), p)
    first = None
    for pts, _, _ in pieces:
        pts = fill.from_rows(pts, p)
        # The run to a piece lies under the top rows whenever it stays inside the shape.
        if not sheet.pending and not near(sheet, pts[0], shape):
            sheet.finish()
        start = begin(sheet, pts)
        first = start if first is None else first
        sheet.add(pts, "fill-underlay")
    if first is None:
        return None, None
    return note(sheet, "fill-underlay", first), fill.footprint_of(sheet, inner, pieces, p)


def under_fill(sheet, shape, angle, kinds):
    notes = []
    for kind in kinds:
        middle = shape.representative_point().coords[0]
        if not sheet.pending and sheet.count() and not near(sheet, middle, shape):
            sheet.finish()
        if kind == "edge-run":
            notes.append(rings_inside(sheet, shape))
        elif kind == "mesh":
            notes += [rows_under(sheet, shape, angle + turn)[0] for turn in (45, 135)]
        else:
            notes.append(rows_under(sheet, shape, angle + sheet.rng.choice([45.0, 90.0]))[0])
    return [n for n in notes if n]
