"""How time and memory of recognition grow with the length of a tape, on one core.

    python scripts/growth/run.py [KIND ...]

Builds a release program, writes tapes of 10,000 to 1,000,000 stitches to a temporary folder, has
each read and recognised (best of three; a tape that takes over ten seconds once, and no longer one
after it) and fits the exponent of the growth by least squares on logarithms. Needs Python 3.11
and nothing else, Linux, and a machine that does nothing else meanwhile.
"""
import json
import math
import os
import subprocess
import sys
import tempfile
from pathlib import Path

import tapes

SIZES = [10_000, 30_000, 100_000, 300_000, 1_000_000]
LONG = 10.0  # seconds
# What the program is to keep: seconds and MiB for the longest tape, and the exponent.
SECONDS, MEMORY, EXPONENT = 3.0, 1024, 1.1


def program():
    """Builds the timed program and says where it is."""
    built = subprocess.run(
        ["cargo", "bench", "--locked", "--bench", "recognise", "--no-run",
         "--message-format", "json"],
        cwd=tapes.ROOT, check=True, stdout=subprocess.PIPE, text=True).stdout
    artifacts = [json.loads(line) for line in built.splitlines()]
    return next(a["executable"] for a in artifacts
                if a.get("target", {}).get("name") == "recognise" and a.get("executable"))


def once(executable, tape):
    """Needle points, objects, ms to read, ms to recognise, and MiB at most."""
    child = subprocess.Popen(
        [executable, tape], stdout=subprocess.PIPE, text=True,
        env={**os.environ, "RAYON_NUM_THREADS": "1"},
        preexec_fn=lambda: os.sched_setaffinity(0, {min(os.sched_getaffinity(0))}))
    out = child.stdout.read()
    _, status, usage = os.wait4(child.pid, 0)
    if status:
        sys.exit(f"growth: {tape} was not recognised")
    points, objects, read, recognised = out.split()
    return int(points), int(objects), float(read), float(recognised), usage.ru_maxrss / 1024


def exponent(points):
    """Slope of time over size, both as logarithms."""
    xs, ys = ([math.log(p[i]) for p in points] for i in (0, 1))
    x, y = sum(xs) / len(xs), sum(ys) / len(ys)
    return sum((a - x) * (b - y) for a, b in zip(xs, ys)) / sum((a - x) ** 2 for a in xs)


def mark(value, bound):
    return "holds" if value <= bound else f"DOES NOT HOLD, bound {bound:g}"


def measured(executable, tape):
    """The fastest of three runs, of one where that takes long; with the largest memory."""
    runs = [once(executable, tape)]
    while len(runs) < 3 and sum(runs[0][2:4]) < 1000 * LONG:
        runs.append(once(executable, tape))
    stitches, objects, read, recognised, _ = min(runs, key=lambda run: run[2] + run[3])
    return stitches, objects, read, recognised, max(run[4] for run in runs)


def series(executable, kind, folder):
    points = []
    for size in SIZES:
        tape = Path(folder) / f"{kind}-{size}.dst"
        tape.write_bytes(tapes.tape(kind, size))
        stitches, objects, read, recognised, memory = measured(executable, tape)
        print(f"{kind:6} {stitches:9} {objects:8} {read:9.1f} {recognised:13.1f} {memory:7.0f}",
              flush=True)
        points.append((stitches, read + recognised))
        if points[-1][1] > 1000 * LONG:
            break
    grows = exponent(points) if len(points) > 1 else math.inf
    print(f"{kind}: grows as n^{grows:.3f} ({mark(grows, EXPONENT)})", end="; ")
    if len(points) < len(SIZES):
        print(f"DOES NOT HOLD: longer tapes than {stitches} stitches were not tried\n", flush=True)
        return
    seconds = points[-1][1] / 1000
    print(f"{stitches} stitches in {seconds:.2f} s ({mark(seconds, SECONDS)}), "
          f"{memory:.0f} MiB ({mark(memory, MEMORY)})\n", flush=True)


def main():
    kinds = sys.argv[1:] or tapes.KINDS
    executable = program()
    print(f"{'kind':6} {'stitches':>9} {'objects':>8} {'read, ms':>9} {'recognise, ms':>13} "
          f"{'MiB':>7}")
    with tempfile.TemporaryDirectory() as folder:
        for kind in kinds:
            series(executable, kind, folder)


if __name__ == "__main__":
    main()
