"""Random draws. Every function takes the generator, so that a design depends on its seed alone."""


class Misfit(Exception):
    """What was drawn cannot be sewn or does not fit; the design is drawn again."""


def uniform(rng, low, high, digits=2):
    if high < low:
        raise Misfit(f"no room between {low:.2f} and {high:.2f}")
    return round(float(rng.uniform(low, high)), digits)


def whole(rng, low, high):
    """Whole number, both ends included."""
    return int(rng.integers(low, high + 1))


def chance(rng, share):
    return bool(rng.random() < share)


def pick(rng, options, weights=None):
    options = list(options)
    if weights is None:
        return options[int(rng.integers(len(options)))]
    mark = rng.random() * sum(weights)
    for option, weight in zip(options, weights):
        mark -= weight
        if mark < 0:
            return option
    return options[-1]


def overlap(rng, most=1.4):
    """How far the earlier object reaches under the later one, mm; negative leaves a gap."""
    return min(uniform(rng, -0.3, 1.4), round(most, 2))
