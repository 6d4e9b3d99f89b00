"""Two fills deliberately 1 mm apart."""
import numpy as np
from shapely.geometry import LineString, Point, Polygon

import artwork as art
from compile import Sewer
from geom import biggest
from model import Style
from sew import fill, satin

STOPS = [("tide teal", "#3b8686"), ("dawn rose", "#d98c7a"), ("brass", "#d9b44a")]


def make():
    sw = Sewer(Style(trim="landing", pitch=0.42, row_pitch=0.21, join="vee"))
    x = np.linspace(-30, 30, 601)
    swell = np.column_stack((x, 20 + 1.6 * np.sin(x * 2 * np.pi / 16)))
    roundel = Point(0, 25).buffer(23, 128)
    cut = roundel.difference(LineString(swell).buffer(0.5))
    below = Polygon(np.vstack((swell, [(30, -5), (-30, -5)])))
    sea, sky = biggest(cut.intersection(below)), biggest(cut.difference(below))
    fill(sw, "sea", sea, 7.0, ("edge", "fill"), start=(0, 5))

    sw.change()
    fill(sw, "sky", sky, 8.0, ("edge", "fill"), start=(0, 24))

    sw.change()
    satin(sw, "sun", art.ball(0, 34, 6.5), ("edge", "zigzag"))
    sw.finish()
    return sw, {
        "name": "gap", "label": "GAP", "stops": STOPS, "exit_code": 0, "outcome": "unchanged",
        "customer": "Dawn Crew of Ossel Quay",
        "made": "Roundel of sea and sky with a wavy channel of bare cap, 1.0 mm wide, left open "
                "by design; underlay, angles and order are right, so nothing may change.",
        "gaps": [{"objects": ["sea", "sky"], "gap_mm": 1.0, "note": "design: leave it open"}],
    }
