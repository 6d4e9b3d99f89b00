"""One-colour badge: emblem first, tag line below it last."""
import artwork as art
from compile import Sewer
from letters import layout, sew_word
from model import Style
from sew import satin

STOPS = [("sail white", "#f1ede0")]


def make():
    sw = Sewer(Style(trim="jumps", dangling_change=True, pitch=0.42, double_folds=True))
    under = ("edge", "zigzag")
    satin(sw, "wave-1", art.wave(-15, 15, 16.5, 0.7, 10.0, 2.0), under)
    satin(sw, "wave-2", art.wave(-21, 21, 20.4, 0.7, 10.5, 2.0, 5), under)
    satin(sw, "hull", art.hull(-21, 21, 26.5, 3.6, 1.5), under)
    for name, x, turn in (("oar-1", -15.0, 38), ("oar-2", 15.0, 142)):
        shaft, blade = art.oar(32.0, 2.0, (8.5, 4.2))
        satin(sw, f"{name}-shaft", art.placed(shaft, (x, 29.5), turn), under)
        satin(sw, f"{name}-blade", art.placed(blade, (x, 29.5), turn), under)
    h, t, gap, space = 8.0, 1.7, 2.6, 10.0
    places, _ = layout("HOLLY REACH", h, t, gap, space)
    middle = (places[4][1] + 0.86 * h + places[5][1]) / 2
    sew_word(sw, "tag", "HOLLY REACH", -middle, 0.6, h, t, ("centre",), gap, space)
    sw.finish()
    tags = [o.id for o in sw.objects if o.id.startswith("tag")]
    return sw, {
        "name": "tagline", "label": "TAGLINE", "stops": STOPS, "exit_code": 0, "outcome": "mended",
        "customer": "Holly Reach Oars",
        "made": "Emblem of a boat, waves and crossed oars with good underlay; the letters below "
                "are sewn last in the same stop, on centre runs only. A colour change dangles "
                "before the end record.",
        "faults": [{"kind": "out of order", "objects": tags, "repairable": True,
                    "note": "tag line is lowest on the cap but sewn last, in the emblem's stop"}],
    }
