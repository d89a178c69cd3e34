"""How is a statement built once and sent many times?

Building a statement costs more than sending it. So a finder that is asked for
every page and every visit says how its statement is built, given who may see
what; it is built once for those who see all works and once for owners, and kept.
The numbers it asks for are the parameter `WANTED`; of one alone, which is what a visit
asks for, it is built to be equal to it, since a list is written out anew each time. It
goes straight to the connection: what is pending in the session must have been flushed.
"""

from collections.abc import Callable, Collection, Sequence
from functools import cache
from typing import Any

from sqlalchemy import (
    BindParameter,
    ColumnElement,
    CursorResult,
    Delete,
    Executable,
    Select,
    bindparam,
)
from sqlalchemy.sql.elements import BinaryExpression
from sqlalchemy.sql.operators import in_op
from sqlalchemy.sql.visitors import ExternallyTraversible, replacement_traverse
from sqlmodel import Session

from models.tables.visible import Viewer, sees_all_works, visible_once_found

WANTED: BindParameter[list[int]] = bindparam("wanted", expanding=True)

# From the condition on `work` for what may be seen, to the whole statement.
Statement = Select[*tuple[Any, ...]] | Delete
Build = Callable[[ColumnElement[bool]], Select[*tuple[Any, ...]]]


def send(
    session: Session, viewer: Viewer, build: Build, wanted: Sequence[int]
) -> CursorResult[*tuple[Any, ...]]:
    """Send the kept statement for these numbers, as far as the viewer may see."""
    statement = _built(build, all_works=sees_all_works(viewer))
    given = {"viewer_owner_id": viewer.owner_id, "viewer_person_id": viewer.person_id}
    return ask(session, statement, wanted, **given)


def ask(
    session: Session, statement: Statement, wanted: Collection[int], **given: object
) -> CursorResult[*tuple[Any, ...]]:
    """Send a statement that is kept for these numbers, with what else it is given."""
    if len(wanted) == 1:
        (one,) = wanted
        return session.connection().execute(_of_one(statement), {WANTED.key: one, **given})
    return session.connection().execute(statement, {WANTED.key: list(wanted), **given})


@cache
def _built(build: Build, *, all_works: bool) -> Select[*tuple[Any, ...]]:
    # What is wanted is named by its numbers: an owner of many works must not be gone through.
    return build(visible_once_found(all_works=all_works))


@cache
def _of_one(statement: Statement) -> Executable:
    of_one = replacement_traverse(statement, {}, _equal_to_one)
    assert isinstance(of_one, Executable), "a part was put in place of a part"
    return of_one


def _equal_to_one(element: ExternallyTraversible, **_: Any) -> ExternallyTraversible | None:
    """Return what stands in place of a part that is among the numbers wanted, None for others."""
    if not isinstance(element, BinaryExpression) or element.operator is not in_op:
        return None
    asked = element.right
    if not isinstance(asked, BindParameter) or asked.key != WANTED.key:
        return None
    is_equal: ColumnElement[bool] = element.left == bindparam(WANTED.key)
    return is_equal
