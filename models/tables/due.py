"""What is due, as stored: which work, which kind, on which day?

Days stand as the rules gave them, past ones too. A list goes on after a key of
day, work, kind and incident, so that it holds still while records change; kinds
are numbered in the order in which they come on one day. Boxes are grouped by
the place the works are in. Only works that the viewer may see.
"""

from collections.abc import Collection, Sequence
from typing import Any, NamedTuple

from sqlalchemy import ColumnElement, Select, Subquery, and_, case, func, literal, tuple_, union_all
from sqlalchemy import select as columns
from sqlmodel import Session, col

from models.tables.base import FIRST_DAY
from models.tables.forecasts import Forecast
from models.tables.people import Owner
from models.tables.places import FollowUp, Incident, IncidentWork
from models.tables.visible import Viewer, visible_works
from models.tables.visits import Visit
from models.tables.works import Stay, Work
from models.vocabulary import Advice, DueKind, ValueBand, Verdict, VisitKind

# On one day what does not wait comes first.
ORDER_ON_A_DAY = (
    DueKind.URGENT,
    DueKind.FOLLOW_UP,
    DueKind.BOX_CHECK,
    DueKind.LOOK,
    DueKind.UNFRAMING,
    DueKind.REMAT,
)
# Day, work, number of the kind in ORDER_ON_A_DAY, incident (0 for none).
DueKey = tuple[int, int, int, int]
Rows = Select[*tuple[Any, ...]]

_IS_CURRENT_STAY = and_(
    col(Stay.work_id) == col(Work.id), ~col(Stay.ended), col(Stay.withdrawn_reason).is_(None)
)
_DOES_WAIT = col(Forecast.urgent_since).is_(None)
_VALUE_RANK = case(
    (col(Work.value_band) == ValueBand.HIGH, 0),
    (col(Work.value_band) == ValueBand.NORMAL, 1),
    else_=2,
)


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
    parts = [
        _first((_in_places(found, place_ids), day), until, after, limit)
        for found, day in _parts(viewer, kinds)
    ]
    if not parts:
        return []
    keys = union_all(*parts).subquery()
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
    ordered = found.where(visible_works(viewer)).order_by(*_order(keys)).limit(limit)
    return [DueRow._make(row) for row in session.execute(ordered)]


def box_rows(session: Session, viewer: Viewer) -> list[BoxRow]:
    """Return the places whose works are checked as a box, with the first day of each."""
    day = col(Forecast.box_check_on)
    # Added to nothing, so that SQLite does not walk all stays in the order of their places.
    place_id = col(Stay.place_id) + 0
    found = columns(place_id, func.min(day), func.count(), func.min(col(Work.id)))
    found = found.select_from(Forecast).join(Work, col(Work.id) == col(Forecast.work_id))
    # A range and not "is not null": by that SQLite goes through the index of the days.
    found = found.join(Stay, _IS_CURRENT_STAY).where(visible_works(viewer), day >= FIRST_DAY)
    return [BoxRow._make(row) for row in session.execute(found.group_by(place_id))]


