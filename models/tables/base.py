"""What every table shares: column types that both databases store alike, and named constraints.

SQLite tables are STRICT, so only TEXT, INTEGER, REAL and BLOB appear there.
Words are stored as people see them, moments as ISO 8601 text in UTC, days as
whole days since 1970-01-01, sizes as whole micrometres. A column that must
never reach the change log is made with `secret`.
"""

from collections.abc import Callable
from datetime import UTC, datetime
from enum import StrEnum
from functools import cache
from typing import Any, ClassVar

from sqlalchemy import (
    REAL,
    BigInteger,
    Boolean,
    CheckConstraint,
    Column,
    Double,
    ForeignKey,
    Integer,
    LargeBinary,
    Text,
)
from sqlalchemy.engine import Dialect
from sqlalchemy.types import TypeDecorator, TypeEngine
from sqlmodel import Field, SQLModel

NAMES = {
    "pk": "pk_%(table_name)s",
    "fk": "fk_%(table_name)s_%(column_0_name)s",
    "ck": "ck_%(table_name)s_%(constraint_name)s",
    "uq": "uq_%(table_name)s_%(column_0_N_name)s",
    "ix": "ix_%(table_name)s_%(column_0_N_name)s",
}
SQLModel.metadata.naming_convention = NAMES

# A name or a number that people type; a note that people write.
LONGEST_NAME = 500
LONGEST_NOTE = 20_000


class Word(TypeDecorator[StrEnum]):
    """A word of a closed list, stored as text exactly as people read it."""

    impl = Text
    cache_ok = True

    def __init__(self, words: type[StrEnum]) -> None:
        super().__init__()
        self.words = words
        self._read: dict[str | None, StrEnum | None] = {None: None}
        self._read.update((word.value, word) for word in words)

    def process_bind_param(self, value: Any, dialect: Dialect) -> str | None:
        """Refuse any word that is not on the list."""
        return None if value is None else self.words(value).value

    def result_processor(self, dialect: Dialect, coltype: object) -> Callable[[Any], Any]:
        """Return what reads a word as its type: by a table, since histories read millions."""
        return self._read.__getitem__


# As SQLite and as PostgreSQL keep it; True is 1 and False is 0 to a dictionary.
_YES_OR_NO = {None: None, 0: False, 1: True}


class Flag(TypeDecorator[bool]):
    """Yes or no: BOOLEAN on PostgreSQL, INTEGER on a STRICT SQLite table."""

    impl = Boolean
    cache_ok = True

    def load_dialect_impl(self, dialect: Dialect) -> TypeEngine[Any]:
        """Choose the storage of this database."""
        return dialect.type_descriptor(Integer() if dialect.name == "sqlite" else Boolean())

    def process_bind_param(self, value: Any, dialect: Dialect) -> Any:
        """Store 0 or 1 where there is no boolean."""
        return int(value) if value is not None and dialect.name == "sqlite" else value

    def result_processor(self, dialect: Dialect, coltype: object) -> Callable[[Any], Any]:
        """Return what reads a bool, never an int."""
        return _YES_OR_NO.__getitem__


class Moment(TypeDecorator[datetime]):
    """A point in time as ISO 8601 text in UTC to the microsecond: text order is time order."""

    impl = Text
    cache_ok = True

    def process_bind_param(self, value: Any, dialect: Dialect) -> str | None:
        """Refuse a naive time: it would be read in another zone."""
        if value is None:
            return None
        if value.tzinfo is None:
            raise ValueError(f"{value} has no time zone.")
        return str(value.astimezone(UTC).strftime("%Y-%m-%dT%H:%M:%S.%fZ"))

    def process_result_value(self, value: Any, dialect: Dialect) -> datetime | None:
        """Return an aware time in UTC."""
        return None if value is None else datetime.fromisoformat(value)


NUMBER: TypeEngine[float] = Double().with_variant(REAL(), "sqlite")
LONG_INTEGER = BigInteger().with_variant(Integer(), "sqlite")
# Ordered byte by byte on both databases, whatever the language of the server.
BYTEWISE: TypeEngine[str] = Text().with_variant(Text(collation="C"), "postgresql")


class _Row(SQLModel):
    """A row as SQLAlchemy alone keeps it.

    SQLModel looks at each value a second time, for checks that it does not make of tables:
    0.1 ms for a new layer, where this takes 0.01 ms.
    """

    def __init__(self, **given: Any) -> None:
        fields = type(self).model_fields
        if unknown := given.keys() - fields.keys():
            raise TypeError(f"{type(self).__name__} has no {', '.join(sorted(unknown))}.")
        self.__dict__.update(_defaults(type(self)), **given)

    def __setattr__(self, name: str, value: Any) -> None:
        object.__setattr__(self, name, value)


@cache
def _defaults(row: type[SQLModel]) -> dict[str, Any]:
    """Return what a row holds before anything is said: plain values, so one of each will do."""
    fields = row.model_fields.items()
    return {name: field.get_default() for name, field in fields if not field.is_required()}


class Record(_Row):
    """A row that people answer for: every change of it goes into the change log."""

    __table_args__: ClassVar[Any] = ({"sqlite_strict": True},)


class Derived(_Row):
    """A row that follows from others, or keeps the machinery going: never in the change log."""

    __table_args__: ClassVar[Any] = ({"sqlite_strict": True},)


