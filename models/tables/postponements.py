"""Which dates somebody put off, or moved earlier to level the load?"""

from collections.abc import Sequence
from typing import NamedTuple

from sqlalchemy import (
    ColumnElement,
    Index,
    ScalarSelect,
    Text,
    and_,
    case,
    cast,
    func,
    literal,
    not_,
    or_,
)
from sqlalchemy import select as columns
from sqlalchemy import text as sql
from sqlmodel import Session, col, select

from models.tables.base import (
    LONGEST_NOTE,
    Record,
    day,
    flag,
    key,
    link,
    strict,
    text,
    version,
    whole,
    word,
)
from models.tables.component_rows import ComponentRows
from models.tables.forecasts import Forecast
from models.tables.visible import Viewer, visible_works
from models.tables.visits import Visit
from models.tables.works import Work
from models.vocabulary import DueKind

# Far below the number of values that one statement may carry on SQLite.
_AT_ONCE = 500
# Control characters, which no text that people typed holds.
_BETWEEN_FIELDS, _BETWEEN_ROWS = "\x1f", "\x1e"


class Postponement(Record, table=True):
    """The day to which one date of a work was moved, and why.

    It counts until a visit after number `after_visit_no` does what was to be done.
    """

    __tablename__ = "postponement"
    __table_args__ = strict(
        Index("ix_postponement_work_id", "work_id"),
        Index(
            "uq_postponement_work_id_kind",
            "work_id",
            "kind",
            unique=True,
            sqlite_where=sql("withdrawn_reason IS NULL"),
            postgresql_where=sql("withdrawn_reason IS NULL"),
        ),
    )

    id: int | None = key()
    work_id: int = link("work.id", index=False)
    kind: DueKind = word("kind", DueKind)
    until_on: int | None = day("until_on")
    reason: str = text("reason", longest=LONGEST_NOTE)
    made_on: int | None = day("made_on")
    by_id: int | None = link("person.id", nullable=True)
    after_visit_no: int = whole("after_visit_no", 0, 2**31, nullable=False, default=0)
    is_levelled: bool = flag()
    withdrawn_reason: str | None = text("withdrawn_reason", nullable=True)
    version: int = version()


class PostponementRow(NamedTuple):
    """A postponement that was not withdrawn."""

    id: int
    work_id: int
    kind: DueKind
    until_on: int
    reason: str
    made_on: int
    after_visit_no: int
    is_levelled: bool
    version: int


def put_off_together() -> ScalarSelect[str]:
    """Return all that was put off of `work` as one text, for `postponement_rows`.

    Few works have any, and no statement more is sent for those that have.
    """
    fields = (
        col(Postponement.id),
        col(Postponement.kind),
        func.coalesce(col(Postponement.until_on), 0),
        func.coalesce(col(Postponement.made_on), 0),
        col(Postponement.after_visit_no),
        case((col(Postponement.is_levelled), 1), else_=0),
        col(Postponement.version),
        col(Postponement.reason),
    )
    first, *others = (cast(field, Text) for field in fields)
    together: ColumnElement[str] = first
    for field in others:
        together = together + _BETWEEN_FIELDS + field
    found = columns(func.aggregate_strings(together, _BETWEEN_ROWS))
    found = found.where(col(Postponement.work_id) == col(Work.id))
    found = found.where(col(Postponement.withdrawn_reason).is_(None))
    return found.correlate(Work).scalar_subquery()


def postponement_rows(work_id: int, together: str | None) -> tuple[PostponementRow, ...]:
    """Return what was put off of a work, the first put off first."""
    rows = together.split(_BETWEEN_ROWS) if together else []
    return tuple(sorted(_read(work_id, row) for row in rows))


def _read(work_id: int, row: str) -> PostponementRow:
    number, kind, until_on, made_on, after_visit_no, is_levelled, its_version, reason = row.split(
        _BETWEEN_FIELDS
    )
    return PostponementRow(
        id=int(number),
        work_id=work_id,
        kind=DueKind(kind),
        until_on=int(until_on),
        reason=reason,
        made_on=int(made_on),
        after_visit_no=int(after_visit_no),
        is_levelled=is_levelled == "1",
        version=int(its_version),
    )


def is_put_off() -> ColumnElement[bool]:
    """Return the condition on `work` that something of it was put off."""
    its = columns(col(Postponement.id)).where(
        col(Postponement.work_id) == col(Work.id), col(Postponement.withdrawn_reason).is_(None)
    )
    return its.exists()


def get_postponement(session: Session, viewer: Viewer, postponement_id: int) -> Postponement | None:
    """Return one of a work that this person may see, held to be changed; None for no such."""
    found = select(Postponement).join(Work)
    found = found.where(visible_works(viewer), Postponement.id == postponement_id)
    found = found.where(col(Postponement.withdrawn_reason).is_(None)).with_for_update()
    return session.exec(found.execution_options(populate_existing=True)).first()


def levelled_postponements(session: Session) -> list[Postponement]:
    """Return what levelling the load has moved and nobody has moved since."""
    found = select(Postponement).where(
        col(Postponement.is_levelled), col(Postponement.withdrawn_reason).is_(None)
    )
    return list(session.exec(found.order_by(col(Postponement.work_id), col(Postponement.id))))


class LoadRow(NamedTuple):
    """The next unframing or remat of a work, with the frame that its dates rest on."""

    work_id: int
    kind: DueKind
    on: int
    frame: bytes
    is_put_off: bool


def load_rows(session: Session, *, until: int) -> list[LoadRow]:
    """Return what asks for the bench up to a day, of all works; signs that do not wait apart.

    Of a work to be rematted that is the remat, else the next unframing.
    """
    is_remat = col(Forecast.advice).is_not(None)
    kind = case((is_remat, literal(DueKind.REMAT.value)), else_=DueKind.UNFRAMING.value)
    day = case((is_remat, col(Forecast.remat_by)), else_=col(Forecast.unframing_on))
    found = columns(col(Work.id), kind, day, col(ComponentRows.frame), is_put_off())
    found = found.select_from(Forecast).join(Work, col(Work.id) == col(Forecast.work_id))
    found = found.join(ComponentRows, col(ComponentRows.work_id) == col(Work.id))
    # Each day by itself, so that its own index finds it: of the two as one there is none.
    is_due = or_(
        and_(is_remat, col(Forecast.remat_by) <= until),
        and_(not_(is_remat), col(Forecast.unframing_on) <= until),
    )
    found = found.where(col(Work.withdrawn_reason).is_(None), is_due)
    found = found.where(col(Forecast.urgent_since).is_(None)).order_by(day, col(Work.id))
    return [
        LoadRow(work_id, DueKind(word), on, frame, put_off)
        for work_id, word, on, frame, put_off in session.execute(found)
    ]


def last_visit_numbers(session: Session, work_ids: Sequence[int]) -> dict[int, int]:
    """Return the highest number of a visit of each of these works; none: not in the answer."""
    numbers: dict[int, int] = {}
    for start in range(0, len(work_ids), _AT_ONCE):
        some = work_ids[start : start + _AT_ONCE]
        found = columns(col(Visit.work_id), func.max(col(Visit.visit_no)))
        found = found.where(col(Visit.work_id).in_(some)).group_by(col(Visit.work_id))
        numbers.update((work_id, number) for work_id, number in session.execute(found))
    return numbers
