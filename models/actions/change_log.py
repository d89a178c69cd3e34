"""Every change by every door: who, when, before and after, sealed in a chain.

Whoever writes goes through `recording`: one transaction, one entry. The entry
is sealed as the last statements before the commit. Its hash covers exact bytes:
the payload is text, made once. Salted, a payload can be blacked out later
without breaking the chain. Each change holds the whole row after it, so that
`verify_log` can accuse the tables: a row that differs from its last after-image
was changed behind the log's back. A chain does not show that its tail was cut
off; that is why its head is printed wherever a copy is made, and can be given
back to `verify_log`.
"""

import hashlib
import json
import secrets
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from functools import cache
from typing import Any

from sqlalchemy import BindParameter, Engine, Table, bindparam, event, insert, inspect, update
from sqlalchemy import select as columns
from sqlmodel import Session, SQLModel, col, select

from models.database import write_session
from models.errors import RuleBroken
from models.tables.base import Record
from models.tables.log import LogEntry, LogHead

LAYOUT = 1
NOTHING_BEFORE = "0" * 64
# The head of a log without an entry.
EMPTY = f"0:{NOTHING_BEFORE}"
_CHANGES = "hingebook_changes"

_ENTRIES, _HEADS = (SQLModel.metadata.tables[str(t.__tablename__)] for t in (LogEntry, LogHead))
_HEAD = columns(_HEADS.c.seq, _HEADS.c.sha256).with_for_update()
_MOVED: dict[str, BindParameter[Any]] = {
    "seq": bindparam("its_seq"),
    "sha256": bindparam("its_sha256"),
}
_FIRST_HEAD, _NEXT_HEAD = insert(_HEADS).values(id=1, **_MOVED), update(_HEADS).values(_MOVED)
_NEW_ENTRY = insert(_ENTRIES)

Row = dict[str, Any]
Changes = dict[tuple[str, Any], Row]


@contextmanager
def recording(engine: Engine, *, actor: str, now: datetime) -> Iterator[Session]:
    """Open the one session that may write; seal what it changed and keep it, or keep nothing.

    `actor` is a reference such as `person:3` or `command`, never a name.
    """
    with write_session(engine) as session:
        watch(session)
        yield session
        seal(session, actor=actor, now=now)


def watch(session: Session) -> None:
    """Note every record that this session adds or changes, and count its versions."""
    session.info[_CHANGES] = {}
    event.listen(session, "before_flush", _count_versions)
    event.listen(session, "after_flush", _note_changes)


def _count_versions(session: Session, _context: object, _instances: object) -> None:
    changes: Changes = session.info[_CHANGES]
    for row in session.dirty:
        if isinstance(row, Record) and session.is_modified(row) and hasattr(row, "version"):
            # Once for each transaction, and not again where a deed has counted it by hand
            # because the change shows in other records.
            row.version += not (_key(row) in changes or _is_counted(row))
    gone = [row for row in session.deleted if isinstance(row, Record)]
    if gone:
        raise RuleBroken(f"Records are withdrawn with a reason, never deleted: {gone[0]!r}.")


def _is_counted(row: Record) -> bool:
    state = inspect(row)
    assert state is not None, "a row in a session has a state"
    return bool(state.attrs.version.history.has_changes())


def _note_changes(session: Session, _context: object) -> None:
    for row in session.new:
        if isinstance(row, Record):
            _note(session, _change(row, before=None))
    for row in session.dirty:
        if isinstance(row, Record) and session.is_modified(row):
            _note(session, _change(row, before=_before(row)))


def _note(session: Session, change: Row) -> None:
    """Keep one change for each row: what it was before all of this, and what it is after."""
    changes: Changes = session.info[_CHANGES]
    earlier = changes.setdefault((change["table"], change["id"]), change)
    earlier["after"] = change["after"]
    if earlier["before"] is not None and change["before"] is not None:
        earlier["before"] = {**change["before"], **earlier["before"]}


def _key(row: Record) -> tuple[str, Any]:
    return _table(type(row)).name, getattr(row, "id", None)


def _change(row: Record, *, before: Row | None) -> Row:
    table = _table(type(row))
    # A value that is at hand is read without asking the session whether it is.
    values = vars(row)
    after = {
        name: _plain(values[name] if name in values else getattr(row, name))
        for name in _logged(table)
    }
    return {"table": table.name, "id": after["id"], "before": before, "after": after}


def _before(row: Record) -> Row:
    """Return what the changed columns held before; only those."""
    state = inspect(row)
    assert state is not None, "a row in a session has a state"
    old: Row = {}
    for name in state.committed_state.keys() & _logged(_table(type(row))):
        history = state.attrs[name].history
        if history.has_changes():
            old[name] = _plain(history.deleted[0]) if history.deleted else None
    return old


@cache
def _logged(table: Table) -> frozenset[str]:
    return frozenset(column.name for column in table.columns if not is_secret(column))


def is_secret(column: Any) -> bool:
    """Say whether a column must never be logged."""
    return bool(column.info.get("secret"))


def _table(record: type[SQLModel]) -> Table:
    table = SQLModel.metadata.tables[str(record.__tablename__)]
    return table


