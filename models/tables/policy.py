"""What has a keeper set for the whole house, and is what was read of it still what holds?

A setting or figure that nobody touched has no row; one that was set back keeps its row,
with its reason, and no value. `house_state` says for each thing that all forecasts rest on
by which token it goes now: triggers draw a new token, at random, with every change. So
whoever keeps what they read beside its token knows by one statement whether it still
holds. Tokens are no counters: a count that was rolled back would come again for something
else.
"""

from datetime import datetime
from typing import Any, NamedTuple

from sqlalchemy import CheckConstraint, Index
from sqlalchemy import select as columns
from sqlmodel import Session, SQLModel, select

from models.tables.base import (
    Derived,
    Record,
    key,
    link,
    moment,
    note,
    number,
    strict,
    text,
    version,
    word,
)
from models.vocabulary import Mechanism

_LARGEST = 1_000_000_000


class PolicySetting(Record, table=True):
    """One setting of the policy in its own unit; without a value it is as shipped."""

    __tablename__ = "policy_setting"
    __table_args__ = strict(Index("uq_policy_setting_name", "name", unique=True))

    id: int | None = key()
    name: str = text("name", longest=100)
    value: float | None = number("value", 0, _LARGEST)
    reason: str = text("reason")
    by_id: int | None = link("person.id", nullable=True)
    at: datetime = moment()
    version: int = version()


class FigureSetting(Record, table=True):
    """The keeper's figures for a mechanism and grade; what is left out is as shipped.

    `median` in the unit of the shipped figure, `shape` without unit, `severity` from 0 to 1.
    """

    __tablename__ = "figure_setting"
    __table_args__ = strict(
        Index("uq_figure_setting_mechanism_grade", "mechanism", "grade", unique=True)
    )

    id: int | None = key()
    mechanism: Mechanism = word("mechanism", Mechanism)
    grade: str = text("grade", longest=200)
    median: float | None = number("median", 0, _LARGEST)
    shape: float | None = number("shape", 0, 100)
    severity: float | None = number("severity", 0, 1)
    basis: str = note("basis")
    reason: str = text("reason")
    by_id: int | None = link("person.id", nullable=True)
    at: datetime = moment()
    version: int = version()


class HouseState(Derived, table=True):
    """One row: the token of each thing that all forecasts rest on."""

    __tablename__ = "house_state"
    __table_args__ = strict(CheckConstraint("id = 1", name="one_row"))

    id: int | None = key()
    places: str = text("places", longest=64)
    policy: str = text("policy", longest=64)
    figures: str = text("figures", longest=64)
    experience: str = text("experience", longest=64)
    climates: str = text("climates", longest=64)


class Tokens(NamedTuple):
    """The tokens by which each thing goes, as one transaction sees them."""

    places: str
    policy: str
    figures: str
    experience: str
    climates: str


_STATE = SQLModel.metadata.tables[str(HouseState.__tablename__)]
_TOKENS = columns(*(_STATE.c[name] for name in Tokens._fields))


def tokens_now(session: Session) -> Tokens | None:
    """Return the tokens, those of this transaction's own changes too; None before there are any."""
    session.flush()
    row = session.connection().execute(_TOKENS).first()
    return None if row is None else Tokens(*row)


def hold_house_state(session: Session) -> None:
    """Wait until nobody else is changing what all forecasts rest on, and keep it so."""
    session.connection().execute(_TOKENS.with_for_update())


def settings_kept(session: Session) -> dict[str, PolicySetting]:
    """Return every setting that anybody has touched, by its name."""
    return {row.name: row for row in session.exec(select(PolicySetting))}


def figures_kept(session: Session) -> dict[tuple[Mechanism, str], FigureSetting]:
    """Return every figure that anybody has touched, by mechanism and grade."""
    return {(row.mechanism, row.grade): row for row in session.exec(select(FigureSetting))}


class FigureRow(NamedTuple):
    """What a keeper says of a mechanism and grade."""

    mechanism: Mechanism
    grade: str
    median: float | None
    shape: float | None
    severity: float | None
    basis: str


_SETTINGS = SQLModel.metadata.tables[str(PolicySetting.__tablename__)]
_FIGURES = SQLModel.metadata.tables[str(FigureSetting.__tablename__)]
_SET: Any = columns(_SETTINGS.c.name, _SETTINGS.c.value).where(_SETTINGS.c.value.is_not(None))
_OWN: Any = columns(*(_FIGURES.c[name] for name in FigureRow._fields))


def settings_in_force(session: Session) -> dict[str, float]:
    """Return the settings that differ from what is shipped, as plain values."""
    return {name: value for name, value in session.connection().execute(_SET)}


def figures_in_force(session: Session) -> list[FigureRow]:
    """Return the keeper's figures as plain values."""
    return [FigureRow(*row) for row in session.connection().execute(_OWN)]