def strict(*constraints: Any) -> tuple[Any, ...]:
    """Return table arguments: the constraints and indexes, and STRICT on SQLite."""
    return (*constraints, {"sqlite_strict": True})


def key() -> Any:
    """Return the whole-number key of a table."""
    return Field(default=None, sa_column=Column(LONG_INTEGER, primary_key=True))


def link(target: str, *, nullable: bool = False, index: bool = True) -> Any:
    """Return a foreign key to `table.column`; indexed unless another index leads with it."""
    column: Column[Any] = Column(LONG_INTEGER, ForeignKey(target), nullable=nullable, index=index)
    return Field(default=None, sa_column=column) if nullable else Field(sa_column=column)


def text(
    name: str, *, longest: int = LONGEST_NAME, nullable: bool = False, bytewise: bool = False
) -> Any:
    """Return a text column, never empty where it is required, and bounded in length.

    `bytewise`: pages and ranges go by it.
    """
    shortest = 0 if nullable else 1
    check = CheckConstraint(f"length({name}) BETWEEN {shortest} AND {longest}", name=name)
    column: Column[Any] = Column(BYTEWISE if bytewise else Text, check, nullable=nullable)
    return Field(default=None, sa_column=column) if nullable else Field(sa_column=column)


def person_name(name: str, *, longest: int) -> Any:
    """Return the name of a person: shown, and never logged, so that erasing it is one change."""
    check = CheckConstraint(f"length({name}) BETWEEN 1 AND {longest}", name=name)
    return Field(sa_column=Column(Text, check, nullable=False, info={"secret": True}))


def note(name: str = "note") -> Any:
    """Return a free text that may be empty."""
    check = CheckConstraint(f"length({name}) <= {LONGEST_NOTE}", name=name)
    return Field(default="", sa_column=Column(Text, check, nullable=False))


def word(name: str, words: type[StrEnum], *, nullable: bool = False, default: Any = None) -> Any:
    """Return a column that holds one word of a closed list."""
    listed = ", ".join(f"'{w.value.replace(chr(39), chr(39) * 2)}'" for w in words)
    check = CheckConstraint(f"{name} IN ({listed})", name=name)
    column: Column[Any] = Column(Word(words), check, nullable=nullable)
    if nullable or default is not None:
        return Field(default=default, sa_column=column)
    return Field(sa_column=column)


def flag(*, default: bool = False) -> Any:
    """Return a yes-or-no column."""
    return Field(default=default, sa_column=Column(Flag, nullable=False))


def moment(*, nullable: bool = False, index: bool = False) -> Any:
    """Return a point in time (aware, UTC)."""
    column: Column[Any] = Column(Moment, nullable=nullable, index=index)
    return Field(default=None, sa_column=column) if nullable else Field(sa_column=column)


def number(name: str, lowest: float, highest: float, *, nullable: bool = True) -> Any:
    """Return a real number within its range, in the unit that ends its name."""
    check = CheckConstraint(f"{name} BETWEEN {lowest} AND {highest}", name=name)
    column: Column[Any] = Column(NUMBER, check, nullable=nullable)
    return Field(default=None, sa_column=column) if nullable else Field(sa_column=column)


def whole(
    name: str, lowest: int, highest: int, *, nullable: bool = True, default: int | None = None
) -> Any:
    """Return a whole number within its range."""
    check = CheckConstraint(f"{name} BETWEEN {lowest} AND {highest}", name=name)
    column: Column[Any] = Column(LONG_INTEGER, check, nullable=nullable and default is None)
    if nullable or default is not None:
        return Field(default=default, sa_column=column)
    return Field(sa_column=column)


# A sheet of more than 20 m, or thinner than a micrometre, is a slip of the pen.
LARGEST_UM = 20_000_000


def size_um(name: str, *, lowest: int = 1) -> Any:
    """Return a length in whole micrometres; null where nobody measured."""
    return whole(name, lowest, LARGEST_UM)


# 0001-01-01 and 9999-12-31 as days since 1970-01-01.
FIRST_DAY, LAST_DAY = -719_162, 2_932_896


def day(name: str, *, index: bool = False) -> Any:
    """Return a day number; null where it is open or unknown."""
    check = CheckConstraint(f"{name} BETWEEN {FIRST_DAY} AND {LAST_DAY}", name=name)
    return Field(default=None, sa_column=Column(LONG_INTEGER, check, nullable=True, index=index))


def edtf(name: str, *, nullable: bool = False) -> Any:
    """Return the EDTF text of a half-known date; its bounds stand in two day columns beside it."""
    return text(name, longest=100, nullable=nullable)


def secret(*, unique: bool = False, nullable: bool = False) -> Any:
    """Return a column that is never logged, shown or sent: hashes of passwords, tokens and keys."""
    column: Column[Any] = Column(Text, nullable=nullable, unique=unique, info={"secret": True})
    return Field(default=None, sa_column=column) if nullable else Field(sa_column=column)


def digest() -> Any:
    """Return a column of raw bytes, such as a salt."""
    return Field(sa_column=Column(LargeBinary, nullable=False))


def version() -> Any:
    """Return the count of changes of a row; its strong ETag and `based_on`."""
    return Field(default=1, sa_column=Column(LONG_INTEGER, nullable=False, default=1))
