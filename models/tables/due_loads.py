"""How many works are next due within each of some spans of days, and of which kind?

Of each work only what is due first counts, and beside it the looks that incidents ask
for; boxes are counted apart. A collection has a date for every work, so the dates are
counted within an index, without a look at the works: for those who see every work, all
dates are counted and those of works off the register taken away again, which are few. Of
remats alone, which are few too, the works are gone to for the hours worked out for them.
One statement, built once for each number of spans.
"""

from collections.abc import Sequence
from functools import cache
from typing import Any, NamedTuple

from sqlalchemy import (
    CTE,
    BindParameter,
    ColumnElement,
    CompoundSelect,
    Integer,
    Select,
    and_,
    bindparam,
    func,
    literal,
    not_,
    true,
    union_all,
)
from sqlalchemy import select as columns
from sqlmodel import Session, col

from models.tables.base import Word
from models.tables.forecasts import Forecast
from models.tables.places import FollowUp, Incident, IncidentWork
from models.tables.remats import RematScore
from models.tables.visible import Viewer, sees_all_works, visible_by_parameter
from models.tables.works import Work
from models.vocabulary import DueKind

Rows = Select[*tuple[Any, ...]]

# Of a remat the hours are asked for as well; boxes are counted by whoever knows the places.
_COUNTED_ALONE = (DueKind.URGENT, DueKind.LOOK, DueKind.UNFRAMING)
_KIND = Word(DueKind)


class DueLoad(NamedTuple):
    """How many dates of one kind lie in the span of this number.

    Of `known` of them somebody worked out the hours, `hours` together.
    """

    span_no: int
    kind: DueKind
    works: int
    known: int
    hours: float


def due_loads(session: Session, viewer: Viewer, bounds: Sequence[int]) -> list[DueLoad]:
    """Return what is due from each bound until before the next; one kind may come twice.

    `bounds` are days in their order. What comes twice is to be added up.
    """
    found = _due_loads(len(bounds) - 1, all_works=sees_all_works(viewer))
    days = {_bound(n).key: day for n, day in enumerate(bounds)}
    given = {"viewer_owner_id": viewer.owner_id, **days}
    return [DueLoad._make(row) for row in session.connection().execute(found, given)]


@cache
def _due_loads(spans: int, *, all_works: bool) -> CompoundSelect[*tuple[Any, ...]]:
    is_visible = visible_by_parameter(all_works=all_works)
    span = _spans(spans)
    dates = (
        [_all_dates(span), _dates(span, not_(is_visible), sign=-1)]
        if all_works
        else [_dates(span, is_visible)]
    )
    return union_all(*dates, _remats(span, is_visible), _follow_ups(span, is_visible))


def _bound(n: int) -> BindParameter[int]:
    return bindparam(f"bound_{n}", type_=Integer)


def _spans(spans: int) -> CTE:
    # Not as VALUES, of which SQLAlchemy keeps no text: it would be written anew each time.
    rows = (
        columns(
            literal(n, Integer).label("span_no"),
            _bound(n).label("first_day"),
            _bound(n + 1).label("end_day"),
        )
        for n in range(spans)
    )
    return union_all(*rows).cte("span")


def _is_within(day: Any, span: CTE) -> ColumnElement[bool]:
    return and_(day >= span.c.first_day, day < span.c.end_day)


def _all_dates(span: CTE) -> Rows:
    """Count every date of the forecasts, those of works off the register too."""
    kinds = union_all(*(columns(literal(k, _KIND).label("kind")) for k in _COUNTED_ALONE))
    kind = kinds.cte("kind")
    counted = columns(func.count()).select_from(Forecast)
    counted = counted.where(col(Forecast.due_kind) == kind.c.kind)
    counted = counted.where(_is_within(col(Forecast.due_on), span))
    works = counted.correlate(span, kind).scalar_subquery()
    none = literal(0)
    return columns(span.c.span_no, kind.c.kind, works, none, literal(0.0)).select_from(
        span.join(kind, true())
    )


def _dates(span: CTE, condition: ColumnElement[bool], *, sign: int = 1) -> Rows:
    """Count the dates of the works of this condition, or take them away again."""
    kind = col(Forecast.due_kind)
    counted = func.count() * sign
    found: Rows = columns(span.c.span_no, kind, counted, literal(0), literal(0.0))
    # Begun from the works, which are few: "+ 0" keeps SQLite from beginning with all dates.
    found = found.select_from(Work).join(Forecast, col(Forecast.work_id) == col(Work.id) + 0)
    found = found.join(span, _is_within(col(Forecast.due_on), span))
    found = found.where(condition, kind.in_(_COUNTED_ALONE))
    return found.group_by(span.c.span_no, kind)


def _remats(span: CTE, is_visible: ColumnElement[bool]) -> Rows:
    hours = col(RematScore.hours)
    remat = literal(DueKind.REMAT, _KIND)
    total = func.coalesce(func.sum(hours), 0.0)
    found: Rows = columns(span.c.span_no, remat, func.count(), func.count(hours), total)
    found = found.select_from(Forecast).join(Work, col(Work.id) == col(Forecast.work_id))
    found = found.join(span, _is_within(col(Forecast.due_on), span))
    found = found.outerjoin(RematScore, col(RematScore.work_id) == col(Forecast.work_id))
    found = found.where(is_visible, col(Forecast.due_kind) == DueKind.REMAT)
    return found.group_by(span.c.span_no)


def _follow_ups(span: CTE, is_visible: ColumnElement[bool]) -> Rows:
    follow_up = literal(DueKind.FOLLOW_UP, _KIND)
    found: Rows = columns(span.c.span_no, follow_up, func.count(), literal(0), literal(0.0))
    found = found.select_from(FollowUp)
    found = found.join(IncidentWork, col(IncidentWork.id) == col(FollowUp.incident_work_id))
    found = found.join(Incident, col(Incident.id) == col(IncidentWork.incident_id))
    found = found.join(Work, col(Work.id) == col(IncidentWork.work_id))
    found = found.join(span, _is_within(col(FollowUp.due_on), span))
    found = found.where(is_visible, col(FollowUp.done_by_visit_id).is_(None))
    found = found.where(col(Incident.withdrawn_reason).is_(None))
    return found.group_by(span.c.span_no)
