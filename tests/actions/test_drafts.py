"""What is typed at the bench outlives the page it was typed into."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest
from sqlmodel import Session, func, select

from models.actions.drafts import (
    KEPT_FOR,
    DraftTold,
    clear_old_drafts,
    draft_of,
    finish_draft,
    put_draft_away,
    save_draft,
    take_draft_up,
)
from models.errors import NotFound, RuleBroken, Stale
from models.tables.drafts import VisitDraft, open_drafts
from models.tables.works import Work
from models.vocabulary import VisitKind
from tests.builders import a_framer, a_visit, a_work, an_owner, key_of

NOON = datetime(2026, 11, 25, 12, tzinfo=UTC)
LATER = NOON + timedelta(minutes=5)
KEY = "k" * 43


def a_told(session: Session, **typed: str) -> DraftTold:
    work = a_work(session, number="GH 1")
    fields = {name: [value] for name, value in typed.items()}
    return DraftTold(key_of(work), VisitKind.UNFRAMING, fields, hand="tablet")


def test_a_visit_is_begun_with_its_first_change_and_found_again(session: Session) -> None:
    framer = a_framer(session)
    told = a_told(session, summary="Brown along the left.")
    saved = save_draft(session, framer, KEY, told, now=NOON)
    again = draft_of(session, framer, KEY)
    assert again == saved
    assert (again.typed, again.kind, again.visit_id) == (told.typed, VisitKind.UNFRAMING, None)
    assert [(one.key, one.number) for one in open_drafts(session, framer)] == [(KEY, "GH 1")]


def test_each_save_takes_the_place_of_the_one_before(session: Session) -> None:
    framer, told = a_framer(session), a_told(session, summary="Brown.")
    first = save_draft(session, framer, KEY, told, now=NOON)
    more = replace(told, typed={"seen": ["front", "verso"]}, seen_version=first.version)
    second = save_draft(session, framer, KEY, more, now=LATER)
    assert second.typed == {"seen": ["front", "verso"]}
    assert (second.begun, second.saved, second.version) == (NOON, LATER, first.version + 1)


def test_a_page_whose_answer_was_lost_may_send_again(session: Session) -> None:
    framer, told = a_framer(session), a_told(session, summary="Brown.")
    save_draft(session, framer, KEY, told, now=NOON)
    # The answer never came: the page still knows of no version, and more was typed since.
    again = replace(told, typed={"summary": ["Brown along the left."]})
    assert save_draft(session, framer, KEY, again, now=LATER).typed == again.typed


def test_another_page_is_told_what_was_saved_meanwhile(session: Session) -> None:
    framer, told = a_framer(session), a_told(session, summary="Brown.")
    first = save_draft(session, framer, KEY, told, now=NOON)
    typed = {"summary": ["Foxed."]}
    phone = replace(told, hand="phone", seen_version=first.version, typed=typed)
    newer = save_draft(session, framer, KEY, phone, now=LATER)
    slower = replace(told, seen_version=first.version, typed={"summary": ["Torn."]})
    with pytest.raises(Stale) as stale:
        save_draft(session, framer, KEY, slower, now=LATER)
    assert stale.value.theirs == newer
    on_top = replace(slower, seen_version=newer.version)
    assert save_draft(session, framer, KEY, on_top, now=LATER).typed == {"summary": ["Torn."]}


def test_two_pages_that_say_the_same_do_not_contradict_each_other(session: Session) -> None:
    framer, told = a_framer(session), a_told(session, summary="Brown.")
    save_draft(session, framer, KEY, told, now=NOON)
    assert save_draft(session, framer, KEY, replace(told, hand="phone"), now=LATER).version == 3


def test_nobody_else_finds_a_visit_that_lies_on_the_bench(session: Session) -> None:
    told = a_told(session)
    save_draft(session, a_framer(session), KEY, told, now=NOON)
    other = a_framer(session, "Another Framer")
    assert open_drafts(session, other) == []
    with pytest.raises(NotFound):
        draft_of(session, other, KEY)
    with pytest.raises(NotFound):
        save_draft(session, other, KEY, told, now=NOON)
    with pytest.raises(NotFound):
        put_draft_away(session, other, KEY, now=NOON)


def test_no_visit_is_begun_of_a_work_that_is_not_there_to_see(session: Session) -> None:
    told = a_told(session)
    reader = an_owner(session, "The Tern House")
    for viewer, named in ((reader, told), (a_framer(session), replace(told, work_id=99))):
        with pytest.raises(NotFound):
            save_draft(session, viewer, KEY, named, now=NOON)


def test_what_was_put_away_is_taken_up_again_as_it_was(session: Session) -> None:
    framer, told = a_framer(session), a_told(session, summary="Brown.")
    save_draft(session, framer, KEY, told, now=NOON)
    put_draft_away(session, framer, KEY, now=LATER)
    assert open_drafts(session, framer) == []
    assert take_draft_up(session, framer, KEY).typed == {"summary": ["Brown."]}
    assert len(open_drafts(session, framer)) == 1


def test_a_finished_visit_knows_what_it_became_and_takes_no_more_changes(session: Session) -> None:
    framer, told = a_framer(session), a_told(session)
    save_draft(session, framer, KEY, told, now=NOON)
    visit = a_visit(session, session.get_one(Work, told.work_id), on="2026-11-25")
    finish_draft(session, framer, KEY, key_of(visit), now=LATER)
    assert draft_of(session, framer, KEY).visit_id == visit.id
    assert open_drafts(session, framer) == []
    with pytest.raises(RuleBroken) as broken:
        save_draft(session, framer, KEY, told, now=LATER)
    assert broken.value.code == "recorded_already"


def test_after_thirty_days_untouched_a_visit_is_cleared_from_the_bench(session: Session) -> None:
    framer, told = a_framer(session), a_told(session)
    save_draft(session, framer, KEY, told, now=NOON)
    clear_old_drafts(session, now=NOON + KEPT_FOR)
    assert _count(session) == 1
    clear_old_drafts(session, now=NOON + KEPT_FOR + timedelta(seconds=1))
    assert _count(session) == 0


def _count(session: Session) -> int:
    return session.exec(select(func.count()).select_from(VisitDraft)).one()
