"""How is a record changed by several people without one undoing the other?

Whoever changes a record says which version they had before them. Was somebody
quicker, both states are shown and nothing is written. Only what differs is
written; the change log counts the version up. A record is never deleted but
withdrawn, with a reason.
"""

from collections.abc import Mapping
from dataclasses import MISSING, fields, is_dataclass
from dataclasses import replace as with_values
from typing import Any, Protocol, TypeVar

from sqlalchemy import Engine
from sqlalchemy.exc import IntegrityError
from sqlmodel import Session, SQLModel

from models.errors import HingebookError, NotFound, RuleBroken, Stale
from models.rules.record_values import a_name

Row = TypeVar("Row", bound=SQLModel)
Values = TypeVar("Values")


class Versioned(Protocol):
    """A record whose changes are counted."""

    version: int


class Withdrawable(Protocol):
    """A record that may be withdrawn."""

    withdrawn_reason: str | None


def lock(session: Session, table: type[Row], key: int, kind: str) -> Row:
    """Return the row, held until this change is kept or dropped. Raises NotFound."""
    row = session.get(table, key, with_for_update=True, populate_existing=True)
    if row is None:
        raise NotFound(kind, key)
    return row


def refuse_stale(record: Versioned, based_on: int, *, theirs: object) -> None:
    """Raise Stale, with the state that is stored, unless it is the one a person saw."""
    if record.version != based_on:
        raise Stale(
            f"Somebody changed this since you opened it (version {based_on}, now"
            f" {record.version}); look at what is there and choose.",
            theirs=theirs,
        )


def merged(values: Values, changes: Mapping[str, object]) -> Values:
    """Return the values with the changes of a merge patch: absent stays, None clears.

    What is cleared goes back to what it is when nobody says anything.
    """
    assert is_dataclass(values), "values of a record are a dataclass"
    defaults: dict[str, Any] = {
        f.name: None if f.default is MISSING else f.default for f in fields(values)
    }
    told = {name: defaults[name] if new is None else new for name, new in changes.items()}
    changed: Values = with_values(values, **told)  # type: ignore[type-var]
    return changed


def write(record: SQLModel, columns: Mapping[str, object]) -> bool:
    """Set the columns that differ; say whether there were any."""
    differing = {name: new for name, new in columns.items() if getattr(record, name) != new}
    for name, new in differing.items():
        setattr(record, name, new)
    return bool(differing)


def withdraw(record: Withdrawable, reason: str) -> None:
    """Mark a record as withdrawn. Raises BadValue without a reason, RuleBroken the second time."""
    why = a_name("reason")(reason)
    if record.withdrawn_reason is not None:
        raise RuleBroken("This record has been withdrawn already.", "already_withdrawn")
    record.withdrawn_reason = why


def flush_unless_taken(session: Session, index: str, taken: HingebookError) -> None:
    """Write what is pending; raise `taken` when another writer was quicker at a unique index.

    Two writers may both have found a number free; the index alone knows.
    """
    try:
        session.flush()
    except IntegrityError as error:
        if _is_of(index, session, str(error.orig)):
            raise taken from None
        raise


def _is_of(index: str, session: Session, message: str) -> bool:
    bound = session.get_bind()
    engine = bound if isinstance(bound, Engine) else bound.engine
    if engine.dialect.name == "postgresql":
        return f'"{index}"' in message
    # SQLite names table and columns: uq_work_number is "work.number".
    return message.removeprefix("UNIQUE constraint failed: ").replace(".", "_") in index
