"""Quay lantern: near-vertical fill with two windows, thinly overlapped borders."""
from shapely.geometry import Polygon

from compile import Sewer
from geom import arc, bezier, join, line
from model import Style
from satin import mitred, rails, ribbon, straight
from sew import fill, satin

STOPS = [("soot", "#3a3335"), ("lamp amber", "#e0a030"), ("brass", "#a87a2a")]


def window(cx):
    """Arched opening, pieces counter-clockwise: sill, then jamb, arch and jamb."""
    x0, x1, y0, y1 = cx - 3.6, cx + 3.6, 14.5, 26.0
    frame = join(line((x1, y0), (x1, y1)), arc(cx, y1, 3.6, 3.6, 0, 180), line((x0, y1), (x0, y0)))
    return [line((x0, y0), (x1, y0)), frame]


def make():
    sw = Sewer(Style(trim="markers", end_1a=True, pitch=0.43, row_pitch=0.23, stitch=4.0, tie=1.2))
    side = bezier((15, 8), (18.5, 17), (17.5, 29), (11.5, 38))
    body = [line((-15, 8), (15, 8)), side, line((11.5, 38), (-11.5, 38)), side[::-1] * (-1, 1)]
    border = mitred(body, 1.3, -1.3)
    satin(sw, "base", straight((-17, 4.95), (17, 4.95), 3.9), ("edge", "zigzag"))

    sw.change()
    left, right = window(-7.3), window(7.3)
    panes = [Polygon(join(*w)) for w in (left, right)]
    shape = Polygon(border.a).buffer(0.3, join_style="mitre").difference(panes[0]).difference(panes[1])
    fill(sw, "body", shape, 100.0, ("edge", "fill"), start=(0, 12))

    sw.change()
    # The left window gets a satin frame; the right one stays an open hole.
    satin(sw, "window-frame", mitred(left, 1.9, -0.3), ("centre",))
    satin(sw, "body-border", border, ("edge",))
    satin(sw, "roof", rails(line((-9.5, 43.6), (9.5, 43.6)), line((-14.5, 39.1), (14.5, 39.1))), ("edge", "zigzag"))
    satin(sw, "handle", ribbon(arc(0, 47.6, 3.6, 3.6, -90, 270), 2.2, True), ("edge",))
    sw.finish()
    return sw, {
        "name": "lantern", "label": "LANTERN", "stops": STOPS, "exit_code": 0, "outcome": "mended",
        "made": "Quay lantern: rows at 100 degrees with two windows, one framed in satin and one "
                "left open; border, frame, roof and base overlap by 0.2 to 0.3 mm only.",
    }
