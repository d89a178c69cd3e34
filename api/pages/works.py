"""Which works are there, and how does one come on record, change, move or leave it?

The list finds by number, title and maker; one exact hit by number or by the code
on a label goes straight to the work. What is next for a work is taken from its
stored forecast, for the whole page in one statement.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Annotated
from urllib.parse import urlencode

from fastapi import APIRouter, Query, Request
from fastapi.responses import RedirectResponse, Response
from sqlmodel import Session

from api.dependencies import MaybeSignedIn, ReadSession, SignedIn, Today, WriteSession, requires
from api.forms import Typed, TypedForm
from api.pages.dates_said import date_said
from api.pages.form_answers import (
    REFUSED,
    STALE,
    Answers,
    Difference,
    Refusal,
    date_to_type,
    differences,
    edtf,
    faults_beside,
    figure_to_type,
    is_key,
    keys_in,
    length,
    one_of,
    typed_in,
    version_in,
    whole,
    with_faults_of_record,
)
from api.pages.path_ids import PathId
from api.pages.sheet_drawing import SheetDrawing, sheet_drawing
from api.routes import Route
from api.template_filters import day
from api.templating import show
from models.actions.due import Mark, marks_of_works
from models.actions.owners import list_owners
from models.actions.people import list_people
from models.actions.photographs import latest_recto_of
from models.actions.places import place_paths, place_tree, places_seen
from models.actions.stays import MoveTold, move_works
from models.actions.works import (
    ImageTold,
    WorkOnRecord,
    WorksAsked,
    WorkTold,
    change_work,
    find_works,
    read_work,
    register_work,
    withdraw_work,
)
from models.errors import BadValue, Fault, Stale, UnknownWord
from models.rules.calendar_days import day_number
from models.rules.permissions import Deed, may
from models.rules.record_values import Millimetres
from models.rules.search_words import plain
from models.rules.work_code import read_code
from models.tables.register import (
    find_work_by_code,
    find_work_by_number,
    techniques,
    works_with_keys,
)
from models.tables.visible import Viewer
from models.vocabulary import Replaceability, Surface, ValueBand

router = APIRouter(prefix="/works", route_class=Route)

SEE_OTHER = 303
A_PAGE = 50
MOST_MOVED = 1000
IMAGE = ("left_mm", "top_mm", "height_mm", "width_mm")
FIELDS = (
    *("number", "title", "maker", "made", "technique", "support", "surface"),
    *("height_mm", "width_mm", *(f"image/{name}" for name in IMAGE)),
    *("replaceability", "value_band", "light_class", "owner", "place", "note"),
)
# What a person is told of a field in which somebody else was quicker.
LABELS = {
    "number": "number",
    "title": "title",
    "maker": "maker",
    "made": "made",
    "technique": "technique",
    "support": "support",
    "surface": "surface",
    "height_mm": "height",
    "width_mm": "width",
    "image/left_mm": "image, from the left",
    "image/top_mm": "image, from the top",
    "image/height_mm": "image, height",
    "image/width_mm": "image, width",
    "replaceability": "replaceability",
    "value_band": "value",
    "light_class": "light class",
    "owner": "owner",
    "note": "note",
}
MOVE_FIELDS = ("place", "on", "by", "note")

_CODES = {"number_taken": "number"}

QueryLine = Annotated[str, Query(max_length=500)]


@dataclass(frozen=True)
class WorkRow:
    """One work in the list: with its newest photograph of the front, else its blank sheet."""

    id: int
    number: str
    title: str
    byline: str
    place: str
    mark: Mark | None
    photograph_id: int | None
    sheet: SheetDrawing


@dataclass(frozen=True)
class WorksPage:
    """What templates/works/list.html is given; `near` are searches that would find something."""

    q: str
    owner: str
    place: str
    owners: tuple[str, ...]
    places: tuple[str, ...]
    rows: tuple[WorkRow, ...]
    is_narrowed: bool
    goes_on_at: str
    near: tuple[str, ...]
    may_add: bool
    may_move: bool


@dataclass(frozen=True)
class WorkFormPage:
    """What templates/works/form.html is given; without `work_id` the work is new."""

    work_id: int | None
    version: int
    typed: Mapping[str, str]
    techniques: tuple[str, ...]
    owners: tuple[str, ...]
    places: tuple[str, ...]
    faults: tuple[Fault, ...] = ()
    differences: tuple[Difference, ...] = ()
    surfaces: tuple[str, ...] = tuple(Surface)
    replaceabilities: tuple[str, ...] = tuple(Replaceability)
    value_bands: tuple[str, ...] = tuple(ValueBand)


@dataclass(frozen=True)
class ChosenWork:
    """A work that is to be moved."""

    id: int
    number: str
    title: str


@dataclass(frozen=True)
class MovePage:
    """What templates/works/move.html is given."""

    works: tuple[ChosenWork, ...]
    typed: Mapping[str, str]
    places: tuple[str, ...]
    people: tuple[str, ...]
    faults: tuple[Fault, ...] = ()


@dataclass(frozen=True)
class WithdrawPage:
    """What templates/works/withdraw.html is given."""

    work: WorkOnRecord
    reason: str = ""
    faults: tuple[Fault, ...] = ()


@router.get("", dependencies=[requires(Deed.READ)])
def listed(
    request: Request,
    session: ReadSession,
    viewer: SignedIn,
    today: Today,
    q: QueryLine = "",
    owner: QueryLine = "",
    place: QueryLine = "",
    after: QueryLine = "",
) -> Response:
    """Show the works, or those that were asked for."""
    is_plain_search = bool(q.strip()) and not (owner or place or after)
    exact = _exactly(session, viewer, q.strip()) if is_plain_search else None
    if exact is not None:
        return RedirectResponse(f"/works/{exact}", SEE_OTHER)
    asked = WorksAsked(
        q=q, owner=owner or None, place=place or None, limit=A_PAGE, after=after or None
    )
    tree = place_tree(session)
    try:
        found = find_works(session, viewer, asked, tree=tree)
    except UnknownWord:
        # An owner or a place of an old address is there no more: nothing is found.
        found = find_works(session, viewer, WorksAsked(number=""), tree=tree)
    keys = [work.id for work in found.works]
    marks = marks_of_works(session, viewer, keys, today=day_number(today))
    pictures = latest_recto_of(session, viewer, keys)
    narrowed = {"q": q, "owner": owner, "place": place}
    page = WorksPage(
        q=q,
        owner=owner,
        place=place,
        owners=tuple(one.name for one in list_owners(session, viewer)),
        places=tuple(path for _, path in places_seen(session, viewer, tree)),
        rows=tuple(_row(work, marks.get(work.id), pictures.get(work.id)) for work in found.works),
        is_narrowed=any(text.strip() for text in (*narrowed.values(), after)),
        goes_on_at=_goes_on_at(narrowed, found.next_after),
        near=found.near,
        may_add=may(viewer.role, Deed.KEEP_REGISTER),
        may_move=may(viewer.role, Deed.MOVE_WORK),
    )
    return show(request, "works/list.html", page)


@router.get("/new", dependencies=[requires(Deed.KEEP_REGISTER)])
def new_page(request: Request, session: ReadSession, viewer: SignedIn) -> Response:
    """Ask what is known of a new work."""
    blank = dict.fromkeys(FIELDS, "")
    typed = {**blank, "replaceability": Replaceability.UNIQUE, "value_band": ValueBand.NORMAL}
    return show(request, "works/form.html", _form_page(session, viewer, typed))


@router.post("/new", dependencies=[requires(Deed.KEEP_REGISTER)])
def new_sent(
    request: Request, session: WriteSession, viewer: SignedIn, today: Today, form: Typed
) -> Response:
    """Put a work on record."""
    page = _form_page(session, viewer, typed_in(form, FIELDS))
    answers = Answers(form)
    told = _told(answers)
    try:
        work = register_work(session, viewer, told, today=day_number(today))
        answers.refuse()
    except Refusal as error:
        faults = with_faults_of_record(answers.wrong(), error, FIELDS, _CODES)
        return show(request, "works/form.html", replace(page, faults=faults), REFUSED)
    return RedirectResponse(f"/works/{work.id}", SEE_OTHER)


@router.get("/move", dependencies=[requires(Deed.MOVE_WORK)])
def move_page(
    request: Request,
    session: ReadSession,
    viewer: SignedIn,
    recognised: MaybeSignedIn,
    today: Today,
    work: Annotated[list[str] | None, Query(max_length=MOST_MOVED)] = None,
) -> Response:
    """Ask where the chosen works went, and when."""
    chosen = [int(text) for text in work or () if is_key(text)]
    by = recognised.name if recognised else ""
    typed = {"place": "", "on": day(today), "by": by, "note": ""}
    return show(request, "works/move.html", _move_page(session, viewer, chosen, typed))


@router.post("/move", dependencies=[requires(Deed.MOVE_WORK)])
def move_sent(
    request: Request, session: WriteSession, viewer: SignedIn, today: Today, form: Typed
) -> Response:
    """Record one move of all chosen works."""
    chosen = keys_in(form, "work")
    page = _move_page(session, viewer, chosen, typed_in(form, MOVE_FIELDS))
    try:
        if not chosen:
            raise BadValue("No work is chosen.", [Fault("", "Choose the works in the list first.")])
        move_works(session, viewer, chosen, _move_told(form), today=day_number(today))
    except Refusal as error:
        faults = faults_beside(error, MOVE_FIELDS, {"already_there": "place", **_WRONG_DAY})
        return show(request, "works/move.html", replace(page, faults=faults), REFUSED)
    one = len(chosen) == 1
    there = urlencode({"place": form["place"]})
    return RedirectResponse(f"/works/{chosen[0]}" if one else f"/works?{there}", SEE_OTHER)


_WRONG_DAY = dict.fromkeys(("in_the_future", "ended_before_it_began", "two_places_at_once"), "on")


@router.get("/{work_id:int}/move", dependencies=[requires(Deed.MOVE_WORK)])
def move_one(work_id: PathId) -> Response:
    """Lead to the move of one work."""
    return RedirectResponse(f"/works/move?work={work_id}", SEE_OTHER)


@router.get("/{work_id:int}/change", dependencies=[requires(Deed.KEEP_REGISTER)])
def change_page(
    request: Request, session: ReadSession, viewer: SignedIn, work_id: PathId
) -> Response:
    """Show what is known of a work, to be corrected."""
    work = read_work(session, viewer, work_id)
    return show(request, "works/form.html", _form_page(session, viewer, _typed(work.told), work))


@router.post("/{work_id:int}/change", dependencies=[requires(Deed.KEEP_REGISTER)])
def change_sent(
    request: Request,
    session: WriteSession,
    viewer: SignedIn,
    today: Today,
    work_id: PathId,
    form: Typed,
) -> Response:
    """Correct what is known of a work; was somebody quicker, both states are shown."""
    work = read_work(session, viewer, work_id)
    typed = {**typed_in(form, FIELDS), "place": work.told.place or ""}
    page = replace(_form_page(session, viewer, typed, work), version=version_in(form))
    answers = Answers(form)
    changes = _changes(_told(answers))
    try:
        change_work(
            session, viewer, work_id, changes, based_on=version_in(form), today=day_number(today)
        )
        answers.refuse()
    except Stale as error:
        quicker = replace(
            page,
            version=work.version,
            faults=(Fault("", error.message),),
            differences=differences(LABELS, typed, _typed(work.told)),
        )
        return show(request, "works/form.html", quicker, STALE)
    except Refusal as error:
        faults = with_faults_of_record(answers.wrong(), error, FIELDS, _CODES)
        return show(request, "works/form.html", replace(page, faults=faults), REFUSED)
    return RedirectResponse(f"/works/{work_id}", SEE_OTHER)


@router.get("/{work_id:int}/withdraw", dependencies=[requires(Deed.WITHDRAW)])
def withdraw_page(
    request: Request, session: ReadSession, viewer: SignedIn, work_id: PathId
) -> Response:
    """Ask why a work is taken off the register."""
    work = read_work(session, viewer, work_id)
    return show(request, "works/withdraw.html", WithdrawPage(work))


@router.post("/{work_id:int}/withdraw", dependencies=[requires(Deed.WITHDRAW)])
def withdraw_sent(
    request: Request,
    session: WriteSession,
    viewer: SignedIn,
    today: Today,
    work_id: PathId,
    form: Typed,
) -> Response:
    """Take a work off the register, with a reason."""
    work = read_work(session, viewer, work_id)
    reason = form["reason"]
    try:
        form.require_clean()
        withdraw_work(session, viewer, work_id, reason, today=day_number(today))
    except Refusal as error:
        faults = tuple(Fault("/reason", f.message) for f in faults_beside(error, ()))
        return show(request, "works/withdraw.html", WithdrawPage(work, reason, faults), REFUSED)
    return RedirectResponse("/works", SEE_OTHER)


def _exactly(session: Session, viewer: Viewer, text: str) -> int | None:
    """Return the one work whose number or label code this is, as it was typed."""
    work = find_work_by_number(session, viewer, text)
    if work is not None:
        return work.id
    try:
        work = find_work_by_code(session, viewer, read_code(text))
    except BadValue:
        work = None
    if work is not None:
        return work.id
    if not any(letter.isdigit() for letter in text):
        return None
    # Capitals and blanks are typed as they come.
    near = find_works(session, viewer, WorksAsked(q=text, limit=A_PAGE)).works
    same = [one.id for one in near if _run_together(one.told.number) == _run_together(text)]
    return same[0] if len(same) == 1 else None


def _run_together(text: str) -> str:
    return "".join(plain(text).split())


def _row(work: WorkOnRecord, mark: Mark | None, photograph_id: int | None) -> WorkRow:
    told = work.told
    parts = (told.maker, date_said(told.made), told.technique)
    return WorkRow(
        id=work.id,
        number=told.number,
        title=told.title,
        byline=", ".join(part for part in parts if part),
        place=told.place or "",
        mark=mark,
        photograph_id=photograph_id,
        sheet=sheet_drawing(_side(told.height_mm), _side(told.width_mm)),
    )


def _side(mm: Millimetres | None) -> float | None:
    return None if mm is None else float(mm)


def _goes_on_at(narrowed: Mapping[str, str], after: str | None) -> str:
    if after is None:
        return ""
    asked = {name: text for name, text in narrowed.items() if text}
    return f"/works?{urlencode({**asked, 'after': after})}"


def _form_page(
    session: Session, viewer: Viewer, typed: Mapping[str, str], work: WorkOnRecord | None = None
) -> WorkFormPage:
    return WorkFormPage(
        work_id=None if work is None else work.id,
        version=0 if work is None else work.version,
        typed=typed,
        techniques=tuple(one.name for one in techniques(session)),
        owners=tuple(one.name for one in list_owners(session, viewer)),
        places=place_paths(session, viewer),
    )


def _typed(told: WorkTold) -> dict[str, str]:
    image = told.image or ImageTold()
    measures = {f"image/{name}": figure_to_type(getattr(image, name)) for name in IMAGE}
    texts = ("number", "title", "maker", "technique", "support", "surface", "owner", "place")
    return {
        **{name: getattr(told, name) or "" for name in texts},
        **measures,
        "made": date_to_type(told.made),
        "height_mm": figure_to_type(told.height_mm),
        "width_mm": figure_to_type(told.width_mm),
        "replaceability": told.replaceability,
        "value_band": told.value_band,
        "light_class": figure_to_type(told.light_class),
        "note": told.note,
    }


def _told(answers: Answers) -> WorkTold:
    """Return the work as told by a form; `answers` keeps every fault of its texts."""
    return WorkTold(
        number=answers.text("number"),
        title=answers.text("title"),
        maker=answers.text("maker"),
        made=answers.read("made", edtf),
        technique=answers.if_typed("technique"),
        support=answers.text("support"),
        surface=answers.read("surface", one_of(Surface)),
        height_mm=answers.read("height_mm", length),
        width_mm=answers.read("width_mm", length),
        image=_image(answers),
        replaceability=answers.read("replaceability", one_of(Replaceability))
        or Replaceability.UNIQUE,
        value_band=answers.read("value_band", one_of(ValueBand)) or ValueBand.NORMAL,
        light_class=answers.read("light_class", whole),
        owner=answers.if_typed("owner"),
        place=answers.if_typed("place"),
        note=answers.text("note"),
    )


def _image(answers: Answers) -> ImageTold | None:
    sizes = {name: answers.read(f"image/{name}", length) for name in IMAGE}
    is_told = any(answers.if_typed(f"image/{name}") for name in IMAGE)
    return ImageTold(**sizes) if is_told else None


def _changes(told: WorkTold) -> dict[str, object]:
    """Return a merge patch of everything but the place, which is not changed but moved to."""
    changes = {name: value for name, value in vars(told).items() if name != "place"}
    image = None if told.image is None else vars(told.image)
    return {**changes, "image": image}


def _move_page(
    session: Session, viewer: Viewer, chosen: Sequence[int], typed: Mapping[str, str]
) -> MovePage:
    works = works_with_keys(session, viewer, chosen)
    return MovePage(
        works=tuple(ChosenWork(work.id or 0, work.number, work.title) for work in works),
        typed=typed,
        places=place_paths(session, viewer),
        people=tuple(one.told.name for one in list_people(session, viewer) if not one.is_erased),
    )


def _move_told(form: TypedForm) -> MoveTold:
    answers = Answers(form)
    told = MoveTold(
        place=answers.needed("place", str, ""),
        on=answers.read("on", edtf),
        by=answers.if_typed("by"),
        note=answers.text("note"),
    )
    answers.refuse()
    return told
