"""Which dates were put off, by whom, until when and why?

A date is put off to a day with a reason, and what that means is said: the chance of
unseen harm by then, beside what the work may be exposed to. It counts until a visit
does what was due; a later one replaces it; taken back, the date by the rules stands again.
"""

from dataclasses import dataclass

from sqlmodel import Session

from models.actions.forecasts import forecast_now, put_off_of, refreshed
from models.actions.in_force import in_force
from models.actions.record_changes import key_of, refuse_stale, withdraw
from models.actions.work_records import WorkRecords, load_records
from models.errors import NotFound, RuleBroken
from models.rules.allowed_chance import allowed_chance
from models.rules.calendar_days import day_in_words
from models.rules.chance_by_day import chance_by_day
from models.rules.chance_words import chance_in_words
from models.rules.permissions import Deed, require
from models.rules.postponement import refuse_put_off
from models.rules.record_values import Faults, a_name
from models.rules.work_forecast import WorkForecast
from models.tables.case_rows import last_numbers
from models.tables.postponements import Postponement, PostponementRow, get_postponement
from models.tables.register import get_work_to_change
from models.tables.visible import Viewer
from models.vocabulary import DueKind

LONGEST_REASON = 500


@dataclass(frozen=True)
class PostponementTold:
    """Which date of a work is to be put off, until when, and why."""

    kind: DueKind
    until_day: int
    reason: str


@dataclass(frozen=True, kw_only=True)
class PostponementOnRecord:
    """What was put off. `warning` says what that risks, empty where it risks little."""

    id: int
    version: int
    work_id: int
    told: PostponementTold
    made_day: int
    is_levelled: bool
    chance_by_then: float | None
    warning: str


def put_off(
    session: Session, viewer: Viewer, work_id: int, told: PostponementTold, *, today: int
) -> PostponementOnRecord:
    """Put one date of a work off.

    Raises NotFound, BadValue, RuleBroken (`does_not_wait`, `no_date`).
    """
    require(viewer.role, Deed.POSTPONE)
    refuse_put_off(told.kind, told.until_day, today=today)
    reason = _reason(told.reason)
    get_work_to_change(session, viewer, work_id)
    records = load_records(session, viewer, [work_id])[work_id]
    _refuse_where_nothing_waits(forecast_now(session, records, today=today), told.kind)
    for before in records.put_off:
        if before.kind is told.kind:
            _take_back(session, viewer, before.id, "Put off anew.")
    row = Postponement(
        work_id=work_id,
        kind=told.kind,
        until_on=told.until_day,
        reason=reason,
        made_on=today,
        by_id=viewer.person_id,
        after_visit_no=last_numbers(session, work_id).visit,
    )
    session.add(row)
    session.flush()
    return _after(session, work_id, key_of(row), today=today)


def take_back(
    session: Session,
    viewer: Viewer,
    postponement_id: int,
    reason: str,
    *,
    based_on: int | None = None,
    today: int,
) -> int:
    """Let the date by the rules stand again, and return the work. Raises NotFound, Stale."""
    require(viewer.role, Deed.POSTPONE)
    row = _take_back(session, viewer, postponement_id, _reason(reason), based_on)
    session.flush()
    refreshed(session, [row.work_id], today=today)
    return row.work_id


def postponements_of(
    session: Session, records: WorkRecords, forecast: WorkForecast, *, today: int
) -> list[PostponementOnRecord]:
    """Return what was put off of a work and still counts."""
    counting = put_off_of(records)
    rows = [row for row in records.put_off if row.kind in counting]
    return [_shown(session, records, forecast, row, today) for row in rows]


def _reason(given: str) -> str:
    """Return why; blanks alone are no reason."""
    faults = Faults()
    reason = faults.read("/reason", a_name("reason", LONGEST_REASON), given)
    faults.refuse()
    assert reason is not None, "a fault was refused"
    return reason


def _take_back(
    session: Session, viewer: Viewer, key: int, reason: str, based_on: int | None = None
) -> Postponement:
    row = get_postponement(session, viewer, key)
    if row is None:
        raise NotFound("postponement", key)
    if based_on is not None:
        refuse_stale(row, based_on, theirs=row.until_on)
    withdraw(row, reason)
    session.flush()
    return row


def _refuse_where_nothing_waits(forecast: WorkForecast, kind: DueKind) -> None:
    if forecast.urgent:
        sign = forecast.urgent[0].sign
        raise RuleBroken(f"There is a sign that does not wait: {sign}.", "does_not_wait")
    days = {
        DueKind.LOOK: forecast.look.on,
        DueKind.UNFRAMING: forecast.unframing.on,
        DueKind.BOX_CHECK: forecast.box_check.on,
        DueKind.REMAT: forecast.remat_by,
    }
    if days[kind] is None:
        raise RuleBroken(f"No {kind} has a date that could be put off.", "no_date")


def _after(session: Session, work_id: int, key: int, *, today: int) -> PostponementOnRecord:
    records, forecast = refreshed(session, [work_id], today=today)[work_id]
    row = next(row for row in records.put_off if row.id == key)
    return _shown(session, records, forecast, row, today)


def _shown(
    session: Session,
    records: WorkRecords,
    forecast: WorkForecast,
    row: PostponementRow,
    today: int,
) -> PostponementOnRecord:
    force = in_force(session)
    by_then = chance_by_day(
        forecast.kept,
        row.kind,
        today=today,
        day=max(row.until_on, today),
        figures=force.figures,
        experience=force.experience,
    )
    allowed = allowed_chance(records.work.replaceability, force.policy)
    return PostponementOnRecord(
        id=row.id,
        version=row.version,
        work_id=row.work_id,
        told=PostponementTold(row.kind, row.until_on, row.reason),
        made_day=row.made_on,
        is_levelled=row.is_levelled,
        chance_by_then=by_then,
        warning=_warning(by_then, allowed, row.until_on),
    )


def _warning(by_then: float | None, allowed: float, until: int) -> str:
    if by_then is None or by_then <= allowed:
        return ""
    return (
        f"By {day_in_words(until)} the chance of harm that nobody has seen is"
        f" {chance_in_words(by_then)}; this work may be exposed to {allowed * 100:g} %."
    )
