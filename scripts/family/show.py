"""Draw a tape with its labels and outlines: show.py FILE.dst OUT.png [pixels per mm]."""
import json
import sys
from pathlib import Path

from PIL import Image, ImageDraw

from check import decode

COLOURS = {"tie": "red", "run": "black", "bean": "black", "centre-run": "orange", "edge-run": "orange",
           "zigzag": "goldenrod", "fill-underlay": "orange", "guard": "deeppink", "satin": "royalblue",
           "split-satin": "navy", "fill": "seagreen", "travel": "magenta", "unsure": "grey"}


def main():
    path, out = Path(sys.argv[1]), sys.argv[2]
    scale = float(sys.argv[3]) if len(sys.argv) > 3 else 12
    truth = json.loads(path.with_suffix(".json").read_text())
    pens, starts, _ = decode(path.read_bytes())
    labels = [name for name, n in truth["labels"] for _ in range(n)]
    xs, ys = [p[0] for p in pens], [p[1] for p in pens]
    place = lambda p: ((p[0] - min(xs)) * scale / 10 + 20, (max(ys) - p[1]) * scale / 10 + 20)
    image = Image.new("RGB", [int((max(v) - min(v)) * scale / 10) + 40 for v in (xs, ys)], "white")
    pen = ImageDraw.Draw(image)
    for i in range(1, len(pens)):
        if i not in starts:
            pen.line([place(pens[i - 1]), place(pens[i])], COLOURS[labels[i]])
        x, y = place(pens[i])
        pen.rectangle([x - 1, y - 1, x + 1, y + 1], COLOURS[labels[i]])
    for o in truth["objects"]:
        for ring in (r for g in o["outline"] or [] for r in g):
            pen.line([place((x * 10, y * 10)) for x, y in ring + ring[:1]], "red", 2)
    image.save(out)


if __name__ == "__main__":
    main()
