"""How does a walk survive until it is finished, on whichever tablet one goes on?

Every answer is saved as it is given, beside those of the other tablets that walk the same
round. A draft that has become a walk remembers which, so that finishing twice records once.
After 30 days without a change a draft is cleared, as that of a visit is.
"""

import json
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import bindparam, delete, text
from sqlmodel import Session, SQLModel

from models.actions.drafts import KEPT_FOR
from models.errors import BadValue, NotFound, RuleBroken
from models.rules.walk_answers import Fields, KeptAnswer, merged_answers, told_elsewhere
from models.tables.base import Moment
from models.tables.drafts import LONGEST_KEY
from models.tables.visible import Viewer
from models.tables.walk_drafts import WalkDraft, find_open_walk, find_walk_draft

# What belongs to no work of a walk: its day, who walked, what was seen of each, a note.
OF_THE_WALK = "walk"

# The same words on both databases; of two first saves at once the second finds the first.
_BEGIN = text(
    "INSERT INTO walk_draft (draft_key, person_id, place_id, answers, answered, last_walk_id,"
    " version, begun, saved) VALUES (:draft_key, :person_id, :place_id, '{}', 0, :last_walk_id,"
    " 1, :now, :now) ON CONFLICT DO NOTHING"
).bindparams(bindparam("now", type_=Moment()))
_DRAFTS = SQLModel.metadata.tables[str(WalkDraft.__tablename__)]


@dataclass(frozen=True)
class AnswersTold:
    """What a page tells of a walk: the works that it answers for, or clears.

    `seen_version` is the state that it has seen, 0 for none; `hand` is who it is.
    """

    place_id: int
    answers: Mapping[str, Fields]
    seen_version: int = 0
    hand: str = ""
    last_walk_id: int = 0


@dataclass(frozen=True)
class WalkBegun:
    """A walk as it is kept; `walk_id` is what it has become, if it is finished."""

    key: str
    answers: Mapping[str, Fields]
    last_walk_id: int
    version: int
    saved: datetime
    walk_id: int | None


@dataclass(frozen=True)
class SavedAnswers:
    """A walk after a page told of it, what others told since, and what contradicts this page."""

    walk: WalkBegun
    elsewhere: Mapping[str, Fields]
    contradicted: Mapping[str, Fields]


def open_walk(session: Session, viewer: Viewer, place_id: int) -> WalkBegun | None:
    """Return the walk of a place that this person has begun, None where there is none."""
    row = find_open_walk(session, viewer, place_id)
    return None if row is None else _shown(row)


def walk_begun(session: Session, viewer: Viewer, key: str) -> WalkBegun:
    """Return a walk of this person, also a finished one. Raises NotFound."""
    return _shown(_found(session, viewer, key))


def save_answers(
    session: Session, viewer: Viewer, key: str, told: AnswersTold, *, now: datetime
) -> SavedAnswers:
    """Keep the answers told, beginning the walk with the first of them.

    The walk may turn out to have another key: the one under which the same person began it
    on another tablet. Raises RuleBroken (`recorded_already`) for a finished walk.
    """
    row = find_walk_draft(session, viewer, key, to_change=True) or _begun(
        session, viewer, key, told, now=now
    )
    if row.walk_id is not None:
        raise RuleBroken("This walk is recorded already.", "recorded_already")
    if row.put_away is not None:
        # Forgotten on another tablet, and perhaps begun anew there.
        row = find_open_walk(session, viewer, row.place_id, to_change=True) or row
    kept = _kept(row)
    after = merged_answers(
        kept,
        told.answers,
        seen_version=told.seen_version,
        hand=told.hand,
        version=row.version + 1,
    )
    elsewhere = told_elsewhere(kept, seen_version=told.seen_version, hand=told.hand)
    if after.kept != kept or row.put_away is not None:
        row.answers, row.answered = _as_stored(after.kept), _count(after.kept)
        row.version, row.saved, row.put_away = row.version + 1, now, None
        session.flush()
    return SavedAnswers(
        _shown(row),
        {work: fields for work, fields in elsewhere.items() if work not in after.contradicted},
        after.contradicted,
    )


def put_walk_away(
    session: Session, viewer: Viewer, place_id: int, *, now: datetime
) -> WalkBegun | None:
    """Leave a walk that was begun; it can be taken up again until it is cleared."""
    row = find_open_walk(session, viewer, place_id, to_change=True)
    if row is None:
        return None
    row.put_away = now
    session.flush()
    return _shown(row)


def take_walk_up(session: Session, viewer: Viewer, key: str) -> int:
    """Go on with a walk that was put away, and return its place.

    Raises NotFound, and RuleBroken (`another_begun`, `recorded_already`).
    """
    row = _found(session, viewer, key, to_change=True)
    if row.walk_id is not None:
        raise RuleBroken("This walk is recorded already.", "recorded_already")
    other = find_open_walk(session, viewer, row.place_id, to_change=True)
    if other is not None and other.id != row.id:
        raise RuleBroken(
            "You have begun another walk of this place since: finish it, or forget its answers.",
            "another_begun",
        )
    row.put_away = None
    session.flush()
    return row.place_id


def finish_walk(session: Session, viewer: Viewer, key: str, walk_id: int, *, now: datetime) -> None:
    """Remember which walk a draft has become."""
    row = _found(session, viewer, key, to_change=True)
    row.walk_id, row.saved = walk_id, now
    session.flush()


def clear_old_walks(session: Session, *, now: datetime) -> None:
    """Clear what nobody has touched for 30 days."""
    session.connection().execute(delete(_DRAFTS).where(_DRAFTS.c.saved < now - KEPT_FOR))


def _begun(
    session: Session, viewer: Viewer, key: str, told: AnswersTold, *, now: datetime
) -> WalkDraft:
    if not 0 < len(key) <= LONGEST_KEY:
        raise BadValue("This cannot be the key of a walk.")
    given = {"draft_key": key, "person_id": viewer.person_id, "place_id": told.place_id}
    session.connection().execute(_BEGIN, {**given, "last_walk_id": told.last_walk_id, "now": now})
    begun = find_open_walk(session, viewer, told.place_id, to_change=True)
    if begun is None:
        # The key is another person's, or of another place.
        raise NotFound("walk", key[:LONGEST_KEY])
    return begun


def _found(session: Session, viewer: Viewer, key: str, *, to_change: bool = False) -> WalkDraft:
    row = find_walk_draft(session, viewer, key, to_change=to_change)
    if row is None:
        raise NotFound("walk", key[:LONGEST_KEY])
    return row


def _kept(row: WalkDraft) -> dict[str, KeptAnswer]:
    return {
        work: KeptAnswer({name: tuple(those) for name, those in fields.items()}, version, hand)
        for work, (fields, version, hand) in json.loads(row.answers).items()
    }


def _as_stored(kept: Mapping[str, KeptAnswer]) -> str:
    rows = {work: (one.fields, one.version, one.hand) for work, one in kept.items()}
    return json.dumps(rows, separators=(",", ":"))


def _count(kept: Mapping[str, KeptAnswer]) -> int:
    return sum(1 for work, one in kept.items() if one.fields and work != OF_THE_WALK)


def _shown(row: WalkDraft) -> WalkBegun:
    return WalkBegun(
        key=row.draft_key,
        answers={work: one.fields for work, one in _kept(row).items()},
        last_walk_id=row.last_walk_id,
        version=row.version,
        saved=row.saved,
        walk_id=row.walk_id,
    )
