"""What was recorded lately that somebody should know of, each with its day?

Of five kinds at most so many each, the newest of each kind first, in one statement that is
built once. Only what concerns works that the viewer may see; a recall concerns those that
it touches, and is told to whoever sees every work. What is dated after the last day that is
asked for is not told: a year that was typed wrong would stand first until it comes.
"""

from enum import IntEnum
from functools import cache
from typing import Any, NamedTuple

from sqlalchemy import (
    BindParameter,
    ColumnElement,
    CompoundSelect,
    Integer,
    Select,
    String,
    bindparam,
    cast,
    false,
    func,
    literal,
    null,
    true,
    union_all,
)
from sqlalchemy import select as columns
from sqlmodel import Session, col

from models.tables.findings import Finding, Sighting
from models.tables.materials import Lot, Material, Recall
from models.tables.places import Incident, IncidentWork
from models.tables.postponements import Postponement
from models.tables.remats import Remat
from models.tables.terms import FindingTerm
from models.tables.visible import Viewer, sees_all_works, visible_by_parameter
from models.tables.visits import Visit
from models.tables.works import Work
from models.vocabulary import Change, RematState

Rows = Select[*tuple[Any, ...]]
# What somebody was asked, and has answered.
_ANSWERS = (RematState.AGREED, RematState.DECLINED_UNTIL, RematState.CANNOT)


class LatelyKind(IntEnum):
    """What a thing is; on one day they come in this order."""

    FINDING = 0
    PUT_OFF = 1
    RECALL = 2
    INCIDENT = 3
    ANSWER = 4


class Lately(NamedTuple):
    """One thing: its day, its kind, the key it leads to, the work, and two words of it."""

    on: int
    kind: LatelyKind
    row_id: int
    work_id: int | None
    number: str | None
    title: str | None
    what: str
    more: str
    until_on: int | None


def recorded_lately(
    session: Session, viewer: Viewer, *, since: int, until: int, each: int
) -> list[Lately]:
    """Return what is of these days (both inclusive), newest first; at most `each` of a kind."""
    found = _recorded_lately(all_works=sees_all_works(viewer))
    given = {"since": since, "until": until, "each": each, "viewer_owner_id": viewer.owner_id}
    rows = [_lately(row) for row in session.connection().execute(found, given)]
    return sorted(rows, key=lambda row: (-row.on, row.kind, row.row_id))


def _lately(row: Any) -> Lately:
    on, kind, *others = row
    return Lately(on, LatelyKind(kind), *others)


@cache
def _recorded_lately(*, all_works: bool) -> CompoundSelect[*tuple[Any, ...]]:
    is_visible = visible_by_parameter(all_works=all_works)
    kinds = (
        _findings(is_visible),
        _put_off(is_visible),
        _recalls(true() if all_works else false()),
        _incidents(is_visible),
        _answers(is_visible),
    )
    return union_all(*(_newest(found, day) for found, day in kinds))


def _newest(found: Rows, day: ColumnElement[Any]) -> Rows:
    since: BindParameter[int] = bindparam("since")
    until: BindParameter[int] = bindparam("until")
    some = found.where(day.between(since, until)).order_by(day.desc(), literal(1))
    return columns(some.limit(bindparam("each", type_=Integer)).subquery())


def _row(
    kind: LatelyKind,
    day: Any,
    leads_to: Any,
    what: Any,
    more: Any,
    until_on: Any = None,
    *,
    of_a_work: bool = True,
) -> Rows:
    none_said, no_key = cast(null(), String), cast(null(), Integer)
    return columns(
        day.label("day"),
        literal(kind.value).label("kind"),
        leads_to.label("row_id"),
        (col(Work.id) if of_a_work else no_key).label("work_id"),
        (cast(col(Work.number), String) if of_a_work else none_said).label("number"),
        (cast(col(Work.title), String) if of_a_work else none_said).label("title"),
        cast(what, String).label("what"),
        cast(more, String).label("more"),
        (no_key if until_on is None else until_on).label("until_on"),
    )


