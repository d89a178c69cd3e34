import pytest
from sqlmodel import Session

from models.actions.lots import LotTold, add_lot, change_lot, list_lots, read_lot, use_lot
from models.errors import BadValue, NotAllowed, NotFound, RuleBroken, Stale
from models.rules.half_known_dates import read_date
from tests.builders import a_framer, a_keeper, a_lot, a_material, an_owner, key_of

TODAY = read_date("2026-11-25").first_day or 0


def test_a_framer_adds_a_lot_as_it_came_in(session: Session) -> None:
    board = a_material(session)
    told = LotTold(number="L-118", received="2026-10", in_use=True, note="two corners bent")
    lot = add_lot(session, a_framer(session), key_of(board), told, today=TODAY)
    assert (lot.told, lot.is_recalled) == (told, False)


def test_a_lot_number_is_given_once_within_its_material(session: Session) -> None:
    framer = a_framer(session)
    board, paste = a_material(session), a_material(session, "Wheat starch paste")
    a_lot(session, board, "L-118")
    add_lot(session, framer, key_of(paste), LotTold(number="L-118"), today=TODAY)
    with pytest.raises(RuleBroken) as refused:
        add_lot(session, framer, key_of(board), LotTold(number="L-118"), today=TODAY)
    assert refused.value.code == "number_taken"


def test_one_lot_of_a_material_is_in_use_and_the_next_puts_it_away(session: Session) -> None:
    framer = a_framer(session)
    board = a_material(session)
    first = key_of(a_lot(session, board, "L-1", in_use=True))
    second = key_of(a_lot(session, board, "L-2"))
    assert use_lot(session, framer, second).told.in_use
    add_lot(session, framer, key_of(board), LotTold(number="L-3", in_use=True), today=TODAY)
    change_lot(session, framer, first, {"in_use": True}, based_on=1, today=TODAY)
    assert [
        (lot.told.number, lot.told.in_use) for lot in list_lots(session, framer, key_of(board))
    ] == [
        ("L-1", True),
        ("L-3", False),
        ("L-2", False),
    ]


def test_what_is_wrong_with_a_lot_is_said_where_it_stands(session: Session) -> None:
    framer = a_framer(session)
    board = key_of(a_material(session))
    with pytest.raises(BadValue) as refused:
        add_lot(session, framer, board, LotTold(number="", received="October"), today=TODAY)
    assert [fault.pointer for fault in refused.value.faults] == ["/received", "/number"]
    with pytest.raises(RuleBroken) as early:
        add_lot(session, framer, board, LotTold(number="1", received="2027"), today=TODAY)
    assert early.value.code == "in_the_future"


def test_whoever_was_slower_sees_the_lot_as_it_is(session: Session) -> None:
    framer = a_framer(session)
    lot = a_lot(session, a_material(session))
    lot.version = 2
    with pytest.raises(Stale) as refused:
        change_lot(session, framer, key_of(lot), {"note": "x"}, based_on=1, today=TODAY)
    assert refused.value.theirs == read_lot(session, framer, key_of(lot))


def test_owners_read_lots_and_add_none(session: Session) -> None:
    owner = an_owner(session)
    board = key_of(a_material(session))
    assert list_lots(session, owner, board) == []
    with pytest.raises(NotAllowed, match="add lots"):
        add_lot(session, owner, board, LotTold(number="1"), today=TODAY)
    for nobody in (use_lot, read_lot):
        with pytest.raises(NotFound):
            nobody(session, a_keeper(session, f"for {nobody.__name__}"), 99)
    with pytest.raises(NotFound):
        list_lots(session, owner, 99)
