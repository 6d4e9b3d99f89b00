"""Decode every tape and test its truth: check.py DIR."""
import json
import sys
from collections import Counter
from pathlib import Path

import corpus  # noqa: F401
import numpy as np
import verify

LOWEST = 110  # points above the brim
FEWEST, MOST = 1000, 9000


def owned(pens, truth, flat, bad):
    """Every penetration is an object's, its underlay's, or a tie or a travel stitch."""
    mine = np.zeros(len(pens), bool)
    for o in truth["objects"]:
        for span in (o, *o["underlay"]):
            mine[span["first"]:span["last"] + 1] = True
    loose = {str(w) for w in flat[~mine]} - {"tie", "travel"}
    if loose:
        bad(f"stitches without an object: {loose}")


def apart(truth, bad):
    """Top stitching of two objects never shares a penetration."""
    spans = sorted((o["first"], o["last"], o["id"]) for o in truth["objects"])
    for (_, last, a), (first, _, b) in zip(spans, spans[1:]):
        if first <= last:
            bad(f"{a} and {b} overlap")


def limits(pens, recs, bad):
    """Size, place and length of stitches; landings after a jump are no stitches."""
    if not FEWEST <= len(pens) <= MOST:
        bad(f"{len(pens)} stitches")
    stops = int(pens[-1, 2]) + 1
    if not 2 <= stops <= 5:
        bad(f"{stops} stops")
    if pens[:, 1].min() * 10 < LOWEST - 0.5:
        bad(f"lowest stitch at {pens[:, 1].min():.1f} mm")
    span = np.ptp(pens[:, :2], axis=0)
    if span[0] > 100.05 or span[1] > 50.05:
        bad(f"{span[0]:.1f} x {span[1]:.1f} mm")
    jumped = True
    for x, y, kind in recs:
        if kind == "stitch" and not jumped and max(abs(x), abs(y)) > 121:
            bad(f"stitch of {x}, {y} points")
        jumped = kind != "stitch"


def faults(truth, bad):
    """Faults name objects that exist, each once, and fit what the truth says of them."""
    objects = {o["id"]: o for o in truth["objects"]}
    if len(objects) != len(truth["objects"]):
        bad("ids repeat")
    for f in truth["faults"]:
        if not f["objects"] or not set(f["objects"]) <= set(objects):
            bad(f"fault of unknown objects: {f['objects']}")
            continue
        first = objects[f["objects"][0]]
        if f["kind"] == "upright fill" and not 60 <= first["angle_deg"] <= 120:
            bad(f"{first['id']}: not upright")
        if f["kind"] == "edge run missing" and any(u["kind"] == "edge-run" for u in first["underlay"]):
            bad(f"{first['id']}: has an edge run")
        if f["kind"] == "thin overlap" and first["first"] > objects[f["objects"][1]]["first"]:
            bad(f"{f['objects']}: wrong way round")
    if sum(f["kind"] == "out of order" for f in truth["faults"]) > 1:
        bad("out of order twice")


def check(folder):
    errors = []
    bad = lambda text: errors.append(f"{folder.name}: {text}")
    truth = json.loads((folder / "truth.json").read_text())
    pens, recs = verify.check_tape((folder / f"{folder.name}.dst").read_bytes(), truth, bad)
    flat = verify.check_counts(pens, truth, bad)
    for o in truth["objects"]:
        verify.check_object(o, pens, flat, bad)
    owned(pens, truth, flat, bad)
    apart(truth, bad)
    limits(pens, recs, bad)
    faults(truth, bad)
    verify.check_outcome(truth, bad)
    return truth, errors


def table(truths):
    kinds, sizes, outcomes, classes = Counter(), Counter(), Counter(), Counter()
    for t in truths:
        kinds.update((f["kind"], f["repairable"]) for f in t["faults"])
        classes.update(o["class"] for o in t["objects"])
        sizes[t["stitch_count"] // 1000] += 1
        outcomes[t["outcome"]] += 1
    print(f"{'fault':24}{'repairable':>12}{'not':>6}")
    for kind in sorted({k for k, _ in kinds}):
        print(f"{kind:24}{kinds[kind, True]:12d}{kinds[kind, False]:6d}")
    print("stitches, thousands:", ", ".join(f"{k}: {sizes[k]}" for k in sorted(sizes)))
    print("outcomes:", dict(outcomes), "objects:", dict(classes))


def main():
    folders = sorted(p.parent for p in Path(sys.argv[1]).glob("*/truth.json"))
    truths, errors = [], []
    for folder in folders:
        truth, found = check(folder)
        truths.append(truth)
        errors += found
    table(truths)
    print("\n".join(errors) or f"{len(truths)} designs, all sound")
    return 1 if errors else 0


if __name__ == "__main__":
    sys.exit(main())
