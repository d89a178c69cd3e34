"""Was this request sent before, and what was it answered?

Whoever may lose the answer on the way gives each request a key of their own. The key is
written first, in the same transaction as the deed: of two that arrive at once, the second
waits and finds it. The same request again is given the same answer and does nothing; the
same key for another request is refused. Only what was done is kept, for seven days.
"""

from dataclasses import dataclass
from datetime import datetime, timedelta

from sqlalchemy import bindparam, delete, text, update
from sqlmodel import Session, SQLModel, select

from models.errors import BadValue
from models.tables.base import Moment
from models.tables.log import RepeatKey

KEPT_FOR = timedelta(days=7)
LONGEST_KEY = 200

# The same words on both databases, so that neither has to be asked which one it is.
_FIRST = text(
    "INSERT INTO repeat_key (person_id, request_key, method_and_path, body_sha256, at)"
    " VALUES (:person_id, :request_key, :method_and_path, :body_sha256, :at)"
    " ON CONFLICT DO NOTHING"
).bindparams(bindparam("at", type_=Moment()))
_KEYS = SQLModel.metadata.tables[str(RepeatKey.__tablename__)]
_OLD = delete(_KEYS).where(_KEYS.c.at < bindparam("kept_since", type_=Moment()))
_ANSWERED = (
    update(_KEYS)
    .where(
        _KEYS.c.person_id == bindparam("whose"),
        _KEYS.c.request_key == bindparam("which"),
    )
    .values({name: bindparam(name) for name in ("status", "location", "answer")})
)


@dataclass(frozen=True)
class Repeatable:
    """A request that may come again: whose, under which key, and what it asks."""

    person_id: int
    request_key: str
    method_and_path: str
    body_sha256: str


@dataclass(frozen=True)
class Answered:
    """What a request was answered the first time."""

    status: int
    location: str | None
    answer: str | None


class KeyOfAnother(BadValue):
    """The key was already used for another request."""

    code = "key_of_another_request"


def answer_given(session: Session, request: Repeatable, now: datetime) -> Answered | None:
    """Return what this request was answered before; None, with the key taken, if it is new."""
    _forget_old(session, now)
    if _is_first(session, request, now):
        return None
    row = _row(session, request)
    if (row.method_and_path, row.body_sha256) != (request.method_and_path, request.body_sha256):
        raise KeyOfAnother("This key was already used for another request; give each its own.")
    assert row.status is not None, "a key is kept together with its answer or not at all"
    return Answered(row.status, row.location, row.answer)


def _forget_old(session: Session, now: datetime) -> None:
    session.connection().execute(_OLD, {"kept_since": now - KEPT_FOR})


def _is_first(session: Session, request: Repeatable, now: datetime) -> bool:
    given = {**vars(request), "at": now}
    return bool(session.connection().execute(_FIRST, given).rowcount)


def _row(session: Session, request: Repeatable) -> RepeatKey:
    return session.exec(
        select(RepeatKey).where(
            RepeatKey.person_id == request.person_id,
            RepeatKey.request_key == request.request_key,
        )
    ).one()


def keep_answer(session: Session, request: Repeatable, answered: Answered) -> None:
    """Keep what the request is answered, to be given again."""
    session.connection().execute(
        _ANSWERED, {"whose": request.person_id, "which": request.request_key, **vars(answered)}
    )
