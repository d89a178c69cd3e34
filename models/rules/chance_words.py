"""How is a chance said, so that nobody reads more into it than it holds?

Rounded to 1 in 3, 4, 5, 8, 10, 12, 20, 50, 100 and so on, never to a false precision; what
the policy allows (5, 10 and 25 % as shipped) is said as it is. Above one half in tenths, and
above 95 % as almost certain.
"""

import math

# 1 in so many; beyond them 1, 2 or 5 with noughts. Default of this project.
STEPS = (2, 3, 4, 5, 8, 10, 12, 20, 50, 100, 200, 500, 1000)
ALMOST_CERTAIN = 0.95
SMALLEST = 1 / STEPS[-1]


def chance_in_words(chance: float) -> str:
    """Return a chance between 0 and 1 in words: "about 1 in 8"."""
    if math.isnan(chance):
        return "not known"
    if chance > ALMOST_CERTAIN:
        return "almost certain (over 95 %)"
    if chance <= 0:
        return "none"
    if chance < SMALLEST * 0.75:
        return f"under 1 in {STEPS[-1]}"
    if chance > 0.6:
        return f"about {round(chance * 10)} in 10"
    # Nearest as people hear it: by ratio, not by difference.
    step = min(STEPS, key=lambda one_in: abs(math.log(chance * one_in)))
    return f"about 1 in {step}"


def percent(chance: float) -> str:
    """Return a chance in percent, with one figure that counts below 1 %."""
    if chance > ALMOST_CERTAIN:
        return "over 95 %"
    return f"{chance * 100:.1g} %" if chance < 0.01 else f"{chance * 100:.0f} %"
