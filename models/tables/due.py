"""What is due, as stored: which work, which kind, on which day?

Days stand as the rules gave them, past ones too. A list goes on after a key of
day, work, kind and incident, so that it holds still while records change; kinds
are numbered in the order in which they come on one day. Boxes are grouped by
the place the works are in. Only works that the viewer may see. Every statement is
built once for each way of asking and kept: building one takes longer than sending it.
"""

from collections.abc import Collection, Sequence
from functools import cache
from typing import Any, NamedTuple

from sqlalchemy import (
    BindParameter,
    ColumnElement,
    CursorResult,
    Executable,
    Integer,
    Select,
    Subquery,
    and_,
    bindparam,
    case,
    cast,
    func,
    literal,
    null,
    true,
    tuple_,
    union_all,
)
from sqlalchemy import select as columns
from sqlmodel import Session, col

from models.tables.base import FIRST_DAY
from models.tables.forecasts import Forecast
from models.tables.kept_statements import WANTED, send
from models.tables.missing_works import IS_STILL_AWAY, IS_WHERE_IT_WAS_MISSED, MissingWork
from models.tables.people import Owner
from models.tables.places import FollowUp, Incident, IncidentWork, Walk
from models.tables.visible import (
    Viewer,
    sees_all_works,
    visible_by_parameter,
    visible_once_found,
)
from models.tables.visits import Visit
from models.tables.works import Stay, Work
from models.vocabulary import Advice, DueKind, ValueBand, Verdict, VisitKind

# On one day what does not wait comes first.
ORDER_ON_A_DAY = (
    DueKind.URGENT,
    DueKind.FOLLOW_UP,
    DueKind.TAKE_DOWN,
    DueKind.BOX_CHECK,
    DueKind.LOOK,
    DueKind.UNFRAMING,
    DueKind.REMAT,
)
# Day, work, number of the kind in ORDER_ON_A_DAY, incident (0 for none).
DueKey = tuple[int, int, int, int]
Rows = Select[*tuple[Any, ...]]

Is = ColumnElement[bool]

_IS_CURRENT_STAY = and_(
    col(Stay.work_id) == col(Work.id), ~col(Stay.ended), col(Stay.withdrawn_reason).is_(None)
)
_DOES_WAIT = col(Forecast.urgent_since).is_(None)
_VALUE_RANK = case(
    (col(Work.value_band) == ValueBand.HIGH, 0),
    (col(Work.value_band) == ValueBand.NORMAL, 1),
    else_=2,
)


# What a list of single works holds, the day that each kind goes by, and what of it waits.
_IN_ONE_LIST = tuple(kind for kind in ORDER_ON_A_DAY if kind is not DueKind.BOX_CHECK)
# A work to be rematted is not unframed before that, only to be looked at; what is unknown
# must be opened to be known, and then the unframing is what is due first.
_IS_UNFRAMED_FIRST = and_(
    _DOES_WAIT,
    col(Forecast.advice).is_(None) | (col(Forecast.due_kind) == DueKind.UNFRAMING),
)
_BY_KIND: dict[DueKind, tuple[Any, Is]] = {
    DueKind.URGENT: (col(Forecast.due_on), ~_DOES_WAIT),
    DueKind.LOOK: (col(Forecast.look_on), _DOES_WAIT),
    DueKind.UNFRAMING: (col(Forecast.unframing_on), _IS_UNFRAMED_FIRST),
    DueKind.REMAT: (col(Forecast.remat_by), _DOES_WAIT),
    # Light goes on whatever else is the matter.
    DueKind.TAKE_DOWN: (col(Forecast.take_down_on), true()),
}
_AFTER = ("after_day", "after_work", "after_kind", "after_incident")
_MOST: BindParameter[int] = bindparam("most", type_=Integer)


class DueRow(NamedTuple):
    """One thing due on one work, with what its reason is made of."""

    on: int
    work_id: int
    kind_no: int
    incident_id: int
    number: str
    title: str
    owner: str | None
    place_id: int | None
    advice: Advice | None
    weak_layer: str
    urgent_sign: str
    urgent_since: int | None
    chance_unseen: float | None
    incident_kind: str | None
    incident_on: str | None
    height_um: int | None
    width_um: int | None

    @property
    def key(self) -> DueKey:
        """Return where this row stands in the list."""
        return self.on, self.work_id, self.kind_no, self.incident_id


class BoxRow(NamedTuple):
    """The works in one place that are checked as a box: the first day, how many, the first."""

    place_id: int
    on: int
    works: int
    work_id: int


