"""Dates put off: to a day, with a reason, and what that risks; taken back again."""

from datetime import date

from fastapi import APIRouter
from fastapi.responses import Response
from pydantic import ConfigDict

from api.dependencies import ReadSession, SignedIn, Today, WriteSession, requires
from api.rest.if_match import set_etag
from api.rest.shapes import In, Name, Out, PathId
from api.rest.works import ReasonIn
from api.routes import Route
from models.actions.forecasts import forecast_now
from models.actions.load_levelling import (
    LevellingShown,
    level,
    preview_levelling,
    take_levelling_back,
)
from models.actions.postponements import (
    PostponementOnRecord,
    PostponementTold,
    postponements_of,
    put_off,
    take_back,
)
from models.actions.work_records import load_records
from models.errors import NotFound
from models.rules.calendar_days import day_date, day_number
from models.rules.permissions import Deed
from models.vocabulary import DueKind

router = APIRouter(prefix="/api", tags=["postponements"], route_class=Route)


class PostponementIn(In):
    """Which date is put off, until when, and why. Signs that do not wait cannot be put off."""

    model_config = ConfigDict(
        json_schema_extra={
            "examples": [
                {"kind": "unframing", "until": "2027-05-31", "reason": "on loan until then"}
            ]
        }
    )

    kind: DueKind
    until: date
    reason: Name


class PostponementOut(Out):
    """A date that was put off; `warning` says what that risks, `chance_by_then` is of 1."""

    id: int
    version: int
    work: int
    kind: DueKind
    until: str
    reason: str
    made_on: str
    levelled: bool
    chance_by_then: float | None
    warning: str


def postponement_out(put: PostponementOnRecord) -> PostponementOut:
    """Return what was put off as it is sent."""
    return PostponementOut(
        id=put.id,
        version=put.version,
        work=put.work_id,
        kind=put.told.kind,
        until=day_date(put.told.until_day).isoformat(),
        reason=put.told.reason,
        made_on=day_date(put.made_day).isoformat(),
        levelled=put.is_levelled,
        chance_by_then=put.chance_by_then,
        warning=put.warning,
    )


@router.post(
    "/works/{work_id}/postponements", status_code=201, dependencies=[requires(Deed.POSTPONE)]
)
def add(
    session: WriteSession,
    viewer: SignedIn,
    today: Today,
    work_id: PathId,
    told: PostponementIn,
    response: Response,
) -> PostponementOut:
    """Put one date of a work off; an earlier postponement of the same date is replaced."""
    given = PostponementTold(told.kind, day_number(told.until), told.reason)
    put = put_off(session, viewer, work_id, given, today=day_number(today))
    response.headers["Location"] = f"/api/postponements/{put.id}"
    set_etag(response, put.version)
    return postponement_out(put)


@router.get("/works/{work_id}/postponements", dependencies=[requires(Deed.READ)])
def listed(
    session: ReadSession, viewer: SignedIn, today: Today, work_id: PathId
) -> list[PostponementOut]:
    """List what was put off of a work and still counts."""
    day = day_number(today)
    records = load_records(session, viewer, [work_id]).get(work_id)
    if records is None:
        raise NotFound("work", work_id)
    forecast = forecast_now(session, records, today=day)
    found = postponements_of(session, records, forecast, today=day)
    return [postponement_out(put) for put in found]


@router.post(
    "/postponements/{postponement_id}/withdraw",
    status_code=204,
    dependencies=[requires(Deed.POSTPONE)],
)
def taken_back(
    session: WriteSession, viewer: SignedIn, today: Today, postponement_id: PathId, told: ReasonIn
) -> None:
    """Let the date by the rules stand again."""
    take_back(session, viewer, postponement_id, told.reason, today=day_number(today))


class MoveShownOut(Out):
    """One date that levelling moves."""

    work: int
    number: str
    kind: DueKind
    from_day: str
    to_day: str


class LevellingOut(Out):
    """What levelling would move: how many dates, the first of them, and each month's load."""

    moved: int
    capacity_a_month: int
    before: list[int]
    after: list[int]
    moves: list[MoveShownOut]


class LevelledOut(Out):
    """How many dates were moved."""

    moved: int


@router.get("/levelling", dependencies=[requires(Deed.LEVEL_LOAD)])
def levelling(session: ReadSession, viewer: SignedIn, today: Today) -> LevellingOut:
    """Say what levelling the load of the next 24 months would move; nothing is stored."""
    return _levelling_out(preview_levelling(session, viewer, today=day_number(today)))


@router.post("/levelling", dependencies=[requires(Deed.LEVEL_LOAD)])
def levelled(session: WriteSession, viewer: SignedIn, today: Today) -> LevelledOut:
    """Move dates earlier so that no month holds more than the house can do."""
    return LevelledOut(moved=level(session, viewer, today=day_number(today)))


@router.post("/levelling/withdraw", dependencies=[requires(Deed.LEVEL_LOAD)])
def levelling_taken_back(session: WriteSession, viewer: SignedIn, today: Today) -> LevelledOut:
    """Let every date that was levelled stand where the rules say."""
    return LevelledOut(moved=take_levelling_back(session, viewer, today=day_number(today)))


def _levelling_out(shown: LevellingShown) -> LevellingOut:
    return LevellingOut(
        moved=len(shown.levelled.moves),
        capacity_a_month=shown.capacity,
        before=list(shown.levelled.before),
        after=list(shown.levelled.after),
        moves=[
            MoveShownOut(
                work=move.work_id,
                number=move.number,
                kind=move.kind,
                from_day=day_date(move.from_day).isoformat(),
                to_day=day_date(move.to_day).isoformat(),
            )
            for move in shown.moves
        ],
    )
