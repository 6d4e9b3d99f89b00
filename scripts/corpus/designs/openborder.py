"""Home-style file: sparse fill, open satin border."""
from shapely.geometry import Polygon

import artwork as art
from compile import Sewer
from model import Style
from satin import mitred
from sew import fill, satin

STOPS = [("reed green", "#5d7f4f"), ("bark", "#5a4632")]


def make():
    sw = Sewer(Style(trim="markers", pitch=0.42, row_pitch=0.4, stitch=4.0, zero_landing=True))
    pieces = art.shield(30.0, 46.0, 22.0, 4.0)
    border = mitred(pieces, 1.5, -1.5)
    field = Polygon(border.a).buffer(0.3, join_style="mitre")
    fill(sw, "field", field, 7.0, ("edge", "fill"), start=(-10, 12))

    sw.change()
    satin(sw, "wave", art.wave(-17, 17, 18.0, 0.8, 11.3, 2.2), ("edge", "zigzag"))
    satin(sw, "hull", art.hull(-19, 19, 27.5, 3.8, 1.6), ("edge", "zigzag"))
    satin(sw, "border", border, ("edge", "zigzag"), pitch=1.0, hides=False)
    sw.finish()
    return sw, {
        "name": "openborder", "label": "OPENBORDER", "stops": STOPS, "exit_code": 2,
        "outcome": "unchanged", "customer": "Reed Farm at Ossel",
        "made": "Shield of sparse level rows (row pitch 0.40) inside a border of open satin "
                "(same-side pitch 1.0): the border cannot hide an extension or a guard, so the "
                "thin overlap is left for a person.",
    }
