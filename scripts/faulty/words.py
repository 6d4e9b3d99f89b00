"""A line of letters below everything."""
import letters
from draw import Misfit, chance, pick, uniform

# Only letters that scripts/corpus can draw; all from the invented quay and its neighbours.
WORDS = ("OSSEL", "QUAY", "ROWERS", "TIDE", "HOLLY", "REACH", "OARS", "WHARF", "FERRY", "ISLET",
         "SHALLOW", "LANTERN", "CREW", "SKIFFS", "RIVERSIDE", "FAIRWATER", "SWELL", "LAUNCH",
         "FLOAT", "TOWLINE", "STROKE", "HULLS", "SEA", "LOCK", "YAWL", "SHORELINE",
         "CURVE", "STEADY", "OLDTIDE")


class Word:
    """Text, place and size of a tag line whose lower left corner is (x, y)."""

    def __init__(self, rng, kit, widest):
        self.text = pick(rng, WORDS)
        self.h = uniform(rng, 5.5, 10.0)
        self.t = max(1.02, round(self.h * uniform(rng, 0.165, 0.215, 3), 2))
        self.gap = round(self.h * uniform(rng, 0.2, 0.34), 2) + 0.3
        self.width = letters.layout(self.text, self.h, self.t, self.gap)[1]
        if self.width > widest:
            raise Misfit("word too wide")
        self.x, self.y = -self.width / 2, 0.0
        self.outward = chance(rng, 0.5)
        self.under = ("edge",) if kit.careful else pick(rng, (("centre",), ("edge",), ()), (6, 2, 1))

    def order(self):
        """Sewn left to right or from the middle outward."""
        places, _ = letters.layout(self.text, self.h, self.t, self.gap)
        if not self.outward:
            return list(range(len(places)))
        return sorted(range(len(places)), key=lambda k: abs(places[k][1] + self.h / 3 - self.width / 2))

    def sew(self, sw, prefix="tag"):
        letters.sew_word(sw, prefix, self.text, self.x, self.y, self.h, self.t, self.under, self.gap,
                         order=self.order())
