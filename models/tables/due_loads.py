"""How many works are next due within each of some spans of days, and of which kind?

Of each work only what is due first counts, and beside it the looks that incidents ask
for and the days by which light takes a work down; boxes are counted apart. A collection
has a date for every work, so the dates are counted within an index, without a look at the
works: for those who see every work, all dates are counted and those of works off the
register taken away again, which are few. Of remats alone, which are few too, the works are
gone to for the hours worked out for them. One statement, built once for each number of
spans.
"""

from collections.abc import Sequence
from functools import cache
from typing import Any, NamedTuple

from sqlalchemy import (
    CTE,
    BindParameter,
    ColumnElement,
    CompoundSelect,
    Double,
    Integer,
    Select,
    bindparam,
    case,
    cast,
    func,
    literal,
    not_,
    null,
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
    if all_works:
        off = not_(is_visible)
        gone = (_counted(found(spans, off), sign=-1) for found in (_dates, _take_downs))
        span = _spans(spans)
        dates = [_all_dates(span), _all_take_downs(span), *gone]
    else:
        dates = [_counted(found(spans, is_visible)) for found in (_dates, _take_downs)]
    others = (_remats(spans, is_visible), _follow_ups(spans, is_visible))
    return union_all(*dates, *(_counted(found) for found in others))


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


def _all_dates(span: CTE) -> Rows:
    """Count every date of the forecasts, those of works off the register too."""
    kinds = union_all(*(columns(literal(k, _KIND).label("kind")) for k in _COUNTED_ALONE))
    kind = kinds.cte("kind")
    counted = _within(span, col(Forecast.due_on)).where(col(Forecast.due_kind) == kind.c.kind)
    works = counted.correlate(span, kind).scalar_subquery()
    found: Rows = columns(span.c.span_no, kind.c.kind, works, literal(0), literal(0.0))
    return found.select_from(span.join(kind, true()))


def _all_take_downs(span: CTE) -> Rows:
    works = _within(span, col(Forecast.take_down_on)).correlate(span).scalar_subquery()
    kind = literal(DueKind.TAKE_DOWN, _KIND)
    found: Rows = columns(span.c.span_no, kind, works, literal(0), literal(0.0))
    return found.select_from(span)


def _within(span: CTE, day: Any) -> Select[int]:
    counted = columns(func.count()).select_from(Forecast)
    return counted.where(day >= span.c.first_day, day < span.c.end_day)


def _counted(found: Rows, *, sign: int = 1) -> Rows:
    """Count dates that are told one by one, or take them away again."""
    each = found.subquery()
    hours = each.c.hours
    total = func.coalesce(func.sum(hours), 0.0)
    return columns(
        each.c.span_no, each.c.kind, func.count() * sign, func.count(hours), total
    ).group_by(each.c.span_no, each.c.kind)


def _told(spans: int, day: Any, kind: Any, hours: Any = None) -> Rows:
    """Return one row for each date: the number of its span, its kind and its hours."""
    # Not by a join with the spans: SQLite may begin with them, and go to all works for each.
    span_no = case(*((day < _bound(n + 1), literal(n, Integer)) for n in range(spans)))
    no_hours = cast(null(), Double)
    found: Rows = columns(
        span_no.label("span_no"),
        kind.label("kind"),
        (no_hours if hours is None else hours).label("hours"),
    )
    return found.where(day >= _bound(0), day < _bound(spans))


def _dates(spans: int, condition: ColumnElement[bool]) -> Rows:
    kind = col(Forecast.due_kind)
    found = _of_works(_told(spans, col(Forecast.due_on), kind), condition)
    return found.where(kind.in_(_COUNTED_ALONE))


def _take_downs(spans: int, condition: ColumnElement[bool]) -> Rows:
    kind = literal(DueKind.TAKE_DOWN, _KIND)
    return _of_works(_told(spans, col(Forecast.take_down_on), kind), condition)


def _of_works(found: Rows, condition: ColumnElement[bool]) -> Rows:
    # Begun from the works, which are few: "+ 0" keeps SQLite from beginning with all dates.
    found = found.select_from(Work).join(Forecast, col(Forecast.work_id) == col(Work.id) + 0)
    return found.where(condition)


def _remats(spans: int, is_visible: ColumnElement[bool]) -> Rows:
    kind = col(Forecast.due_kind)
    found = _told(spans, col(Forecast.due_on), kind, col(RematScore.hours))
    found = found.select_from(Forecast).join(Work, col(Work.id) == col(Forecast.work_id))
    found = found.outerjoin(RematScore, col(RematScore.work_id) == col(Forecast.work_id))
    return found.where(is_visible, kind == DueKind.REMAT)


def _follow_ups(spans: int, is_visible: ColumnElement[bool]) -> Rows:
    found = _told(spans, col(FollowUp.due_on), literal(DueKind.FOLLOW_UP, _KIND))
    found = found.select_from(FollowUp)
    found = found.join(IncidentWork, col(IncidentWork.id) == col(FollowUp.incident_work_id))
    found = found.join(Incident, col(Incident.id) == col(IncidentWork.incident_id))
    found = found.join(Work, col(Work.id) == col(IncidentWork.work_id))
    found = found.where(is_visible, col(FollowUp.done_by_visit_id).is_(None))
    return found.where(col(Incident.withdrawn_reason).is_(None))
