"""What chance of finding something new may a work be exposed to before somebody looks again?

One unframing in twenty may find something new on a work that exists once, one
in ten on one of a small edition, one in four on one that can be had again; so
the policy says that ships, and a keeper may set it otherwise.
"""

from models.rules.policy import Policy
from models.vocabulary import Replaceability


def allowed_chance(replaceability: Replaceability, policy: Policy) -> float:
    """Return the allowed chance, between 0 and 1."""
    return {
        Replaceability.UNIQUE: policy.allowed_unique,
        Replaceability.SMALL_EDITION: policy.allowed_small_edition,
        Replaceability.REPLACEABLE: policy.allowed_replaceable,
    }[replaceability]
