"""Check designs against their truth with a decoder of its own: check.py DIR."""
import json
import sys
from pathlib import Path

import numpy as np
import shapely

WEIGHTS = ((1, 0, 0), (9, 0, 2), (3, 1, 0), (27, 1, 2), (81, 2, 2))  # value, byte, bit of +x
LABELS = {"tie", "run", "bean", "centre-run", "edge-run", "zigzag", "fill-underlay", "guard", "satin",
          "split-satin", "fill", "travel", "unsure"}
WIDE = 0.15   # mm a needle point may lie outside its outline
CLEAR = 0.3   # share of row ends in step below which the grid hides the ladder of rows
ALIAS = 0.8   # the grid can make a second ladder; a peak this near the highest is as good
PITCH = 0.03  # mm between stated and measured pitch


def move(r):
    """Movement of a record; y uses the mirrored bits of each byte (plus at 7 - bit)."""
    x = sum(v * ((r[b] >> i & 1) - (r[b] >> i + 1 & 1)) for v, b, i in WEIGHTS)
    y = sum(v * ((r[b] >> 7 - i & 1) - (r[b] >> 6 - i & 1)) for v, b, i in WEIGHTS)
    return x, y


def decode(data):
    """Needle points (0.1 mm), the indices that follow a jump or change, the stop of each."""
    pens, starts, stops, x, y, broken, stop = [], set(), [], 0, 0, True, 0
    for i in range(512, len(data) - 2, 3):
        r = data[i:i + 3]
        if r == b"\x00\x00\xf3":
            break
        assert r[2] & 3 == 3, "low bits"
        dx, dy = move(r)
        x, y = x + dx, y + dy
        if r[2] & 0xC0:
            broken, stop = True, stop + bool(r[2] & 0x40)
            continue
        if broken:
            starts.add(len(pens))
        broken = False
        pens.append((x, y))
        stops.append(stop)
    else:
        raise AssertionError("no end record")
    return pens, starts, stops


def outline(o):
    return shapely.union_all([shapely.Polygon(g[0], g[1:]).buffer(0) for g in o["outline"]])


def reversals(points):
    """Needle points where the thread turns back: the rail points of a column."""
    p = points[np.concatenate(([True], np.hypot(*np.diff(points, axis=0).T) > 1e-9))]
    d = np.diff(p, axis=0)
    back = (d[1:] * d[:-1]).sum(axis=1) < 0
    return p[1:-1][back]


def satin_pitch(points):
    """Median over crossings of the mean of both rails, smoothed over ten crossings."""
    r = reversals(points)
    step = np.hypot(*(r[2:] - r[:-2]).T)
    if len(step) < 24:
        return None
    return float(np.median(np.convolve(step, np.ones(20) / 20, "valid")))


def row_pitch(points, angle, stated):
    """Gap between the heights at which rows lie."""
    d = np.diff(points, axis=0)
    d = d[:, 0] + 1j * d[:, 1]
    corner = np.abs(np.angle(d[1:] * d[:-1].conj())) > 0.8   # row ends only
    points = points[1:-1][corner]
    a = np.radians(-angle)
    y = points[:, 0] * np.sin(a) + points[:, 1] * np.cos(a)
    # The rows of one fill stand on one ladder of heights: the best rung distance.
    ladder = np.linspace(stated - 0.06, stated + 0.06, 481)
    if len(y) < max(20, 4 / stated**2):  # the finer the rows, the more the grid blurs them
        return None
    span = np.percentile(y, 99.9) - np.percentile(y, 0.1)
    best = np.abs(np.exp(2j * np.pi * y / ladder[:, None]).mean(axis=1))
    if span < 8 * stated or best.max() < CLEAR:
        return None
    near = np.abs(ladder - stated) <= PITCH
    if best[near].max() > ALIAS * best.max():
        best = best * near
    return float(ladder[int(np.argmax(best))])


def check_object(o, pens, labels, faults):
    points = np.array(pens[o["first"]:o["last"] + 1]) / 10
    own = [name for name in labels[o["first"]:o["last"] + 1]]
    top = {"fill": {"fill"}, "curved-fill": {"fill"}, "satin": {"satin", "split-satin"},
           "split-satin": {"satin", "split-satin"}, "underlay": {"fill-underlay"}}
    top = top.get(o["class"], {o["class"]})
    if set(own) - top - {"tie", "travel"} or own[-1] not in top or own[0] not in top:
        faults.append(f"{o['id']} {o['style']}: labels {set(own)}")
    if o["outline"] is None:
        return
    shape = outline(o)
    mine = points[[name in top for name in own]]
    away = shapely.distance(shape, shapely.points(mine))
    if shape.area == 0 or away.max() > WIDE:
        faults.append(f"{o['id']} {o['style']}: {away.max():.2f} mm outside, area {shape.area:.1f}")
    check_pitch(o, mine, faults)


def check_pitch(o, mine, faults):
    """Pitch of satins and fills and width of satins, where nothing but the grid blurs them."""
    measured, stated = None, None
    if o["same_side_pitch_mm"] and not o["short_stitches"] and o["style"] != "satin-jagged":
        stated = o["same_side_pitch_mm"]
        measured = satin_pitch(mine)
        width = np.median(np.hypot(*np.diff(reversals(mine), axis=0).T)) if measured else None
        even = o["width_mm"][0] > 0.7 * o["width_mm"][1]   # thin tips hide their folds
        if measured and even and abs(width - o["width_mm"][1]) > WIDE:
            faults.append(f"{o['id']} {o['style']}: width {width:.2f}, stated {o['width_mm']}")
    elif o["row_pitch_mm"] and o["class"] == "fill" and "row_pitch_range_mm" not in o:
        stated = o["row_pitch_mm"]
        measured = row_pitch(mine, o["angle_deg"], stated)
    if measured and abs(measured - stated) > PITCH:
        faults.append(f"{o['id']} {o['style']}: pitch {measured:.3f}, stated {stated}")


def check(path):
    truth = json.loads(path.with_suffix(".json").read_text())
    data, faults = path.read_bytes(), []
    pens, _, stops = decode(data)
    labels = [name for name, n in truth["labels"] for _ in range(n)]
    if not len(pens) == len(labels) == truth["stitch_count"]:
        faults.append(f"{len(pens)} penetrations, {len(labels)} labels")
        return faults
    if set(labels) - LABELS:
        faults.append(f"labels {set(labels) - LABELS}")
    if int(data[23:30]) != (len(data) - 512) // 3:
        faults.append("ST")
    for o in truth["objects"]:
        check_object(o, pens, labels, faults)
        if {stops[o["first"]], stops[o["last"]]} != {o["stop"]}:
            faults.append(f"{o['id']} {o['style']}: stop")
    return faults


def main():
    paths = sorted(Path(sys.argv[1]).glob("[0-9]*.dst"))
    bad = 0
    for path in paths:
        faults = check(path)
        bad += bool(faults)
        for f in faults:
            print(path.name, f)
    print(f"{len(paths)} designs, {bad} with faults")
    sys.exit(1 if bad else 0)


if __name__ == "__main__":
    main()
