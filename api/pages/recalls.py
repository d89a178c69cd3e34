"""What was found bad, which works does it touch, and which would it touch before it is done?

A recall is looked at first: every work in its reach, the nearest first, and which of them
would be due at once. Then it is one deliberate act, with its reason. What is shown before
writes nothing.
"""

from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from itertools import groupby
from typing import Annotated, TypeVar

from fastapi import APIRouter, Depends, Query, Request
from fastapi.responses import RedirectResponse, Response
from sqlmodel import Session

from api.dependencies import ReadSession, SignedIn, Today, WriteSession, requires
from api.forms import Typed, TypedForm
from api.pages.dates_said import span_said
from api.pages.form_answers import REFUSED, Refusal, is_key
from api.pages.path_ids import PathId
from api.routes import Route
from api.templating import show
from models.actions.due import Mark, marks_of_works, state_of
from models.actions.recall_preview import (
    RecallPreview,
    WorkInReach,
    preview_lot_recall,
    preview_material_recall,
)
from models.actions.recalls import (
    RecallOnRecord,
    lift_recall,
    read_recall,
    recall_lot,
    recall_material,
    works_touched,
)
from models.errors import BadValue, Fault, HingebookError
from models.rules.calendar_days import day_number
from models.rules.inspection_schedule import shown_day
from models.rules.permissions import Deed, may
from models.rules.recall_reach import Reach
from models.tables.material_uses import Use
from models.tables.visible import Viewer

router = APIRouter(prefix="/materials", route_class=Route)

SEE_OTHER = 303
WORKS_A_PAGE = 100
# What happens to a work in each group, in words that follow its number.
THEN = {
    Reach.TOUCHES: "Due at once: what is recalled is to be taken away from the work.",
    Reach.IN_PACKAGE: "Judged anew. A package that was sound counts as doubtful, and may be"
    " opened sooner for it.",
    Reach.ON_WORK: "No date comes nearer: there is no layer to take away.",
    Reach.FORMERLY: "Nothing changes; it may be worth a look for what it left.",
}
NAMES = {
    Reach.TOUCHES: "It touches the work, or holds it",
    Reach.IN_PACKAGE: "It lies in the package, apart from the work",
    Reach.ON_WORK: "It was put on the work, or is left on it",
    Reach.FORMERLY: "It was there formerly",
}

From = Annotated[int, Query(alias="from", ge=0, le=1_000_000)]
Whole = Annotated[bool, Query()]
Thing = TypeVar("Thing")


@dataclass(frozen=True)
class OnePage:
    """Which part of a long list is shown, and from which place it goes on and back."""

    first: int
    last: int
    of_all: int
    back_from: int | None
    on_from: int | None
    is_a_part: bool


@dataclass(frozen=True)
class WorkShown:
    """A work in reach of a recall: where what is recalled is, and how the work stands now."""

    id: int
    number: str
    title: str
    where: str
    lasted: str
    mark: Mark
    comes_nearer: bool
    is_due_already: bool
    turns_doubtful: bool


@dataclass(frozen=True)
class GroupShown:
    """Works that a recall comes equally near to, as far as this page shows them."""

    name: str
    then: str
    count: int
    is_begun: bool
    works: tuple[WorkShown, ...]


@dataclass(frozen=True)
class RecallAheadPage:
    """What templates/materials/recall_ahead.html is given."""

    preview: RecallPreview
    path: str
    nearer: int
    due_already: int
    doubtful: int
    formerly: int
    groups: tuple[GroupShown, ...]
    part: OnePage
    reason: str = ""
    faults: tuple[Fault, ...] = ()


@dataclass(frozen=True)
class TouchedWork:
    """A work that a recall touches."""

    id: int
    number: str
    title: str
    mark: Mark | None


@dataclass(frozen=True)
class RecallPage:
    """What templates/materials/recall.html is given."""

    recall: RecallOnRecord
    works: tuple[TouchedWork, ...]
    part: OnePage
    may_recall: bool
    reason: str = ""
    faults: tuple[Fault, ...] = ()


@dataclass(frozen=True)
class Recallable:
    """What can be recalled: how it is looked at before, how it is recalled, and where."""

    preview: Callable[..., RecallPreview]
    recall: Callable[..., RecallOnRecord]
    path: str


