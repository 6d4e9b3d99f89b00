"""Rewrites corpus/ from the designs. Deterministic: same code, same bytes."""
import importlib
import json
import sys
from pathlib import Path

HERE = Path(__file__).resolve().parent
sys.path.insert(0, str(HERE))

import readme  # noqa: E402
import truth  # noqa: E402

CORPUS = HERE.parent.parent / "corpus"
NAMES = ["crest", "lantern", "tagline", "ring", "mast", "pennants", "outline", "scribble",
         "sound", "openborder", "applique", "gap", "jacketback"]


def order(info):
    quote = json.dumps
    lines = [f"id = {quote('OQ-' + info['name'])}",
             f"customer = {quote(info.get('customer', 'Rowers of Ossel Quay'))}",
             f"garment = {quote(info.get('garment', 'finished-cap'))}",
             f"seam_offset_mm = {info.get('seam_offset', 0.0)}",
             f"notes = {quote(info.get('notes', info['made']))}"]
    for thread, colour in info["stops"]:
        lines += ["", "[[stops]]", f"thread = {quote(thread)}", f"colour = {quote(colour)}"]
    return "\n".join(lines) + "\n"


def wrapped(text, width=96):
    out, row = [], ""
    for word in text.split():
        if len(row) + len(word) + 1 > width:
            out.append(row)
            row = word
        else:
            row = f"{row} {word}".strip()
    return "\n".join(out + [row])


def made_md(sw, info, facts):
    """How the file was made: style, objects, planted faults."""
    s = sw.style
    kinds = {}
    for f in facts["faults"]:
        kinds[f["kind"]] = kinds.get(f["kind"], 0) + 1
    planted = ", ".join(f"{k} x{n}" for k, n in kinds.items()) or "none"
    counts = {}
    for o in sw.objects:
        counts[o.cls] = counts.get(o.cls, 0) + 1
    rows = [
        f"# {info['name']}", "", wrapped(info["made"]), "",
        f"- {sw.count} needle penetrations, {len(info['stops'])} stops; objects: "
        + ", ".join(f"{n} {k}" for k, n in counts.items()),
        f"- tape: trims as {s.trim}, ties {s.tie} mm"
        + (", 0x1A after the end" if s.end_1a else "")
        + (", colour change before the end" if s.dangling_change else "")
        + (", +Y and -Y swapped in the header" if s.swap_y else "")
        + (", thread entries in the header" if s.threads else "")
        + (", zero-length stitch at landings" if s.zero_landing else "")
        + (", fold points doubled" if s.double_folds else ""),
        f"- satin: same-side pitch {s.pitch} mm, "
        + ("one pass square, return slanted" if s.square else "both passes slanted alike"),
        f"- fill: row pitch {s.row_pitch} mm, stitch {s.stitch} mm, stagger 1/4, rows join by "
        + ("a step along the edge" if s.join == "step" else "a shared point (V)"),
        f"- faults: {planted}",
        f"- expected: {info['outcome']}, exit code {info['exit_code']}", "",
        f"Generator: scripts/corpus/designs/{info['name']}.py", "",
    ]
    return "\n".join(rows)


def build(name):
    sw, info = importlib.import_module(f"designs.{name}").make()
    facts = truth.build(sw, info)
    out = CORPUS / name
    out.mkdir(parents=True, exist_ok=True)
    (out / f"{name}.dst").write_bytes(sw.tape(info["label"]))
    (out / "truth.json").write_text(truth.dump(facts))
    (out / "order.toml").write_text(order(info))
    (out / "made.md").write_text(made_md(sw, info, facts))
    return facts


def main(names):
    for name in names or NAMES:
        facts = build(name)
        print(f"{name}: {facts['stitch_count']} stitches, {len(facts['objects'])} objects, "
              f"{len(facts['junctions'])} junctions, {len(facts['faults'])} faults")
    readme.write(CORPUS, NAMES)


if __name__ == "__main__":
    main(sys.argv[1:])
