"""Re-reads every tape with a decoder of its own and checks it against its truth.json."""
import json
import sys
import tomllib
from pathlib import Path

import numpy as np
from shapely.geometry import LineString, Point, Polygon
from shapely.ops import unary_union

CORPUS = Path(__file__).resolve().parent.parent.parent / "corpus"
WORDS = {"tie", "run", "bean", "centre-run", "edge-run", "zigzag", "fill-underlay", "guard",
         "satin", "split-satin", "fill", "travel", "unsure"}


def digit(byte, plus, minus):
    return (byte >> plus & 1) - (byte >> minus & 1)


def records(data):
    """(move x, move y, kind) per record, written out bit by bit."""
    for k in range(512, len(data), 3):
        a, b, c = data[k:k + 3]
        if (a, b, c) == (0, 0, 0xF3):
            yield 0, 0, "end"
            return
        x = (digit(a, 0, 1) + 9 * digit(a, 2, 3) + 3 * digit(b, 0, 1) + 27 * digit(b, 2, 3)
             + 81 * digit(c, 2, 3))
        y = (digit(a, 7, 6) + 9 * digit(a, 5, 4) + 3 * digit(b, 7, 6) + 27 * digit(b, 5, 4)
             + 81 * digit(c, 5, 4))
        assert c & 3 == 3, f"low bits at record {(k - 512) // 3}"
        yield x, y, {0: "stitch", 0x80: "jump", 0xC0: "change"}[c & 0xC0]


def header(data):
    out = {}
    for part in data[:512].split(b"\x1a")[0].split(b"\r"):
        if len(part) > 3 and part[2:3] == b":":
            out[part[:2].decode()] = part[3:].decode().strip()
    return out


def check_tape(data, truth, bad):
    recs = list(records(data))
    head = header(data)
    moves = np.array([(x, y) for x, y, _ in recs])
    pos = moves.cumsum(axis=0)
    changes = sum(k == "change" for *_, k in recs)
    if recs[-1][2] != "end":
        bad("no end record")
    if abs(moves).max() > 121:
        bad("move over 121 points")
    if tuple(pos[-1]) != (0, 0):
        bad(f"ends at {pos[-1]}")
    if int(head["ST"]) != len(recs):
        bad(f"ST {head['ST']} != {len(recs)}")
    if int(head["CO"]) != changes:
        bad(f"CO {head['CO']} != {changes}")
    real = [pos[:, 0].max(), -pos[:, 0].min()]
    if [int(head["+X"]), int(head["-X"])] != [max(v, 0) for v in real]:
        bad("x extents")
    ys = sorted(max(v, 0) for v in (pos[:, 1].max(), -pos[:, 1].min()))
    if sorted((int(head["+Y"]), int(head["-Y"]))) != ys:
        bad("y extents")
    stop, out = 0, []
    for (x, y, kind), p in zip(recs, pos):
        stop += kind == "change"
        if kind == "stitch":
            out.append((p[0] / 10, p[1] / 10, stop))
    return np.array(out), recs


def check_counts(pens, truth, bad):
    if len(pens) != truth["stitch_count"]:
        bad(f"{len(pens)} penetrations, truth says {truth['stitch_count']}")
    if sum(n for _, n in truth["labels"]) != len(pens):
        bad("labels do not add up")
    if {w for w, _ in truth["labels"]} - WORDS:
        bad("unknown label")
    flat = np.concatenate([[w] * n for w, n in truth["labels"]])
    return flat


