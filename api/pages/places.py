"""Where can works be, what holds there and who said it, and how does a place come on record?

A place says what it says; the rest it takes from the place around it. The page of a
place names, for each figure, the place that said it.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Annotated

from fastapi import APIRouter, Query, Request
from fastapi.responses import RedirectResponse, Response
from sqlmodel import Session

from api.dependencies import ReadSession, SignedIn, Today, WriteSession, requires
from api.forms import Typed, TypedForm
from api.pages.form_answers import (
    REFUSED,
    STALE,
    Answers,
    Difference,
    Refusal,
    differences,
    faults_beside,
    figure_to_type,
    number,
    one_of,
    typed_in,
    version_in,
)
from api.pages.path_ids import PathId
from api.routes import Route
from api.templating import show
from models.actions.due import Mark, marks_of_works
from models.actions.place_changes import add_place, change_place
from models.actions.place_counts import count_by_place
from models.actions.places import (
    PlaceOnRecord,
    PlaceTold,
    list_places,
    place_paths,
    place_tree,
    read_place,
)
from models.actions.works import WorksAsked, find_works
from models.errors import BadValue, Fault, HingebookError, NotFound, Stale
from models.rules.calendar_days import day_number
from models.rules.permissions import Deed, may
from models.rules.place_tree import BETWEEN, FIGURES, NUMBERS, names_in_path
from models.tables.visible import Viewer
from models.vocabulary import PlaceUse

router = APIRouter(prefix="/places", route_class=Route)

SEE_OTHER = 303
WORKS_SHOWN = 50
FIELDS = ("name", "within", "use", *NUMBERS, "note")
LABELS = {
    "name": "name",
    "within": "within",
    "use": "use",
    "temperature_c": "temperature",
    "rh_percent": "humidity",
    "lux": "light",
    "hours_per_day": "lit a day",
    "days_per_year": "lit a year",
    "uv_uw_per_lm": "UV",
    "note": "note",
}
UNITS = {
    "temperature_c": "°C",
    "rh_percent": "% RH",
    "lux": "lx",
    "hours_per_day": "hours",
    "days_per_year": "days",
    "uv_uw_per_lm": "µW/lm",
}
DEFAULT = "nobody: a default"


@dataclass(frozen=True)
class PlaceRow:
    """One place in the tree; what it says itself stands apart from what it takes over."""

    id: int
    name: str
    depth: int
    use: str
    says_use: bool
    climate: str
    says_climate: bool
    light: str
    says_light: bool
    works: int


@dataclass(frozen=True)
class PlacesPage:
    """What templates/places/list.html is given."""

    rows: tuple[PlaceRow, ...]
    may_add: bool


@dataclass(frozen=True)
class HeldFigure:
    """A figure that holds in a place, and who said it."""

    label: str
    value: str
    said_by: str
    is_own: bool


@dataclass(frozen=True)
class WorkThere:
    """A work in the place."""

    id: int
    number: str
    title: str
    place: str
    mark: Mark | None


@dataclass(frozen=True)
class PlacePage:
    """What templates/places/place.html is given."""

    place: PlaceOnRecord
    name: str
    around: tuple[PlaceOnRecord, ...]
    figures: tuple[HeldFigure, ...]
    within: tuple[PlaceOnRecord, ...]
    works: tuple[WorkThere, ...]
    has_more_works: bool
    is_box: bool
    may_change: bool
    may_walk: bool
    may_record_incident: bool


@dataclass(frozen=True)
class PlaceFormPage:
    """What templates/places/form.html is given; without `place_id` the place is new."""

    place_id: int | None
    version: int
    typed: Mapping[str, str]
    places: tuple[str, ...]
    faults: tuple[Fault, ...] = ()
    differences: tuple[Difference, ...] = ()
    uses: tuple[str, ...] = tuple(PlaceUse)


@router.get("", dependencies=[requires(Deed.READ)])
def listed(request: Request, session: ReadSession, viewer: SignedIn) -> Response:
    """Show the tree of places."""
    works = count_by_place(session, viewer)
    page = PlacesPage(
        rows=tuple(_row(place, works) for place in list_places(session, viewer)),
        may_add=may(viewer.role, Deed.KEEP_PLACES),
    )
    return show(request, "places/list.html", page)


@router.get("/new", dependencies=[requires(Deed.KEEP_PLACES)])
def new_page(
    request: Request,
    session: ReadSession,
    viewer: SignedIn,
    within: Annotated[str, Query(max_length=500)] = "",
) -> Response:
    """Ask what is known of a new place."""
    typed = {**dict.fromkeys(FIELDS, ""), "within": within}
    return show(request, "places/form.html", _form_page(session, viewer, typed))


@router.post("/new", dependencies=[requires(Deed.KEEP_PLACES)])
def new_sent(request: Request, session: WriteSession, viewer: SignedIn, form: Typed) -> Response:
    """Add a place to what is around it."""
    page = _form_page(session, viewer, typed_in(form, FIELDS))
    try:
        place = add_place(session, viewer, _told(form))
    except Refusal as error:
        return show(request, "places/form.html", replace(page, faults=_beside(error)), REFUSED)
    return RedirectResponse(f"/places/{place.id}", SEE_OTHER)


@router.get("/{place_id:int}", dependencies=[requires(Deed.READ)])
def one(
    request: Request, session: ReadSession, viewer: SignedIn, today: Today, place_id: PathId
) -> Response:
    """Show a place: what holds there, who said it, and the works in it."""
    tree = place_tree(session)
    every = {p.told.path: p for p in list_places(session, viewer, tree=tree)}
    place = next((place for place in every.values() if place.id == place_id), None)
    if place is None:
        raise NotFound("place", place_id)
    path = place.told.path
    names = names_in_path(path)
    asked = WorksAsked(place=path, limit=WORKS_SHOWN)
    found = find_works(session, viewer, asked, tree=tree)
    marks = marks_of_works(session, viewer, [w.id for w in found.works], today=day_number(today))
    page = PlacePage(
        place=place,
        name=names[-1],
        around=tuple(every[BETWEEN.join(names[:n])] for n in range(1, len(names))),
        figures=tuple(_held(place, name) for name in FIGURES),
        within=tuple(p for p in every.values() if p.told.path.startswith(f"{path}{BETWEEN}")),
        works=tuple(
            WorkThere(
                w.id, w.told.number, w.told.title, _from_here(path, w.told.place), marks.get(w.id)
            )
            for w in found.works
        ),
        has_more_works=found.next_after is not None,
        is_box=place.effective.use is PlaceUse.BOX,
        may_change=may(viewer.role, Deed.KEEP_PLACES),
        may_walk=may(viewer.role, Deed.WALK_ROUND),
        may_record_incident=may(viewer.role, Deed.RECORD_INCIDENT),
    )
    return show(request, "places/place.html", page)


@router.get("/{place_id:int}/change", dependencies=[requires(Deed.KEEP_PLACES)])
def change_page(
    request: Request, session: ReadSession, viewer: SignedIn, place_id: PathId
) -> Response:
    """Show what a place says, to be changed."""
    place = read_place(session, viewer, place_id)
    page = _form_page(session, viewer, _typed(place.told), place)
    return show(request, "places/form.html", page)


@router.post("/{place_id:int}/change", dependencies=[requires(Deed.KEEP_PLACES)])
def change_sent(
    request: Request,
    session: WriteSession,
    viewer: SignedIn,
    today: Today,
    place_id: PathId,
    form: Typed,
) -> Response:
    """Change a place; every work in it is judged anew."""
    place = read_place(session, viewer, place_id)
    typed = typed_in(form, FIELDS)
    page = _form_page(session, viewer, typed, place)
    seen = version_in(form)
    try:
        changes = dict(vars(_told(form)))
        change_place(session, viewer, place_id, changes, based_on=seen, today=day_number(today))
    except Stale as error:
        quicker = replace(
            page,
            faults=(Fault("", error.message),),
            differences=differences(LABELS, typed, _typed(place.told)),
        )
        return show(request, "places/form.html", quicker, STALE)
    except Refusal as error:
        refused = replace(page, version=seen, faults=_beside(error))
        return show(request, "places/form.html", refused, REFUSED)
    return RedirectResponse(f"/places/{place_id}", SEE_OTHER)


def _row(place: PlaceOnRecord, works: Mapping[int, int]) -> PlaceRow:
    told, held = place.told, place.effective
    names = names_in_path(told.path)
    hours = f"{held.hours_per_day:g} h a day"
    return PlaceRow(
        id=place.id,
        name=names[-1],
        depth=min(len(names), 5),
        use=held.use,
        says_use=told.use is not None,
        climate=f"{held.temperature_c:g} °C, {held.rh_percent:g} %",
        says_climate=told.temperature_c is not None or told.rh_percent is not None,
        light=f"{held.lux:g} lx, {hours}",
        says_light=told.lux is not None or told.hours_per_day is not None,
        works=works.get(place.id, 0),
    )


def _held(place: PlaceOnRecord, name: str) -> HeldFigure:
    value = getattr(place.effective, name)
    said = str(value) if name == "use" else f"{value:g} {UNITS[name]}"
    by = place.said_by[name]
    is_own = by == place.told.path
    return HeldFigure(LABELS[name], said, "this place" if is_own else by or DEFAULT, is_own)


def _from_here(path: str, place: str | None) -> str:
    return "" if place is None or place == path else place.removeprefix(f"{path}{BETWEEN}")


def _form_page(
    session: Session, viewer: Viewer, typed: Mapping[str, str], place: PlaceOnRecord | None = None
) -> PlaceFormPage:
    paths = place_paths(session, viewer)
    if place is not None:
        # A place cannot lie within itself.
        own = place.told.path
        paths = tuple(p for p in paths if p != own and not p.startswith(f"{own}{BETWEEN}"))
    return PlaceFormPage(
        place_id=None if place is None else place.id,
        version=0 if place is None else place.version,
        typed=typed,
        places=paths,
    )


def _typed(told: PlaceTold) -> dict[str, str]:
    *around, name = names_in_path(told.path)
    numbers = {n: figure_to_type(getattr(told, n)) for n in NUMBERS}
    said = {"name": name, "within": BETWEEN.join(around), "use": told.use or "", "note": told.note}
    return {**said, **numbers}


def _told(form: TypedForm) -> PlaceTold:
    """Return the place as told by a form. Raises BadValue with every fault of its texts."""
    answers = Answers(form)
    within = answers.text("within")
    name = answers.needed("name", _a_single_name, "")
    use = answers.read("use", one_of(PlaceUse))
    numbers = {n: answers.read(n, number) for n in NUMBERS}
    answers.refuse()
    path = f"{within}{BETWEEN}{name}" if within else name
    return PlaceTold(path=path, use=use, note=answers.text("note"), **numbers)


def _a_single_name(text: str) -> str:
    if BETWEEN.strip() in text:
        right = "Say under Within what is around it."
        message = "A name is of one place."
        raise BadValue.at("", message, right)
    return text


def _beside(error: HingebookError) -> tuple[Fault, ...]:
    if isinstance(error, BadValue):
        error.faults = tuple(
            Fault("/within" if f.pointer == "/path" and error.code == "unknown_place" else
                  f.pointer.replace("/path", "/name"), f.message, f.right)
            for f in error.faults
        )  # fmt: skip
    codes = {"name_taken": "name", "place_in_itself": "within"}
    return faults_beside(error, FIELDS, codes)
