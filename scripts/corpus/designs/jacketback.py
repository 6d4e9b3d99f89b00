"""Jacket back for a flat woven garment: harbour scene in a double border."""
import numpy as np
from shapely.geometry import Point, Polygon

import artwork as art
from compile import Sewer
from geom import biggest, line, smooth
from letters import layout, sew_word
from model import Style
from satin import mitred, rails, straight
from sew import fill, satin

STOPS = [("morning sky", "#a9c6d8"), ("reed green", "#5d7f4f"), ("tide teal", "#2f6f73"),
         ("sail white", "#f1ede0"), ("signal red", "#b5382f"), ("brass", "#d9b44a"),
         ("harbour navy", "#1d3557")]
BOTH, EDGE, CENTRE = ("edge", "zigzag"), ("edge",), ("centre",)


def make():
    sw = Sewer(Style(trim="jumps", pitch=0.42, row_pitch=0.25, stitch=4.4, join="vee"))
    pieces = art.shield(109.0, 244.0, 140.0, 36.0, 9.0, 42.0)
    outer, inner = mitred(pieces, 2.8, -2.8), mitred(pieces, 8.0, 2.5)
    tower = rails(line((-68, 128), (-66, 196)), line((-56, 128), (-58, 196)))
    _fields(sw, Polygon(inner.a), tower)
    sw.change()
    _white(sw, tower)
    sw.change()
    _red(sw)
    sw.change()
    _brass(sw)
    satin(sw, "inner-border", inner, CENTRE)
    sw.change()
    _navy(sw)
    satin(sw, "outer-border", outer, BOTH)
    _words(sw)
    sw.finish()
    return sw, {
        "name": "jacketback", "label": "JACKETBACK", "stops": STOPS, "exit_code": 0,
        "outcome": "mended", "garment": "flat-woven",
        "made": "Jacket back, 230 x 275 mm: sky, hill and sea fills, lighthouse in split satin, "
                "two boats with crews, double border and two lines of letters. Overlaps of 0.3 mm "
                "and centre runs where edge runs belong; upright rows are no fault on flats.",
    }


def _fields(sw, opening, tower):
    """Sky, hill and sea; each reaches only a little under what comes later."""
    room = opening.buffer(0.3, join_style="mitre")
    x = np.linspace(-130, 130, 1301)
    shore = np.column_stack((x, 118 + 2.2 * np.sin(x / 12.0)))
    sea = biggest(room.intersection(Polygon(np.vstack((shore, [(130, 0), (-130, 0)])))))
    air = room.difference(sea.buffer(-0.3))
    crest = smooth([(-125, 140), (-100, 133), (-72, 129), (-40, 131), (-8, 125), (20, 110)])
    hill = biggest(air.intersection(Polygon(np.vstack((crest, [(20, 90), (-125, 90)])))))
    sun = Point(72, 204).buffer(13, 64)
    sky = air.difference(hill.buffer(-0.3)).difference(sun.buffer(-0.35)).difference(
        tower.outline().buffer(-0.3, join_style="mitre"))
    sky = sky.buffer(-0.8).buffer(0.8)  # no slivers where hill, shore and tower meet
    fill(sw, "sky", biggest(sky), 8.0, ("edge", "fill"), start=(30, 126))
    sw.change()
    fill(sw, "hill", biggest(hill), 45.0, ("edge",), start=(-60, 124))
    sw.change()
    fill(sw, "sea", sea, 95.0, ("edge", "fill"), start=(0, 60))


def _white(sw, tower):
    satin(sw, "tower", tower, EDGE)
    satin(sw, "lantern-room", art.tower(-62, 201.2, 211, 6.6, 6.6), CENTRE)
    for k, (y, half, phase) in enumerate(((58, 27, 0), (70, 46, 12), (82, 62, 3))):
        satin(sw, f"wave-{k + 1}", art.wave(-half, half, y, 2.2, 23, 4.2, phase), EDGE if k else CENTRE)
    for k, (x, y) in enumerate(((8, 214), (26, 224), (-10, 204))):
        for side, wing in zip("lr", art.gull(x, y, 20, 2.6)):
            satin(sw, f"gull-{k + 1}{side}", wing, CENTRE)
    satin(sw, "far-hull", art.hull(36, 98, 128, 6.4, 2.4, 1.6), CENTRE)


def _red(sw):
    for k, y in enumerate((142, 164, 184)):
        half = 6.0 - 2.0 * (y - 128) / 68 + 0.3
        satin(sw, f"band-{k + 1}", straight((-62 - half, y), (-62 + half, y), 6.5), EDGE)
    satin(sw, "gallery", straight((-71, 198.6), (-53, 198.6), 5.6), CENTRE)
    satin(sw, "lantern-roof", art.roof(-62, 210.6, 217, 10.5, 1.4), CENTRE)
    satin(sw, "near-hull", art.hull(-78, 62, 101, 11.0, 4.5, 2.2), EDGE)


def _brass(sw):
    disc = Point(72, 204).buffer(13, 64)
    fill(sw, "sun", disc, 12.0, ("fill",), row_pitch=0.22, start=(72, 194))
    for k, a in enumerate(np.radians(np.arange(15, 375, 30))):
        u = np.array((np.cos(a), np.sin(a)))
        satin(sw, f"sunray-{k + 1}", art.ray(u * 15.5 + (72, 204), u * 23.5 + (72, 204), 3.4, 1.6), EDGE)
    for name, y0, y1 in (("beam-1", 207.5, 214), ("beam-2", 205, 200)):
        satin(sw, name, art.ray((-55, y0), (-22, y1), 1.6, 6.0), BOTH)
    for name, x, turn in (("oar-1", -42, 28), ("oar-2", 46, 152)):
        shaft, blade = art.oar(100, 3.6, (24, 6.8))
        satin(sw, f"{name}-shaft", art.placed(shaft, (x, 146.5), turn), EDGE)
        satin(sw, f"{name}-blade", art.placed(blade, (x, 146.5), turn), BOTH)


def _navy(sw):
    for k in range(6):
        x = -57 + 20 * k
        back, head = art.rower(x, 97.5, 24, (5.4, 14), 6.8)
        satin(sw, f"rower-{k + 1}", back, EDGE)
        satin(sw, f"head-{k + 1}", head, CENTRE)
        satin(sw, f"sweep-{k + 1}", straight((x + 4, 104), (x - 14, 84), 2.2), CENTRE)
    for k in range(3):
        back, head = art.rower(52 + 14 * k, 126.5, 22, (3.4, 8), 4.4)
        satin(sw, f"far-rower-{k + 1}", back, CENTRE)
        satin(sw, f"far-head-{k + 1}", head, CENTRE)


def _words(sw):
    for prefix, text, y, h, t, gap, space, under in (
            ("low", "OSSEL QUAY", 6.0, 22.0, 4.4, 5.5, 16.0, CENTRE),
            ("high", "ROWERS", 254.0, 21.0, 4.2, 6.0, None, BOTH)):
        _, width = layout(text, h, t, gap, space)
        sew_word(sw, prefix, text, -width / 2, y, h, t, under, gap, space)