class SurveyRow(NamedTuple):
    """A work that nobody has examined on record."""

    work_id: int
    number: str
    title: str
    owner: str | None
    place_id: int | None
    chance_unseen: float | None
    weak_layer: str
    height_um: int | None
    width_um: int | None


class ToWriteUp(NamedTuple):
    """A visit of which the words are still missing."""

    visit_id: int
    work_id: int
    number: str
    title: str
    on_edtf: str
    kind: VisitKind


class MissingRow(NamedTuple):
    """A work that is away, since which walk, and where it should be."""

    work_id: int
    number: str
    title: str
    place_id: int
    kind: VisitKind
    on_edtf: str


class WaitingBesides(NamedTuple):
    """What has no day by which it is due: words that are missing, and works that are."""

    to_write_up: list[ToWriteUp]
    missing: list[MissingRow]


class StoredMark(NamedTuple):
    """What a list says of a work: its verdict, and what is due first."""

    work_id: int
    verdict: Verdict | None
    due_on: int | None
    due_kind: DueKind | None


def due_rows(
    session: Session,
    viewer: Viewer,
    kinds: Collection[DueKind],
    *,
    until: int | None,
    after: DueKey | None,
    limit: int,
    place_ids: Collection[int] | None = None,
) -> list[DueRow]:
    """Return at most `limit` rows of these kinds, boxes apart; `until` is inclusive.

    Of works in these places alone, where some are named.
    """
    in_one_list = tuple(kind for kind in _IN_ONE_LIST if kind in kinds)
    if not in_one_list:
        return []
    asked = _Asked(
        kinds=in_one_list,
        all_works=sees_all_works(viewer),
        ends=until is not None,
        goes_on=after is not None,
        in_places=place_ids is not None,
        by_day=_goes_by_day(session, viewer),
    )
    given = dict(zip(_AFTER, after or (), strict=False))
    if until is not None:
        given["until"] = until
    sent = _sent(session, viewer, _due_rows(asked), most=limit, places=place_ids, **given)
    return [DueRow._make(row) for row in sent]


class _Asked(NamedTuple):
    """Which kinds a list is of, what narrows it, and whether it goes on after a key."""

    kinds: tuple[DueKind, ...]
    all_works: bool
    ends: bool
    goes_on: bool
    in_places: bool
    by_day: bool


def _goes_by_day(session: Session, viewer: Viewer) -> bool:
    """Say whether the list is sooner found by going through all days than through all works.

    Of somebody who sees many works some are among the first days; of few works none may be.
    """
    return sees_all_works(viewer) or _sent(session, viewer, _LAST_OF_MANY).first() is not None


# From so many works on, going to each costs more than what others have due before them.
_MANY = 2_000
_LAST_OF_MANY = (
    columns(col(Work.id))
    .where(col(Work.owner_id) == bindparam("viewer_owner_id"))
    .offset(_MANY - 1)
    .limit(1)
)


@cache
def _due_rows(asked: _Asked) -> Rows:
    visible = visible_once_found if asked.by_day else visible_by_parameter
    is_visible = visible(all_works=asked.all_works)
    parts = (_part(kind, is_visible) for kind in asked.kinds)
    keys = union_all(*(_first(part, asked) for part in parts)).subquery()
    found: Rows = columns(
        keys.c.due,
        keys.c.work_id,
        keys.c.kind_no,
        keys.c.incident_id,
        col(Work.number),
        col(Work.title),
        col(Owner.name),
        col(Stay.place_id),
        col(Forecast.advice),
        func.coalesce(col(Forecast.weak_layer), ""),
        func.coalesce(col(Forecast.urgent_sign), ""),
        col(Forecast.urgent_since),
        col(Forecast.chance_unseen),
        col(Incident.kind),
        col(Incident.on_edtf),
        col(Work.height_um),
        col(Work.width_um),
    )
    found = found.select_from(keys).join(Work, col(Work.id) == keys.c.work_id)
    found = found.outerjoin(Owner, col(Owner.id) == col(Work.owner_id))
    found = found.outerjoin(Stay, _IS_CURRENT_STAY)
    found = found.outerjoin(Forecast, col(Forecast.work_id) == col(Work.id))
    found = found.outerjoin(Incident, col(Incident.id) == keys.c.incident_id)
    return found.where(is_visible).order_by(*_order(keys)).limit(_MOST)


