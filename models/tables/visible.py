"""Who sees what? Keepers and framers see every work, owners see their own.

The only place that says so: every finder of works, or of what belongs to a
work, takes the viewer and asks here. What is not visible is not on record for
that person: never "forbidden", always "not found".
"""

from dataclasses import dataclass

from sqlalchemy import ColumnElement, and_, false, true
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


def _own_or_all(viewer: Viewer) -> ColumnElement[bool]:
    if sees_all_works(viewer):
        return true()
    return false() if viewer.owner_id is None else col(Work.owner_id) == viewer.owner_id
