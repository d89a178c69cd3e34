"""Who changed what, when, and can the log prove it?

One entry per transaction, sealed into a chain. Payload and actor hold numbers,
never names, so that erasing a name is one row in `person`.
"""

from datetime import datetime

from sqlalchemy import CheckConstraint, Column, Index, LargeBinary, Text
from sqlmodel import Field

from models.tables.base import (
    LONG_INTEGER,
    Derived,
    key,
    link,
    moment,
    secret,
    strict,
    text,
    whole,
)


class LogEntry(Derived, table=True):
    """One sealed transaction; only `salt` and `payload` may ever be blacked out."""

    __tablename__ = "log_entry"

    seq: int = Field(sa_column=Column(LONG_INTEGER, primary_key=True, autoincrement=False))
    layout: int = whole("layout", 1, 1000, nullable=False, default=1)
    prev_sha256: str = text("prev_sha256", longest=64)
    at: str = text("at", longest=40)
    actor: str = text("actor", longest=100)
    payload_sha256: str = text("payload_sha256", longest=64)
    salt: bytes | None = Field(default=None, sa_column=Column(LargeBinary, nullable=True))
    payload: str | None = Field(default=None, sa_column=Column(Text, nullable=True))
    sha256: str = text("sha256", longest=64)
    __table_args__ = strict(CheckConstraint("(salt IS NULL) = (payload IS NULL)", name="whole"))


class LogHead(Derived, table=True):
    """The last entry of the chain: one row, locked while an entry is added."""

    __tablename__ = "log_head"
    __table_args__ = strict(CheckConstraint("id = 1", name="one_row"))

    id: int | None = key()
    seq: int = whole("seq", 0, 2**53, nullable=False, default=0)
    sha256: str = text("sha256", longest=64)


class RepeatKey(Derived, table=True):
    """A request that may be sent again: its digest and the answer it was given."""

    __tablename__ = "repeat_key"
    __table_args__ = strict(
        Index("uq_repeat_key_person_id_request_key", "person_id", "request_key", unique=True)
    )

    id: int | None = key()
    person_id: int = link("person.id", index=False)
    request_key: str = text("request_key", longest=200)
    method_and_path: str = text("method_and_path", longest=500)
    body_sha256: str = secret()
    status: int | None = whole("status", 100, 599)
    location: str | None = text("location", longest=500, nullable=True)
    answer: str | None = Field(default=None, sa_column=Column(Text, nullable=True))
    at: datetime = moment(index=True)
