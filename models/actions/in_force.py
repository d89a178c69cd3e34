"""What is in force in this house: places and their climates, figures, policy, own experience?

Everything that a forecast rests on besides the records of its work, read
together in one place. Whoever works out a forecast asks for it once.
"""

from dataclasses import dataclass, field

from sqlmodel import Session

from models.actions.place_climates import Records
from models.actions.places import place_tree
from models.rules.default_figures import DefaultFigures
from models.rules.package_components import Experience
from models.rules.place_tree import PlaceTree
from models.rules.policy import Policy
from seed_data.shipped import shipped_default_figures


@dataclass(frozen=True, kw_only=True)
class InForce:
    """What all forecasts have in common."""

    tree: PlaceTree
    figures: DefaultFigures
    policy: Policy = field(default_factory=Policy)
    experience: Experience = field(default_factory=dict)
    climates: Records = field(default_factory=dict)


def in_force(session: Session) -> InForce:
    """Return what is in force, as this transaction sees it."""
    return InForce(tree=place_tree(session), figures=shipped_default_figures())
