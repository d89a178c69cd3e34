"""What are packages made of, on what does each figure rest, and which works does it touch?

What a label claims stands apart from what is known. Figures are corrected by a new
edition; the older ones can be opened. A recall asks for a reason and answers with the
works it touches, pulled forward.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import groupby
from typing import Annotated
from urllib.parse import urlencode

from fastapi import APIRouter, Query, Request
from fastapi.responses import RedirectResponse, Response
from sqlmodel import Session

from api.dependencies import ReadSession, SignedIn, Today, WriteSession, requires
from api.forms import Typed, TypedForm
from api.pages.dates_said import date_said, span_said
from api.pages.form_answers import (
    REFUSED,
    STALE,
    Answers,
    Difference,
    Refusal,
    differences,
    edtf,
    faults_beside,
    figure_to_type,
    is_key,
    number,
    one_of,
    typed_in,
    version_in,
)
from api.pages.path_ids import PathId
from api.routes import Route
from api.templating import show
from models.actions.lots import LotOnRecord, LotTold, add_lot, list_lots, use_lot
from models.actions.materials import (
    FIGURES,
    FiguresTold,
    LotState,
    MaterialOnRecord,
    MaterialsAsked,
    MaterialTold,
    add_material,
    change_material,
    correct_figures,
    list_editions,
    read_material,
    uses_of_material,
)
from models.actions.narrowed_library import narrowed_library
from models.actions.recalls import (
    RecallOnRecord,
    list_recalls,
)
from models.errors import BadValue, Fault, HingebookError, NotFound, Stale
from models.rules.calendar_days import day_number
from models.rules.half_known_dates import exact_day, from_words
from models.rules.permissions import Deed, may
from models.tables.material_uses import Use, UseKey
from models.tables.materials import Material, materials
from models.tables.visible import Viewer
from models.vocabulary import Freeing, Mechanism, PatResult
from seed_data.shipped import shipped_default_figures

router = APIRouter(prefix="/materials", route_class=Route)

SEE_OTHER = 303
A_PAGE, USES_SHOWN = 200, 50
WORDS = {
    "name": "name",
    "kind": "kind",
    "claim": "what its label claims",
    "caution": "caution",
    "note": "note",
}
LOT_FIELDS = ("number", "received", "lot_note")
NUMBERS = {
    "ph": "pH",
    "alkaline_reserve_percent": "Alkaline reserve, % CaCO\N{SUBSCRIPT THREE} by mass",
    "kappa": "Kappa number (lignin)",
    "thickness_mm": "Thickness, mm",
    "mass_g_per_m2": "Mass, g/m\N{SUPERSCRIPT TWO}",
    "sheet_height_mm": "Sheet height, mm",
    "sheet_width_mm": "Sheet width, mm",
    "uv_block_percent": "Blocks UV, %",
}
LABELS = {
    "grade": "Grade",
    "hold_grade": "Grade as a hold",
    "frees_by": "Comes off by",
    "pat": "Photographic Activity Test",
    "pat_on": "Tested on",
    "buffered": "Buffered",
    "barrier": "Barrier",
    **NUMBERS,
}
# In the order in which they are read: what it is, what is in it, how big it is.
ORDER = (
    *("grade", "hold_grade", "frees_by", "ph", "alkaline_reserve_percent", "kappa"),
    *("buffered", "pat", "pat_on", "barrier", "uv_block_percent"),
    *("thickness_mm", "mass_g_per_m2", "sheet_height_mm", "sheet_width_mm"),
)
YES_OR_NO = ("yes", "no")
GIVEN_UP = {"q": "the words", "kind": "the kind", "grade": "the grade", "lot": "the lot"}
_LOT_STATES = {str(state): state for state in LotState}
FIGURE_FIELDS = (*ORDER, *(f"basis/{name}" for name in ORDER))

QueryLine = Annotated[str, Query(max_length=500)]


@dataclass(frozen=True)
class OnShelf:
    """A material in its list; `compare_at` is the next tap of a comparison."""

    material: MaterialOnRecord
    compare_at: str


@dataclass(frozen=True)
class KindShown:
    """The materials of one kind."""

    kind: str
    materials: tuple[OnShelf, ...]


@dataclass(frozen=True)
class Choice:
    """One thing to choose in a list of choices, and how many materials answer to it."""

    value: str
    count: int
    is_chosen: bool


@dataclass(frozen=True)
class ToGiveUp:
    """One thing asked for, how many there would be without it, and where."""

    what: str
    count: int
    at: str


@dataclass(frozen=True)
class LibraryPage:
    """What templates/materials/list.html is given."""

    q: str
    kinds: tuple[Choice, ...]
    grades: tuple[Choice, ...]
    lots: tuple[Choice, ...]
    count: int
    of_all: int
    shelves: tuple[KindShown, ...]
    recalls: tuple[RecallOnRecord, ...]
    give_up: tuple[ToGiveUp, ...]
    beside: MaterialOnRecord | None
    all_at: str
    leave_beside_at: str
    goes_on_at: str
    is_narrowed: bool
    may_add: bool


@dataclass(frozen=True)
class FigureShown:
    """One figure that is known, and what it rests on."""

    label: str
    value: str
    basis: str


@dataclass(frozen=True)
class EditionShown:
    """An edition of the figures."""

    edition: int
    figures: tuple[FigureShown, ...]


@dataclass(frozen=True)
class LotShown:
    """A delivery."""

    id: int
    number: str
    received: str
    in_use: bool
    note: str
    is_recalled: bool


@dataclass(frozen=True)
class UseShown:
    """A use on one work, or several alike."""

    work_id: int
    number: str
    what: str
    lot: str
    lasted: str


@dataclass(frozen=True)
class MaterialPage:
    """What templates/materials/material.html is given; `typed` is what a refused form held."""

    material: MaterialOnRecord
    known: tuple[FigureShown, ...]
    older: tuple[EditionShown, ...]
    lots: tuple[LotShown, ...]
    uses: tuple[UseShown, ...]
    uses_go_on_at: str
    recalls: tuple[RecallOnRecord, ...]
    may_keep: bool
    may_keep_lots: bool
    may_recall: bool
    typed: Mapping[str, str]
    faults: tuple[Fault, ...] = ()


@dataclass(frozen=True)
class FigureChoices:
    """What the form of figures offers."""

    labels: Mapping[str, str]
    numbers: tuple[str, ...]
    grades: tuple[str, ...]
    hold_grades: tuple[str, ...]
    frees_by: tuple[str, ...] = tuple(Freeing)
    pat: tuple[str, ...] = tuple(PatResult)
    yes_or_no: tuple[str, ...] = YES_OR_NO


@dataclass(frozen=True)
class FormPage:
    """What templates/materials/form.html is given; without `material_id` it is new."""

    material_id: int | None
    version: int
    typed: Mapping[str, str]
    kinds: tuple[str, ...]
    figures: FigureChoices
    faults: tuple[Fault, ...] = ()
    differences: tuple[Difference, ...] = ()


@dataclass(frozen=True)
class FiguresPage:
    """What templates/materials/figures.html is given; `edition` is the one that was seen."""

    material: MaterialOnRecord
    edition: int
    typed: Mapping[str, str]
    figures: FigureChoices
    faults: tuple[Fault, ...] = ()
    differences: tuple[Difference, ...] = ()


@router.get("", dependencies=[requires(Deed.READ)])
def library(
    request: Request,
    session: ReadSession,
    viewer: SignedIn,
    q: QueryLine = "",
    kind: QueryLine = "",
    grade: QueryLine = "",
    lot: QueryLine = "",
    beside: QueryLine = "",
    after: QueryLine = "",
) -> Response:
    """Show the library by kind, narrowed to all that is asked together."""
    typed = {"q": q, "kind": kind, "grade": grade, "lot": lot, "beside": beside}
    narrowed = {name: text for name, text in typed.items() if text}
    found = narrowed_library(
        session,
        viewer,
        MaterialsAsked(
            q=q,
            kind=kind or None,
            grade=grade or None,
            lot=_LOT_STATES.get(lot),
            limit=A_PAGE,
            after=after or None,
        ),
    )
    first = _beside(session, viewer, beside)
    page = LibraryPage(
        q=q,
        kinds=_choices_of(found.kinds, kind),
        grades=_choices_of(found.grades, grade),
        lots=_choices_of(found.lots, lot),
        count=found.count,
        of_all=found.of_all,
        shelves=_shelves(found.materials, narrowed, first),
        recalls=tuple(list_recalls(session, viewer, open_only=True)),
        give_up=tuple(
            ToGiveUp(GIVEN_UP[name], count, _library_at(narrowed, name))
            for name, count in found.without.items()
        ),
        beside=first,
        all_at=_library_at({"beside": beside} if beside else {}),
        leave_beside_at=_library_at(narrowed, "beside"),
        goes_on_at="" if (on := found.goes_on_after) is None else _library_at(narrowed, after=on),
        is_narrowed=bool(found.without),
        may_add=may(viewer.role, Deed.KEEP_MATERIALS),
    )
    return show(request, "materials/list.html", page)


@router.get("/new", dependencies=[requires(Deed.KEEP_MATERIALS)])
def new_page(request: Request, session: ReadSession) -> Response:
    """Ask what is known of a new material."""
    blank = dict.fromkeys((*WORDS, *FIGURE_FIELDS), "")
    typed = {**blank, "pat": PatResult.NOT_TESTED}
    return show(request, "materials/form.html", _form_page(session, typed))


@router.post("/new", dependencies=[requires(Deed.KEEP_MATERIALS)])
def new_sent(request: Request, session: WriteSession, viewer: SignedIn, form: Typed) -> Response:
    """Add a material with the first edition of its figures."""
    page = _form_page(session, typed_in(form, (*WORDS, *FIGURE_FIELDS)))
    answers = Answers(form)
    try:
        figures = _figures(answers)
        answers.refuse()
        material = add_material(
            session, viewer, _words(answers), figures, defaults=shipped_default_figures()
        )
    except Refusal as error:
        refused = replace(page, faults=_beside_figures(error))
        return show(request, "materials/form.html", refused, REFUSED)
    return RedirectResponse(f"/materials/{material.id}", SEE_OTHER)


@router.get("/{material_id:int}", dependencies=[requires(Deed.READ)])
def one(
    request: Request,
    session: ReadSession,
    viewer: SignedIn,
    material_id: PathId,
    after: QueryLine = "",
) -> Response:
    """Show a material: claims, figures, lots, uses, recalls."""
    page = _material_page(session, viewer, material_id, after=_use_key(after))
    return show(request, "materials/material.html", page)


@router.get("/{material_id:int}/change", dependencies=[requires(Deed.KEEP_MATERIALS)])
def change_page(
    request: Request, session: ReadSession, viewer: SignedIn, material_id: PathId
) -> Response:
    """Show the words of a material, to be corrected."""
    material = read_material(session, viewer, material_id)
    page = _form_page(session, _words_typed(material), material)
    return show(request, "materials/form.html", page)


@router.post("/{material_id:int}/change", dependencies=[requires(Deed.KEEP_MATERIALS)])
def change_sent(
    request: Request,
    session: WriteSession,
    viewer: SignedIn,
    today: Today,
    material_id: PathId,
    form: Typed,
) -> Response:
    """Correct the words of a material."""
    material = read_material(session, viewer, material_id)
    page = _form_page(session, typed_in(form, WORDS), material)
    answers = Answers(form)
    try:
        answers.refuse()
        changes = vars(_words(answers))
        change_material(
            session,
            viewer,
            material_id,
            changes,
            based_on=version_in(form),
            today=day_number(today),
        )
    except Stale as error:
        stale = replace(
            page,
            faults=(Fault("", error.message),),
            differences=differences(WORDS, page.typed, _words_typed(material)),
        )
        return show(request, "materials/form.html", stale, STALE)
    except Refusal as error:
        refused = replace(page, version=version_in(form), faults=_beside_figures(error))
        return show(request, "materials/form.html", refused, REFUSED)
    return RedirectResponse(f"/materials/{material_id}", SEE_OTHER)


@router.get("/{material_id:int}/figures", dependencies=[requires(Deed.KEEP_MATERIALS)])
def figures_page(
    request: Request, session: ReadSession, viewer: SignedIn, material_id: PathId
) -> Response:
    """Show the newest figures, to be corrected in a new edition."""
    material = read_material(session, viewer, material_id)
    page = FiguresPage(material, material.edition, _figures_typed(material), _choices())
    return show(request, "materials/figures.html", page)


@router.post("/{material_id:int}/figures", dependencies=[requires(Deed.KEEP_MATERIALS)])
def figures_sent(
    request: Request,
    session: WriteSession,
    viewer: SignedIn,
    today: Today,
    material_id: PathId,
    form: Typed,
) -> Response:
    """Add an edition of the figures that differs in what was changed."""
    material = read_material(session, viewer, material_id)
    typed = typed_in(form, FIGURE_FIELDS)
    page = FiguresPage(material, material.edition, typed, _choices())
    if form["edition"] != str(material.edition):
        quicker = Fault("", "Somebody added an edition since you began; look at it and choose.")
        rests = {f"basis/{name}": f"{label}, rests on" for name, label in LABELS.items()}
        differs = differences({**LABELS, **rests}, typed, _figures_typed(material))
        stale = replace(page, faults=(quicker,), differences=differs)
        return show(request, "materials/figures.html", stale, STALE)
    answers = Answers(form)
    try:
        figures = _figures(answers)
        answers.refuse()
        correct_figures(
            session,
            viewer,
            material_id,
            _figure_changes(material.figures, figures),
            defaults=shipped_default_figures(),
            today=day_number(today),
        )
    except Refusal as error:
        refused = replace(page, faults=_beside_figures(error))
        return show(request, "materials/figures.html", refused, REFUSED)
    return RedirectResponse(f"/materials/{material_id}", SEE_OTHER)


@router.post("/{material_id:int}/lots", dependencies=[requires(Deed.KEEP_LOTS)])
def lot_sent(
    request: Request,
    session: WriteSession,
    viewer: SignedIn,
    today: Today,
    material_id: PathId,
    form: Typed,
) -> Response:
    """Add a delivery."""
    page = _material_page(session, viewer, material_id, form=form)
    answers = Answers(form)
    try:
        lot = LotTold(
            number=answers.text("number"),
            received=answers.read("received", edtf),
            in_use=bool(form["in_use"]),
            note=answers.text("lot_note"),
        )
        answers.refuse()
        add_lot(session, viewer, material_id, lot, today=day_number(today))
    except Refusal as error:
        codes = {"number_taken": "number", "in_the_future": "received"}
        faults = faults_beside(error, LOT_FIELDS, codes)
        return show(request, "materials/material.html", replace(page, faults=faults), REFUSED)
    return RedirectResponse(f"/materials/{material_id}#lots", SEE_OTHER)


@router.post("/lots/{lot_id:int}/use", dependencies=[requires(Deed.KEEP_LOTS)])
def lot_used(session: WriteSession, viewer: SignedIn, lot_id: PathId) -> Response:
    """Take a lot into use."""
    lot = use_lot(session, viewer, lot_id)
    return RedirectResponse(f"/materials/{lot.material_id}#lots", SEE_OTHER)


def _beside(session: Session, viewer: Viewer, typed: str) -> MaterialOnRecord | None:
    """Return the first of two; none where the address names nothing on record."""
    if not is_key(typed):
        return None
    try:
        return read_material(session, viewer, int(typed))
    except NotFound:
        return None


def _shelves(
    found: Sequence[MaterialOnRecord], asked: Mapping[str, str], first: MaterialOnRecord | None
) -> tuple[KindShown, ...]:
    by_kind = sorted(found, key=lambda one: one.told.kind)
    return tuple(
        KindShown(shelf, tuple(OnShelf(one, _compare_at(one, asked, first)) for one in those))
        for shelf, those in groupby(by_kind, lambda one: one.told.kind)
    )


def _compare_at(
    one: MaterialOnRecord, asked: Mapping[str, str], first: MaterialOnRecord | None
) -> str:
    """Return where the next tap leads: to what may lie beside it, or to both."""
    if first is None:
        # What is of another kind is seldom meant; the kind can be given up again.
        return _library_at({"kind": one.told.kind, **asked}, beside=str(one.id))
    if first.id == one.id:
        return ""
    return f"/materials/compare?{urlencode({'a': first.id, 'b': one.id})}"


def _library_at(asked: Mapping[str, str], without: str = "", **more: str) -> str:
    """Return the address of the library asked for this, without one thing or with another."""
    told = {name: text for name, text in {**asked, **more}.items() if name != without}
    return f"/materials?{urlencode(told)}" if told else "/materials"


def _choices_of(counts: Mapping[str, int], chosen: str) -> tuple[Choice, ...]:
    return tuple(Choice(value, count, value == chosen) for value, count in counts.items())


def _kinds(session: Session) -> tuple[str, ...]:
    return tuple(sorted({material.kind for material in materials(session)}))


def _material_page(
    session: Session,
    viewer: Viewer,
    material_id: int,
    *,
    after: UseKey | None = None,
    form: TypedForm | None = None,
) -> MaterialPage:
    # Held while the page is made: each part asks whether it is there, and finds it at hand.
    held = session.get(Material, material_id)
    if held is None:
        raise NotFound("material", material_id)
    material = read_material(session, viewer, material_id)
    editions = list_editions(session, viewer, material_id)
    lots = list_lots(session, viewer, material_id)
    uses, on = uses_of_material(session, viewer, material_id, limit=USES_SHOWN, after=after)
    recalls = list_recalls(session, viewer, open_only=False)
    fields = ("number", "received", "in_use", "lot_note", "reason")
    by_lot = tuple(f"reason-{lot.id}" for lot in lots)
    return MaterialPage(
        material=material,
        known=figures_known(material.figures),
        older=tuple(EditionShown(n, figures_known(told)) for n, told in reversed(editions[:-1])),
        lots=tuple(_lot(lot) for lot in lots),
        uses=_uses(uses),
        uses_go_on_at=_uses_go_on_at(material_id, on),
        recalls=tuple(recall for recall in recalls if recall.material_id == material_id),
        may_keep=may(viewer.role, Deed.KEEP_MATERIALS),
        may_keep_lots=may(viewer.role, Deed.KEEP_LOTS),
        may_recall=may(viewer.role, Deed.RECALL),
        typed={name: "" if form is None else form[name] for name in (*fields, *by_lot)},
    )


def figures_known(figures: FiguresTold) -> tuple[FigureShown, ...]:
    """Return the figures that are known, in the order in which they are read."""
    basis = figures.basis or {}
    said = ((name, _said(name, getattr(figures, name))) for name in ORDER)
    return tuple(FigureShown(LABELS[n], text, basis.get(n, "")) for n, text in said if text)


def _said(name: str, value: object) -> str:
    match value:
        case None:
            return ""
        case False if name == "barrier":
            return ""
        case bool():
            return "yes" if value else "no"
        case float() | int():
            return figure_to_type(value)
        case str() if name == "pat_on":
            return date_said(value)
        case _:
            return str(value)


def _lot(lot: LotOnRecord) -> LotShown:
    return LotShown(
        id=lot.id,
        number=lot.told.number,
        received=date_said(lot.told.received),
        in_use=lot.told.in_use,
        note=lot.told.note,
        is_recalled=lot.is_recalled,
    )


def _uses(uses: Sequence[Use]) -> tuple[UseShown, ...]:
    """Return the uses, those of one work that lasted as long in one line."""
    alike = groupby(uses, lambda use: (use.work_id, use.work_number, use.lot, _lasted(use)))
    return tuple(
        UseShown(key, number, ", ".join(_what(use) for use in those), lot or "", lasted)
        for (key, number, lot, lasted), those in alike
    )


def _lasted(use: Use) -> str:
    return span_said(use.since_edtf, use.until_edtf, ended=not use.is_current)


def _what(use: Use) -> str:
    if use.kind == "layer":
        return use.place
    return f"{use.kind}, {use.place}" if use.place else use.kind


def _use_key(after: str) -> UseKey | None:
    row, _, rest = after.partition(".")
    kind, between, work_number = rest.partition(".")
    return (work_number, kind, int(row)) if is_key(row) and between else None


def _uses_go_on_at(material_id: int, after: UseKey | None) -> str:
    if after is None:
        return ""
    work_number, kind, row_id = after
    asked = urlencode({"after": f"{row_id}.{kind}.{work_number}"})
    return f"/materials/{material_id}?{asked}#uses"


def _form_page(
    session: Session, typed: Mapping[str, str], material: MaterialOnRecord | None = None
) -> FormPage:
    return FormPage(
        material_id=None if material is None else material.id,
        version=0 if material is None else material.version,
        typed=typed,
        kinds=_kinds(session),
        figures=_choices(),
    )


def _choices() -> FigureChoices:
    defaults = shipped_default_figures()
    layer = (
        *defaults.grades(Mechanism.ACID_MIGRATION),
        *defaults.grades(Mechanism.ADHESIVE_AGEING),
    )
    return FigureChoices(
        labels=LABELS,
        numbers=tuple(NUMBERS),
        grades=layer,
        hold_grades=defaults.grades(Mechanism.HOLD_FAILURE),
    )


def _words(answers: Answers) -> MaterialTold:
    return MaterialTold(**{name: answers.text(name) for name in WORDS})


def _words_typed(material: MaterialOnRecord) -> dict[str, str]:
    return {name: getattr(material.told, name) for name in WORDS}


def _figures(answers: Answers) -> FiguresTold:
    """Return the figures as told by a form; faults are noted with the answers."""
    numbers = {name: answers.read(name, number) for name in NUMBERS}
    buffered = answers.if_typed("buffered")
    basis = {n: text for n in ORDER if (text := answers.if_typed(f"basis/{n}")) is not None}
    return FiguresTold(
        grade=answers.if_typed("grade"),
        hold_grade=answers.if_typed("hold_grade"),
        frees_by=answers.read("frees_by", one_of(Freeing)),
        pat=answers.read("pat", one_of(PatResult)) or PatResult.NOT_TESTED,
        pat_on=answers.read("pat_on", _a_day),
        buffered=None if buffered is None else buffered == "yes",
        barrier=answers.text("barrier") == "yes",
        basis=basis,
        **numbers,
    )


def _a_day(text: str) -> str:
    on = exact_day(from_words(text))
    if on is None:
        raise BadValue(f"{text!r} is not one day; write 20 November 2026.")
    return on.isoformat()


def _figures_typed(material: MaterialOnRecord) -> dict[str, str]:
    figures = material.figures
    basis = figures.basis or {}
    typed = {name: _said(name, getattr(figures, name)) for name in ORDER}
    return {**typed, **{f"basis/{name}": basis.get(name, "") for name in ORDER}}


def _figure_changes(kept: FiguresTold, told: FiguresTold) -> dict[str, object]:
    """Return what differs. Raises BadValue when nothing does: an edition says something new."""
    changes: dict[str, object] = {
        name: getattr(told, name) for name in FIGURES if getattr(told, name) != getattr(kept, name)
    }
    old, new = dict(kept.basis or {}), dict(told.basis or {})
    basis = {n: new.get(n, "") for n in {*old, *new} if old.get(n, "") != new.get(n, "")}
    # What a changed figure rests on is told anew, even where the words stayed the same.
    basis |= {name: new[name] for name in changes if name in new}
    if not changes and not basis:
        raise BadValue("Nothing differs.", [Fault("", "Nothing differs from the newest edition.")])
    return {**changes, "basis": basis}


def _beside_figures(error: HingebookError) -> tuple[Fault, ...]:
    if isinstance(error, BadValue):
        error.faults = tuple(
            Fault(f.pointer.removeprefix("/figures"), f.message, f.right) for f in error.faults
        )
    return faults_beside(error, (*WORDS, *FIGURE_FIELDS), {"name_taken": "name"})