def survey_rows(session: Session, viewer: Viewer, *, start: int, limit: int) -> list[SurveyRow]:
    """Return at most `limit` works of the first survey, by value and likely harm."""
    found = columns(
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
    found = found.where(visible_works(viewer), col(Forecast.first_survey))
    ordered = found.order_by(_VALUE_RANK, likely, col(Work.id)).offset(start).limit(limit)
    return [SurveyRow._make(row) for row in session.execute(ordered)]


def count_survey(session: Session, viewer: Viewer) -> int:
    """Return how many works nobody has examined on record."""
    found = columns(func.count()).select_from(Forecast)
    found = found.join(Work, col(Work.id) == col(Forecast.work_id))
    waiting = found.where(visible_works(viewer), col(Forecast.first_survey))
    number: int = session.execute(waiting).scalar_one()
    return number


def visits_to_write_up(session: Session, viewer: Viewer, *, limit: int) -> list[ToWriteUp]:
    """Return at most `limit` visits that wait for their words, oldest first."""
    found = columns(
        col(Visit.id),
        col(Work.id),
        col(Work.number),
        col(Work.title),
        col(Visit.on_edtf),
        col(Visit.kind),
    )
    found = found.select_from(Visit).join(Work, col(Work.id) == col(Visit.work_id))
    found = found.where(visible_works(viewer), col(Visit.to_write_up))
    found = found.where(col(Visit.withdrawn_reason).is_(None))
    first_day = func.coalesce(col(Visit.on_first), 0)
    ordered = found.order_by(first_day, col(Visit.id)).limit(limit)
    return [ToWriteUp._make(row) for row in session.execute(ordered)]


def stored_marks(
    session: Session, viewer: Viewer, work_ids: Sequence[int]
) -> dict[int, StoredMark]:
    """Return what is stored of these works for a list, by work, in one statement."""
    found = columns(
        col(Work.id), col(Forecast.verdict), col(Forecast.due_on), col(Forecast.due_kind)
    )
    found = found.select_from(Forecast).join(Work, col(Work.id) == col(Forecast.work_id))
    found = found.where(visible_works(viewer), col(Work.id).in_(work_ids))
    return {row[0]: StoredMark._make(row) for row in session.execute(found)}


def _parts(viewer: Viewer, kinds: Collection[DueKind]) -> list[tuple[Rows, ColumnElement[int]]]:
    """Return a statement for each kind, with the day it goes by."""
    known = {
        DueKind.URGENT: _of_forecast(viewer, DueKind.URGENT, col(Forecast.due_on), ~_DOES_WAIT),
        DueKind.LOOK: _of_forecast(viewer, DueKind.LOOK, col(Forecast.look_on), _DOES_WAIT),
        DueKind.UNFRAMING: _of_forecast(
            viewer, DueKind.UNFRAMING, col(Forecast.unframing_on), _is_unframed_first()
        ),
        DueKind.REMAT: _of_forecast(viewer, DueKind.REMAT, col(Forecast.remat_by), _DOES_WAIT),
        DueKind.FOLLOW_UP: _of_incidents(viewer),
    }
    return [part for kind, part in known.items() if kind in kinds]


def _is_unframed_first() -> ColumnElement[bool]:
    # A work to be rematted is not unframed before that, only to be looked at; what is unknown
    # must be opened to be known, and then the unframing is what is due first.
    is_first = col(Forecast.due_kind) == DueKind.UNFRAMING
    return and_(_DOES_WAIT, col(Forecast.advice).is_(None) | is_first)


def _of_forecast(
    viewer: Viewer, kind: DueKind, day: Any, condition: ColumnElement[bool]
) -> tuple[Rows, ColumnElement[int]]:
    found: Rows = columns(
        day.label("due"),
        col(Forecast.work_id).label("work_id"),
        literal(ORDER_ON_A_DAY.index(kind)).label("kind_no"),
        literal(0).label("incident_id"),
    )
    found = found.select_from(Forecast).join(Work, col(Work.id) == col(Forecast.work_id))
    return found.where(visible_works(viewer), day.is_not(None), condition), day


def _of_incidents(viewer: Viewer) -> tuple[Rows, ColumnElement[int]]:
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
    found = found.where(visible_works(viewer), day.is_not(None))
    found = found.where(col(FollowUp.done_by_visit_id).is_(None))
    return found.where(col(Incident.withdrawn_reason).is_(None)), day


def _in_places(found: Rows, place_ids: Collection[int] | None) -> Rows:
    if place_ids is None:
        return found
    there = columns(col(Stay.work_id)).where(
        col(Stay.place_id).in_(place_ids), ~col(Stay.ended), col(Stay.withdrawn_reason).is_(None)
    )
    return found.where(col(Work.id).in_(there))


def _first(
    part: tuple[Rows, ColumnElement[int]], until: int | None, after: DueKey | None, limit: int
) -> Rows:
    """Return the first rows of one kind after the key: no more can be on the page."""
    found, day = part
    if until is not None:
        found = found.where(day <= until)
    if after is not None:
        # Days before the key cannot follow it; the exact place is asked of what is left.
        found = found.where(day >= after[0])
    rows = found.subquery()
    asked: Rows = columns(rows)
    if after is not None:
        asked = asked.where(tuple_(*_order(rows)) > after)
    few = asked.order_by(*_order(rows)).limit(limit).subquery()
    return columns(few)


def _order(rows: Subquery) -> tuple[Any, ...]:
    return rows.c.due, rows.c.work_id, rows.c.kind_no, rows.c.incident_id
