import pytest
from sqlmodel import Session

from models.actions.forecasts import refresh_forecasts
from models.actions.lots import read_lot
from models.actions.materials import read_material
from models.actions.recalls import (
    lift_recall,
    list_recalls,
    recall_lot,
    recall_material,
    works_touched,
)
from models.errors import BadValue, NotAllowed, NotFound, RuleBroken
from models.rules.half_known_dates import read_date
from tests.builders import (
    a_framer,
    a_hold,
    a_keeper,
    a_layer,
    a_lot,
    a_material,
    a_mount,
    a_poor_mount,
    a_work,
    an_owner,
    key_of,
    stored_forecast,
)
from tests.counting import statements

TODAY = read_date("2026-11-25").first_day or 0


def test_a_recalled_lot_lists_the_works_it_touches_and_no_others(session: Session) -> None:
    keeper = a_keeper(session)
    board = a_material(session)
    bad, good = a_lot(session, board, "L-1"), a_lot(session, board, "L-2")
    for number, lot, gone in (("A", bad, None), ("B", good, None), ("C", bad, "2020")):
        mount = a_mount(session, a_work(session, number=number), dismounted=gone)
        a_layer(session, mount, board, lot=lot, removed=gone)
    a_hold(session, a_mount(session, a_work(session, number="D")), board, lot=bad)
    recall = recall_lot(session, keeper, key_of(bad), "yellows at the bevel", today=TODAY)
    assert (recall.material, recall.lot, recall.called_on) == (board.name, "L-1", TODAY)
    assert [work.number for work in works_touched(session, keeper, recall)] == ["A", "D"]
    assert read_lot(session, keeper, key_of(bad)).is_recalled
    assert not read_lot(session, keeper, key_of(good)).is_recalled


def test_a_recalled_material_is_recalled_in_every_lot(session: Session) -> None:
    keeper = a_keeper(session)
    board = a_material(session)
    lot = a_lot(session, board)
    a_layer(session, a_mount(session, a_work(session, number="A")), board)
    a_layer(session, a_mount(session, a_work(session, number="B")), board, lot=lot)
    recall = recall_material(session, keeper, key_of(board), "failed the PAT", today=TODAY)
    assert [work.number for work in works_touched(session, keeper, recall)] == ["A", "B"]
    assert read_lot(session, keeper, key_of(lot)).is_recalled
    assert read_material(session, keeper, key_of(board)).is_recalled


def test_a_recall_is_lifted_once_with_a_reason(session: Session) -> None:
    keeper = a_keeper(session)
    board = a_material(session)
    recall = recall_material(session, keeper, key_of(board), "failed the PAT", today=TODAY)
    with pytest.raises(BadValue, match="reason is missing"):
        lift_recall(session, keeper, recall.id, " ", today=TODAY)
    lifted = lift_recall(session, keeper, recall.id, "another board was tested", today=TODAY)
    assert (lifted.lifted_on, lifted.lifted_reason) == (TODAY, "another board was tested")
    assert not read_material(session, keeper, key_of(board)).is_recalled
    with pytest.raises(RuleBroken) as refused:
        lift_recall(session, keeper, recall.id, "again", today=TODAY)
    assert refused.value.code == "already_lifted"
    assert list_recalls(session, keeper, open_only=True) == []
    assert len(list_recalls(session, keeper, open_only=False)) == 1


def test_what_is_recalled_is_not_recalled_again_until_that_is_lifted(session: Session) -> None:
    keeper = a_keeper(session)
    board = a_material(session)
    lot = a_lot(session, board)
    recall_material(session, keeper, key_of(board), "failed the PAT", today=TODAY)
    recall_lot(session, keeper, key_of(lot), "and brown too", today=TODAY)
    with pytest.raises(RuleBroken) as material_again:
        recall_material(session, keeper, key_of(board), "x", today=TODAY)
    with pytest.raises(RuleBroken) as lot_again:
        recall_lot(session, keeper, key_of(lot), "x", today=TODAY)
    assert material_again.value.code == lot_again.value.code == "already_recalled"


def test_a_recall_needs_a_reason_and_something_to_recall(session: Session) -> None:
    keeper = a_keeper(session)
    with pytest.raises(BadValue, match="reason is missing"):
        recall_material(session, keeper, key_of(a_material(session)), "", today=TODAY)
    with pytest.raises(NotFound):
        recall_lot(session, keeper, 99, "bad", today=TODAY)
    with pytest.raises(NotFound):
        lift_recall(session, keeper, 99, "good", today=TODAY)


def test_only_a_keeper_recalls_and_an_owner_sees_only_their_works_touched(
    session: Session,
) -> None:
    keeper, owner = a_keeper(session), an_owner(session, "The Gannet House")
    board = a_material(session)
    for number, name in (("A", "The Gannet House"), ("B", "The Tern House")):
        work = a_work(session, number=number, owner=name)
        a_layer(session, a_mount(session, work), board)
    with pytest.raises(NotAllowed, match="recall a lot or a material"):
        recall_material(session, a_framer(session), key_of(board), "bad", today=TODAY)
    recall = recall_material(session, keeper, key_of(board), "bad", today=TODAY)
    assert [work.number for work in works_touched(session, owner, recall)] == ["A"]


def test_a_list_of_recalls_takes_as_many_statements_for_many_as_for_few(
    session: Session,
) -> None:
    keeper = a_keeper(session)
    recall_material(session, keeper, key_of(a_material(session)), "bad", today=TODAY)
    with statements(session) as few:
        list_recalls(session, keeper, open_only=True)
    for n in range(10):
        lot = a_lot(session, a_material(session, f"board {n}"))
        recall_lot(session, keeper, key_of(lot), "bad", today=TODAY)
    with statements(session) as many:
        assert len(list_recalls(session, keeper, open_only=True)) == 11
    assert len(many) == len(few)


def test_a_recall_pulls_its_works_forward_and_lifting_it_lets_them_back(
    session: Session,
) -> None:
    keeper = a_keeper(session)
    board = a_material(session)
    lot = a_lot(session, board)
    work = a_work(session)
    a_poor_mount(session, work, board, lot=lot)
    refresh_forecasts(session, [key_of(work)], today=TODAY)

    def sign() -> tuple[str, int | None]:
        forecast = stored_forecast(session, work)
        assert forecast is not None
        return forecast.urgent_sign, forecast.urgent_since

    before = sign()
    recall = recall_lot(session, keeper, key_of(lot), "yellows at the bevel", today=TODAY)
    assert before != sign() != ("", None)
    lift_recall(session, keeper, recall.id, "another lot was meant", today=TODAY)
    assert sign() == before
