"""Plans of fills of every form."""
import numpy as np
import shapely
from shapely import affinity

import fill
import satin
import shapes
import underlay
from plan import Plan
from warps import Polar, Waves

UNDER = ((), ("edge-run",), ("rows",), ("edge-run", "rows"), ("mesh",), ("edge-run", "mesh"))
MOST = 4000  # needle points of one fill, about


def sew_fill(sheet, shape, p, name, under=(), cls="fill", **extra):
    """Underlay and rows of one fill; notes the object unless nothing could be sewn."""
    notes = underlay.under_fill(sheet, shape, p["angle"], under)
    pieces = fill.draft(fill.to_rows(shape, p), p)
    if not pieces:
        return None
    lead = fill.from_rows(pieces[0][0], p)[0]
    if not sheet.pending and not underlay.near(sheet, lead, shape):
        sheet.finish()
    first = fill.sew(sheet, pieces, p)
    mean = (p["pitch"] + (p["pitch_end"] or p["pitch"])) / 2
    sheet.styles.update({name, "stagger-" + p["stagger"], "ends-" + p["join"]})
    curved = cls == "curved-fill"
    return satin.note(sheet, first, cls, name, fill.footprint_of(sheet, shape, pieces, p), underlay=notes,
                      angle_deg=None if curved else round(float(p["angle"]), 2),
                      row_pitch_mm=round(float(mean), 3), stitch_mm=round(float(p["stitch"]), 2),
                      sections=len(pieces), **extra)


def fit(shape, p):
    """Smaller where a big area would take too many stitches."""
    count = lambda: shape.area / ((p["pitch"] + (p["pitch_end"] or p["pitch"])) / 2 * p["stitch"])
    if count() > MOST:
        shape = affinity.scale(shape, *[np.sqrt(MOST / count())] * 2, origin=(0, 0))
    return shape


def make(rng, shape, p, name, cls="fill", **extra):
    shape = fit(shape, p)
    if cls == "curved-fill":
        p["join"] = "square"
    under = UNDER[rng.integers(len(UNDER))]
    return Plan(name, shape, lambda sheet: sew_fill(sheet, shape, p, name, under, cls, **extra))


def plain(rng, form=None, name="fill-plain", least=6.0):
    p = fill.draw(rng)
    form = form or shapes.PLAIN[rng.integers(len(shapes.PLAIN))]
    shape = form(rng, rng.uniform(least, 24.0))
    return make(rng, affinity.rotate(shape, rng.uniform(0, 360), origin=(0, 0)), p, name)


def holes(rng):
    return plain(rng, shapes.holed, "fill-holes")


def islands(rng):
    return plain(rng, shapes.islands, "fill-islands", 14.0)


def necked(rng):
    """Rows lie across the neck, so they are short there."""
    p = fill.draw(rng)
    shape = affinity.rotate(shapes.necked(rng, rng.uniform(8.0, 20.0)),
                            p["angle"] + rng.uniform(-25, 25), origin=(0, 0))
    return make(rng, shape, p, "fill-neck")


def two_pass(rng):
    p = fill.draw(rng)
    p["passes"] = 2
    form = shapes.PLAIN[rng.integers(5)]
    return make(rng, form(rng, rng.uniform(6.0, 22.0)), p, "fill-two-pass")


def gradient(rng):
    p = fill.draw(rng)
    p["pitch"], p["pitch_end"] = rng.uniform(0.2, 0.5), rng.uniform(0.6, 1.6)
    p["join"] = "square"
    form = shapes.PLAIN[rng.integers(5)]
    return make(rng, form(rng, rng.uniform(8.0, 24.0)), p, "fill-gradient",
                row_pitch_range_mm=[round(p["pitch"], 3), round(p["pitch_end"], 3)])


def waves(rng):
    p = fill.draw(rng)
    length = rng.uniform(15.0, 45.0)
    p["warp"] = Waves(rng.uniform(0.04, 0.09) * length, length, rng.uniform(0, 6.28), p["angle"])
    p["stitch"] = min(p["stitch"], length / 8)
    shape = shapes.PLAIN[rng.integers(4)](rng, rng.uniform(8.0, 22.0))
    return make(rng, shape, p, "curved-waves", "curved-fill")


def bent(rng, spokes, name):
    """Rows as arcs round, or spokes from, a centre outside the shape."""
    p = fill.draw(rng)
    radius = rng.uniform(8.0, 20.0)
    away = radius * rng.uniform(1.6, 3.0)
    a = rng.uniform(0, 2 * np.pi)
    p["warp"] = Polar(away * np.array([np.cos(a), np.sin(a)]), away, spokes)
    p["stitch"] = min(p["stitch"], away / 6)
    return make(rng, shapes.PLAIN[rng.integers(4)](rng, radius), p, name, "curved-fill")


def arcs(rng):
    return bent(rng, False, "curved-arcs")


def spokes(rng):
    return bent(rng, True, "curved-spokes")


def mesh(rng):
    """A whole stop of light open rows, sewn before anything else: underlay of its own."""
    shape = shapes.box(rng, rng.uniform(12.0, 30.0))
    angle = rng.uniform(0, 180)
    turns = (0, 90) if rng.random() < 0.7 else (0,)

    def sew(sheet):
        passes = [underlay.rows_under(sheet, shape, angle + turn) for turn in turns]
        satin.note(sheet, passes[0][0]["first"], "underlay", "underlay-mesh",
                   shapely.union_all([area for _, area in passes]))
        sheet.styles.add("underlay-mesh")
    return Plan("underlay-mesh", shape, sew)
