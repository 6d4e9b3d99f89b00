"""One random design: items laid out, sewn in order, and its truth."""
import numpy as np
import shapely
from shapely import affinity

import areas
import columns
import doubled
import footprint
import legs
import lines
import pairs
import tape
from sheet import Sheet

ITEMS = {
    "satin": (*[columns.single] * 5, columns.jagged, columns.ring, columns.ring, legs.mitred,
              legs.capped, legs.box_border, legs.branches, legs.two_in_one, legs.run_over),
    "fill": (areas.plain, areas.holes, areas.islands, areas.necked, areas.two_pass, areas.gradient,
             areas.waves, areas.arcs, areas.spokes),
    "pair": (pairs.beside, pairs.guarded, pairs.bordered),
    "line": (lines.single, lines.double, lines.beans, lines.motifs, lines.scribble),
}
SHARE = {"satin": 0.4, "fill": 0.32, "pair": 0.12, "line": 0.16}
ROOM = 7000  # needle points; no further item is begun beyond
LEAST = 120  # needle points of a design
FAR = 15.0   # mm; nobody runs further between two items
MESH = 0.08  # share of designs that begin with a mesh


def draw_item(rng):
    kind = rng.choice(list(SHARE), p=list(SHARE.values()))
    makers = ITEMS[kind]
    return makers[rng.integers(len(makers))](rng)


def slide(placed, shape, way, gap):
    """How far to move `shape` along `way` so that it is `gap` (negative: overlap) from `placed`."""
    probe = shape.buffer(gap) if gap < 0 else shape
    if probe.is_empty:
        probe = shape
    low, high = 0.0, 200.0
    for _ in range(14):
        mid = (low + high) / 2
        moved = affinity.translate(probe, *(way * mid))
        if placed.distance(moved) > max(gap, 0.0):
            high = mid
        else:
            low = mid
    return way * high


def lay_out(rng, plans):
    """Offsets of the items: each beside what is there, overlapping a little or apart."""
    placed, offsets = None, []
    for plan in plans:
        move = np.zeros(2)
        shape = plan.shape.simplify(0.1)
        if placed is not None:
            a = rng.uniform(0, 2 * np.pi)
            gap = -rng.uniform(0.0, 1.5) if rng.random() < 0.5 else rng.uniform(0.5, 8.0)
            if rng.random() < 0.1:       # artwork on top of what is there
                move = np.array(placed.representative_point().coords[0])
            else:
                move = slide(placed, shape, np.array([np.cos(a), np.sin(a)]), gap)
        moved = affinity.translate(shape, *move)
        placed = moved if placed is None else shapely.union_all([placed, moved])
        offsets.append(move)
    return offsets, placed


def go_on(sheet, place):
    """Between two items: a colour change, a trim, or now and then a run straight on."""
    dice = sheet.rng.random()
    far = np.hypot(*(sheet.here() + sheet.offset - place)) > FAR
    if dice < 0.3:
        sheet.change()
    elif dice < 0.85 or far:
        sheet.finish()


def sew(rng):
    """A sewn sheet; drawn anew while it is hardly anything."""
    while True:
        sheet = sew_once(rng)
        if sheet.count() >= LEAST:
            doubled.double(sheet)
            return sheet


def sew_once(rng):
    sheet = Sheet(rng, tape.habits(rng))
    plans = [draw_item(rng) for _ in range(int(rng.integers(1, 5)))]
    offsets, placed = lay_out(rng, plans)
    middle = np.array(placed.centroid.coords[0])
    base = -middle if sheet.habits["origin"] == "centred" else rng.uniform(-60, 60, 2) - middle
    if rng.random() < MESH:
        sheet.offset = base + offsets[0]
        areas.mesh(rng).sew(sheet)
        sheet.change()
    for i, (plan, offset) in enumerate(zip(plans, offsets)):
        if sheet.count() > ROOM:
            break
        if i:
            go_on(sheet, base + offset)
        sheet.offset = base + offset
        plan.sew(sheet)
    sheet.finish()
    return sheet


def truth(sheet, seed, index):
    """The truth as written to JSON."""
    labels = []
    for *_, label in sheet.pens:
        if labels and labels[-1][0] == label:
            labels[-1][1] += 1
        else:
            labels.append([label, 1])
    objects = []
    for o in sheet.objects:
        o = dict(o)
        shape = o.pop("shape")
        o["outline"] = None if shape is None else footprint.rings(shape)
        objects.append(o)
    h = sheet.habits
    styles = sheet.styles | {"landing-" + h["landing"], "marker" if h["marker"] else "no-marker"}
    return {"seed": seed, "index": index, "styles": sorted(str(s) for s in styles),
            "stitch_count": len(sheet.pens), "labels": labels, "objects": objects,
            "junctions": sheet.junctions}
