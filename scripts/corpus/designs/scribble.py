"""Hand-placed stitches without any order."""
import numpy as np
from shapely.geometry import Point

from compile import Sewer
from model import Object, Style

STOPS = [("ink", "#333344")]


def make():
    sw = Sewer(Style(trim="landing"))
    rng = np.random.default_rng(800)
    p = np.array((0.0, 20.0))
    first = sw.count
    sw.start(p, p + (1, 1))
    sw.pens[:] = [(x, y, "unsure", s) for x, y, _, s in sw.pens]
    heading = 0.0
    while sw.count < 800:
        # Mostly turning, sometimes back on itself: no rails, rows or even lengths.
        heading += rng.normal(0, 1.6)
        q = p + rng.uniform(0.9, 5.5) * np.array((np.cos(heading), np.sin(heading)))
        if abs(q[0]) < 34 and 1 < q[1] < 44:
            sw.needle(q, "unsure")
            p = q
    sw.objects.append(Object("scribble", "unsure", 0, first, sw.count - 1, Point(0, 20)))
    sw.sewing = False
    sw.finish()
    return sw, {
        "name": "scribble", "label": "SCRIBBLE", "stops": STOPS, "exit_code": 2,
        "outcome": "unchanged",
        "made": "800 needle points of a seeded random walk: nothing to recognise, so nothing may "
                "be changed, and a person has to look.",
    }