def box_rows(session: Session, viewer: Viewer) -> list[BoxRow]:
    """Return the places whose works are checked as a box, with the first day of each."""
    found = _box_rows(all_works=sees_all_works(viewer))
    return [BoxRow._make(row) for row in _sent(session, viewer, found)]


@cache
def _box_rows(*, all_works: bool) -> Rows:
    day = col(Forecast.box_check_on)
    # Added to nothing, so that SQLite does not walk all stays in the order of their places.
    place_id = col(Stay.place_id) + 0
    found: Rows = columns(place_id, func.min(day), func.count(), func.min(col(Work.id)))
    found = found.select_from(Forecast).join(Work, col(Work.id) == col(Forecast.work_id))
    # A range and not "is not null": by that SQLite goes through the index of the days.
    found = found.join(Stay, _IS_CURRENT_STAY).where(day >= FIRST_DAY)
    return found.where(visible_once_found(all_works=all_works)).group_by(place_id)


def survey_rows(session: Session, viewer: Viewer, *, start: int, limit: int) -> list[SurveyRow]:
    """Return at most `limit` works of the first survey, by value and likely harm."""
    found = _survey_rows(all_works=sees_all_works(viewer))
    sent = _sent(session, viewer, found, most=limit, start=start)
    return [SurveyRow._make(row) for row in sent]


@cache
def _survey_rows(*, all_works: bool) -> Rows:
    found: Rows = columns(
        col(Work.id),
        col(Work.number),
        col(Work.title),
        col(Owner.name),
        col(Stay.place_id),
        col(Forecast.chance_unseen),
        col(Forecast.weak_layer),
        col(Work.height_um),
        col(Work.width_um),
    )
    found = found.select_from(Forecast).join(Work, col(Work.id) == col(Forecast.work_id))
    found = found.outerjoin(Owner, col(Owner.id) == col(Work.owner_id))
    found = found.outerjoin(Stay, _IS_CURRENT_STAY)
    likely = func.coalesce(col(Forecast.chance_unseen), 0).desc()
    found = found.where(visible_by_parameter(all_works=all_works), col(Forecast.first_survey))
    start: BindParameter[int] = bindparam("start", type_=Integer)
    return found.order_by(_VALUE_RANK, likely, col(Work.id)).offset(start).limit(_MOST)


def count_survey(session: Session, viewer: Viewer) -> int:
    """Return how many works nobody has examined on record."""
    found = _count_survey(all_works=sees_all_works(viewer))
    number: int = _sent(session, viewer, found).scalar_one()
    return number


@cache
def _count_survey(*, all_works: bool) -> Rows:
    found: Rows = columns(func.count()).select_from(Forecast)
    found = found.join(Work, col(Work.id) == col(Forecast.work_id))
    return found.where(visible_by_parameter(all_works=all_works), col(Forecast.first_survey))


def waiting_besides(session: Session, viewer: Viewer, *, limit: int) -> WaitingBesides:
    """Return at most `limit` visits that wait for their words, and every work that is away.

    The oldest first; a work stands there since the first walk that missed it. One statement.
    """
    to_write_up, missing = [], dict[int, MissingRow]()
    if sees_all_works(viewer):
        for visit, work, number, title, on_edtf, kind, place, _ in _sent(
            session, viewer, _waiting_besides(), most=limit
        ):
            if visit is not None:
                to_write_up.append(ToWriteUp(visit, work, number, title, on_edtf, kind))
            elif work not in missing:
                missing[work] = MissingRow(work, number, title, place, kind, on_edtf)
    return WaitingBesides(to_write_up, sorted(missing.values(), key=lambda row: row.number))


@cache
def _waiting_besides() -> Rows:
    is_visible = visible_by_parameter(all_works=True)
    first_day = func.coalesce(col(Visit.on_first), 0).label("first_day")
    which = (col(Work.id), col(Work.number), col(Work.title))
    words: Rows = columns(
        col(Visit.id).label("visit_id"),
        *which,
        col(Visit.on_edtf),
        col(Visit.kind),
        cast(null(), Integer).label("place_id"),
        first_day,
    )
    words = words.select_from(Visit).join(Work, col(Work.id) == col(Visit.work_id))
    words = words.where(is_visible, col(Visit.to_write_up), col(Visit.withdrawn_reason).is_(None))
    words = words.order_by(first_day, col(Visit.id)).limit(_MOST)
    away: Rows = columns(
        cast(null(), Integer),
        *which,
        col(Walk.on_edtf),
        col(Walk.kind),
        col(Stay.place_id),
        func.coalesce(col(Walk.on_first), 0),
    )
    away = away.select_from(MissingWork).join(Work, IS_STILL_AWAY)
    away = away.join(Stay, IS_WHERE_IT_WAS_MISSED)
    away = away.join(Walk, col(Walk.id) == col(MissingWork.walk_id)).where(is_visible)
    both = union_all(columns(words.subquery()), away).subquery()
    return columns(both).order_by(both.c.first_day, both.c.visit_id)


