"""The sheet being sewn: needle points on the grid with labels, breaks and objects.

A needle point carries the label of the stitch that ends there. Points are kept as integers of
0.1 mm from the moment they are added, so every outline and width is of what is really sewn.
"""
from dataclasses import dataclass, field

import numpy as np

import ties


@dataclass
class Sheet:
    rng: np.random.Generator
    habits: dict
    pens: list = field(default_factory=list)      # (x, y, label)
    breaks: dict = field(default_factory=dict)    # pen index -> (kind, jump target or None)
    objects: list = field(default_factory=list)
    junctions: list = field(default_factory=list)
    styles: set = field(default_factory=set)
    offset: np.ndarray = field(default_factory=lambda: np.zeros(2))
    stop: int = 0
    pending: str | None = "trim"                  # the break before the next needle point

    def grid(self, points):
        p = (np.atleast_2d(points) + self.offset) * 10
        return np.floor(p + 0.5).astype(int)

    def here(self):
        """The needle, in the frame of the item being sewn."""
        target = self.breaks.get(len(self.pens), (None, None))[1]
        return np.array(target or self.pens[-1][:2]) / 10 - self.offset

    def add(self, points, label):
        """Sew through `points` (mm); a first point where the needle already is, is shared."""
        labels = [label] * len(np.atleast_2d(points)) if isinstance(label, str) else label
        for i, ((x, y), name) in enumerate(zip(self.grid(points).tolist(), labels)):
            if self.pending:
                target = (x, y) if self.habits["landing"] == "bare" else None
                self.breaks[len(self.pens)] = (self.pending, target)
                self.pending = None
                if target:
                    continue  # the jump ends here without a needle point
            elif i == 0 and self.pens and self.at(x, y):
                continue
            self.pens.append((x, y, name))

    def at(self, x, y):
        if len(self.pens) in self.breaks:
            return self.breaks[len(self.pens)][1] == (x, y)
        return self.pens[-1][:2] == (x, y)

    def start(self, point, toward):
        """Begin a stretch at `point` with a tie, if the thread is broken and ties are used."""
        if not self.pending:
            return
        form = self.habits["tie"]
        points = ties.tie_in(self.rng, form, np.asarray(point, float), np.asarray(toward, float))
        if len(points):
            self.styles.add("tie-" + form)
            self.add(points, "tie")

    def finish(self, kind="trim"):
        """Tie off where the needle is and break the thread."""
        if self.pending or len(self.pens) < 3:
            return
        before = np.array(self.pens[-3][:2]) / 10 - self.offset
        points = ties.tie_off(self.rng, self.habits["tie"], self.here(), before)
        if len(points):
            self.add(points, "tie")
        self.pending = kind

    def change(self):
        """A colour change before the next needle point."""
        if self.pens:
            self.finish()
            self.pending = "stop"
            self.stop += 1

    def travel(self, target, step=2.5):
        """Run to `target` without a trim."""
        a, b = self.here(), np.asarray(target, float)
        n = int(np.ceil(np.hypot(*(b - a)) / step))
        if n and not self.pending:
            self.add(a + (b - a) * (np.arange(1, n + 1) / n)[:, None], "travel")

    def count(self):
        return len(self.pens)
