"""Applique in three held stops, and a small ordinary pennant above it."""
from shapely.geometry import Polygon

import artwork as art
from compile import Sewer
from geom import even, join, line, ring_points
from model import Style
from satin import mitred
from sew import fill, run, satin

STOPS = [("placement grey", "#777777"), ("tack grey", "#555566"), ("harbour navy", "#1d3557"),
         ("signal red", "#b5382f"), ("brass", "#d9b44a")]


def make():
    sw = Sewer(Style(trim="jumps", pitch=0.4, row_pitch=0.21, double_folds=True))
    pieces = art.shield(27.0, 31.0, 16.0, 3.0)
    edge = join(*pieces)
    run(sw, "placement", edge, "run", 2.5, held=True)

    sw.change()
    inner = ring_points(Polygon(edge).buffer(-0.8, join_style="mitre").exterior)
    run(sw, "tack-down", even(inner, 0.1), "back", 2.0, held=True)

    sw.change()
    satin(sw, "cover", mitred(pieces, 1.8, -1.4), ("centre",), held=True)

    sw.change()
    flag = [line(p, q) for p, q in (((-12, 36.5), (12, 36.5)), ((12, 36.5), (12, 48)),
                                    ((12, 48), (-12, 48)), ((-12, 48), (-12, 36.5)))]
    border = mitred(flag, 1.1, -1.1)
    fill(sw, "flag", Polygon(border.a).buffer(0.2, join_style="mitre"), 92.0, ("edge", "fill"), start=(0, 39))

    sw.change()
    satin(sw, "flag-border", border, ("edge", "zigzag"))
    sw.finish()
    return sw, {
        "name": "applique", "label": "APPLIQUE", "stops": STOPS, "exit_code": 0,
        "outcome": "mended", "customer": "Ossel Quay Boathouse",
        "made": "Placement run, tack-down and cover satin retrace one shield in three stops that "
                "must be held; the small flag above has near-vertical rows and a thin overlap.",
    }
