"""The words that may be used, as far as a keeper may add to them."""

from fastapi import APIRouter

from api.dependencies import ReadSession, SignedIn, requires
from api.rest.shapes import Out
from api.routes import Route
from models.actions.vocabulary_lists import word_lists
from models.rules.permissions import Deed
from models.vocabulary import FreedBy, Freeing, Mechanism, Surface
from seed_data.shipped import shipped_default_figures

router = APIRouter(prefix="/api/vocabulary", tags=["vocabulary"], route_class=Route)


class TechniqueOut(Out):
    """A technique, with what it means for light, touch and alkali."""

    name: str
    technique_group: str
    light_class: int | None
    surface: Surface
    process_group: str
    buffer_advice: str
    groundwood_support: bool
    note: str


class FindingTermOut(Out):
    """A word for a damage."""

    term: str
    definition: str
    usual_cause: str
    suggests_mechanism: Mechanism | None
    shows_through_glazing: str
    urgency: str
    urgent_sign: str
    applies_to: str
    aat_id: int | None
    caution: str


class MountMethodOut(Out):
    """A way to hold a work in its package."""

    name: str
    definition: str
    needs_adhesive: str
    default_hold_grade: str
    frees_by: Freeing | None
    floats: bool
    hazard: str
    caution: str


class TreatmentTermOut(Out):
    """A word for what is done to a work."""

    term: str
    definition: str
    removes_remains: bool
    asked_before: FreedBy | None
    caution: str


class VocabularyOut(Out):
    """All lists, each by name; grades in the order of the risk defaults."""

    techniques: list[TechniqueOut]
    finding_terms: list[FindingTermOut]
    mount_methods: list[MountMethodOut]
    treatments: list[TreatmentTermOut]
    layer_grades: list[str]
    adhesive_grades: list[str]
    hold_grades: list[str]


@router.get("", dependencies=[requires(Deed.READ)])
def words(session: ReadSession, viewer: SignedIn) -> VocabularyOut:
    """List every word that may be used; closed lists are enums of this description."""
    lists = word_lists(session, viewer, defaults=shipped_default_figures())
    return VocabularyOut.model_validate(lists, from_attributes=True)
