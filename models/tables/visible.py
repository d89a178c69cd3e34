"""Who sees what? Keepers and framers see every work, owners see their own.

The only place that says so: every finder of works, or of what belongs to a
work, takes the viewer and asks here. What is not visible is not on record for
that person: never "forbidden", always "not found".
"""

from dataclasses import dataclass

from sqlalchemy import ColumnElement, and_, bindparam, false, true
from sqlmodel import col

from models.tables.works import Work
from models.vocabulary import Role


@dataclass(frozen=True)
class Viewer:
    """Somebody signed in, as far as seeing and doing depend on it."""

    person_id: int
    role: Role
    owner_id: int | None = None


# The program itself, where it works something out for everybody and shows it to nobody.
THE_HOUSE = Viewer(person_id=0, role=Role.KEEPER)


def visible_works(viewer: Viewer) -> ColumnElement[bool]:
    """Return the condition on `work` for what this person may see; withdrawn works are hidden."""
    return and_(col(Work.withdrawn_reason).is_(None), _own_or_all(viewer))


def sees_all_works(viewer: Viewer) -> bool:
    """Say whether this person sees every work, and so whatever belongs to any."""
    return viewer.role in (Role.KEEPER, Role.FRAMER)


def visible_by_parameter(*, all_works: bool) -> ColumnElement[bool]:
    """Return the same condition, with the owner as the parameter `viewer_owner_id`.

    It is one of two, so that a statement can be built once and kept.
    """
    return _BY_PARAMETER[all_works]


def visible_once_found(*, all_works: bool) -> ColumnElement[bool]:
    """Return the same condition, for a search that must not begin with the works of the owner."""
    return _ONCE_FOUND[all_works]


def is_visible(viewer: Viewer, work: Work) -> bool:
    """Say of a work at hand what `visible_works` says in the database."""
    own = viewer.owner_id is not None and work.owner_id == viewer.owner_id
    return work.withdrawn_reason is None and (sees_all_works(viewer) or own)


def _own_or_all(viewer: Viewer) -> ColumnElement[bool]:
    if sees_all_works(viewer):
        return true()
    return false() if viewer.owner_id is None else col(Work.owner_id) == viewer.owner_id


_IS_KEPT = col(Work.withdrawn_reason).is_(None)
_BY_PARAMETER = {
    True: _IS_KEPT,
    False: and_(_IS_KEPT, col(Work.owner_id) == bindparam("viewer_owner_id")),
}
# Added to nothing, the owner stands in no index: what else is asked for is gone through first.
_ONCE_FOUND = {
    True: _IS_KEPT,
    False: and_(_IS_KEPT, col(Work.owner_id) + 0 == bindparam("viewer_owner_id")),
}
