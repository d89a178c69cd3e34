"""Which words may be used: techniques, terms, methods, treatments, grades?

Lists to which a keeper may add. Words that a rule must be able to name are
closed lists and stand in the description of the API.
"""

from dataclasses import dataclass

from sqlmodel import Session

from models.rules.default_figures import DefaultFigures
from models.rules.permissions import Deed, require
from models.tables.register import techniques
from models.tables.terms import (
    FindingTerm,
    MountMethod,
    TreatmentTerm,
    finding_terms,
    mount_methods,
    treatment_terms,
)
from models.tables.visible import Viewer
from models.tables.works import Technique
from models.vocabulary import Mechanism


@dataclass(frozen=True, kw_only=True)
class WordLists:
    """All lists, each by name; grades in the order of the risk defaults."""

    techniques: list[Technique]
    finding_terms: list[FindingTerm]
    mount_methods: list[MountMethod]
    treatments: list[TreatmentTerm]
    layer_grades: tuple[str, ...]
    adhesive_grades: tuple[str, ...]
    hold_grades: tuple[str, ...]


def word_lists(session: Session, viewer: Viewer, *, defaults: DefaultFigures) -> WordLists:
    """Return every list of words."""
    require(viewer.role, Deed.READ)
    return WordLists(
        techniques=techniques(session),
        finding_terms=finding_terms(session),
        mount_methods=mount_methods(session),
        treatments=treatment_terms(session),
        layer_grades=defaults.grades(Mechanism.ACID_MIGRATION),
        adhesive_grades=defaults.grades(Mechanism.ADHESIVE_AGEING),
        hold_grades=defaults.grades(Mechanism.HOLD_FAILURE),
    )
