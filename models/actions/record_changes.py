"""How is a record changed by several people without one undoing the other?

Whoever changes a record says which version they had before them. Was somebody
quicker, both states are shown and nothing is written. Only what differs is
written; the change log counts the version up. A record is never deleted but
withdrawn, with a reason.
"""

from collections.abc import Mapping, Sequence
from dataclasses import MISSING, fields, is_dataclass
from dataclasses import replace as with_values
from typing import Any, Protocol, TypeVar

from sqlalchemy import Engine
from sqlalchemy.exc import IntegrityError
from sqlmodel import Session, SQLModel

from models.errors import BadValue, Fault, HingebookError, NotFound, RuleBroken, Stale
from models.rules.half_known_dates import HalfKnownDate
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
            "Somebody changed this since you opened it; look at what is there and choose.",
            theirs=theirs,
        )


def merged(values: Values, changes: Mapping[str, object]) -> Values:
    """Return the values with the changes of a merge patch: absent stays, None clears.

    What is cleared goes back to what it is when nobody says anything; a value
    made of parts is merged part by part. Raises BadValue for what must be there.
    """
    assert is_dataclass(values), "values of a record are a dataclass"
    needed = [f.name for f in fields(values) if f.default is MISSING]
    missing = [name for name in needed if name in changes and changes[name] is None]
    if missing:
        faults = [Fault(f"/{name}", f"The {name} cannot be taken away.") for name in missing]
        raise BadValue(faults[0].message, faults)
    defaults: dict[str, Any] = {f.name: f.default for f in fields(values)}
    told: dict[str, Any] = {}
    for name, new in changes.items():
        old = getattr(values, name)
        if isinstance(new, Mapping) and is_dataclass(old):
            told[name] = merged(old, new)
        else:
            told[name] = defaults[name] if new is None else new
    changed: Values = with_values(values, **told)  # type: ignore[type-var]
    return changed


def date_columns(name: str, date: HalfKnownDate | None) -> dict[str, object]:
    """Return the three columns in which a half-known date is kept; all empty for none."""
    if date is None:
        return dict.fromkeys((f"{name}_edtf", f"{name}_first", f"{name}_last"))
    return {
        f"{name}_edtf": date.edtf,
        f"{name}_first": date.first_day,
        f"{name}_last": date.last_day,
    }


def date_kept(record: SQLModel, name: str) -> HalfKnownDate | None:
    """Return the half-known date of a record from its three columns."""
    text = getattr(record, f"{name}_edtf")
    if text is None:
        return None
    return HalfKnownDate(text, getattr(record, f"{name}_first"), getattr(record, f"{name}_last"))


def key_of(record: SQLModel) -> int:
    """Return the key of a record that has been stored."""
    key = getattr(record, "id", None)
    assert isinstance(key, int), "a record that was flushed has its key"
    return key


def write(record: SQLModel, columns: Mapping[str, object]) -> bool:
    """Set the columns that differ; say whether there were any."""
    differing = {name: new for name, new in columns.items() if getattr(record, name) != new}
    for name, new in differing.items():
        setattr(record, name, new)
    return bool(differing)


def count_up(record: Versioned) -> None:
    """Count a change that shows in other records: whoever saw the old version must look again."""
    record.version += 1


def withdraw(record: Withdrawable, reason: str) -> None:
    """Mark a record as withdrawn. Raises BadValue without a reason, RuleBroken the second time."""
    why = a_name("reason")(reason)
    if record.withdrawn_reason is not None:
        raise RuleBroken("This record has been withdrawn already.", "already_withdrawn")
    record.withdrawn_reason = why


def flush_unless_taken(
    session: Session, indexes: str | Sequence[str], taken: HingebookError
) -> None:
    """Write what is pending; raise `taken` when another record holds one of these unique indexes.

    Two writers may both have found a number free; the index alone knows.
    """
    names = [indexes] if isinstance(indexes, str) else indexes
    try:
        session.flush()
    except IntegrityError as error:
        if any(_is_of(name, session, str(error.orig)) for name in names):
            raise taken from None
        raise


def _is_of(index: str, session: Session, message: str) -> bool:
    bound = session.get_bind()
    engine = bound if isinstance(bound, Engine) else bound.engine
    if engine.dialect.name == "postgresql":
        return f'"{index}"' in message
    # SQLite names the columns, not the index: place.parent_id, place.name.
    return message == f"UNIQUE constraint failed: {', '.join(_columns_of(index))}"


def _columns_of(index: str) -> list[str]:
    found = [i for table in SQLModel.metadata.tables.values() for i in table.indexes]
    return [str(column) for i in found if i.name == index for column in i.columns]
