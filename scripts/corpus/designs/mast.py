"""Sailing boat whose thin mast stands on the seam."""
from shapely.geometry import Polygon

import artwork as art
from compile import Sewer
from geom import bezier, join, line
from model import Style
from satin import panel, straight
from sew import fill, satin

STOPS = [("harbour navy", "#1d3557"), ("sail white", "#f1ede0"), ("signal red", "#b5382f")]


def make():
    sw = Sewer(Style(trim="landing", end_1a=True, pitch=0.42, row_pitch=0.21, tie=0.6, join="step"))
    both = ("edge", "zigzag")
    satin(sw, "wave", art.wave(-32, 32, 3.6, 0.8, 10.7, 2.2), both)
    satin(sw, "strake-low", panel([(-22, 10.0), (22, 10.0)], [(-18, 6.2), (18, 6.2)]), both)
    satin(sw, "strake-high", panel([(-25.5, 12.6), (25.5, 12.6)], [(-22.4, 9.8), (22.4, 9.8)]), both)
    satin(sw, "mast", straight((0, 13.4), (0, 46.5), 1.4), ("centre",))

    sw.change()
    main = Polygon(join(line((2.2, 15), (25, 15)), bezier((25, 15), (20, 27), (12, 38), (2.2, 45)),
                        line((2.2, 45), (2.2, 15))))
    fill(sw, "mainsail", main, 9.0, ("edge", "fill"), start=(6, 17))
    jib = Polygon(join(line((-2.2, 15), (-2.2, 40)), bezier((-2.2, 40), (-9, 33), (-17, 24), (-22, 15)),
                       line((-22, 15), (-2.2, 15))))
    fill(sw, "jib", jib, 95.0, ("edge", "fill"), start=(-5, 17))

    sw.change()
    satin(sw, "burgee", panel([(1.2, 50.5), (12.5, 49.4)], [(1.2, 46.5), (12.5, 48.4)]), ("edge",))
    sw.finish()
    return sw, {
        "name": "mast", "label": "MAST", "stops": STOPS, "exit_code": 2, "outcome": "mended",
        "customer": "Ossel Quay Sail Loft",
        "made": "Boat with a 1.4 mm upright mast on the seam, which no pass can repair; the jib's "
                "rows stand at 95 degrees and the upper strake covers the lower by 0.2 mm only.",
    }
