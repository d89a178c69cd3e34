"""What to remat first, and what has become of each, as programs see it."""

from datetime import date
from typing import Annotated

from fastapi import APIRouter, Query, Response
from pydantic import ConfigDict, Field

from api.dependencies import ReadSession, SignedIn, Today, WriteSession, requires
from api.rest.cursors import page_of
from api.rest.if_match import VersionSeen, set_etag
from api.rest.shapes import (
    BadCursor,
    In,
    Name,
    Note,
    Out,
    Page,
    Paging,
    PagingAsked,
    PathId,
    QueryText,
)
from api.rest.stale_states import shown_when_stale
from api.routes import Route
from models.actions.remats import RematFilter, RematShown, read_remat, say_of_remat, what_to_remat
from models.rules.calendar_days import day_date, day_number
from models.rules.permissions import Deed
from models.rules.remat_states import LARGEST_QUOTE
from models.tables.remats import RematKey
from models.vocabulary import Advice, RematState

router = APIRouter(prefix="/api/remat", tags=["remat"], route_class=Route)


class RematWorkOut(Out):
    """The work that is to be rematted."""

    id: int
    number: str
    title: str
    owner: str | None


class RematOut(Out):
    """One row: what a remat would gain and take, and what has become of it.

    Chances are those of new harm within five years; `lost_*` is what is still to lose; all are
    of the day in `scored_on`. `version` is what If-Match asks for; 0 while nobody said anything.
    """

    work: RematWorkOut
    place: str | None
    reason: str
    weak_layer: str
    risk_reduced: float | None
    lost_now: float | None
    lost_then: float | None
    risk_of_remat: float | None
    chance_now: float | None
    chance_then: float | None
    cure: Advice | None
    method: str
    board: str
    swaps: list[str]
    kept_because: list[str]
    ask_before: list[str]
    advice: str
    while_open: list[str]
    mind: str
    hours: float | None
    cost: float | None
    scored_on: str | None
    state: RematState
    state_said: str
    on: str | None
    until: str | None
    quote: float | None
    by: str | None
    why: str
    version: int


def remat_out(row: RematShown) -> RematOut:
    """Return a row as it is sent."""
    return RematOut(
        work=RematWorkOut(id=row.work_id, number=row.number, title=row.title, owner=row.owner),
        place=row.place,
        reason=row.reason,
        weak_layer=row.weak_layer,
        risk_reduced=row.reduced,
        lost_now=row.lost_now,
        lost_then=row.lost_then,
        risk_of_remat=row.risk_of_remat,
        chance_now=row.chance_now,
        chance_then=row.chance_then,
        cure=row.cure,
        method=row.method,
        board=row.board,
        swaps=list(row.swaps),
        kept_because=list(row.kept_because),
        ask_before=list(row.ask_before),
        advice=row.advice,
        while_open=list(row.while_open),
        mind=row.mind,
        hours=row.hours,
        cost=row.cost,
        scored_on=_day(row.scored_on),
        state=row.state,
        state_said=row.state_said,
        on=_day(row.on),
        until=_day(row.until),
        quote=row.quote,
        by=row.by,
        why=row.why,
        version=row.version,
    )


class RematChange(In):
    """What has become of a remat, as a merge patch; another state begins with nothing said of it.

    `declined until` needs `until`, `cannot` needs `why`. `on` is today if nothing is said.
    """

    model_config = ConfigDict(
        json_schema_extra={
            "examples": [
                {"state": "asked", "quote": 120},
                {"state": "declined until", "until": "2027-06-01", "why": "after the exhibition"},
            ]
        }
    )

    state: RematState | None = None
    on: date | None = None
    until: date | None = None
    quote: Annotated[float, Field(ge=0, le=LARGEST_QUOTE)] | None = None
    by: Name | None = None
    why: Note | None = None


@router.get("", dependencies=[requires(Deed.READ)])
def listed(
    session: ReadSession,
    viewer: SignedIn,
    today: Today,
    paging: PagingAsked,
    owner: QueryText = None,
    place: Annotated[QueryText, Query(description="A path; what lies in it counts too.")] = None,
    technique: QueryText = None,
    method: QueryText = None,
    material: Annotated[QueryText, Query(description="In the package or holding it now.")] = None,
    lot: QueryText = None,
    state: Annotated[
        RematState | None,
        Query(description="Without it: all but what is declined for now, done, or cannot be."),
    ] = None,
) -> Page[RematOut]:
    """List what to remat, the greatest risk reduced first."""
    filters = RematFilter(
        owner=owner or "",
        place=place or "",
        technique=technique or "",
        method=method or "",
        material=material or "",
        lot=lot or "",
        state=state,
    )
    page = what_to_remat(
        session,
        viewer,
        filters,
        today=day_number(today),
        limit=paging.limit,
        after=_after(paging),
    )
    after = None if page.next_after is None else _cursor_key(page.next_after)
    return page_of([remat_out(row) for row in page.items], after)


@router.get("/{work_id}", dependencies=[requires(Deed.READ)])
def one(
    session: ReadSession, viewer: SignedIn, today: Today, work_id: PathId, response: Response
) -> RematOut:
    """Read the row of one work, whether it is on the list or not."""
    row = read_remat(session, viewer, work_id, today=day_number(today))
    set_etag(response, row.version)
    return remat_out(row)


@router.patch("/{work_id}", dependencies=[requires(Deed.ANSWER_FOR_REMAT)])
def say(
    session: WriteSession,
    viewer: SignedIn,
    today: Today,
    work_id: PathId,
    seen: VersionSeen,
    told: RematChange,
    response: Response,
) -> RematOut:
    """Say what has become of a remat."""
    changes: dict[str, object] = {
        name: day_number(value) if isinstance(value, date) else value
        for name, value in told.model_dump(exclude_unset=True).items()
    }
    with shown_when_stale(remat_out):
        row = say_of_remat(
            session, viewer, work_id, changes, based_on=seen, today=day_number(today)
        )
    set_etag(response, row.version)
    return remat_out(row)


def _after(paging: Paging) -> RematKey | None:
    """Return the row that the list goes on after. Raises BadCursor for another list's."""
    match paging.after:
        case None:
            return None
        case (str() as reduced, int() as work_id):
            try:
                return float.fromhex(reduced), work_id
            except (ValueError, OverflowError):
                raise BadCursor() from None
        case _:
            raise BadCursor()


def _cursor_key(key: RematKey) -> tuple[str | int, ...]:
    # Exactly, to the last bit: a rounded figure would show a row twice, or never.
    reduced, work_id = key
    return reduced.hex(), work_id


def _day(day: int | None) -> str | None:
    return None if day is None else day_date(day).isoformat()
