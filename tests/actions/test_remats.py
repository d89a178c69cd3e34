"""What to remat first, from the records: the order, the states, the best use of a week."""

import pytest
from sqlmodel import Session

from models.actions.forecasts import faults_of_stored, refresh_forecasts
from models.actions.house_packages import add_house_package
from models.actions.lots import use_lot
from models.actions.recalls import recall_lot
from models.actions.remat_scores import stock_now
from models.actions.remats import (
    AtHand,
    ChosenRemats,
    RematFilter,
    RematShown,
    batches_of,
    close_remats,
    read_remat,
    say_of_remat,
    what_to_remat,
)
from models.errors import BadValue, NotAllowed, NotFound, Stale
from models.rules.remat_batches import Batch
from models.rules.visit_as_told import HoldTold, LayerTold, MountTold
from models.tables.visible import Viewer
from models.vocabulary import Advice, LayerRole, RematState, Replaceability, ValueBand
from seed_data.shipped import shipped_default_figures
from tests.actions.remats_at_hand import NOW, POOR, a_poor_board, a_work_to_remat, refresh
from tests.builders import (
    a_framer,
    a_keeper,
    a_lot,
    a_material,
    a_stay,
    a_work,
    an_owner,
    key_of,
)
from tests.counting import statements

ALL = RematFilter()


def rows(
    session: Session, viewer: Viewer, filters: RematFilter = ALL, *, today: int = NOW
) -> tuple[RematShown, ...]:
    return what_to_remat(session, viewer, filters, today=today, limit=50).items


def chosen(session: Session, viewer: Viewer, at_hand: AtHand) -> ChosenRemats:
    page = what_to_remat(session, viewer, ALL, today=NOW, limit=1, at_hand=at_hand)
    assert page.chosen is not None, "something was at hand"
    return page.chosen


def numbers(
    session: Session, viewer: Viewer, filters: RematFilter = ALL, *, today: int = NOW
) -> list[str]:
    return [row.number for row in rows(session, viewer, filters, today=today)]


def test_what_exists_once_and_is_worth_more_comes_first(session: Session) -> None:
    keeper = a_keeper(session)
    a_work_to_remat(session, number="poster", replaceability=Replaceability.REPLACEABLE)
    a_work_to_remat(session, number="unique")
    a_work_to_remat(session, number="treasure", value_band=ValueBand.HIGH)
    assert numbers(session, keeper) == ["treasure", "unique", "poster"]


def test_a_row_says_why_what_with_and_for_how_much(session: Session) -> None:
    keeper = a_keeper(session)
    a_work_to_remat(session, number="A", place="Gannet House / Stair")
    (row,) = rows(session, keeper)
    assert (row.cure, row.weak_layer, row.place) == (Advice.REMAT, POOR, "Gannet House / Stair")
    assert row.reason.startswith(f"{POOR}: acid migration, to be seen ")
    assert row.swaps == (
        f"window mat: cotton rag board, buffered instead of {POOR}",
        f"mount board: cotton rag board, buffered instead of {POOR}",
    )
    assert (row.state, row.state_said, row.version) == (RematState.PROPOSED, "Proposed", 0)
    assert row.chance_now is not None
    assert row.chance_then is not None
    assert row.chance_then < row.chance_now


def test_a_work_that_nobody_examined_and_a_sound_one_are_not_listed(session: Session) -> None:
    keeper = a_keeper(session)
    unknown = a_work(session, number="unknown")
    refresh(session, [unknown])
    assert numbers(session, keeper) == []


def test_the_list_is_read_page_by_page_and_holds_every_row_once(session: Session) -> None:
    keeper = a_keeper(session)
    for n in range(5):
        a_work_to_remat(session, number=f"W {n}")
    found, after = [], None
    while True:
        page = what_to_remat(session, keeper, ALL, today=NOW, limit=2, after=after)
        found += [row.number for row in page.items]
        after = page.next_after
        if after is None:
            break
    assert sorted(found) == [f"W {n}" for n in range(5)]