def _plain(value: Any) -> Any:
    return value.astimezone(UTC).isoformat() if isinstance(value, datetime) else value


def canonical(value: object) -> str:
    """Return JSON that is the same text for the same value, whoever makes it."""
    return json.dumps(value, sort_keys=True, ensure_ascii=False, separators=(",", ":"))


def seal(session: Session, *, actor: str, now: datetime) -> LogEntry | None:
    """Add the entry for everything this session changed; None if it changed nothing."""
    session.flush()
    changes: Changes = session.info[_CHANGES]
    if not changes:
        return None
    head = session.connection().execute(_HEAD).first()
    last_seq, last_sha256 = (head.seq, head.sha256) if head else (0, NOTHING_BEFORE)
    salt = secrets.token_bytes(16)
    payload = canonical({"changes": list(changes.values())})
    entry = LogEntry(
        seq=last_seq + 1,
        layout=LAYOUT,
        prev_sha256=last_sha256,
        at=now.astimezone(UTC).isoformat(timespec="microseconds"),
        actor=actor,
        payload_sha256=hashlib.sha256(salt + payload.encode()).hexdigest(),
        salt=salt,
        payload=payload,
        sha256="",
    )
    entry.sha256 = entry_digest(entry)
    _add(session, entry, is_first=head is None)
    session.info[_CHANGES] = {}
    return entry


def _add(session: Session, entry: LogEntry, *, is_first: bool) -> None:
    """Write the entry and move the head; statements kept, since every deed sends them."""
    connection = session.connection()
    connection.execute(_NEW_ENTRY, {name: getattr(entry, name) for name in _ENTRIES.c.keys()})
    connection.execute(
        _FIRST_HEAD if is_first else _NEXT_HEAD, {"its_seq": entry.seq, "its_sha256": entry.sha256}
    )


def entry_digest(entry: LogEntry) -> str:
    """Return the hash that an entry must carry."""
    parts = (
        str(entry.layout),
        str(entry.seq),
        entry.prev_sha256,
        entry.at,
        entry.actor,
        entry.payload_sha256,
    )
    return hashlib.sha256("|".join(parts).encode()).hexdigest()


def log_head(session: Session) -> str:
    """Return the head of the chain as `SEQ:HASH`, to be kept with every copy."""
    head = session.exec(select(LogHead)).first()
    return f"{head.seq}:{head.sha256}" if head else EMPTY


def verify_log(session: Session, *, expect: str | None = None) -> list[str]:
    """Return every fault of the chain, its head and the tables; an empty list if it is whole.

    `expect` is a head `SEQ:HASH` noted earlier: it must still be in the chain.
    """
    faults: list[str] = []
    images: dict[tuple[str, Any], Row] = {}
    blacked_out = False
    previous, seq, heads = NOTHING_BEFORE, 0, {f"0:{NOTHING_BEFORE}"}
    for entry in session.exec(select(LogEntry).order_by(col(LogEntry.seq))):
        seq += 1
        faults += _faults_of_entry(entry, seq, previous)
        previous, seq = entry.sha256, entry.seq
        heads.add(f"{entry.seq}:{entry.sha256}")
        blacked_out |= entry.payload is None
        for change in json.loads(entry.payload)["changes"] if entry.payload else []:
            images[change["table"], change["id"]] = change["after"]
    if log_head(session) != f"{seq}:{previous}":
        faults.append("The head of the chain is not its last entry: entries were cut off.")
    if expect is not None and expect not in heads:
        faults.append(f"{expect} is not in the chain: it was cut or written anew since.")
    return faults + _faults_of_tables(session, images, complete=not blacked_out)


def _faults_of_entry(entry: LogEntry, seq: int, previous: str) -> list[str]:
    faults = []
    if entry.seq != seq:
        faults.append(f"Entry {seq} is missing.")
    if entry.prev_sha256 != previous:
        faults.append(f"Entry {entry.seq} does not follow the one before it.")
    if entry.sha256 != entry_digest(entry):
        faults.append(f"Entry {entry.seq} was changed.")
    if entry.payload is not None and entry.salt is not None:
        digest = hashlib.sha256(entry.salt + entry.payload.encode()).hexdigest()
        if digest != entry.payload_sha256:
            faults.append(f"The changes in entry {entry.seq} were changed.")
    return faults


def _faults_of_tables(
    session: Session, images: dict[tuple[str, Any], Row], *, complete: bool
) -> list[str]:
    """Compare every record with its last after-image; unlogged rows only if no payload is gone."""
    faults = []
    for record in records():
        table = _table(record)
        for row in session.exec(select(record)):
            now = _change(row, before=None)["after"]
            image = images.pop((table.name, now["id"]), None)
            if image is None and complete:
                faults.append(f"{table.name} {now['id']} was added behind the log's back.")
            elif image is not None and image != json.loads(canonical(now)):
                faults.append(f"{table.name} {now['id']} was changed behind the log's back.")
    faults += [f"{name} {key} was deleted behind the log's back." for name, key in images]
    return faults


def records() -> list[type[Record]]:
    """Return every table whose changes are logged."""
    return [record for record in Record.__subclasses__() if hasattr(record, "__table__")]
