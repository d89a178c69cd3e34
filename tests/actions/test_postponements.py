"""Which dates were put off, and until when do they stay so?"""

import pytest
from sqlmodel import Session

from models.actions.forecasts import faults_of_stored, refresh_forecasts
from models.actions.load_levelling import level, preview_levelling, take_levelling_back
from models.actions.postponements import PostponementTold, put_off, take_back
from models.errors import BadValue, NotAllowed, NotFound, RuleBroken
from models.rules.half_known_dates import read_date
from models.tables.materials import Material
from models.tables.mounts import Package
from models.tables.works import Work
from models.vocabulary import Answer, DueKind, VisitKind
from tests.builders import (
    a_framer,
    a_keeper,
    a_material,
    a_poor_mount,
    a_visit,
    a_work,
    an_owner,
    key_of,
    stored_forecast,
)

TODAY = read_date("2026-11-25").first_day or 0
LATER = read_date("2030-03-01").first_day or 0


def a_whole_mount(session: Session, work: Work, board: Material) -> None:
    """A mount of this board in which nothing was left unsaid."""
    mount = a_poor_mount(session, work, board)
    package = session.get_one(Package, mount.package_id)
    package.in_front = package.behind = Answer.THIS
    mount.held = Answer.THIS


def a_sound_work(session: Session, number: str = "A", looked: str = "2026-11-20") -> Work:
    """A work in a sound mat, examined."""
    work = a_work(session, number=number)
    a_whole_mount(session, work, a_material(session, f"board of {number}"))
    a_visit(
        session,
        work,
        on=looked,
        kind=VisitKind.UNFRAMING,
        seen_front=True,
        seen_back_of_frame=True,
        seen_margins=True,
        seen_verso=True,
        seen_under_hinges=True,
    )
    refresh_forecasts(session, [key_of(work)], today=TODAY)
    return work


def unframing_on(session: Session, work: Work) -> int | None:
    forecast = stored_forecast(session, work)
    assert forecast is not None
    return forecast.unframing_on


def test_a_date_put_off_stands_in_place_of_the_one_by_the_rules(session: Session) -> None:
    work = a_sound_work(session)
    by_rule = unframing_on(session, work)
    told = PostponementTold(DueKind.UNFRAMING, LATER, "on loan until then")
    put = put_off(session, a_framer(session), key_of(work), told, today=TODAY)
    assert (put.told, put.made_day, unframing_on(session, work)) == (told, TODAY, LATER)
    assert by_rule != LATER
    assert faults_of_stored(session, [key_of(work)]) == []


def test_taken_back_the_date_by_the_rules_stands_again(session: Session) -> None:
    work = a_sound_work(session)
    by_rule, framer = unframing_on(session, work), a_framer(session)
    told = PostponementTold(DueKind.UNFRAMING, LATER, "on loan")
    put = put_off(session, framer, key_of(work), told, today=TODAY)
    take_back(session, framer, put.id, "the loan fell through", today=TODAY)
    assert unframing_on(session, work) == by_rule
    with pytest.raises(NotFound):
        take_back(session, framer, put.id, "again", today=TODAY)


def test_putting_off_again_replaces_the_day(session: Session) -> None:
    work, framer = a_sound_work(session), a_framer(session)
    for day in (LATER, LATER + 30):
        told = PostponementTold(DueKind.UNFRAMING, day, "on loan")
        put_off(session, framer, key_of(work), told, today=TODAY)
    assert unframing_on(session, work) == LATER + 30


def test_an_unframing_that_was_made_ends_what_was_put_off(session: Session) -> None:
    work = a_sound_work(session)
    told = PostponementTold(DueKind.UNFRAMING, LATER, "on loan")
    put_off(session, a_framer(session), key_of(work), told, today=TODAY)
    a_visit(session, work, on="2026-11-25", seen_front=True)
    refresh_forecasts(session, [key_of(work)], today=TODAY)
    assert unframing_on(session, work) == LATER
    a_visit(session, work, on="2026-11-25", kind=VisitKind.UNFRAMING, seen_margins=True)
    refresh_forecasts(session, [key_of(work)], today=TODAY)
    assert unframing_on(session, work) != LATER


def test_what_a_long_wait_risks_is_said(session: Session) -> None:
    work = a_work(session)
    board = a_material(session, "grey board", grade="groundwood board", ph=5.0, buffered="no")
    a_whole_mount(session, work, board)
    a_visit(session, work, kind=VisitKind.UNFRAMING, seen_margins=True, seen_verso=True)
    refresh_forecasts(session, [key_of(work)], today=TODAY)
    told = PostponementTold(DueKind.UNFRAMING, LATER, "no time")
    put = put_off(session, a_framer(session), key_of(work), told, today=TODAY)
    assert put.chance_by_then is not None
    assert put.chance_by_then > 0.95
    assert put.warning == (
        "By 1 March 2030 the chance of harm that nobody has seen is almost certain (over 95 %);"
        " this work may be exposed to 5 %."
    )


@pytest.mark.parametrize("kind", [DueKind.URGENT, DueKind.FOLLOW_UP, DueKind.FIRST_SURVEY])
def test_what_does_not_wait_cannot_be_put_off(session: Session, kind: DueKind) -> None:
    work = a_sound_work(session)
    told = PostponementTold(kind, LATER, "no time")
    with pytest.raises(BadValue, match="cannot be put off"):
        put_off(session, a_framer(session), key_of(work), told, today=TODAY)


@pytest.mark.parametrize("day", [TODAY - 1, TODAY, TODAY + 365 * 20])
def test_a_date_is_put_off_to_a_day_ahead_that_somebody_will_live_to_see(
    session: Session, day: int
) -> None:
    work = a_sound_work(session)
    with pytest.raises(BadValue, match="no day to put off to"):
        put_off(
            session,
            a_framer(session),
            key_of(work),
            PostponementTold(DueKind.UNFRAMING, day, "no time"),
            today=TODAY,
        )


def test_a_date_that_there_is_not_cannot_be_put_off(session: Session) -> None:
    work = a_sound_work(session)
    told = PostponementTold(DueKind.BOX_CHECK, LATER, "no time")
    with pytest.raises(RuleBroken, match="No box check has a date"):
        put_off(session, a_framer(session), key_of(work), told, today=TODAY)


def test_an_owner_puts_nothing_off(session: Session) -> None:
    work = a_sound_work(session)
    told = PostponementTold(DueKind.LOOK, LATER, "no time")
    with pytest.raises(NotAllowed):
        put_off(session, an_owner(session), key_of(work), told, today=TODAY)


def test_levelling_moves_dates_earlier_and_can_be_taken_back(session: Session) -> None:
    keeper = a_keeper(session)
    works = [a_sound_work(session, f"W{n}", looked="2018-01-01") for n in range(20)]
    before = [unframing_on(session, work) for work in works]
    assert len(set(before)) == 1
    shown = preview_levelling(session, keeper, today=TODAY)
    assert shown.capacity == 17
    assert level(session, keeper, today=TODAY) == len(shown.levelled.moves) == 3
    after = [unframing_on(session, work) for work in works]
    moved = [(b, a) for b, a in zip(before, after, strict=True) if a != b]
    assert all(b is not None and a is not None and TODAY < a < b for b, a in moved)
    assert faults_of_stored(session, [key_of(work) for work in works]) == []
    with pytest.raises(RuleBroken, match="No date has to be moved"):
        level(session, keeper, today=TODAY)
    assert take_levelling_back(session, keeper, today=TODAY) == 3
    assert [unframing_on(session, work) for work in works] == before
