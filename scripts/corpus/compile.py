"""Sewer: turns needle points into tape events and keeps the truth about each of them."""
import numpy as np

import dst
from geom import route
from runs import run_points

MARKER = (13, -1)  # paired opposite jumps that mark a trim in one family of files


def to_points(p):
    """mm to whole points, half up."""
    return int(np.floor(p[0] * 10 + 0.5)), int(np.floor(p[1] * 10 + 0.5))


class Sewer:
    def __init__(self, style):
        self.style = style
        self.events = []  # ("needle", x, y) | ("jump", x, y) | ("change",)
        self.pens = []  # (x, y, label, stop)
        self.stop = 0
        self.pos = (0, 0)
        self.sewing = False  # thread is tied in
        self.objects = []

    # -- single needle points ------------------------------------------------
    @property
    def at(self):
        return np.array(self.pos, float) / 10

    @property
    def count(self):
        return len(self.pens)

    def needle(self, p, label, force=False):
        """One penetration; a repeat of the same grid point is dropped unless forced."""
        xy = to_points(p)
        if xy == self.pos and not force:
            return
        if max(abs(xy[0] - self.pos[0]), abs(xy[1] - self.pos[1])) > dst.LIMIT:
            raise ValueError(f"stitch too long: {self.pos} -> {xy} ({label})")
        self.events.append(("needle", *xy))
        self.pens.append((*xy, label, self.stop))
        self.pos = xy

    def path(self, points, label, fold=None):
        """Sew all points; `fold`: index of a fold whose point may be doubled."""
        for k, p in enumerate(points):
            self.needle(p, label)
            if k == fold and self.style.double_folds:
                self.needle(p, label, force=True)

    # -- connections -----------------------------------------------------------
    def start(self, p, toward):
        """Bring the needle to p on loose thread and tie in towards `toward`."""
        self._jump(to_points(p))
        self._tie(toward)
        self.sewing = True

    def tie_off(self):
        """Small stitches back over what was just sewn."""
        if not self.sewing:
            return
        # Runs: back along the line. Columns and rows: back into their middle.
        line_work = self.pens[-1][2] in ("run", "bean")
        recent = [q[:2] for q in (self.pens[-2:-1] if line_work else self.pens[-7:-1])]
        self._tie(np.array(recent, float).mean(axis=0) / 10)
        self.sewing = False

    def cut(self):
        """Tie off and trim; the next object starts with a tie-in."""
        if self.sewing:
            self.tie_off()
            self._trim_mark()

    def change(self):
        """Next stop: tie off and change colour."""
        self.tie_off()
        self.events.append(("change",))
        self.stop += 1

    def go(self, p, toward, way=None):
        """To p: by hidden run through region or polyline `way`, else a short step, else a trim."""
        if not self.sewing:
            return self.start(p, toward)
        if way is not None:
            path = route(self.at, p, way) if hasattr(way, "geom_type") else np.vstack(
                (self.at, way, p))
            if path is not None:
                return self.path(run_points(path, 2.4)[1:], "travel")
        if np.hypot(*(self.at - p)) <= 1.6:
            return self.needle(p, "travel")
        self.cut()
        return self.start(p, toward)

    def finish(self):
        self.tie_off()
        self._jump((0, 0), land=False)
        if self.style.dangling_change:
            self.events.append(("change",))

    # -- tape forms --------------------------------------------------------------
    def _tie(self, toward):
        here = self.at
        d = np.asarray(toward, float) - here
        d = d / max(np.hypot(*d), 1e-9) * self.style.tie
        for p in (here + d, here, here + d * 0.95, here):
            self.needle(p, "tie")

    def _trim_mark(self):
        if self.style.trim == "markers":
            x, y = self.pos
            self.events.append(("jump", x + MARKER[0], y + MARKER[1]))
            self.events.append(("jump", x, y))

    def _jump(self, target, land=True):
        """Long move in the file's form; the landing may be a needle point."""
        x, y = self.pos
        dx, dy = target[0] - x, target[1] - y
        parts = -(-max(abs(dx), abs(dy)) // dst.LIMIT)
        if self.style.trim == "jumps":
            parts = max(parts, 3)
        if self.style.trim == "landing" and land:
            # The last record of the run carries no flag and may be up to 121 long;
            # at least one flagged jump stands before it.
            parts = max(parts, 2)
            for k in range(1, parts):
                self.events.append(("jump", x + dx * k // parts, y + dy * k // parts))
            self.pos = (x + dx * (parts - 1) // parts, y + dy * (parts - 1) // parts)
            self._land(target)
            return
        for k in range(1, parts + 1):
            self.events.append(("jump", x + dx * k // parts, y + dy * k // parts))
        self.pos = target
        if land and self.style.zero_landing:
            self._land(target)

    def _land(self, target):
        self.events.append(("needle", *target))
        self.pens.append((*target, "tie", self.stop))
        self.pos = target

    # -- bytes -------------------------------------------------------------------
    def tape(self, label):
        body, x, y, changes = [], 0, 0, 0
        for ev in self.events:
            if ev[0] == "change":
                body.append(dst.encode(dst.CHANGE))
                changes += 1
                continue
            kind = dst.STITCH if ev[0] == "needle" else dst.JUMP
            body.append(dst.encode(kind, ev[1] - x, ev[2] - y))
            x, y = ev[1], ev[2]
        body.append(dst.encode(dst.END))
        xy = np.array([e[1:] for e in self.events if e[0] != "change"])
        extents = (xy[:, 0].min(), xy[:, 0].max(), xy[:, 1].min(), xy[:, 1].max())
        head = dst.header(label, len(body), changes, extents, self.style.swap_y,
                          self.style.threads)
        return head + b"".join(body) + (b"\x1a" if self.style.end_1a else b"")
