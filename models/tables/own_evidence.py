"""What do the collection's own mounts say of each grade, and which of it does a keeper not use?

Factors and the mounts that speak for them follow from the record: one action writes
them, at each renewal. A switch is a person's decision and is logged; it counts from
the next renewal on, when everything that rests on it is worked out anew.
"""

from sqlalchemy import Index
from sqlalchemy import select as columns
from sqlmodel import Session, SQLModel, col, select

from models.tables.base import (
    Derived,
    Record,
    day,
    flag,
    key,
    link,
    number,
    strict,
    text,
    version,
    whole,
    word,
)
from models.tables.visible import Viewer, visible_works
from models.tables.works import Work
from models.vocabulary import Found, Mechanism, Shown

# The scope of the switch for all of it; any other is "mechanism/grade".
EVERYTHING = "everything"
_MOST_MOUNTS = 100_000_000
_LARGEST_FACTOR = 1_000_000


class ExperienceFactor(Derived, table=True):
    """What multiplies the default hazard of a grade; used in forecasts where `in_use`.

    `expected` are the harms that the default figure expected of these mounts.
    `version` counts how often it changed, last on `computed_on`.
    """

    __tablename__ = "experience_factor"
    __table_args__ = strict(
        Index("uq_experience_factor_mechanism_grade", "mechanism", "grade", unique=True)
    )

    id: int | None = key()
    mechanism: Mechanism = word("mechanism", Mechanism)
    grade: str = text("grade", longest=200)
    factor: float = number("factor", 0, _LARGEST_FACTOR, nullable=False)
    low: float = number("low", 0, _LARGEST_FACTOR, nullable=False)
    high: float = number("high", 0, _LARGEST_FACTOR, nullable=False)
    mounts: int = whole("mounts", 0, _MOST_MOUNTS, nullable=False)
    harmed: int = whole("harmed", 0, _MOST_MOUNTS, nullable=False)
    expected: float = number("expected", 0, 2 * _MOST_MOUNTS, nullable=False)
    in_use: bool = flag()
    version: int = version()
    computed_on: int | None = day("computed_on")


class ExperienceMount(Derived, table=True):
    """What one mount says of one mechanism and grade at one place; no hazard above 2 counts."""

    __tablename__ = "experience_mount"
    __table_args__ = strict(Index("ix_experience_mount_mechanism_grade", "mechanism", "grade"))

    id: int | None = key()
    work_id: int = link("work.id")
    mount_id: int = link("mount.id")
    mechanism: Mechanism = word("mechanism", Mechanism)
    grade: str = text("grade", longest=200)
    place: Shown = word("place", Shown)
    hazard: float = number("hazard", 0, 2, nullable=False)
    found: Found = word("found", Found)


class ExperienceSwitch(Record, table=True):
    """A keeper's word on whether own evidence is used: of everything, or of one grade."""

    __tablename__ = "experience_switch"
    __table_args__ = strict(Index("uq_experience_switch_scope", "scope", unique=True))

    id: int | None = key()
    scope: str = text("scope")
    is_off: bool = flag()
    reason: str = text("reason")
    version: int = version()


def scope_of(mechanism: Mechanism, grade: str) -> str:
    """Return the scope of one mechanism and grade, as programs name it too."""
    return f"{mechanism}/{grade}"


def factors_in_use(session: Session) -> dict[tuple[Mechanism, str], float]:
    """Return the factors by which forecasts are worked out."""
    found = session.connection().execute(_IN_USE)
    return {(mechanism, grade): factor for mechanism, grade, factor in found}


def all_factors(session: Session) -> list[ExperienceFactor]:
    """Return every factor, by mechanism and grade."""
    found = select(ExperienceFactor)
    return list(session.exec(found.order_by(ExperienceFactor.mechanism, ExperienceFactor.grade)))


def all_switches(session: Session) -> dict[str, ExperienceSwitch]:
    """Return every switch that anybody has touched, by its scope."""
    return {switch.scope: switch for switch in session.exec(select(ExperienceSwitch))}


def mounts_that_spoke(
    session: Session, viewer: Viewer, mechanism: Mechanism, grade: str
) -> list[tuple[ExperienceMount, str, str]]:
    """Return the mounts kept that speak of a grade, with number and title of their works.

    Those found harmed first, then those that say most; of works this person may see.
    """
    found = select(ExperienceMount, Work.number, Work.title).join(Work)
    found = found.where(visible_works(viewer), ExperienceMount.mechanism == mechanism)
    found = found.where(ExperienceMount.grade == grade)
    rows = session.exec(found.order_by(col(ExperienceMount.id)))
    return [(mount, number, title) for mount, number, title in rows]


_TABLE = SQLModel.metadata.tables[str(ExperienceFactor.__tablename__)]
_IN_USE = columns(_TABLE.c.mechanism, _TABLE.c.grade, _TABLE.c.factor).where(_TABLE.c.in_use)
