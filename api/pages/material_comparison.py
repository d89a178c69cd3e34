"""Which of two materials is better, where, and why: both side by side?

The two stand in the address. Where one is missing, or both are the same, the page says so
and offers the choice; of different kinds it says what of them can be weighed.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import groupby
from typing import Annotated

from fastapi import APIRouter, Query, Request
from fastapi.responses import Response
from sqlmodel import Session

from api.dependencies import ReadSession, SignedIn, Today, requires
from api.pages.form_answers import is_key
from api.pages.materials import FigureShown, figures_known
from api.routes import Route
from api.templating import show
from models.actions.materials import MaterialOnRecord, whole_library
from models.actions.materials_compared import MaterialsCompared, compare_two
from models.rules.calendar_days import day_number
from models.rules.distance_from_work import DISTANCE_FACTOR
from models.rules.material_comparison import WHERE, Harm, HarmCompared
from models.rules.permissions import Deed
from models.tables.material_uses import WorksCounted
from models.tables.visible import Viewer
from models.vocabulary import Distance, Mechanism, Verdict

router = APIRouter(prefix="/materials", route_class=Route)

NOT_FOUND = 404
# Of a hundred: as long as the bar of the longer of two.
WIDEST = 100.0

QueryLine = Annotated[str, Query(max_length=500)]


@dataclass(frozen=True)
class Choice:
    """A material to choose."""

    id: int
    name: str


@dataclass(frozen=True)
class KindOfChoices:
    """The materials of one kind to choose from."""

    kind: str
    choices: tuple[Choice, ...]


@dataclass(frozen=True)
class SideShown:
    """One of the two: what it is, how it is judged, what speaks for it, where it is used."""

    material: MaterialOnRecord
    verdict: Verdict
    why: str
    better_in: tuple[str, ...]
    works: WorksCounted


@dataclass(frozen=True)
class HarmSaid:
    """What one way to harm makes of one material; `bar` is its length of a hundred."""

    said: str
    farther: str
    bar: float
    is_better: bool


@dataclass(frozen=True)
class HarmShown:
    """One way to harm, of both."""

    name: str
    where: str
    sides: tuple[HarmSaid, HarmSaid]


@dataclass(frozen=True)
class FigureOfBoth:
    """One figure of both; None where it is not known of one."""

    label: str
    sides: tuple[FigureShown | None, FigureShown | None]


@dataclass(frozen=True)
class PairShown:
    """Two materials side by side."""

    sides: tuple[SideShown, SideShown]
    harms: tuple[HarmShown, ...]
    figures: tuple[FigureOfBoth, ...]
    is_one_kind: bool
    turned_at: str


@dataclass(frozen=True)
class ComparisonPage:
    """What templates/materials/compare.html is given; without a pair it asks for both."""

    shelves: tuple[KindOfChoices, ...]
    chosen: tuple[int, int]
    said: str
    pair: PairShown | None


@router.get("/compare", dependencies=[requires(Deed.READ)])
def compare(
    request: Request,
    session: ReadSession,
    viewer: SignedIn,
    today: Today,
    a: QueryLine = "",
    b: QueryLine = "",
) -> Response:
    """Show two materials side by side, or ask for them."""
    library = whole_library(session, viewer)
    by_key = {one.id: one for one in library}
    typed = [int(text) if is_key(text) else 0 for text in (a, b)]
    both = [by_key.get(key) for key in typed]
    said = _what_is_wrong((a, b), both)
    first, second = both
    pair = None
    if first is not None and second is not None and not said:
        pair = _pair(session, viewer, (first, second), day_number(today))
    page = ComparisonPage(
        shelves=_shelves(library),
        chosen=(typed[0], typed[1]),
        said=said,
        pair=pair,
    )
    is_lost = any(text and one is None for text, one in zip((a, b), both, strict=True))
    return show(request, "materials/compare.html", page, NOT_FOUND if is_lost else 200)


def _what_is_wrong(typed: Sequence[str], both: Sequence[MaterialOnRecord | None]) -> str:
    """Return what keeps the two from being compared, in words; nothing where nothing does."""
    lost = [text for text, one in zip(typed, both, strict=True) if text and one is None]
    if lost:
        return f"There is no material number {' or '.join(lost)} on record; choose another."
    if not any(typed):
        return "Choose two materials of the library."
    if None in both:
        return "Choose the other one, to lie beside it."
    first, second = both
    if first == second:
        return "That is the same material twice; choose another beside it."
    return ""


def _shelves(library: Sequence[MaterialOnRecord]) -> tuple[KindOfChoices, ...]:
    by_kind = sorted(library, key=lambda one: one.told.kind)
    return tuple(
        KindOfChoices(kind, tuple(Choice(one.id, one.told.name) for one in those))
        for kind, those in groupby(by_kind, lambda one: one.told.kind)
    )


def _pair(
    session: Session,
    viewer: Viewer,
    both: tuple[MaterialOnRecord, MaterialOnRecord],
    today: int,
) -> PairShown:
    first, second = both
    found = compare_two(session, viewer, first, second, today=today)
    return PairShown(
        sides=(_side(first, found, 0), _side(second, found, 1)),
        harms=tuple(_harm(one) for one in found.compared.harms),
        figures=_figures(first, second),
        is_one_kind=first.told.kind == second.told.kind,
        turned_at=f"/materials/compare?a={second.id}&b={first.id}",
    )


def _side(material: MaterialOnRecord, found: MaterialsCompared, number: int) -> SideShown:
    judged = found.compared.verdicts[number]
    return SideShown(
        material=material,
        verdict=judged.verdict,
        why=judged.why,
        better_in=found.compared.better_in[number],
        works=found.works[number],
    )


def _harm(one: HarmCompared) -> HarmShown:
    longest = max(harm.years for harm in one.harms if harm is not None)
    first, second = (
        HarmSaid(
            said=_said(harm, one.mechanism),
            farther=_farther(harm, one.mechanism),
            bar=0.0 if harm is None else round(WIDEST * harm.years / longest, 1),
            is_better=one.better == number,
        )
        for number, harm in enumerate(one.harms)
    )
    return HarmShown(one.mechanism, WHERE[one.mechanism].lower(), (first, second))


def _said(harm: Harm | None, mechanism: Mechanism) -> str:
    if harm is None:
        return "holds nothing" if mechanism is Mechanism.HOLD_FAILURE else "no harm by this"
    if harm.is_suspect:
        return f"nobody knows; {harm.years:g} years, if it is the worst it may be"
    return f"{harm.years:g} years"


def _farther(harm: Harm | None, mechanism: Mechanism) -> str:
    """Return what distance makes of it, which is so of what migrates alone."""
    if harm is None or mechanism is not Mechanism.ACID_MIGRATION:
        return ""
    facing, apart = (
        harm.years * DISTANCE_FACTOR[distance] for distance in (Distance.FACES, Distance.APART)
    )
    return f"facing it {facing:g}, apart from it {apart:g}"


def _figures(first: MaterialOnRecord, second: MaterialOnRecord) -> tuple[FigureOfBoth, ...]:
    """Return every figure that is known of either, in the order of their tables."""
    known: list[Mapping[str, FigureShown]] = [
        {one.label: one for one in figures_known(material.figures)} for material in (first, second)
    ]
    # In the order of the fuller table; what only the other has follows.
    fuller, other = sorted(known, key=len, reverse=True)
    labels = dict.fromkeys((*fuller, *other))
    return tuple(
        FigureOfBoth(label, (known[0].get(label), known[1].get(label))) for label in labels
    )
