"""How is it said of a work that a walk did not find it?"""

from collections.abc import Iterable
from dataclasses import dataclass

from api.pages.dates_said import date_said
from models.rules.place_tree import PlaceTree
from models.tables.due import MissingRow
from models.vocabulary import VisitKind


@dataclass(frozen=True)
class MissingShown:
    """A work that is away: where it should be, and at which walk it was missed."""

    work_id: int
    number: str
    title: str
    place: str
    missed: str


def missing_shown(rows: Iterable[MissingRow], tree: PlaceTree) -> tuple[MissingShown, ...]:
    """Return the works that are away, as a list shows them."""
    return tuple(
        MissingShown(
            row.work_id,
            row.number,
            row.title,
            tree.path(row.place_id),
            missed_at(row.kind, row.on_edtf),
        )
        for row in rows
    )


def missed_at(kind: VisitKind, on_edtf: str) -> str:
    """Return by what and when a work was missed."""
    what = "the check of its box" if kind is VisitKind.BOX_CHECK else "the walk-round"
    return f"Not found at {what} of {date_said(on_edtf)}."
