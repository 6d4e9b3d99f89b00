"""Write random faulty designs with their truth: make.py --seed S --count N --out DIR."""
import argparse
from collections import Counter
from functools import partial
from multiprocessing import Pool
from pathlib import Path

import corpus  # noqa: F401
import design
import truth


def write(seed, out, index):
    """One design in a folder of its own; returns why earlier draws were thrown away."""
    tape, facts, thrown = design.draw(seed, index)
    folder = out / f"{index:04d}"
    folder.mkdir(parents=True, exist_ok=True)
    (folder / f"{index:04d}.dst").write_bytes(tape)
    (folder / "truth.json").write_text(truth.dump(facts))
    return thrown


def main():
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--seed", type=int, required=True)
    parser.add_argument("--count", type=int, required=True)
    parser.add_argument("--out", type=Path, required=True)
    parser.add_argument("--workers", type=int, default=2)
    args = parser.parse_args()
    thrown = Counter()
    with Pool(args.workers) as pool:
        for reasons in pool.imap_unordered(partial(write, args.seed, args.out), range(args.count), 4):
            thrown.update(reasons)
    print(f"{args.count} designs in {args.out}; {thrown.total()} draws thrown away:")
    for reason, number in thrown.most_common(8):
        print(f"{number:6d}  {reason}")


if __name__ == "__main__":
    main()
