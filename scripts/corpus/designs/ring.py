"""Ring badge: level fill disc, two closed ring borders, every overlap thin."""
from shapely.geometry import Point

import artwork as art
from compile import Sewer
from geom import arc
from model import Style
from satin import ribbon
from sew import fill, satin

STOPS = [("tide teal", "#3b8686"), ("sail white", "#f1ede0"), ("harbour navy", "#1d3557")]
CENTRE = (0.0, 23.0)


def ring(r_in, r_out, start=-90.0):
    c = arc(*CENTRE, (r_in + r_out) / 2, (r_in + r_out) / 2, start, start + 360)
    return ribbon(c, r_out - r_in, True)


def make():
    sw = Sewer(Style(trim="landing", square=True, pitch=0.42, row_pitch=0.22, join="vee"))
    disc = Point(CENTRE).buffer(16.3, 128)
    fill(sw, "disc", disc, 0.0, ("edge", "fill"), start=(0, 7.5))

    sw.change()
    satin(sw, "wave-1", art.wave(-10.5, 10.5, 15.4, 0.7, 7, 1.9), ("edge",))
    satin(sw, "wave-2", art.wave(-12.5, 12.5, 19.0, 0.7, 7, 1.9, 3.5), ("edge",))
    for name, x, turn in (("oar-1", -12.0, 35), ("oar-2", 12.0, 145)):
        shaft, blade = art.oar(25.0, 1.7, (7.0, 3.6))
        satin(sw, f"{name}-shaft", art.placed(shaft, (x, 21.6), turn), ("edge",))
        satin(sw, f"{name}-blade", art.placed(blade, (x, 21.6), turn), ("edge",))
    satin(sw, "inner-ring", ring(16.0, 19.0, -60), ("edge",))

    sw.change()
    satin(sw, "outer-ring", ring(18.8, 21.4, 200), ("edge",))
    sw.finish()
    return sw, {
        "name": "ring", "label": "RING", "stops": STOPS, "exit_code": 0, "outcome": "mended",
        "made": "Round badge: a level fill disc reaches 0.3 mm under a closed satin ring, which "
                "reaches 0.2 mm under a second ring outside; rings start at odd places.",
    }
