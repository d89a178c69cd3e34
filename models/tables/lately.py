"""What was recorded lately that somebody should know of, each with its day?

Of five kinds at most so many each, the newest of each kind first, in one statement. Only
what concerns works that the viewer may see; a recall concerns those that it touches, and
is told to whoever sees every work.
"""

from typing import Any, NamedTuple

from sqlalchemy import (
    ColumnElement,
    Integer,
    Select,
    String,
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
from models.tables.visible import Viewer, sees_all_works, visible_works
from models.tables.visits import Visit
from models.tables.works import Work
from models.vocabulary import Change, RematState

FINDING, MOVED, RECALL, INCIDENT, ANSWER = range(5)
Rows = Select[*tuple[Any, ...]]
# What somebody was asked, and has answered.
_ANSWERS = (RematState.AGREED, RematState.DECLINED_UNTIL, RematState.CANNOT)


class Lately(NamedTuple):
    """One thing: its day, its kind, the key it leads to, the work, and two words of it."""

    on: int
    kind: int
    row_id: int
    work_id: int | None
    number: str | None
    title: str | None
    what: str
    more: str
    until_on: int | None


def recorded_lately(session: Session, viewer: Viewer, *, since: int, each: int) -> list[Lately]:
    """Return what is on record from a day on, the newest first; at most `each` of a kind."""
    kinds = [
        _newest(found, day, since, each)
        for found, day in (
            _findings(viewer),
            _moved(viewer),
            _recalls(viewer),
            _incidents(viewer),
            _answers(viewer),
        )
    ]
    rows = [Lately._make(row) for row in session.execute(union_all(*kinds))]
    return sorted(rows, key=lambda row: (-row.on, row.kind, row.row_id))


def _newest(found: Rows, day: ColumnElement[Any], since: int, each: int) -> Rows:
    some = found.where(day >= since).order_by(day.desc(), literal(1)).limit(each)
    return columns(some.subquery())


def _row(
    kind: int,
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
        literal(kind).label("kind"),
        leads_to.label("row_id"),
        (col(Work.id) if of_a_work else no_key).label("work_id"),
        (cast(col(Work.number), String) if of_a_work else none_said).label("number"),
        (cast(col(Work.title), String) if of_a_work else none_said).label("title"),
        cast(what, String).label("what"),
        cast(more, String).label("more"),
        (no_key if until_on is None else until_on).label("until_on"),
    )


def _findings(viewer: Viewer) -> tuple[Rows, ColumnElement[Any]]:
    day: Any = col(Visit.on_first)
    found = _row(FINDING, day, col(Visit.id), col(FindingTerm.term), col(Sighting.change))
    # Begun from the newest visits: "+ 0" keeps SQLite from beginning with all sightings.
    found = found.select_from(Visit).join(Sighting, col(Sighting.visit_id) == col(Visit.id) + 0)
    found = found.join(Finding, col(Finding.id) == col(Sighting.finding_id))
    found = found.join(FindingTerm, col(FindingTerm.id) == col(Finding.term_id))
    found = found.join(Work, col(Work.id) == col(Visit.work_id))
    found = found.where(visible_works(viewer), col(Visit.withdrawn_reason).is_(None))
    found = found.where(col(Sighting.withdrawn_reason).is_(None))
    grew = (Change.NEW, Change.GROWN, Change.FOUND_AGE_UNKNOWN)
    return found.where(col(Sighting.change).in_(grew)), day


def _moved(viewer: Viewer) -> tuple[Rows, ColumnElement[Any]]:
    day: Any = col(Postponement.made_on)
    until = col(Postponement.until_on)
    reason = col(Postponement.reason)
    found = _row(MOVED, day, col(Postponement.id), col(Postponement.kind), reason, until)
    found = found.select_from(Postponement)
    found = found.join(Work, col(Work.id) == col(Postponement.work_id))
    found = found.where(visible_works(viewer), col(Postponement.withdrawn_reason).is_(None))
    return found.where(~col(Postponement.is_levelled)), day


def _recalls(viewer: Viewer) -> tuple[Rows, ColumnElement[Any]]:
    day: Any = col(Recall.called_on)
    found = _row(
        RECALL, day, col(Recall.id), col(Material.name), col(Recall.reason), of_a_work=False
    )
    found = found.select_from(Recall).outerjoin(Lot, col(Lot.id) == col(Recall.lot_id))
    of_lot = func.coalesce(col(Recall.material_id), col(Lot.material_id))
    found = found.join(Material, col(Material.id) == of_lot)
    found = found.where(col(Recall.lifted_on).is_(None))
    return found.where(true() if sees_all_works(viewer) else false()), day


def _incidents(viewer: Viewer) -> tuple[Rows, ColumnElement[Any]]:
    day: Any = col(Incident.on_first)
    reached = columns(func.count()).select_from(IncidentWork)
    reached = reached.join(Work, col(Work.id) == col(IncidentWork.work_id))
    reached = reached.where(col(IncidentWork.incident_id) == col(Incident.id))
    works = reached.where(visible_works(viewer)).correlate(Incident).scalar_subquery()
    found = _row(INCIDENT, day, col(Incident.id), col(Incident.kind), works, of_a_work=False)
    found = found.select_from(Incident).where(col(Incident.withdrawn_reason).is_(None))
    return found.where(works > 0), day


def _answers(viewer: Viewer) -> tuple[Rows, ColumnElement[Any]]:
    day: Any = col(Remat.said_on)
    found = _row(ANSWER, day, col(Remat.id), col(Remat.state), col(Remat.why), col(Remat.until_on))
    found = found.select_from(Remat).join(Work, col(Work.id) == col(Remat.work_id))
    return found.where(visible_works(viewer), col(Remat.state).in_(_ANSWERS)), day