def test_owner_place_technique_and_material_narrow_the_list(session: Session) -> None:
    keeper = a_keeper(session)
    a_work_to_remat(session, number="A", owner="The Tern House", place="Stair / North wall")
    a_work_to_remat(session, number="B", technique="etching", place="Study")
    assert numbers(session, keeper, RematFilter(owner="The Tern House")) == ["A"]
    assert numbers(session, keeper, RematFilter(place="Stair")) == ["A"]
    assert numbers(session, keeper, RematFilter(technique="etching")) == ["B"]
    assert sorted(numbers(session, keeper, RematFilter(material=POOR))) == ["A", "B"]


def test_a_lot_narrows_the_list_to_the_works_it_is_with(session: Session) -> None:
    keeper = a_keeper(session)
    lot = a_lot(session, a_poor_board(session), "L-7")
    a_work_to_remat(session, number="A", lot=lot)
    a_work_to_remat(session, number="B")
    assert numbers(session, keeper, RematFilter(lot="L-7")) == ["A"]


def test_a_word_that_is_not_on_record_is_refused_at_its_filter(session: Session) -> None:
    keeper = a_keeper(session)
    with pytest.raises(BadValue) as refused:
        rows(session, keeper, RematFilter(technique="etchign", lot="nothing"))
    assert [fault.pointer for fault in refused.value.faults] == ["/technique", "/lot"]


def test_owners_see_their_own_rows_and_no_others(session: Session) -> None:
    tern = an_owner(session, "The Tern House")
    own = a_work_to_remat(session, number="own", owner="The Tern House")
    other = a_work_to_remat(session, number="other", owner="The Gannet House")
    assert numbers(session, tern) == ["own"]
    assert numbers(session, tern, RematFilter(owner="The Gannet House")) == ["own"]
    assert read_remat(session, tern, key_of(own), today=NOW).number == "own"
    with pytest.raises(NotFound):
        read_remat(session, tern, key_of(other), today=NOW)


def test_a_declined_row_leaves_the_list_until_its_day(session: Session) -> None:
    keeper = a_keeper(session)
    work = key_of(a_work_to_remat(session, number="A"))
    said = say_of_remat(
        session,
        keeper,
        work,
        {"state": RematState.DECLINED_UNTIL, "until": NOW + 30, "why": "the exhibition first"},
        based_on=0,
        today=NOW,
    )
    assert said.state_said == (
        "Declined until 25 December 2026 by K. Inventa: the exhibition first"
    )
    assert numbers(session, keeper, today=NOW + 29) == []
    assert numbers(session, keeper, today=NOW + 30) == ["A"]
    declined = RematFilter(state=RematState.DECLINED_UNTIL)
    assert numbers(session, keeper, declined) == ["A"]


def test_what_cannot_be_and_what_is_done_leave_the_list(session: Session) -> None:
    keeper = a_keeper(session)
    one = key_of(a_work_to_remat(session, number="A"))
    other = key_of(a_work_to_remat(session, number="B"))
    cannot = {"state": RematState.CANNOT, "why": "sealed by its maker"}
    say_of_remat(session, keeper, one, cannot, based_on=0, today=NOW)
    say_of_remat(session, keeper, other, {"state": RematState.DONE}, based_on=0, today=NOW)
    assert numbers(session, keeper) == []
    # Five years on, what was done is looked at anew; what cannot be still cannot.
    assert numbers(session, keeper, today=NOW + 5 * 366) == ["B"]


def test_a_remat_is_asked_with_a_quote_and_agreed_by_its_owner(session: Session) -> None:
    keeper, tern = a_keeper(session), an_owner(session, "The Tern House")
    work = key_of(a_work_to_remat(session, number="A", owner="The Tern House"))
    asked = {"state": RematState.ASKED, "quote": 120.0}
    first = say_of_remat(session, keeper, work, asked, based_on=0, today=NOW)
    assert first.state_said == ("Put to the owner on 25 November 2026 by K. Inventa, quote 120.00")
    agreed = say_of_remat(
        session, tern, work, {"state": RematState.AGREED}, based_on=first.version, today=NOW
    )
    assert agreed.state_said == (
        "Agreed on 25 November 2026 by The Tern House, its steward, quote 120.00"
    )
    cheaper = {"state": RematState.AGREED, "quote": 1.0}
    with pytest.raises(NotAllowed, match="The quote is the bench's"):
        say_of_remat(session, tern, work, cheaper, based_on=agreed.version, today=NOW)


