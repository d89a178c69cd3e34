"""What must be looked at, opened, checked or rematted, and by when."""

from datetime import date
from typing import Annotated

from fastapi import APIRouter, Query
from fastapi.responses import Response
from pydantic import ConfigDict

from api.dependencies import Now, ReadSession, SignedIn, Today, WriteSession, open_to_all, requires
from api.rest.cursors import after_number, page_of
from api.rest.shapes import BadCursor, In, Name, Out, Page, Paging, PagingAsked, PathId
from api.routes import Route
from models.actions.calendar_feed import add_feed_key, end_feed_key, feed_keys, feed_of_key
from models.actions.due import DueItem, DueState, first_survey, what_is_due
from models.actions.record_changes import key_of
from models.actions.survey_questions import with_questions
from models.exchange.calendar import calendar_bytes
from models.rules.calendar_days import day_date, day_number
from models.rules.permissions import Deed
from models.tables.due import DueKey
from models.tables.feeds import FeedKey
from models.vocabulary import DueKind

router = APIRouter(prefix="/api/due", tags=["due"], route_class=Route)

CALENDAR = "text/calendar; charset=utf-8"

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
    "asks": "",
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
    "asks": "",
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
    `on` is null, and `shown_on` the day by which its turn comes; `asks` is the one question
    worth asking of it before, the test that would move its date most, or empty.
    """

    kind: DueKind
    on: str | None
    shown_on: str
    state: DueState
    why: str
    work: DueWorkOut | None
    place: str | None
    works: int
    asks: str = ""


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
        asks=item.asks,
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
        items = with_questions(session, viewer, survey.items, today=now)
        return page_of([due_out(item) for item in items], None if end is None else (end,))
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


@router.get(
    ".ics",
    dependencies=[open_to_all],
    response_class=Response,
    responses={200: {"content": {CALENDAR: {}}}},
)
def calendar(
    session: ReadSession,
    today: Today,
    now: Now,
    key: Annotated[str, Query(max_length=200, description="A key to one person's feed.")] = "",
) -> Response:
    """Give what is due as a calendar, to whoever has a key to it: numbers and dates only."""
    entries = feed_of_key(session, key, today=day_number(today))
    return Response(calendar_bytes(entries, name="Due", made_at=now), media_type=CALENDAR)


class FeedKeyIn(In):
    """By which name a key is to be known, such as the telephone that it is for."""

    model_config = ConfigDict(json_schema_extra={"examples": [{"name": "bench tablet"}]})

    name: Name


class FeedKeyOut(Out):
    """A key to somebody's own feed; `key` itself is sent once, when it is made."""

    id: int
    name: str
    made_on: str | None
    key: str | None = None
    path: str | None = None


@router.post("/feed-keys", status_code=201, dependencies=[requires(Deed.READ)])
def key_made(session: WriteSession, viewer: SignedIn, today: Today, told: FeedKeyIn) -> FeedKeyOut:
    """Make a key to one's own feed; it opens nothing else and cannot be shown again."""
    made, secret = add_feed_key(session, viewer, told.name, today=day_number(today))
    return _key_out(made, secret)


@router.get("/feed-keys", dependencies=[requires(Deed.READ)])
def keys(session: ReadSession, viewer: SignedIn) -> list[FeedKeyOut]:
    """List the keys to one's own feed that still open it."""
    return [_key_out(one) for one in feed_keys(session, viewer)]


@router.delete("/feed-keys/{key_id}", status_code=204, dependencies=[requires(Deed.READ)])
def key_ended(session: WriteSession, viewer: SignedIn, key_id: PathId) -> None:
    """Close one's feed to a key."""
    end_feed_key(session, viewer, key_id)


def _key_out(key: FeedKey, secret: str | None = None) -> FeedKeyOut:
    return FeedKeyOut(
        id=key_of(key),
        name=key.name,
        made_on=None if key.made_on is None else day_date(key.made_on).isoformat(),
        key=secret,
        path=None if secret is None else f"/api/due.ics?key={secret}",
    )


def _after_due(paging: Paging) -> DueKey | None:
    match paging.after:
        case None:
            return None
        case (int() as day, int() as work_id, int() as kind_no, int() as incident_id):
            return day, work_id, kind_no, incident_id
        case _:
            raise BadCursor()
