"""Line art in run stitches only: single, there and back, and bean."""
import numpy as np

from compile import Sewer
from geom import arc, bezier, join, line, pts
from model import Style
from sew import run

STOPS = [("harbour navy", "#1d3557")]


def make():
    sw = Sewer(Style(trim="markers", double_folds=True, tie=1.2))
    x = np.linspace(-34, 34, 700)
    run(sw, "water", np.column_stack((x, 6 + 1.2 * np.sin(x / 2.1))), "run", 2.0)
    run(sw, "ripple", np.column_stack((x[60:-60], 2.4 + 0.9 * np.sin(x[60:-60] / 1.9 + 1))), "back", 2.0)
    hull = join(line((-15, 12), (13, 12)), bezier((13, 12), (16, 12.4), (18, 13.5), (20, 15.5)),
                line((20, 15.5), (-17, 15.5)), bezier((-17, 15.5), (-17, 14), (-16, 13), (-15, 12)))
    run(sw, "hull", hull, "bean", 2.2)
    run(sw, "mast", line((3, 16.5), (3, 46)), "back", 2.1)
    run(sw, "sail", join(bezier((5, 18), (10, 24), (12, 34), (4.2, 45)), line((4.2, 45), (5, 18))),
        "bean", 2.3)
    run(sw, "jib", join(line((1.4, 18.5), (-11, 18.5)), bezier((-11, 18.5), (-6, 26), (-1, 34), (1.4, 41)),
                        line((1.4, 41), (1.4, 18.5))), "back", 2.1)
    run(sw, "pennant", pts((3, 47), (9.5, 48.6), (3, 50.4), (3, 47)), "run", 1.8)
    tower = join(line((-33, 10), (-31, 30)), line((-31, 30), (-26, 30)), line((-26, 30), (-24, 10)),
                 line((-24, 10), (-33, 10)))
    run(sw, "tower", tower, "back", 2.0)
    run(sw, "lamp", join(line((-30.5, 31.5), (-30.5, 35)), line((-30.5, 35), (-28.5, 38)),
                         line((-28.5, 38), (-26.5, 35)), line((-26.5, 35), (-26.5, 31.5)),
                         line((-26.5, 31.5), (-30.5, 31.5))), "bean", 1.9)
    run(sw, "sun", arc(27, 34, 4.5, 4.5, -90, 270), "back", 1.9)
    for k, a in enumerate(np.radians(np.arange(0, 360, 45))):
        u = np.array((np.cos(a), np.sin(a)))
        run(sw, f"beam-{k + 1}", line(u * 6.2 + (27, 34), u * 10 + (27, 34)), "back", 1.9)
    sw.finish()
    return sw, {
        "name": "outline", "label": "OUTLINE", "stops": STOPS, "exit_code": 0,
        "outcome": "unchanged",
        "made": "Line art of a boat, a lighthouse and the sun: single, double-back and bean runs "
                "only, trims marked by paired opposite jumps. Nothing to repair.",
    }
