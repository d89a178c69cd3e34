"""How is a statement built once and sent many times?

Building a statement costs more than sending it. So a finder that is asked for
every page and every visit says how its statement is built, given who may see
what; it is built once for those who see all works and once for owners, and kept.
The numbers it asks for are the parameter `WANTED`. It goes straight to the
connection: what is pending in the session must have been flushed.
"""

from collections.abc import Callable, Sequence
from functools import cache
from typing import Any

from sqlalchemy import BindParameter, ColumnElement, CursorResult, Select, bindparam
from sqlmodel import Session

from models.tables.visible import Viewer, sees_all_works, visible_by_parameter

WANTED: BindParameter[list[int]] = bindparam("wanted", expanding=True)

# From the condition on `work` for what may be seen, to the whole statement.
Build = Callable[[ColumnElement[bool]], Select[*tuple[Any, ...]]]


def send(
    session: Session, viewer: Viewer, build: Build, wanted: Sequence[int]
) -> CursorResult[*tuple[Any, ...]]:
    """Send the kept statement for these numbers, as far as the viewer may see."""
    given = {"wanted": list(wanted), "viewer_owner_id": viewer.owner_id}
    return session.connection().execute(_built(build, all_works=sees_all_works(viewer)), given)


@cache
def _built(build: Build, *, all_works: bool) -> Select[*tuple[Any, ...]]:
    return build(visible_by_parameter(all_works=all_works))
