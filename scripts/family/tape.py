"""Needle points to a tape, with the habits of one file."""
import importlib.util
from pathlib import Path

import numpy as np

_spec = importlib.util.spec_from_file_location(
    "corpus_dst", Path(__file__).parents[1] / "corpus" / "dst.py")
dst = importlib.util.module_from_spec(_spec)
_spec.loader.exec_module(dst)


def habits(rng):
    """How this file is written."""
    return {
        "landing": rng.choice(["record", "point", "bare"]),
        "jumps": int(rng.choice([3, 3, 3, 4, 5, 7])),
        "marker": bool(rng.random() < 0.5),
        "doubled": rng.choice(["none", "few", "few", "folds"]),
        "tie": rng.choice(["back", "triangle", "star", "forward", "none"]),
        "origin": rng.choice(["centred", "anywhere"]),
        "home": bool(rng.random() < 0.8), "tail": rng.choice([b"", b"\x1a"]),
        "dangling": bool(rng.random() < 0.15), "swap_y": bool(rng.random() < 0.1),
    }


def split(dx, dy, least=1):
    """A move in equal parts no longer than a record can hold."""
    n = max(least, -(-max(abs(dx), abs(dy)) // dst.LIMIT))
    xs = [round(dx * i / n) for i in range(n + 1)]
    ys = [round(dy * i / n) for i in range(n + 1)]
    return [(xs[i + 1] - xs[i], ys[i + 1] - ys[i]) for i in range(n)]


class Tape:
    def __init__(self, habits):
        self.habits, self.records, self.at, self.changes = habits, [], (0, 0), 0

    def put(self, kind, dx=0, dy=0):
        self.records.append((kind, dx, dy))
        self.at = (self.at[0] + dx, self.at[1] + dy)

    def jump(self, target, least, land):
        """Jumps to `target`; the last part is an unflagged landing record if `land`."""
        parts = split(target[0] - self.at[0], target[1] - self.at[1], least)
        for i, (dx, dy) in enumerate(parts):
            self.put(dst.STITCH if land and i == len(parts) - 1 else dst.JUMP, dx, dy)

    def cross(self, kind, target, bare):
        """A trim or colour change, and the way to the next needle point."""
        if kind == "stop":
            self.put(dst.CHANGE)
            self.changes += 1
        elif self.habits["marker"] and self.records:
            self.put(dst.JUMP, 13, -1)
            self.put(dst.JUMP, -13, 1)
        land = self.habits["landing"] == "record" and not bare
        self.jump(target, self.habits["jumps"] + land, land)
        if self.habits["landing"] == "point" and not bare:
            self.put(dst.STITCH)

    def stitch(self, target):
        *long, last = split(target[0] - self.at[0], target[1] - self.at[1])
        for d in long:
            self.put(dst.JUMP, *d)
        self.put(dst.STITCH, *last)


def write(sheet, label):
    """The file's bytes."""
    tape, h = Tape(sheet.habits), sheet.habits
    for i, (x, y, _) in enumerate(sheet.pens):
        kind, target = sheet.breaks.get(i, (None, None))
        if kind:
            tape.cross(kind, target or (x, y), target is not None)
        if not kind or target:
            tape.stitch((x, y))
    if h["home"]:
        tape.jump((0, 0), h["jumps"], False)
    if h["dangling"]:
        tape.put(dst.CHANGE)
        tape.changes += 1
    places = np.cumsum([(0, 0)] + [r[1:] for r in tape.records], axis=0)
    extents = (*(int(v) for v in (places[:, 0].min(), places[:, 0].max())),
               *(int(v) for v in (places[:, 1].min(), places[:, 1].max())))
    head = dst.header(label, len(tape.records) + 1, tape.changes, extents, h["swap_y"])
    return head + b"".join(dst.encode(*r) for r in tape.records) + dst.encode(dst.END) + bytes(h["tail"])
