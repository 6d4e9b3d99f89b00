"""Zero-length stitches: needle points doubled here and there, or at every fold."""
import numpy as np


def _folds(pens):
    """Where the thread turns back by more than 110 degrees."""
    p = np.array([q[:2] for q in pens], float)
    d = np.diff(p, axis=0)
    length = np.hypot(*d.T)
    dot = (d[1:] * d[:-1]).sum(axis=1)
    return np.flatnonzero(dot < np.cos(np.radians(110)) * length[1:] * length[:-1] - 1e-9) + 1


def double(sheet):
    """Double needle points after the habit of the file; indices of objects move along."""
    kind, rng = sheet.habits["doubled"], sheet.rng
    n = len(sheet.pens)
    if kind == "none" or n < 20:
        return
    if kind == "few":
        chosen = rng.choice(np.arange(1, n), min(n - 1, int(rng.integers(2, 16))), replace=False)
    else:
        folds = _folds(sheet.pens)
        rows = [i for i in folds if sheet.pens[i][2] in ("run", "fill", "edge-run", "travel", "centre-run")]
        chosen = np.array(rows[:400], int)
    sheet.styles.add("doubled-" + kind)
    _insert(sheet, set(int(i) for i in chosen))


def _insert(sheet, chosen):
    pens, place = [], []
    for i, pen in enumerate(sheet.pens):
        place.append(len(pens))
        pens.append(pen)
        if i in chosen:
            pens.append(pen)
    sheet.pens = pens
    sheet.breaks = {place[i]: b for i, b in sheet.breaks.items() if i < len(place)}
    for o in sheet.objects:
        for part in (o, *o["underlay"]):
            last = part["last"]
            part["first"], part["last"] = place[part["first"]], place[last] + (last in chosen)
