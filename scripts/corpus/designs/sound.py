"""A cap file with nothing wrong in it."""
from shapely.geometry import Point

import artwork as art
from compile import Sewer
from geom import arc
from letters import layout, sew_word
from model import Style
from satin import ribbon
from sew import fill, satin

STOPS = [("harbour navy", "#1d3557"), ("tide teal", "#3b8686"), ("sail white", "#f1ede0"),
         ("harbour navy", "#1d3557")]
CENTRE = (0.0, 30.5)


def make():
    sw = Sewer(Style(trim="jumps", zero_landing=True, pitch=0.42, row_pitch=0.21, join="vee"))
    _letters(sw)

    sw.change()
    inner = arc(*CENTRE, 16.0, 16.0, -90, 270)
    fill(sw, "disc", Point(CENTRE).buffer(17.3, 128), 8.0, ("edge", "fill"),
         start=(0, 15.0), guards=(inner,))

    sw.change()
    # Ends lie under the border by 1.2 mm or more.
    for k, (y, half) in enumerate(((24.0, 16.2), (30.5, 17.2), (37.0, 16.2))):
        satin(sw, f"wave-{k + 1}", art.wave(-half, half, y, 0.9, 11.5, 2.4), ("edge", "zigzag"))

    sw.change()
    ring = ribbon(arc(*CENTRE, 17.6, 17.6, -90, 270), 3.2, True)
    satin(sw, "border", ring, ("edge", "zigzag"))
    for k, x in enumerate((-26.0, 26.0)):
        satin(sw, f"buoy-{k + 1}", art.ball(x, 33.0, 5.0), ("edge", "zigzag"))
    sw.finish()
    return sw, {
        "name": "sound", "label": "SOUND", "stops": STOPS, "exit_code": 0, "outcome": "unchanged",
        "customer": "Old Tide House",
        "made": "Letters first from the centre outward, then a roundel: guard and two underlays "
                "under a level fill, waves tucked under the border, border with edge run and "
                "zigzag; overlaps of 1.2 mm or more. Nothing to repair.",
    }


def _letters(sw):
    h, t, gap, space = 8.0, 1.4, 2.4, 9.0
    places, _ = layout("OLD TIDE", h, t, gap, space)
    left_end = places[2][1] + 0.78 * h
    middle = (left_end + places[3][1]) / 2
    order = sorted(range(len(places)), key=lambda k: abs(places[k][1] - middle))
    sew_word(sw, "letter", "OLD TIDE", -middle, 0.6, h, t, ("centre",), gap, space, order)
