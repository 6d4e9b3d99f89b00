"""Write random designs with their truth: make.py --seed S --count N --out DIR."""
import argparse
import json
from pathlib import Path

import numpy as np

import design
import tape


def main():
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--seed", type=int, required=True)
    parser.add_argument("--count", type=int, required=True)
    parser.add_argument("--out", type=Path, required=True)
    args = parser.parse_args()
    args.out.mkdir(parents=True, exist_ok=True)
    index = []
    for i in range(args.count):
        rng = np.random.default_rng([args.seed, i])
        sheet = design.sew(rng)
        truth = design.truth(sheet, args.seed, i)
        (args.out / f"{i:04d}.dst").write_bytes(tape.write(sheet, f"FAMILY {i:04d}"))
        (args.out / f"{i:04d}.json").write_text(dump(truth))
        index.append({"index": i, "stitch_count": truth["stitch_count"], "styles": truth["styles"]})
    (args.out / "index.json").write_text(
        "[\n" + ",\n".join(json.dumps(e) for e in index) + "\n]\n")


def dump(truth):
    """One line per key, one per object."""
    out = []
    for key, value in truth.items():
        if key == "objects":
            body = "[\n" + ",\n".join("  " + json.dumps(o) for o in value) + "]"
        else:
            body = json.dumps(value)
        out.append(f"{json.dumps(key)}: {body}")
    return "{" + ",\n".join(out) + "}\n"


if __name__ == "__main__":
    main()
