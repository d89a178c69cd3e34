"""What must be looked at, opened, checked or rematted, and by when."""

from datetime import date
from typing import Annotated

from fastapi import APIRouter, Query

from api.dependencies import ReadSession, SignedIn, Today, requires
from api.rest.cursors import after_number, page_of
from api.rest.shapes import BadCursor, Out, Page, Paging, PagingAsked
from api.routes import Route
from models.actions.due import DueItem, DueState, first_survey, what_is_due
from models.rules.calendar_days import day_date, day_number
from models.rules.permissions import Deed
from models.tables.due import DueKey
from models.vocabulary import DueKind

router = APIRouter(prefix="/api/due", tags=["due"], route_class=Route)

_EXAMPLE = {
    "kind": "remat",
    "on": "2026-09-14",
    "shown_on": "2026-11-25",
    "state": "overdue",
    "why": "Advice: remat. Weak layer: Groundwood mat board.",
    "work": {
        "id": 41,
        "number": "GH 1994.12",
        "title": "The Mill in Winter",
        "owner": "The Gannet House",
    },
    "place": "Gannet House / Stair / North wall",
    "works": 1,
}
_BOX = {
    "kind": "box check",
    "on": "2026-12-01",
    "shown_on": "2026-12-01",
    "state": "soon",
    "why": "The box as a box: damp, insects, sheets that slipped.",
    "work": None,
    "place": "Gannet House / Store / Box 4",
    "works": 12,
}


class DueWorkOut(Out):
    """The work that something is due on."""

    id: int
    number: str
    title: str
    owner: str | None


class DueOut(Out):
    """One thing due; `work` is null for a box, which is one line for all `works` in it.

    `on` is the day as the rules gave it, `shown_on` never before today. Of the first survey
    `on` is null, and `shown_on` the day by which its turn comes.
    """

    kind: DueKind
    on: str | None
    shown_on: str
    state: DueState
    why: str
    work: DueWorkOut | None
    place: str | None
    works: int


def due_out(item: DueItem) -> DueOut:
    """Return what is due as it is sent."""
    work = None
    if item.work_id is not None:
        work = DueWorkOut(id=item.work_id, number=item.number, title=item.title, owner=item.owner)
    return DueOut(
        kind=item.kind,
        on=None if item.on is None else day_date(item.on).isoformat(),
        shown_on=day_date(item.shown_on).isoformat(),
        state=item.state,
        why=item.why,
        work=work,
        place=item.place,
        works=item.works,
    )


@router.get(
    "",
    dependencies=[requires(Deed.READ)],
    responses={
        200: {
            "content": {"application/json": {"example": {"items": [_EXAMPLE, _BOX], "next": None}}}
        }
    },
)
def listed(
    session: ReadSession,
    viewer: SignedIn,
    today: Today,
    paging: PagingAsked,
    until: Annotated[date | None, Query(description="Up to this day, inclusive.")] = None,
    kind: Annotated[
        DueKind | None,
        Query(description="Only this kind; the first survey is listed only when asked for."),
    ] = None,
) -> Page[DueOut]:
    """List what is due, the longest due first; the first survey by value, when asked for."""
    now = day_number(today)
    if kind is DueKind.FIRST_SURVEY:
        start = after_number(paging) or 0
        survey = first_survey(session, viewer, today=now, limit=paging.limit, after=start)
        end = survey.next_after
        return page_of([due_out(item) for item in survey.items], None if end is None else (end,))
    page = what_is_due(
        session,
        viewer,
        until=None if until is None else day_number(until),
        kind=kind,
        today=now,
        limit=paging.limit,
        after=_after_due(paging),
    )
    return page_of([due_out(item) for item in page.items], page.next_after)


def _after_due(paging: Paging) -> DueKey | None:
    match paging.after:
        case None:
            return None
        case (int() as day, int() as work_id, int() as kind_no, int() as incident_id):
            return day, work_id, kind_no, incident_id
        case _:
            raise BadCursor()
