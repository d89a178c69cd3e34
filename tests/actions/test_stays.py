import pytest
from sqlmodel import Session

from models.actions.renewal import AT_ONCE
from models.actions.stays import (
    MoveTold,
    StayOnRecord,
    correct_stay,
    list_stays,
    move_works,
    withdraw_stay,
)
from models.errors import HingebookError, NotAllowed, NotFound, RuleBroken, Stale
from models.rules.half_known_dates import read_date
from models.tables.works import Work
from tests.builders import (
    a_framer,
    a_keeper,
    a_person,
    a_place,
    a_stay,
    a_work,
    an_owner,
    key_of,
    stored_forecast,
)
from tests.counting import statements

TODAY = read_date("2026-11-25").first_day or 0
STAIR, STUDY, STORE = "Gannet House / Stair", "Gannet House / Study", "Gannet House / Store"


@pytest.fixture
def work(session: Session) -> Work:
    """A work on the stair since 1 May 2010; study and store are places too."""
    a_place(session, STUDY)
    a_place(session, STORE)
    return a_work(session, place=STAIR, since="2010-05-01", owner="The Gannet House")


def spans(stays: list[StayOnRecord]) -> list[tuple[str, str | None, str | None, bool]]:
    return [(s.told.place, s.told.on, s.told.until, s.ended) for s in stays]


def test_a_move_ends_one_stay_and_begins_the_next_on_the_same_day(
    session: Session, work: Work
) -> None:
    framer = a_framer(session)
    told = MoveTold(place=STUDY, on="2026-11-20", by="R. Imaginary", note="out of the sun")
    (moved,) = move_works(session, framer, [key_of(work)], told, today=TODAY)
    assert moved.told == told
    assert spans(list_stays(session, framer, key_of(work))) == [
        (STAIR, "2010-05-01", "2026-11-20", True),
        (STUDY, "2026-11-20", None, False),
    ]


def test_a_whole_house_moves_at_once(session: Session) -> None:
    a_place(session, STUDY)
    works = [key_of(a_work(session, place=STAIR)) for _ in range(AT_ONCE + 1)]
    told = MoveTold(place=STUDY, on="2026-11-20")
    moved = move_works(session, a_keeper(session), works, told, today=TODAY)
    assert {stay.told.place for stay in moved} == {STUDY}
    assert len({stay.id for stay in moved}) == len(works)


@pytest.mark.parametrize("on", ["2010", "2010-05", "2005~/2012", "XXXX", "../2011"])
def test_a_half_known_day_that_may_be_right_is_taken(session: Session, work: Work, on: str) -> None:
    keeper = a_keeper(session)
    move_works(session, keeper, [key_of(work)], MoveTold(place=STUDY, on=on), today=TODAY)
    assert spans(list_stays(session, keeper, key_of(work))) == [
        (STAIR, "2010-05-01", on, True),
        (STUDY, on, None, False),
    ]


@pytest.mark.parametrize(
    ("told", "code"),
    [
        (MoveTold(place=STUDY, on="2009"), "ended_before_it_began"),
        (MoveTold(place=STUDY, on="2010-04-30"), "ended_before_it_began"),
        (MoveTold(place=STUDY, on="2027"), "in_the_future"),
        (MoveTold(place=STAIR, on="2020"), "already_there"),
        (MoveTold(place=STUDY, on="2001", until="1999"), "ended_before_it_began"),
        (MoveTold(place=STUDY, on="2001", until="2012"), "two_places_at_once"),
        (MoveTold(place="Gannet House / Studdy", on="2020"), "unknown_place"),
        (MoveTold(place=STUDY, on="2020", by="Nobody known"), "unknown_person"),
        (MoveTold(place=STUDY, on="last year"), "bad_value"),
    ],
)
def test_what_is_certainly_wrong_is_refused_by_name_and_nothing_moves(
    session: Session, work: Work, told: MoveTold, code: str
) -> None:
    keeper = a_keeper(session)
    with pytest.raises(HingebookError) as refused:
        move_works(session, keeper, [key_of(work)], told, today=TODAY)
    assert refused.value.code == code


def test_a_stay_that_is_long_over_is_told_afterwards(session: Session, work: Work) -> None:
    keeper = a_keeper(session)
    told = MoveTold(place=STORE, on="1995~", until="2003")
    move_works(session, keeper, [key_of(work)], told, today=TODAY)
    assert spans(list_stays(session, keeper, key_of(work))) == [
        (STORE, "1995~", "2003", True),
        (STAIR, "2010-05-01", None, False),
    ]