def check_object(o, pens, flat, bad):
    a, b = o["first"], o["last"]
    if not 0 <= a <= b < len(pens):
        return bad(f"{o['id']}: span {a}..{b}")
    if set(pens[a:b + 1, 2]) != {o["stop"]}:
        bad(f"{o['id']}: stop")
    if not set(flat[a:b + 1]) <= {o["class"], "travel"} or flat[a] != o["class"] or flat[b] != o["class"]:
        bad(f"{o['id']}: labels {set(flat[a:b + 1])}")
    for u in o["underlay"]:
        if not 0 <= u["first"] <= u["last"] < a:
            bad(f"{o['id']}: underlay {u}")
        elif flat[u["first"]] != u["kind"]:
            bad(f"{o['id']}: underlay {u['kind']} is labelled {flat[u['first']]}")
    shapes = [Polygon(p[0], p[1:]) for p in o["outline"]]
    if any(not s.is_valid for s in shapes):
        bad(f"{o['id']}: outline not valid")
    sewn = pens[a:b + 1, :2][flat[a:b + 1] == o["class"]]
    if o["class"] == "satin":
        lines = [LineString(r) for r in o["rails"]]
        far = max(min(r.distance(Point(p)) for r in lines) for p in sewn)
        if far > 0.1:
            bad(f"{o['id']}: {far:.2f} mm from its rails")
    if o["class"] == "fill":
        grown = unary_union(shapes).buffer(0.15)
        if not all(grown.covers(Point(p)) for p in sewn):
            bad(f"{o['id']}: needle point outside its outline")


def check_limits(pens, recs, truth, bad):
    span = pens[:, :2].max(axis=0) - pens[:, :2].min(axis=0)
    if truth["garment"] == "finished-cap" and (span[0] > 110 or span[1] > 54):
        bad(f"{span[0]:.1f} x {span[1]:.1f} mm")
    after_jump = True
    for x, y, kind in recs:
        length = np.hypot(x, y) / 10
        if kind == "stitch" and not after_jump and length > 7.05:
            bad(f"stitch of {length:.1f} mm")
        after_jump = kind != "stitch"


def check_outcome(truth, bad):
    """Exit 2 for what a person must see; unchanged when nothing can be repaired."""
    mendable = any(f["repairable"] for f in truth["faults"])
    eyes = any(not f["repairable"] for f in truth["faults"])
    eyes = eyes or any(o["class"] == "unsure" for o in truth["objects"])
    if truth["exit_code"] != (2 if eyes else 0):
        bad(f"exit code {truth['exit_code']}")
    if truth["outcome"] != ("mended" if mendable else "unchanged"):
        bad(f"outcome {truth['outcome']}")


def verify(folder):
    errors = []
    bad = lambda text: errors.append(f"{folder.name}: {text}")
    data = (folder / f"{folder.name}.dst").read_bytes()
    truth = json.loads((folder / "truth.json").read_text())
    order = tomllib.loads((folder / "order.toml").read_text())
    pens, recs = check_tape(data, truth, bad)
    flat = check_counts(pens, truth, bad)
    if len(order["stops"]) != int(pens[-1, 2]) + 1:
        bad("stops in order.toml")
    ids = [o["id"] for o in truth["objects"]]
    if len(ids) != len(set(ids)):
        bad("ids repeat")
    for o in truth["objects"]:
        check_object(o, pens, flat, bad)
    for f in truth["faults"]:
        if not set(f["objects"]) <= set(ids):
            bad(f"fault names an unknown object: {f['objects']}")
    check_limits(pens, recs, truth, bad)
    check_outcome(truth, bad)
    owned = np.zeros(len(pens), bool)
    for o in truth["objects"]:
        owned[o["first"]:o["last"] + 1] = True
        for u in o["underlay"]:
            owned[u["first"]:u["last"] + 1] = True
    loose = {str(w) for w in flat[~owned]} - {"tie", "travel"}
    if loose:
        bad(f"stitches without an object: {loose}")
    return errors


def main():
    errors = []
    for folder in sorted(p.parent for p in CORPUS.glob("*/truth.json")):
        found = verify(folder)
        errors += found
        print(f"{folder.name}: {'ok' if not found else f'{len(found)} problem(s)'}")
    print("\n".join(errors))
    return 1 if errors else 0


if __name__ == "__main__":
    sys.exit(main())
