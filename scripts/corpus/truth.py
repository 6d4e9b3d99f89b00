"""truth.json: what is really in the tape, written compactly but readably."""
import json

import numpy as np
from shapely.geometry import LineString

import faults
import junctions
from geom import polygons, ring_points


def attach_guards(sw, found):
    """Give each junction the guard stitches of the first object's stop, sewn before both."""
    for j in found:
        limit = min(j.under.first, j.over.first)
        lines = []
        for o in sw.objects:
            for u in o.underlay:
                if u["kind"] == "guard" and u["last"] < limit and o.stop == j.under.stop:
                    lines.append([(x / 10, y / 10) for x, y, *_ in sw.pens[u["first"]:u["last"] + 1]])
        j.guards = lines


def labels(sw):
    out = []
    for *_, label, _ in sw.pens:
        if out and out[-1][0] == label:
            out[-1][1] += 1
        else:
            out.append([label, 1])
    return out


def build(sw, design):
    """`design`: dict with name, made, garment, exit_code, outcome, faults (hand-planted)."""
    found = junctions.find(sw.objects)
    attach_guards(sw, found)
    flat = design.get("garment") == "flat-woven"
    listed = faults.find(sw.objects, found, flat) + design.get("faults", [])
    return {
        "name": design["name"], "made": design["made"],
        "garment": design.get("garment", "finished-cap"),
        "stitch_count": sw.count, "exit_code": design["exit_code"],
        "outcome": design["outcome"], "labels": labels(sw),
        "objects": [_object(o) for o in sw.objects],
        "junctions": [_junction(j) for j in found], "faults": listed,
        **({"gaps": design["gaps"]} if "gaps" in design else {}),
    }


def _r(curve, digits=2):
    return [[round(float(x), digits) + 0.0, round(float(y), digits) + 0.0] for x, y in curve]


def _thin(curve, tolerance=0.01):
    if len(curve) < 3:
        return curve
    return np.asarray(LineString(curve).simplify(tolerance).coords)


def _object(o):
    return {
        "id": o.id, "class": o.cls, "stop": o.stop, "first": o.first, "last": o.last,
        "outline": _outline(o), "rails": None if o.strip is None else
        [_r(_thin(o.strip.a)), _r(_thin(o.strip.b))],
        "closed": o.closed, "angle_deg": o.angle, "row_pitch_mm": o.row_pitch,
        "stitch_mm": o.stitch, "same_side_pitch_mm": None if o.pitch is None else round(o.pitch, 3),
        "width_mm": None if o.width is None else [round(w, 2) for w in o.width],
        "underlay": o.underlay, "hides": o.hides, "held": o.held,
    }


def _outline(o):
    if o.sewn is None:
        return []
    return [[_r(_thin(ring_points(r))) for r in (g.exterior, *g.interiors)]
            for g in polygons(o.sewn)]


def _junction(j):
    return {
        "under": j.under.id, "over": j.over.id, "kind": j.kind,
        "overlap_mm": [round(float(j.overlap.min()), 2), round(float(j.overlap.max()), 2)],
        "length_mm": round(j.length, 1), "curve": _r(_thin(j.curve, 0.05)),
    }


def dump(truth):
    """JSON with one line per object, junction and fault."""
    compact = lambda v: json.dumps(v, separators=(",", ":"))
    lines = []
    for key, value in truth.items():
        if key in ("objects", "junctions", "faults") and value:
            inner = ",\n  ".join(compact(v) for v in value)
            lines.append(f'"{key}":[\n  {inner}]')
        else:
            lines.append(f'"{key}":{compact(value)}')
    return "{" + ",\n".join(lines) + "}\n"