def _work_of(table: type[Visit | Postponement | Remat]) -> ColumnElement[int]:
    """Return the work of a row, so that SQLite does not begin with all works of an owner."""
    work_id: ColumnElement[int] = col(table.work_id) + 0
    return work_id


def _findings(is_visible: ColumnElement[bool]) -> tuple[Rows, ColumnElement[Any]]:
    day: Any = col(Visit.on_first)
    found = _row(
        LatelyKind.FINDING, day, col(Visit.id), col(FindingTerm.term), col(Sighting.change)
    )
    # Begun from the newest visits: "+ 0" keeps SQLite from beginning with all sightings.
    found = found.select_from(Visit).join(Sighting, col(Sighting.visit_id) == col(Visit.id) + 0)
    found = found.join(Finding, col(Finding.id) == col(Sighting.finding_id))
    found = found.join(FindingTerm, col(FindingTerm.id) == col(Finding.term_id))
    found = found.join(Work, col(Work.id) == _work_of(Visit))
    found = found.where(is_visible, col(Visit.withdrawn_reason).is_(None))
    found = found.where(col(Sighting.withdrawn_reason).is_(None))
    grew = (Change.NEW, Change.GROWN, Change.FOUND_AGE_UNKNOWN)
    return found.where(col(Sighting.change).in_(grew)), day


def _put_off(is_visible: ColumnElement[bool]) -> tuple[Rows, ColumnElement[Any]]:
    day: Any = col(Postponement.made_on)
    until = col(Postponement.until_on)
    reason = col(Postponement.reason)
    found = _row(
        LatelyKind.PUT_OFF, day, col(Postponement.id), col(Postponement.kind), reason, until
    )
    found = found.select_from(Postponement)
    found = found.join(Work, col(Work.id) == _work_of(Postponement))
    found = found.where(is_visible, col(Postponement.withdrawn_reason).is_(None))
    return found.where(~col(Postponement.is_levelled)), day


def _recalls(is_visible: ColumnElement[bool]) -> tuple[Rows, ColumnElement[Any]]:
    day: Any = col(Recall.called_on)
    found = _row(
        LatelyKind.RECALL,
        day,
        col(Recall.id),
        col(Material.name),
        col(Recall.reason),
        of_a_work=False,
    )
    found = found.select_from(Recall).outerjoin(Lot, col(Lot.id) == col(Recall.lot_id))
    of_lot = func.coalesce(col(Recall.material_id), col(Lot.material_id))
    found = found.join(Material, col(Material.id) == of_lot)
    found = found.where(col(Recall.lifted_on).is_(None))
    return found.where(is_visible), day


def _incidents(is_visible: ColumnElement[bool]) -> tuple[Rows, ColumnElement[Any]]:
    day: Any = col(Incident.on_first)
    reached = columns(func.count()).select_from(IncidentWork)
    reached = reached.join(Work, col(Work.id) == col(IncidentWork.work_id))
    reached = reached.where(col(IncidentWork.incident_id) == col(Incident.id))
    works = reached.where(is_visible).correlate(Incident).scalar_subquery()
    found = _row(
        LatelyKind.INCIDENT, day, col(Incident.id), col(Incident.kind), works, of_a_work=False
    )
    found = found.select_from(Incident).where(col(Incident.withdrawn_reason).is_(None))
    return found.where(works > 0), day


def _answers(is_visible: ColumnElement[bool]) -> tuple[Rows, ColumnElement[Any]]:
    day: Any = col(Remat.said_on)
    found = _row(
        LatelyKind.ANSWER, day, col(Remat.id), col(Remat.state), col(Remat.why), col(Remat.until_on)
    )
    found = found.select_from(Remat).join(Work, col(Work.id) == _work_of(Remat))
    return found.where(is_visible, col(Remat.state).in_(_ANSWERS)), day
