"""How does a visit survive until it is finished?

Every change at the bench saves the whole form. The version that a page has seen decides:
who saves over what another page has saved since is told, and chooses. The same page may
send the same again, for its answer may be lost on the way. A draft that has become a visit
remembers which, so that finishing twice records once. After 30 days a draft is cleared.
"""

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from sqlalchemy import bindparam, delete, text
from sqlmodel import Session, SQLModel

from models.errors import BadValue, NotFound, RuleBroken, Stale
from models.tables.base import Moment
from models.tables.drafts import LONGEST_KEY, VisitDraft, find_draft
from models.tables.register import get_work
from models.tables.visible import Viewer
from models.vocabulary import VisitKind

KEPT_FOR = timedelta(days=30)

Fields = Mapping[str, Sequence[str]]

# The same words on both databases; of two first saves at once the second finds the first.
_BEGIN = text(
    "INSERT INTO visit_draft (draft_key, person_id, work_id, kind, typed, hand, version, begun,"
    " saved) VALUES (:draft_key, :person_id, :work_id, :kind, '{}', :hand, 1, :now, :now)"
    " ON CONFLICT DO NOTHING"
).bindparams(bindparam("now", type_=Moment()))
_DRAFTS = SQLModel.metadata.tables[str(VisitDraft.__tablename__)]


@dataclass(frozen=True)
class DraftTold:
    """What a page sends of a visit: the state it has seen (0 for none), and who it is."""

    work_id: int
    kind: VisitKind
    typed: Fields
    seen_version: int = 0
    hand: str = ""


@dataclass(frozen=True)
class Draft:
    """A visit as it lies on the bench; `visit_id` is what it has become, if it is finished."""

    key: str
    work_id: int
    kind: VisitKind
    typed: Fields
    version: int
    begun: datetime
    saved: datetime
    visit_id: int | None


def draft_of(session: Session, viewer: Viewer, key: str) -> Draft:
    """Return this person's draft. Raises NotFound."""
    return _shown(_found(session, viewer, key))


def save_draft(
    session: Session, viewer: Viewer, key: str, told: DraftTold, *, now: datetime
) -> Draft:
    """Keep what was typed so far, beginning the draft with its first change.

    Raises Stale with the Draft that another page has saved meanwhile, RuleBroken
    (`recorded_already`) for a finished visit, NotFound for a work or draft of others.
    """
    row = find_draft(session, viewer, key, to_change=True) or _begun(
        session, viewer, key, told, now=now
    )
    if row.visit_id is not None:
        raise RuleBroken(
            "This visit is recorded already; what changed since is put right on its page.",
            "recorded_already",
        )
    is_theirs = told.seen_version != row.version and row.hand != told.hand
    if is_theirs and _differs(row, told):
        raise Stale(
            "This visit was changed in another window, or on another tablet.", theirs=_shown(row)
        )
    row.kind, row.typed = told.kind, json.dumps({n: list(v) for n, v in told.typed.items()})
    row.hand, row.saved, row.put_away = told.hand or None, now, None
    row.version += 1
    session.flush()
    return _shown(row)


def put_draft_away(session: Session, viewer: Viewer, key: str, *, now: datetime) -> Draft:
    """Take a visit off the bench; it can be taken up again until it is cleared."""
    row = _found(session, viewer, key, to_change=True)
    row.put_away = now
    session.flush()
    return _shown(row)


def take_draft_up(session: Session, viewer: Viewer, key: str) -> Draft:
    """Put a visit back on the bench."""
    row = _found(session, viewer, key, to_change=True)
    row.put_away = None
    session.flush()
    return _shown(row)


def finish_draft(
    session: Session, viewer: Viewer, key: str, visit_id: int, *, now: datetime
) -> None:
    """Remember which visit a draft has become."""
    row = _found(session, viewer, key, to_change=True)
    row.visit_id, row.saved = visit_id, now
    session.flush()


def clear_old_drafts(session: Session, *, now: datetime) -> None:
    """Clear what nobody has touched for 30 days."""
    session.connection().execute(delete(_DRAFTS).where(_DRAFTS.c.saved < now - KEPT_FOR))


def _begun(
    session: Session, viewer: Viewer, key: str, told: DraftTold, *, now: datetime
) -> VisitDraft:
    if not 0 < len(key) <= LONGEST_KEY:
        raise BadValue("This cannot be the key of a visit.")
    get_work(session, viewer, told.work_id)
    given = {"draft_key": key, "person_id": viewer.person_id, "work_id": told.work_id}
    session.connection().execute(
        _BEGIN, {**given, "kind": told.kind.value, "hand": told.hand or None, "now": now}
    )
    return _found(session, viewer, key, to_change=True)


def _found(session: Session, viewer: Viewer, key: str, *, to_change: bool = False) -> VisitDraft:
    row = find_draft(session, viewer, key, to_change=to_change)
    if row is None:
        raise NotFound("visit on the bench", key[:LONGEST_KEY])
    return row


def _differs(row: VisitDraft, told: DraftTold) -> bool:
    """Say whether something else was saved meanwhile than what is told now."""
    return row.kind is not told.kind or json.loads(row.typed) != {
        name: list(values) for name, values in told.typed.items()
    }


def _shown(row: VisitDraft) -> Draft:
    return Draft(
        key=row.draft_key,
        work_id=row.work_id,
        kind=row.kind,
        typed=json.loads(row.typed),
        version=row.version,
        begun=row.begun,
        saved=row.saved,
        visit_id=row.visit_id,
    )