def test_a_question_of_the_owner_is_not_called_as_one_to_the_owner(session: Session) -> None:
    tern = an_owner(session, "The Tern House")
    work = key_of(a_work_to_remat(session, number="A", owner="The Tern House"))
    asked = {"state": RematState.ASKED, "why": "What would it cost?"}
    said = say_of_remat(session, tern, work, asked, based_on=0, today=NOW)
    assert said.state_said == (
        "Question of the owner on 25 November 2026 by The Tern House, its steward:"
        " What would it cost?"
    )


def test_an_owner_says_only_what_is_an_owners_to_say(session: Session) -> None:
    tern = an_owner(session, "The Tern House")
    work = key_of(a_work_to_remat(session, number="A", owner="The Tern House"))
    with pytest.raises(NotAllowed, match="agreed, asked, declined until"):
        say_of_remat(session, tern, work, {"state": RematState.DONE}, based_on=0, today=NOW)
    other = key_of(a_work_to_remat(session, number="B", owner="The Gannet House"))
    with pytest.raises(NotFound):
        say_of_remat(session, tern, other, {"state": RematState.AGREED}, based_on=0, today=NOW)


@pytest.mark.parametrize(
    ("said", "pointer"),
    [
        ({"state": RematState.DECLINED_UNTIL}, "/until"),
        ({"state": RematState.DECLINED_UNTIL, "until": NOW}, "/until"),
        ({"state": RematState.CANNOT}, "/why"),
        ({"state": RematState.ASKED, "quote": -1.0}, "/quote"),
        ({"state": RematState.ASKED, "on": NOW + 1}, "/on"),
        ({"state": RematState.AGREED, "by": "Nobody On Record"}, "/by"),
    ],
)
def test_what_cannot_be_right_is_refused_with_its_field(
    session: Session, said: dict[str, object], pointer: str
) -> None:
    work = key_of(a_work_to_remat(session, number="A"))
    with pytest.raises(BadValue) as refused:
        say_of_remat(session, a_framer(session), work, said, based_on=0, today=NOW)
    assert [fault.pointer for fault in refused.value.faults] == [pointer]


def test_somebody_who_was_slower_sees_what_is_there(session: Session) -> None:
    keeper = a_keeper(session)
    work = key_of(a_work_to_remat(session, number="A"))
    say_of_remat(session, keeper, work, {"state": RematState.ASKED}, based_on=0, today=NOW)
    with pytest.raises(Stale) as stale:
        say_of_remat(session, keeper, work, {"state": RematState.CANNOT}, based_on=0, today=NOW)
    theirs = stale.value.theirs
    assert isinstance(theirs, RematShown)
    assert theirs.state is RematState.ASKED


def test_a_recorded_remount_makes_a_remat_done(session: Session) -> None:
    keeper = a_keeper(session)
    agreed, other = (key_of(a_work_to_remat(session, number=n)) for n in ("A", "B"))
    for work in (agreed, other):
        say_of_remat(session, keeper, work, {"state": RematState.AGREED}, based_on=0, today=NOW)
    close_remats(session, [agreed, other], remounted=[agreed], today=NOW)
    assert read_remat(session, keeper, agreed, today=NOW).state is RematState.DONE
    assert read_remat(session, keeper, other, today=NOW).state is RematState.AGREED


