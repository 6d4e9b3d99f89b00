"""Badge of the rowers of Ossel Quay with the usual faults of a file made for flats."""
import numpy as np
from shapely import affinity
from shapely.geometry import Polygon

import artwork as art
from compile import Sewer
from letters import layout, sew_word
from model import Style
from satin import mitred
from sew import fill, satin

STOPS = [("harbour navy", "#1d3557"), ("tide teal", "#3b8686"), ("brass", "#d9b44a"),
         ("harbour navy", "#1d3557")]


def make():
    style = Style(trim="jumps", pitch=0.4, row_pitch=0.2, stitch=3.0, join="step",
                  double_folds=True)
    sw = Sewer(style)
    pieces = art.shield(44.2, 51.7, 27.0, 10.6)
    outer = mitred(pieces, 1.1, -1.1)
    inner = mitred(pieces, 0.85 + 3.0, 0.85)
    satin(sw, "outer-border", outer, ("centre",))

    sw.change()
    opening = Polygon(inner.a)
    field = affinity.scale(opening.buffer(0.2, join_style="mitre"), 1.002, 1.002)
    tower = art.tower(-29.0, 25.0, 38.0, 7.0, 4.6)
    field = field.difference(tower.outline().buffer(-0.25, join_style="mitre"))
    fill(sw, "field", field, 86.0, ("centre",), centre=[(-38, 22.5), (38, 22.5)], start=(-38, 22.5))

    sw.change()
    _artwork(sw, tower)
    satin(sw, "inner-border", inner, ("centre",))

    sw.change()
    places, _ = layout("OSSEL QUAY", 7.5, 1.6, 3.1, 10.5)
    middle = (places[4][1] + 0.60 * 7.5 + places[5][1]) / 2
    sew_word(sw, "tag", "OSSEL QUAY", -middle, 0.5, 7.5, 1.6, ("centre",), 3.1, 10.5)
    sw.finish()
    tags = [o.id for o in sw.objects if o.id.startswith("tag")]
    return sw, {
        "name": "crest", "label": "CREST", "stops": STOPS, "exit_code": 0, "outcome": "mended",
        "made": "Broad shield with a double satin border, a near-vertical field, satin artwork "
                "and a tag line below that is sewn last; centre runs are the only underlay.",
        "faults": [{"kind": "out of order", "objects": tags, "repairable": True,
                    "note": "tag line is lowest on the cap but sewn last, in a stop of its own"}],
    }


def _artwork(sw, tower):
    run = ("centre",)
    satin(sw, "wave-1", art.wave(-20, 20, 18.2, 0.7, 10.4, 1.8), run)
    satin(sw, "wave-2", art.wave(-32, 32, 21.7, 0.7, 10.7, 1.8, 4), run)
    satin(sw, "wave-3", art.wave(27.5, 37.5, 25.6, 0.6, 9.3, 1.6, 2), run)
    satin(sw, "hull", art.hull(-17, 26, 27.2, 3.2, 1.3), run)
    for k, x in enumerate((-5.2, 7.2, -11.0, 13.0, 18.8)):
        back, head = art.rower(x, 27.0, 22, (1.8, 3.6), 2.1)
        satin(sw, f"rower-{k + 1}", back, run)
        satin(sw, f"head-{k + 1}", head, run)
        satin(sw, f"sweep-{k + 1}", art.straight((x + 1.2, 28.6), (x - 4.4, 23.6), 1.0), run)
    for name, x, turn in (("oar-1", -12.0, 24), ("oar-2", 16.0, 156)):
        shaft, blade = art.oar(29.5)
        satin(sw, f"{name}-shaft", art.placed(shaft, (x, 33.6), turn), run)
        satin(sw, f"{name}-blade", art.placed(blade, (x, 33.6), turn), run)
    satin(sw, "rocks", art.rocks(-29.0, 24.2, 10.5, 2.2), run)
    satin(sw, "tower", tower, run)
    satin(sw, "gallery", art.straight((-32.7, 38.4), (-25.3, 38.4), 1.5), run)
    satin(sw, "lantern-room", art.tower(-29.0, 39.0, 42.2, 3.6, 3.6), run)
    satin(sw, "lantern-roof", art.roof(-29.0, 42.0, 44.8, 5.0), run)
    for k, (p, q) in enumerate((((-26.1, 41.2), (-19.3, 42.8)), ((-26.1, 40.2), (-19.1, 39.0)))):
        satin(sw, f"ray-{k + 1}", art.ray(p, q), run)
    satin(sw, "sun", art.ball(30.0, 38.6, 6.0), run)
    for k, a in enumerate(range(18, 378, 36)):
        u = np.array((np.cos(np.radians(a)), np.sin(np.radians(a))))
        satin(sw, f"sunray-{k + 1}", art.ray(u * 4.0 + (30.0, 38.6), u * 6.6 + (30.0, 38.6), 1.2, 1.0), run)
    for k, wing in enumerate(art.gull(33, 28.9)):
        satin(sw, f"wing-{k + 1}", wing, run)
