"""What chance of finding something new may a work be exposed to before somebody looks again?

One unframing in twenty may find something new on a work that exists once, one
in ten on one of a small edition, one in four on one that can be had again.
"""

from models.vocabulary import Replaceability

# Defaults of this project (judgement); a keeper may change them. A share of 1.
ALLOWED_CHANCE = {
    Replaceability.UNIQUE: 0.05,
    Replaceability.SMALL_EDITION: 0.10,
    Replaceability.REPLACEABLE: 0.25,
}


def allowed_chance(replaceability: Replaceability) -> float:
    """Return the allowed chance, between 0 and 1."""
    return ALLOWED_CHANCE[replaceability]
