"""Bunting over waves: three colours in four stops."""
from shapely.geometry import Polygon

import artwork as art
from compile import Sewer
from geom import line
from model import Style
from satin import mitred, panel, straight
from sew import fill, satin

STOPS = [("harbour navy", "#1d3557"), ("signal red", "#b5382f"), ("sail white", "#f1ede0"),
         ("harbour navy", "#1d3557")]
THREADS = (("#1D3557", "harbour navy", "101"), ("#B5382F", "signal red", "102"),
           ("#F1EDE0", "sail white", "103"), ("#1D3557", "harbour navy", "101"))
CENTRES = (0.0, -28.0, 28.0)
ANGLES = (86.0, 95.0, 10.0)


def corners(cx):
    return [(cx - 10, 42), (cx - 10, 28), (cx, 20), (cx + 10, 28), (cx + 10, 42)]


def make():
    sw = Sewer(Style(trim="jumps", swap_y=True, pitch=0.43, row_pitch=0.22, stitch=3.8,
                     threads=THREADS, square=True))
    satin(sw, "wave-1", art.wave(-30, 30, 4.0, 0.9, 12.0, 2.2), ("edge",))
    satin(sw, "wave-2", art.wave(-39, 39, 9.0, 0.9, 12.0, 2.2, 6), ("edge",))

    borders = []
    sw.change()
    for k, (cx, angle) in enumerate(zip(CENTRES, ANGLES)):
        c = corners(cx)
        border = mitred([line(p, q) for p, q in zip(c, c[1:] + c[:1])], 1.2, -1.2)
        borders.append(border)
        shape = Polygon(border.a).buffer(0.25, join_style="mitre")
        fill(sw, f"pennant-{k + 1}", shape, angle, ("edge", "fill"), start=(cx, 24))

    sw.change()
    for k, cx in enumerate(CENTRES):
        for n, y in enumerate((26.5, 33.0)):
            top = [(cx - 6.6, y + 8.2), (cx, y + 3.0), (cx + 6.6, y + 8.2)]
            satin(sw, f"chevron-{k + 1}-{n + 1}", panel(top, [(x, v - 3.2) for x, v in top]), ("centre",))

    sw.change()
    for k, border in enumerate(borders):
        satin(sw, f"border-{k + 1}", border, ("centre",))
    satin(sw, "rope", straight((-42, 44.05), (42, 44.05), 2.2), ("edge", "zigzag"))
    sw.finish()
    return sw, {
        "name": "pennants", "label": "PENNANTS", "stops": STOPS, "exit_code": 0, "outcome": "mended",
        "made": "Three pennants with chevrons over waves; navy is stopped twice, two of the fills "
                "are near vertical and all borders overlap thinly. The header swaps +Y and -Y and "
                "carries thread entries.",
    }
