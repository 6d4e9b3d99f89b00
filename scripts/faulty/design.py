"""One design: drawn, sewn, and written down with its truth."""
from dataclasses import dataclass

import corpus  # noqa: F401
import habits
import layout
import numpy as np
import truth
from compile import Sewer
from draw import Misfit, chance, uniform, whole
from item import sew_item
from shapely import distance, points
from shapely.geometry import Polygon
from shapely.ops import unary_union
from words import Word

FEWEST, MOST = 1000, 9000  # stitches
REACH = 121  # points per axis and stitch
TRIES = 400


@dataclass
class Plan:
    style: object
    stops: list  # per stop: [(name, item)], or a Word
    made: str


def draw(seed, index):
    """(tape, truth, reasons of designs thrown away); depends on seed and index alone."""
    thrown = []
    for attempt in range(TRIES):
        rng = np.random.default_rng([seed, index, attempt])
        try:
            sw, info = _sew(_plan(rng), f"{index:04d}")
            facts = _truth(sw, info)
        except Exception as why:  # whatever the sewing modules cannot do is drawn again
            thrown.append(f"{type(why).__name__}: {why}")
            continue
        return sw.tape(f"FAULTY {index:04d}"), facts, thrown
    raise RuntimeError(f"design {index}: nothing sewable in {TRIES} draws")


# -- plan ------------------------------------------------------------------------
def _plan(rng):
    style, kit = habits.style(rng), habits.Kit(rng)
    w = uniform(rng, 50, layout.WIDEST - 3)
    word = Word(rng, kit, layout.WIDEST - 4) if chance(rng, 0.45) else None
    floor = layout.LOWEST
    if word:
        word.y, floor = floor, floor + word.h + uniform(rng, 2.0, 4.0)
    room = layout.LOWEST + layout.HIGHEST - 0.5 - floor
    h = uniform(rng, min(25, room), room)
    aside = uniform(rng, -2, 2) if chance(rng, 0.4) else 0.0
    groups = layout.groups(rng, kit, w, h, (aside, floor + h / 2))
    stops = _stops(rng, groups, word)
    return Plan(style, stops, _made(groups, word, stops))


def _stops(rng, groups, word):
    blocks = _by_colour(groups) if chance(rng, 0.4) else _by_element(groups)
    count = min(whole(rng, 2, 5) - bool(word), len(blocks))
    if count + bool(word) < 2:
        raise Misfit("one stop only")
    breaks = sorted(sorted(range(1, len(blocks)), key=lambda k: -_change(rng, blocks, k))[:count - 1])
    stops = [[pair for b in blocks[i:j] for pair in b]
             for i, j in zip([0] + breaks, breaks + [len(blocks)])]
    _order_is_plain(stops)
    if word:
        stops.insert(0 if chance(rng, 0.5) else len(stops), word)
    return stops


def _named(k, group, layer, many):
    mark = f"{'abc'[k]}-" if many else ""
    # A polygon may stand on a polygon.
    below = {i.name for i in group if i.layer < layer}
    return [(f"{mark}{i.name}{'-on-it' if i.name in below else ''}", i)
            for i in group if i.layer == layer]


def _by_element(groups):
    """One group after the other, from the bottom up and from the middle outward."""
    low = lambda k: min(i.shape().bounds[1] for i in groups[k])
    order = sorted(range(len(groups)), key=lambda k: (round(low(k) / 8), _aside(groups[k])))
    return [_named(k, groups[k], layer, len(groups) > 1) for k in order
            for layer in range(groups[k][-1].layer + 1)]


def _aside(group):
    return abs(unary_union([i.shape() for i in group]).centroid.x)


def _by_colour(groups):
    """The first layers of all groups, then the second ones, and so on."""
    deep = max(g[-1].layer for g in groups)
    return [[pair for k, g in enumerate(groups) for pair in _named(k, g, layer, len(groups) > 1)]
            for layer in range(deep + 1)]


def _change(rng, blocks, k):
    """How much a change of thread is wanted before block k: most of all after a fill."""
    after_fill = any(i.area is not None for _, i in blocks[k - 1])
    return rng.random() + 0.8 * after_fill


def _order_is_plain(stops):
    """No stop stands wholly below all that was sewn before: only a tag line may be out of order."""
    for k in range(1, len(stops)):
        top = max(i.shape().bounds[3] for _, i in stops[k])
        if top < min(i.shape().bounds[1] for stop in stops[:k] for _, i in stop):
            raise Misfit("a low group comes last")


def _made(groups, word, stops):
    parts = ["; ".join(sorted({i.name.rstrip("0123456789-") for i in g})) for g in groups]
    tag = f", tag line {word.text}" if word else ""
    return f"Drawn at random: {' | '.join(parts)}{tag}; {len(stops)} stops."


# -- sew -------------------------------------------------------------------------
def _sew(plan, name):
    sw = Sewer(plan.style)
    for k, stop in enumerate(plan.stops):
        if k:
            sw.change()
        if isinstance(stop, Word):
            stop.sew(sw)
            continue
        for label, item in stop:
            sew_item(sw, item, label)
    sw.finish()
    _check(sw)
    _exact(sw)
    late = isinstance(plan.stops[-1], Word)
    return sw, {"name": name, "made": plan.made, "exit_code": 0, "outcome": "",
                "faults": [_tag_fault(sw)] if late else []}


def _tag_fault(sw):
    """The tag line keeps 2 mm clear of all else by its place in the layout."""
    tags = [o.id for o in sw.objects if o.id.startswith("tag")]
    return {"kind": "out of order", "objects": tags, "repairable": True,
            "note": "tag line is lowest on the cap but sewn last, in a stop of its own"}


def _check(sw):
    if not FEWEST <= sw.count <= MOST:
        raise Misfit(f"{'few' if sw.count < FEWEST else 'many'} stitches")
    at = np.array([p[:2] for p in sw.pens])
    if at[:, 1].min() < 110 or np.ptp(at[:, 0]) > 1000 or at[:, 1].max() - at[:, 1].min() > 500:
        raise Misfit("outside the cap front")
    here, jumped = (0, 0), True
    for kind, *xy in sw.events:
        if kind == "needle" and not jumped and np.abs(np.subtract(xy, here)).max() > REACH:
            raise Misfit("stitch too long")
        jumped = kind != "needle"
        here = xy or here


def _exact(sw):
    """Thrown away is what the sewing modules record inexactly, or sew with a trim in the middle."""
    labels = np.array([p[2] for p in sw.pens])
    for o in sw.objects:
        if any(u["last"] < u["first"] for u in o.underlay):
            raise Misfit("underlay without a needle point of its own")
        if "tie" in labels[o.first:o.last + 1]:
            raise Misfit("trim within an object")
        if o.cls == "fill":
            rows = np.flatnonzero(labels[o.first:o.last + 1] == "fill") + o.first
            at = np.array([sw.pens[k][:2] for k in rows]) / 10
            if distance(o.sewn, points(at)).max() > 0.14:
                raise Misfit("needle point outside its outline")


def _truth(sw, info):
    facts = truth.build(sw, info)
    if not all(Polygon(p[0], p[1:]).is_valid for o in facts["objects"] for p in o["outline"]):
        raise Misfit("outline not valid once rounded")
    facts["outcome"] = "mended" if any(f["repairable"] for f in facts["faults"]) else "unchanged"
    facts["exit_code"] = 0 if all(f["repairable"] for f in facts["faults"]) else 2
    return facts