def stored_marks(
    session: Session, viewer: Viewer, work_ids: Sequence[int]
) -> dict[int, StoredMark]:
    """Return what is stored of these works for a list, by work, in one statement."""
    sent = send(session, viewer, _stored_marks, work_ids)
    return {row[0]: StoredMark._make(row) for row in sent}


def _stored_marks(is_visible: Is) -> Rows:
    found: Rows = columns(
        col(Work.id), col(Forecast.verdict), col(Forecast.due_on), col(Forecast.due_kind)
    )
    found = found.select_from(Forecast).join(Work, col(Work.id) == col(Forecast.work_id))
    return found.where(is_visible, col(Work.id).in_(WANTED))


def _sent(
    session: Session, viewer: Viewer, statement: Executable, **given: object
) -> CursorResult[*tuple[Any, ...]]:
    """Send a kept statement with what it is given, as far as the viewer may see."""
    return session.connection().execute(statement, {"viewer_owner_id": viewer.owner_id, **given})


def _part(kind: DueKind, is_visible: Is) -> tuple[Rows, ColumnElement[Any]]:
    """Return the statement of one kind, with the day it goes by."""
    if kind is DueKind.FOLLOW_UP:
        return _of_incidents(is_visible)
    day, condition = _BY_KIND[kind]
    return _of_forecast(is_visible, kind, day, condition)


def _of_forecast(
    is_visible: Is, kind: DueKind, day: Any, condition: Is
) -> tuple[Rows, ColumnElement[Any]]:
    found: Rows = columns(
        day.label("due"),
        col(Forecast.work_id).label("work_id"),
        literal(ORDER_ON_A_DAY.index(kind)).label("kind_no"),
        literal(0).label("incident_id"),
    )
    found = found.select_from(Forecast).join(Work, col(Work.id) == col(Forecast.work_id))
    return found.where(is_visible, day.is_not(None), condition), day


def _of_incidents(is_visible: Is) -> tuple[Rows, ColumnElement[Any]]:
    day: Any = col(FollowUp.due_on)
    found: Rows = columns(
        day.label("due"),
        col(IncidentWork.work_id).label("work_id"),
        literal(ORDER_ON_A_DAY.index(DueKind.FOLLOW_UP)).label("kind_no"),
        col(IncidentWork.incident_id).label("incident_id"),
    )
    found = found.select_from(FollowUp)
    found = found.join(IncidentWork, col(IncidentWork.id) == col(FollowUp.incident_work_id))
    found = found.join(Incident, col(Incident.id) == col(IncidentWork.incident_id))
    found = found.join(Work, col(Work.id) == col(IncidentWork.work_id))
    found = found.where(is_visible, day.is_not(None))
    found = found.where(col(FollowUp.done_by_visit_id).is_(None))
    return found.where(col(Incident.withdrawn_reason).is_(None)), day


def _first(part: tuple[Rows, ColumnElement[Any]], asked: _Asked) -> Rows:
    """Return the first rows of one kind after the key: no more can be on the page."""
    found, day = part
    if asked.in_places:
        found = found.where(col(Work.id).in_(_works_there()))
    if asked.ends:
        found = found.where(day <= bindparam("until", type_=Integer))
    if asked.goes_on:
        # Days before the key cannot follow it; the exact place is asked of what is left.
        found = found.where(day >= bindparam(_AFTER[0], type_=Integer))
    rows = found.subquery()
    after: Rows = columns(rows)
    if asked.goes_on:
        key = (bindparam(name, type_=Integer) for name in _AFTER)
        after = after.where(tuple_(*_order(rows)) > tuple_(*key))
    return columns(after.order_by(*_order(rows)).limit(_MOST).subquery())


def _works_there() -> Select[int]:
    places: BindParameter[list[int]] = bindparam("places", expanding=True)
    found = columns(col(Stay.work_id)).where(col(Stay.place_id).in_(places))
    return found.where(~col(Stay.ended), col(Stay.withdrawn_reason).is_(None))


def _order(rows: Subquery) -> tuple[Any, ...]:
    return rows.c.due, rows.c.work_id, rows.c.kind_no, rows.c.incident_id
