"""A walk that is begun on one tablet and gone on with on another."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest
from sqlmodel import Session, func, select

from models.actions.drafts import KEPT_FOR
from models.actions.record_changes import key_of
from models.actions.walk_drafts import (
    AnswersTold,
    clear_old_walks,
    finish_walk,
    open_walk,
    put_walk_away,
    save_answers,
    take_walk_up,
    walk_begun,
)
from models.errors import BadValue, NotFound, RuleBroken
from models.tables.places import Walk
from models.tables.visible import Viewer
from models.tables.walk_drafts import BegunWalk, WalkDraft, begun_walks
from models.vocabulary import VisitKind
from tests.builders import a_framer, a_place

NOON = datetime(2026, 11, 25, 12, tzinfo=UTC)
LATER = NOON + timedelta(minutes=5)
KEY, OTHER_KEY = "a-walk", "another-walk"
AS_BEFORE = {"was": ("as before",)}
DIFFERENT = {"was": ("different",), "note": ("A brown line.",)}


def begin(session: Session) -> tuple[Viewer, AnswersTold]:
    """A framer, and the first answer of a walk of theirs."""
    room = a_place(session, "Gannet House / Stair")
    told = AnswersTold(key_of(room), {"41": AS_BEFORE}, hand="first", last_walk_id=7)
    return a_framer(session), told


def test_what_was_answered_is_there_on_another_tablet(session: Session) -> None:
    framer, told = begin(session)
    saved = save_answers(session, framer, KEY, told, now=NOON).walk
    begun = open_walk(session, framer, told.place_id)
    assert begun == saved
    assert (begun.answers, begun.last_walk_id, begun.walk_id) == ({"41": AS_BEFORE}, 7, None)
    assert begun_walks(session, framer) == [BegunWalk(told.place_id, 1, NOON)]


def test_two_tablets_that_begin_apart_walk_one_round(session: Session) -> None:
    framer, told = begin(session)
    first = save_answers(session, framer, KEY, told, now=NOON).walk
    other = replace(told, answers={"42": DIFFERENT}, hand="other")
    saved = save_answers(session, framer, OTHER_KEY, other, now=LATER)
    assert (saved.walk.key, saved.elsewhere) == (KEY, {"41": AS_BEFORE})
    assert saved.walk.answers == {"41": AS_BEFORE, "42": DIFFERENT}
    # The first changes what it has answered itself, and hears of the other.
    again = replace(told, answers={"41": DIFFERENT}, seen_version=first.version)
    heard = save_answers(session, framer, KEY, again, now=LATER)
    assert (heard.elsewhere, heard.contradicted) == ({"42": DIFFERENT}, {})


def test_what_another_tablet_answered_otherwise_is_kept_and_shown(session: Session) -> None:
    framer, told = begin(session)
    save_answers(session, framer, KEY, told, now=NOON)
    other = replace(told, answers={"41": DIFFERENT}, hand="other")
    saved = save_answers(session, framer, KEY, other, now=LATER)
    assert (saved.contradicted, saved.elsewhere) == ({"41": AS_BEFORE}, {})
    assert saved.walk.answers == {"41": AS_BEFORE}
    chosen = replace(other, seen_version=saved.walk.version)
    assert save_answers(session, framer, KEY, chosen, now=LATER).walk.answers == {"41": DIFFERENT}


def test_nobody_else_finds_a_walk_that_is_begun(session: Session) -> None:
    framer, told = begin(session)
    save_answers(session, framer, KEY, told, now=NOON)
    other = a_framer(session, "Another Framer")
    assert (open_walk(session, other, told.place_id), begun_walks(session, other)) == (None, [])
    for deed in (walk_begun, take_walk_up):
        with pytest.raises(NotFound):
            deed(session, other, KEY)
    with pytest.raises(NotFound):
        save_answers(session, other, KEY, told, now=NOON)
    with pytest.raises(BadValue):
        save_answers(session, framer, "k" * 101, replace(told, place_id=99), now=NOON)


def test_a_recorded_walk_takes_no_more_answers_and_the_next_begins_anew(session: Session) -> None:
    framer, told = begin(session)
    save_answers(session, framer, KEY, told, now=NOON)
    walk = Walk(place_id=told.place_id, kind=VisitKind.LOOK, on_edtf="2026-11-25")
    session.add(walk)
    session.flush()
    finish_walk(session, framer, KEY, key_of(walk), now=LATER)
    assert walk_begun(session, framer, KEY).walk_id == walk.id
    assert open_walk(session, framer, told.place_id) is None
    with pytest.raises(RuleBroken) as broken:
        save_answers(session, framer, KEY, told, now=LATER)
    assert broken.value.code == "recorded_already"
    with pytest.raises(RuleBroken):
        take_walk_up(session, framer, KEY)
    assert save_answers(session, framer, OTHER_KEY, told, now=LATER).walk.key == OTHER_KEY


def test_forgotten_answers_are_taken_up_again_unless_the_walk_was_begun_anew(
    session: Session,
) -> None:
    framer, told = begin(session)
    assert put_walk_away(session, framer, told.place_id, now=NOON) is None
    save_answers(session, framer, KEY, told, now=NOON)
    put_walk_away(session, framer, told.place_id, now=LATER)
    assert open_walk(session, framer, told.place_id) is None
    assert take_walk_up(session, framer, KEY) == told.place_id
    put_walk_away(session, framer, told.place_id, now=LATER)
    save_answers(session, framer, OTHER_KEY, told, now=LATER)
    with pytest.raises(RuleBroken) as broken:
        take_walk_up(session, framer, KEY)
    assert broken.value.code == "another_begun"
    # A tablet that did not hear of it goes on with the walk that is open now.
    late = replace(told, answers={"42": DIFFERENT})
    assert save_answers(session, framer, KEY, late, now=LATER).walk.key == OTHER_KEY


def test_after_thirty_days_untouched_a_walk_is_cleared(session: Session) -> None:
    framer, told = begin(session)
    save_answers(session, framer, KEY, told, now=NOON)
    clear_old_walks(session, now=NOON + KEPT_FOR)
    assert len(begun_walks(session, framer)) == 1
    clear_old_walks(session, now=NOON + KEPT_FOR + timedelta(seconds=1))
    assert session.exec(select(func.count()).select_from(WalkDraft)).one() == 0