def test_the_board_with_a_lot_in_use_is_proposed_and_a_recalled_one_no_more(
    session: Session,
) -> None:
    keeper = a_keeper(session)
    rag = a_material(session, "Rag board", kind="mat board")
    lot = a_lot(session, rag, "L-1")
    use_lot(session, keeper, key_of(lot))
    work = a_work_to_remat(session, number="A")
    assert [row.board for row in rows(session, keeper)] == ["Rag board"]
    recall_lot(session, keeper, key_of(lot), "yellows", today=NOW)
    refresh(session, [work])
    assert [row.board for row in rows(session, keeper)] == ["cotton rag board, buffered"]


def test_what_a_house_package_is_built_of_is_in_stock(session: Session) -> None:
    keeper = a_keeper(session)
    a_material(session, "Rag board", kind="mat board")
    a_material(session, "On the shelf of nobody", kind="mat board")
    build = MountTold(
        layers=(
            LayerTold(role=LayerRole.WINDOW_MAT, material="Rag board"),
            LayerTold(role=LayerRole.WORK),
        ),
        holds=(HoldTold(grade="corner pockets or edge strips", count=4),),
    )
    defaults = shipped_default_figures()
    add_house_package(session, keeper, "Usual", build, defaults=defaults)
    assert [material.name for material in stock_now(session)] == ["Rag board"]


def test_what_is_stored_is_what_the_rules_say_and_a_bent_figure_is_found(session: Session) -> None:
    work = key_of(a_work_to_remat(session, number="A"))
    assert faults_of_stored(session, [work]) == []
    session.connection().exec_driver_sql("UPDATE remat_score SET reduced = 0.1")
    assert faults_of_stored(session, [work]) == ["A: stored reduced differ."]


def test_a_withdrawn_work_has_no_score(session: Session) -> None:
    keeper = a_keeper(session)
    work = a_work_to_remat(session, number="A")
    work.withdrawn_reason = "entered twice"
    session.flush()
    refresh_forecasts(session, [key_of(work)], today=NOW)
    assert numbers(session, keeper) == []
    left = session.connection().exec_driver_sql("SELECT count(*) FROM remat_score").scalar()
    assert left == 0


def test_the_best_use_of_hours_and_of_money(session: Session) -> None:
    keeper = a_keeper(session)
    for n in range(3):
        a_work_to_remat(session, number=f"W {n}")
    hours = rows(session, keeper)[0].hours
    cost = rows(session, keeper)[0].cost
    assert hours is not None
    assert cost is not None
    by_hours = chosen(session, keeper, AtHand(hours=2.5 * hours))
    assert len(by_hours.works) == 2
    assert by_hours.takes == pytest.approx(2 * hours)
    by_money = chosen(session, keeper, AtHand(money=1.5 * cost))
    assert len(by_money.works) == 1
    assert by_money.takes == pytest.approx(cost)
    assert "risk reduced for each hour" in by_hours.rule


def test_works_of_one_board_and_one_room_are_a_batch(session: Session) -> None:
    keeper = a_keeper(session)
    for number in ("A", "B"):
        a_work_to_remat(session, number=number, place="Stair")
    found = rows(session, keeper)
    keys = tuple(row.work_id for row in found)
    batches = batches_of(found)
    assert batches.by_board == (Batch("cotton rag board, buffered", keys),)
    assert batches.by_room == (Batch("Stair", keys),)


def test_what_is_open_or_on_its_way_anyway_is_said(session: Session) -> None:
    keeper = a_keeper(session)
    work = a_work_to_remat(session, number="A", place="Stair")
    a_stay(session, work, place="On loan", since="2026-12-20", ended=True)
    assert rows(session, keeper)[0].while_open == (
        "it leaves its place on 20 December 2026 for On loan",
    )


def test_however_long_the_list_is_it_takes_the_same_few_statements(session: Session) -> None:
    keeper = a_keeper(session)
    a_work_to_remat(session, number="A")
    with statements(session) as few:
        rows(session, keeper)
    for n in range(6):
        a_work_to_remat(session, number=f"W {n}")
    with statements(session) as many:
        rows(session, keeper)
    assert len(many) == len(few) <= 5
