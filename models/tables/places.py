"""Where are works, in what climate and light, and what happened there?"""

from typing import NamedTuple

from sqlalchemy import CheckConstraint, Index
from sqlalchemy import select as columns
from sqlalchemy import text as sql
from sqlmodel import Session, col, select

from models.tables.base import (
    Record,
    day,
    edtf,
    key,
    link,
    note,
    number,
    strict,
    text,
    version,
    word,
)
from models.vocabulary import PlaceUse, VisitKind


class Place(Record, table=True):
    """A house, a room, a wall, a cabinet, a box; what it does not say it takes from its parent."""

    __tablename__ = "place"
    __table_args__ = strict(
        Index("uq_place_parent_id_name", "parent_id", "name", unique=True),
        Index(
            "uq_place_name_at_top",
            "name",
            unique=True,
            sqlite_where=sql("parent_id IS NULL"),
            postgresql_where=sql("parent_id IS NULL"),
        ),
        CheckConstraint("parent_id <> id", name="not_in_itself"),
    )

    id: int | None = key()
    parent_id: int | None = link("place.id", nullable=True, index=False)
    name: str = text("name", longest=200)
    use: PlaceUse | None = word("use", PlaceUse, nullable=True)
    temperature_c: float | None = number("temperature_c", -30, 60)
    rh_percent: float | None = number("rh_percent", 0, 100)
    lux: float | None = number("lux", 0, 120_000)
    hours_per_day: float | None = number("hours_per_day", 0, 24)
    days_per_year: float | None = number("days_per_year", 0, 366)
    uv_uw_per_lm: float | None = number("uv_uw_per_lm", 0, 2000)
    note: str = note()
    version: int = version()


class Walk(Record, table=True):
    """One act of looking at a whole room (a walk-round) or a whole box (a box check)."""

    __tablename__ = "walk"

    id: int | None = key()
    place_id: int = link("place.id")
    kind: VisitKind = word("kind", VisitKind)
    on_edtf: str = edtf("on_edtf")
    on_first: int | None = day("on_first")
    on_last: int | None = day("on_last")
    by_id: int | None = link("person.id", nullable=True)
    note: str = note()


class Incident(Record, table=True):
    """A leak, a fall, insects, broken glass, a heating failure: over a place and a span of time."""

    __tablename__ = "incident"

    id: int | None = key()
    place_id: int | None = link("place.id", nullable=True)
    kind: str = text("kind", longest=100)
    on_edtf: str = edtf("on_edtf")
    on_first: int | None = day("on_first")
    on_last: int | None = day("on_last")
    note: str = note()
    withdrawn_reason: str | None = text("withdrawn_reason", nullable=True)
    version: int = version()


class IncidentWork(Record, table=True):
    """A work that was within reach of an incident, with the looks it asks for."""

    __tablename__ = "incident_work"
    __table_args__ = strict(
        Index("uq_incident_work_incident_id_work_id", "incident_id", "work_id", unique=True)
    )

    id: int | None = key()
    incident_id: int = link("incident.id", index=False)
    work_id: int = link("work.id")


class FollowUp(Record, table=True):
    """One look that an incident asks for, done when a visit of its day or later is recorded."""

    __tablename__ = "follow_up"
    __table_args__ = strict(
        Index(
            "ix_follow_up_open_due_on",
            "due_on",
            sqlite_where=sql("done_by_visit_id IS NULL"),
            postgresql_where=sql("done_by_visit_id IS NULL"),
        ),
    )

    id: int | None = key()
    incident_work_id: int = link("incident_work.id")
    due_on: int | None = day("due_on")
    done_by_visit_id: int | None = link("visit.id", nullable=True)


def places(session: Session) -> list[Place]:
    """Return every place, parents before their children by key order."""
    return list(session.exec(select(Place).order_by(col(Place.id))))


class PlaceRow(NamedTuple):
    """What the tree of places is made of."""

    id: int
    parent_id: int | None
    name: str
    use: PlaceUse | None
    temperature_c: float | None
    rh_percent: float | None
    lux: float | None
    hours_per_day: float | None
    days_per_year: float | None
    uv_uw_per_lm: float | None


def place_rows(session: Session) -> list[PlaceRow]:
    """Return the same for the tree alone, asked for with every page: as plain columns."""
    session.flush()
    return [PlaceRow(*row) for row in session.connection().execute(_FOR_THE_TREE)]


_FOR_THE_TREE = columns(*(getattr(Place, name) for name in PlaceRow._fields)).order_by(
    col(Place.id)
)


def find_place(session: Session, parent_id: int | None, name: str) -> Place | None:
    """Return the place of this name directly within its parent."""
    within = col(Place.parent_id).is_(None) if parent_id is None else Place.parent_id == parent_id
    return session.exec(select(Place).where(within, Place.name == name)).first()