MATERIAL = Recallable(preview_material_recall, recall_material, "/materials/{}/recall")
LOT = Recallable(preview_lot_recall, recall_lot, "/materials/lots/{}/recall")


def _meant(request: Request) -> Recallable:
    return LOT if request.url.path.startswith("/materials/lots/") else MATERIAL


Meant = Annotated[Recallable, Depends(_meant)]


@router.get("/{key:int}/recall", dependencies=[requires(Deed.RECALL)])
@router.get("/lots/{key:int}/recall", dependencies=[requires(Deed.RECALL)])
def recall_ahead(
    request: Request,
    session: ReadSession,
    viewer: SignedIn,
    today: Today,
    meant: Meant,
    key: PathId,
    start: From = 0,
    whole: Whole = False,
) -> Response:
    """Show what recalling a material, or one lot of it, would do."""
    page = _ahead(session, viewer, meant, key, day_number(today), start, whole)
    return show(request, "materials/recall_ahead.html", page)


@router.post("/{key:int}/recall", dependencies=[requires(Deed.RECALL)])
@router.post("/lots/{key:int}/recall", dependencies=[requires(Deed.RECALL)])
def recalled(
    request: Request,
    session: WriteSession,
    viewer: SignedIn,
    today: Today,
    meant: Meant,
    key: PathId,
    form: Typed,
) -> Response:
    """Recall a material in every lot, or one lot; or show another part of the list before it."""
    day, reason = day_number(today), form["reason"]
    if part := _part_asked(form):
        request.state.keep = False
        page = _ahead(session, viewer, meant, key, day, *part)
        return show(request, "materials/recall_ahead.html", replace(page, reason=reason))
    try:
        form.require_clean()
        recall = meant.recall(session, viewer, key, reason, today=day)
    except Refusal as error:
        page = _ahead(session, viewer, meant, key, day)
        refused = replace(page, reason=reason, faults=_beside_reason(error))
        return show(request, "materials/recall_ahead.html", refused, REFUSED)
    return RedirectResponse(f"/materials/recalls/{recall.id}", SEE_OTHER)


@router.get("/recalls/{recall_id:int}", dependencies=[requires(Deed.READ)])
def recall_page(
    request: Request,
    session: ReadSession,
    viewer: SignedIn,
    today: Today,
    recall_id: PathId,
    start: From = 0,
    whole: Whole = False,
) -> Response:
    """Show a recall with the works it touches."""
    page = _recall_page(session, viewer, recall_id, day_number(today), start, whole)
    return show(request, "materials/recall.html", page)


@router.post("/recalls/{recall_id:int}/lift", dependencies=[requires(Deed.RECALL)])
def lift_sent(
    request: Request,
    session: WriteSession,
    viewer: SignedIn,
    today: Today,
    recall_id: PathId,
    form: Typed,
) -> Response:
    """Lift a recall, with a reason; or show another part of the list before it."""
    if part := _part_asked(form):
        request.state.keep = False
        page = _recall_page(session, viewer, recall_id, day_number(today), *part)
        return show(request, "materials/recall.html", replace(page, reason=form["reason"]))
    page = _recall_page(session, viewer, recall_id, day_number(today))
    try:
        form.require_clean()
        lift_recall(session, viewer, recall_id, form["reason"], today=day_number(today))
    except Refusal as error:
        refused = replace(page, reason=form["reason"], faults=_beside_reason(error))
        return show(request, "materials/recall.html", refused, REFUSED)
    return RedirectResponse(f"/materials/recalls/{recall_id}", SEE_OTHER)


def _part_asked(form: TypedForm) -> tuple[int, bool] | None:
    """Return which part of its list a form asks for: what was typed goes along; else None."""
    if not (form["from"] or form["whole"]):
        return None
    return int(form["from"]) if is_key(form["from"]) else 0, bool(form["whole"])


