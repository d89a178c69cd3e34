"""How many statements does it take? Lists must not ask the database once a row."""

from collections.abc import Iterator
from contextlib import contextmanager

from sqlalchemy import event
from sqlmodel import Session


@contextmanager
def statements(session: Session) -> Iterator[list[str]]:
    """Gather every statement that the session sends while this is open."""
    bound = session.get_bind()
    sent: list[str] = []

    def note(_connection: object, _cursor: object, statement: str, *_rest: object) -> None:
        sent.append(statement)

    session.flush()
    event.listen(bound, "before_cursor_execute", note)
    try:
        yield sent
    finally:
        event.remove(bound, "before_cursor_execute", note)