def test_several_works_move_together_or_not_at_all(session: Session, work: Work) -> None:
    keeper = a_keeper(session)
    unplaced = a_work(session)
    keys = [key_of(unplaced), key_of(work)]
    moved = move_works(session, keeper, keys, MoveTold(place=STORE, on="2026-11"), today=TODAY)
    assert [stay.work_id for stay in moved] == keys
    with pytest.raises(NotFound):
        move_works(session, keeper, [*keys, 999], MoveTold(place=STUDY), today=TODAY)
    assert spans(list_stays(session, keeper, key_of(unplaced))) == [(STORE, "2026-11", None, False)]


def test_a_corrected_day_of_a_move_is_corrected_on_both_sides(session: Session, work: Work) -> None:
    keeper = a_keeper(session)
    (moved,) = move_works(
        session, keeper, [key_of(work)], MoveTold(place=STUDY, on="2020"), today=TODAY
    )
    changes = {"on": "2019-03", "place": STORE}
    correct_stay(session, keeper, moved.id, changes, based_on=moved.version, today=TODAY)
    assert spans(list_stays(session, keeper, key_of(work))) == [
        (STAIR, "2010-05-01", "2019-03", True),
        (STORE, "2019-03", None, False),
    ]
    with pytest.raises(RuleBroken, match="cannot have ended"):
        correct_stay(session, keeper, moved.id, {"on": "2009"}, based_on=1, today=TODAY)


def test_whoever_was_slower_with_a_correction_sees_what_is_there(
    session: Session, work: Work
) -> None:
    keeper = a_keeper(session)
    (stay,) = list_stays(session, keeper, key_of(work))
    with pytest.raises(Stale) as refused:
        correct_stay(session, keeper, stay.id, {"note": "x"}, based_on=7, today=TODAY)
    assert refused.value.theirs == stay


def test_a_work_may_leave_for_nobody_knows_where(session: Session, work: Work) -> None:
    keeper = a_keeper(session)
    (stay,) = list_stays(session, keeper, key_of(work))
    gone = correct_stay(session, keeper, stay.id, {"until": "2024"}, based_on=1, today=TODAY)
    assert (gone.ended, gone.told.until) == (True, "2024")


def test_a_move_taken_back_leaves_the_work_where_it_was(session: Session, work: Work) -> None:
    keeper = a_keeper(session)
    (moved,) = move_works(
        session, keeper, [key_of(work)], MoveTold(place=STUDY, on="2020"), today=TODAY
    )
    withdraw_stay(session, keeper, moved.id, "another work was meant", today=TODAY)
    assert spans(list_stays(session, keeper, key_of(work))) == [(STAIR, "2010-05-01", None, False)]
    with pytest.raises(RuleBroken) as refused:
        withdraw_stay(session, keeper, moved.id, "again", today=TODAY)
    assert refused.value.code == "already_withdrawn"


def test_an_owner_reads_moves_of_their_own_works_and_moves_none(
    session: Session, work: Work
) -> None:
    owner = an_owner(session, "The Gannet House")
    other = a_work(session, place=STORE, owner="The Tern House")
    assert len(list_stays(session, owner, key_of(work))) == 1
    with pytest.raises(NotFound):
        list_stays(session, owner, key_of(other))
    with pytest.raises(NotAllowed, match="record where a work went"):
        move_works(session, owner, [key_of(work)], MoveTold(place=STUDY), today=TODAY)


def test_a_history_of_moves_takes_as_many_statements_for_many_as_for_few(
    session: Session, work: Work
) -> None:
    keeper = a_keeper(session)
    a_person(session)
    with statements(session) as few:
        list_stays(session, keeper, key_of(work))
    for year in range(1980, 2000):
        a_stay(session, work, place=STORE, since=str(year), until=str(year))
    with statements(session) as many:
        assert len(list_stays(session, keeper, key_of(work))) == 21
    assert len(many) == len(few)


def test_a_work_that_was_moved_is_forecast_anew(session: Session, work: Work) -> None:
    keeper = a_keeper(session)
    assert stored_forecast(session, work) is None
    move_works(session, keeper, [key_of(work)], MoveTold(place=STUDY, on="2026-11"), today=TODAY)
    forecast = stored_forecast(session, work)
    assert forecast is not None
    assert forecast.score_day == TODAY