def _ahead(
    session: Session,
    viewer: Viewer,
    meant: Recallable,
    key: int,
    today: int,
    start: int = 0,
    whole: bool = False,
) -> RecallAheadPage:
    preview = meant.preview(session, viewer, key, today=today)
    path = meant.path.format(key)
    works = preview.works
    shown, part = _part(works, start, whole)
    touched = sum(work.reach is Reach.TOUCHES for work in works)
    nearer = sum(work.comes_nearer for work in works)
    return RecallAheadPage(
        preview=preview,
        path=path,
        nearer=nearer,
        due_already=touched - nearer,
        doubtful=sum(work.turns_doubtful for work in works if work.reach is Reach.IN_PACKAGE),
        formerly=sum(work.reach is Reach.FORMERLY for work in works),
        groups=_groups(works, shown, today, part.first),
        part=part,
    )


def _groups(
    works: Sequence[WorkInReach], shown: Sequence[WorkInReach], today: int, first: int
) -> tuple[GroupShown, ...]:
    counts = Counter(work.reach for work in works)
    before = Counter(work.reach for work in works[: first - 1])
    return tuple(
        GroupShown(
            name=NAMES[reach],
            then=THEN[reach],
            count=counts[reach],
            is_begun=before[reach] > 0,
            works=tuple(_work(work, today) for work in those),
        )
        for reach, those in groupby(shown, key=lambda work: work.reach)
    )


def _part(things: Sequence[Thing], start: int, whole: bool) -> tuple[Sequence[Thing], OnePage]:
    """Return the part of a long list that this page shows."""
    if whole or len(things) <= WORKS_A_PAGE:
        return things, OnePage(1, len(things), len(things), None, None, False)
    # Begins where a page begins, also for an address that somebody typed.
    start = min(start, len(things) - 1) // WORKS_A_PAGE * WORKS_A_PAGE
    end = min(start + WORKS_A_PAGE, len(things))
    return things[start:end], OnePage(
        first=start + 1,
        last=end,
        of_all=len(things),
        back_from=start - WORKS_A_PAGE if start else None,
        on_from=end if end < len(things) else None,
        is_a_part=True,
    )


def _work(work: WorkInReach, today: int) -> WorkShown:
    state = None if work.due_on is None else state_of(work.due_on, today)
    return WorkShown(
        id=work.id,
        number=work.number,
        title=work.title,
        where=_where(work.uses),
        lasted=_lasted(work.uses),
        mark=Mark(work.verdict, work.due_kind, shown_day(work.due_on, today), state),
        comes_nearer=work.comes_nearer,
        is_due_already=work.reach is Reach.TOUCHES and not work.comes_nearer,
        turns_doubtful=work.turns_doubtful,
    )


def _where(uses: Sequence[Use]) -> str:
    """Return the places in the package, those of one name once, and the lots."""
    at = dict.fromkeys(
        use.place if use.kind == "layer" or not use.place else f"{use.kind}, {use.place}"
        for use in _nearest(uses)
    )
    lots = dict.fromkeys(f"lot {use.lot}" for use in _nearest(uses) if use.lot)
    return "; ".join([", ".join(place or "hold" for place in at), *lots])


def _lasted(uses: Sequence[Use]) -> str:
    first = _nearest(uses)[0]
    return span_said(first.since_edtf, first.until_edtf, ended=not first.is_current)


def _nearest(uses: Sequence[Use]) -> Sequence[Use]:
    """Return what is there now, or else what was."""
    return [use for use in uses if use.is_current] or uses


def _recall_page(
    session: Session,
    viewer: Viewer,
    recall_id: int,
    today: int,
    start: int = 0,
    whole: bool = False,
) -> RecallPage:
    recall = read_recall(session, viewer, recall_id)
    works = works_touched(session, viewer, recall)
    shown, part = _part(works, start, whole)
    marks = marks_of_works(session, viewer, [work.id or 0 for work in shown], today=today)
    return RecallPage(
        recall=recall,
        works=tuple(
            TouchedWork(work.id or 0, work.number, work.title, marks.get(work.id or 0))
            for work in shown
        ),
        part=part,
        may_recall=may(viewer.role, Deed.RECALL),
    )


def _beside_reason(error: HingebookError) -> tuple[Fault, ...]:
    """What is wrong with a reason stands beside it; that there is nothing to recall, above."""
    return (Fault("/reason" if isinstance(error, BadValue) else "", error.message),)
