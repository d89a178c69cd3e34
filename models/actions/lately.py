"""What changed in the last thirty days that bears on what is due?

New findings and those that grew, dates that somebody put off, recalls, incidents, and
what owners answered; each as a sentence with its day and the page it leads to.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from sqlmodel import Session

from models.rules.calendar_days import day_in_words
from models.rules.permissions import Deed, require
from models.tables.lately import Lately, LatelyKind, recorded_lately
from models.tables.visible import Viewer

DAYS_BACK = 30
MOST_OF_A_KIND = 6


@dataclass(frozen=True)
class ChangeShown:
    """One change: its day, the sentence, where it leads, and the work if it is of one."""

    on: int
    said: str
    path: str
    number: str = ""
    title: str = ""


def changed_lately(session: Session, viewer: Viewer, *, today: int) -> Sequence[ChangeShown]:
    """Return the changes of the last thirty days that this person may see, newest first."""
    require(viewer.role, Deed.READ)
    rows = recorded_lately(
        session, viewer, since=today - DAYS_BACK, until=today, each=MOST_OF_A_KIND
    )
    return [
        ChangeShown(row.on, _said(row), _path(row), row.number or "", row.title or "")
        for row in rows
    ]


def _said(row: Lately) -> str:
    match row.kind:
        case LatelyKind.FINDING:
            return f"{row.what}: {row.more}"
        case LatelyKind.PUT_OFF:
            return f"{row.what} put off{_until(row)}: {row.more}"
        case LatelyKind.INCIDENT:
            return f"{row.what}, {row.more} {'work' if row.more == '1' else 'works'} within reach"
        case LatelyKind.ANSWER:
            because = f": {row.more}" if row.more else ""
            return f"remat {row.what.removesuffix(' until')}{_until(row)}{because}"
        case LatelyKind.RECALL:
            return f"{row.what} recalled: {row.more}"


def _until(row: Lately) -> str:
    return "" if row.until_on is None else f" until {day_in_words(row.until_on)}"


def _path(row: Lately) -> str:
    match row.kind:
        case LatelyKind.FINDING:
            return f"/visits/{row.row_id}"
        case LatelyKind.INCIDENT:
            return f"/incidents/{row.row_id}"
        case LatelyKind.PUT_OFF | LatelyKind.ANSWER:
            return f"/works/{row.work_id}"
        case LatelyKind.RECALL:
            return f"/materials/recalls/{row.row_id}"
