"""Plans of two objects that meet, with a junction known exactly, guarded or not."""
import numpy as np
import shapely
from shapely import affinity

import areas
import columns
import curves
import fill
import satin
import shapes
from plan import Plan, of_strips
from strip import from_spine


def guard(sheet, line):
    """An open zigzag along a junction, sewn before both sides."""
    rng = sheet.rng
    width, advance = rng.uniform(2.0, 3.0), rng.uniform(1.2, 2.0)
    knots = curves.spaced(line, advance / 2)
    side = np.where(np.arange(len(knots)) % 2, 1, -1)[:, None]
    points = knots + curves.normals(knots) * side * width / 2
    sheet.start(points[0], points[1])
    if not sheet.pending:
        sheet.travel(points[0])
    first = sheet.count()
    sheet.add(points, "guard")
    satin.note(sheet, first, "guard", "guard", None, width_mm=[round(width, 2)] * 3)
    sheet.styles.add("guard")


def side_plan(rng, length, at, angle):
    """A fill or a wide satin that fills the box from y = at upward (angle turns it later)."""
    if rng.random() < 0.7:
        shape = shapely.box(-length / 2, at, length / 2, at + rng.uniform(6.0, 14.0))
        p = fill.draw(rng)
        shape = affinity.rotate(shape, angle, origin=(0, 0))
        under = areas.UNDER[rng.integers(len(areas.UNDER))]
        return shape, lambda sheet: areas.sew_fill(sheet, shape, p, "fill-beside", under)
    width = rng.uniform(2.0, 7.0)
    line = np.column_stack([np.arange(-length / 2, length / 2, curves.STEP)] * 2)
    line[:, 1] = at + width / 2
    s = from_spine(curves.turn(line, angle), width)
    p = satin.draw(rng, width)
    under = columns.kinds(rng, width)
    return of_strips([s]), lambda sheet: columns.sew_column(
        sheet, s, p, "satin-beside", under, angle_deg=round(float(angle + 90) % 180, 2))


def meet(sheet, under, over, drawn, sewn):
    """Note a junction: how far `under` really reaches under `over`, on average."""
    sheet.junctions.append({"under": under["id"], "over": over["id"], "overlap_mm": round(float(sewn), 2),
                            "drawn_mm": round(float(drawn), 2)})


def across(under, over, line):
    """Mean overlap square to a straight line, `under` on its left; a gap counts negative."""
    (x0, y0), (x1, y1) = line.coords
    d = np.array([x1 - x0, y1 - y0])
    n = np.array([-d[1], d[0]]) / np.hypot(*d)
    found = []
    for t in np.linspace(0.15, 0.85, 30):
        c = np.array([x0, y0]) + t * d
        ray = shapely.LineString([c - 25 * n, c + 25 * n])
        ends = []
        for o, pick in ((under, min), (over, max)):
            cut = ray.intersection(o["shape"])
            if not cut.is_empty:
                ends.append(pick(float((np.array(p) - c) @ n) for p in shapely.get_coordinates(cut)))
        if len(ends) == 2:
            found.append(ends[1] - ends[0])
    return np.mean(found)


def beside(rng, guarded=False):
    """Two straight-sided objects whose edges overlap by a known amount."""
    length, overlap = rng.uniform(12.0, 35.0), rng.uniform(0.0, 1.5)
    turn = rng.uniform(0, 360)
    first, sew_first = side_plan(rng, length, -overlap / 2, turn)
    second, sew_second = side_plan(rng, length, -overlap / 2, turn + 180)
    line = curves.turn([[-length / 2, 0], [length / 2, 0]], turn)

    def sew(sheet):
        if guarded:
            guard(sheet, curves.spaced(line, 0.5))
            sheet.finish()
        under = sew_first(sheet)
        sheet.finish()
        over = sew_second(sheet)
        if under and over:
            place = affinity.translate(shapely.LineString(line), *sheet.offset)
            meet(sheet, under, over, overlap, across(under, over, place))
        sheet.styles.add("junction-straight")
    return Plan("guarded" if guarded else "beside", shapely.union_all([first, second]), sew)


def guarded(rng):
    return beside(rng, True)


def bordered(rng):
    """A fill with a closed satin border over its edge."""
    width, overlap = rng.uniform(1.5, 5.0), rng.uniform(0.2, 1.5)
    overlap = min(overlap, 0.7 * width)
    radius = rng.uniform(max(7.0, 2.5 * width), 20.0)
    line = columns.closed_line(rng, radius, width)
    inner = shapely.Polygon(line).buffer(-(width / 2 - overlap))
    p = fill.draw(rng)
    q = satin.draw(rng, width)
    s = columns.ring_strip(rng, line, width)
    under, under_ring = areas.UNDER[rng.integers(len(areas.UNDER))], columns.kinds(rng, width)

    def sew(sheet):
        base = areas.sew_fill(sheet, inner, p, "fill-bordered", under)
        if sheet.rng.random() < 0.5:
            sheet.change()
        else:
            sheet.finish()
        ring = columns.sew_column(sheet, s, q, "satin-border", under_ring)
        hole = shapely.Polygon(max(shapes.largest(ring["shape"]).interiors, key=lambda r: r.length))
        between = (hole.length + base["shape"].length) / 2
        meet(sheet, base, ring, overlap, (base["shape"].area - hole.area) / between)
    return Plan("bordered", of_strips([s]).union(inner), sew)
