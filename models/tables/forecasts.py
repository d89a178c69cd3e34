"""What was last worked out for each work, so that the database can search by it.

Days are as the rules say, never clamped to today: they do not move with the
calendar. One action writes these rows; `hingebook recompute --check` proves them.
`kept_years` is what the search for the days found, as `models.rules.kept_years` lays it
out; none where the rows of the work are newer.
"""

from collections.abc import Mapping

from sqlalchemy import Column, ForeignKey, Index, Integer, LargeBinary, bindparam, update
from sqlalchemy import select as columns
from sqlalchemy import text as sql
from sqlmodel import Field, Session, SQLModel

from models.tables.base import (
    LONG_INTEGER,
    Derived,
    day,
    flag,
    note,
    number,
    strict,
    text,
    word,
)
from models.vocabulary import Advice, DueKind, Freeing, Verdict


class Forecast(Derived, table=True):
    """The stored forecast of one work; chances as a share of 1."""

    __tablename__ = "forecast"
    __table_args__ = strict(
        # By kind: the months ahead are counted within it.
        Index("ix_forecast_due_kind_due_on_work_id", "due_kind", "due_on", "work_id"),
        # One for each list of what is due: it is read in the order of its days.
        Index("ix_forecast_look_on_work_id", "look_on", "work_id"),
        Index("ix_forecast_unframing_on_work_id", "unframing_on", "work_id"),
        Index("ix_forecast_box_check_on_work_id", "box_check_on", "work_id"),
        Index("ix_forecast_remat_by_work_id", "remat_by", "work_id"),
        Index("ix_forecast_take_down_on_work_id", "take_down_on", "work_id"),
        Index(
            "ix_forecast_urgent",
            "due_on",
            "work_id",
            sqlite_where=sql("urgent_since IS NOT NULL"),
            postgresql_where=sql("urgent_since IS NOT NULL"),
        ),
        Index(
            "ix_forecast_first_survey",
            "work_id",
            sqlite_where=sql("first_survey = 1"),
            postgresql_where=sql("first_survey"),
        ),
    )

    work_id: int = Field(
        sa_column=Column(LONG_INTEGER, ForeignKey("work.id"), primary_key=True, autoincrement=False)
    )
    score_day: int | None = day("score_day")
    due_on: int | None = day("due_on")
    due_kind: DueKind | None = word("due_kind", DueKind, nullable=True)
    unframing_on: int | None = day("unframing_on")
    look_on: int | None = day("look_on")
    box_check_on: int | None = day("box_check_on")
    remat_by: int | None = day("remat_by")
    take_down_on: int | None = day("take_down_on")
    advised_on: int | None = day("advised_on")
    advice: Advice | None = word("advice", Advice, nullable=True)
    urgent_sign: str = note("urgent_sign")
    urgent_since: int | None = day("urgent_since")
    first_survey: bool = flag()
    chance_unseen: float | None = number("chance_unseen", 0, 1)
    chance_new_5y: float | None = number("chance_new_5y", 0, 1)
    weak_layer: str = note("weak_layer")
    verdict: Verdict | None = word("verdict", Verdict, nullable=True)
    freeing: Freeing | None = word("freeing", Freeing, nullable=True)
    steps: str | None = text("steps", longest=20_000, nullable=True)
    kept_years: bytes | None = Field(default=None, sa_column=Column(LargeBinary, nullable=True))


def keep_take_downs(session: Session, days: Mapping[int, int | None]) -> None:
    """Store by when these works are to be taken down, of those for which it is another day."""
    stored = columns(_FORECAST.c.work_id, _FORECAST.c.take_down_on)
    found = session.connection().execute(stored.where(_FORECAST.c.work_id.in_(list(days))))
    told = [
        {"this_work": work_id, "day": days[work_id]}
        for work_id, day in found
        if days[work_id] != day
    ]
    if told:
        session.connection().execute(_TAKE_DOWN, told)


_FORECAST = SQLModel.metadata.tables[str(Forecast.__tablename__)]
_TAKE_DOWN = (
    update(_FORECAST)
    .where(_FORECAST.c.work_id == bindparam("this_work"))
    .values(take_down_on=bindparam("day", type_=Integer))
)
