import pytest
from sqlmodel import Session

from models.actions.forecasts import refresh_forecasts
from models.actions.recall_preview import preview_lot_recall, preview_material_recall
from models.actions.recalls import recall_material
from models.errors import NotAllowed, NotFound
from models.rules.half_known_dates import read_date
from models.rules.recall_reach import Reach
from models.vocabulary import DueKind, LayerRole
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
    key_of,
    stored_forecast,
)
from tests.counting import statements

TODAY = read_date("2026-11-25").first_day or 0


def test_before_a_recall_every_work_is_named_by_how_near_it_comes(session: Session) -> None:
    keeper = a_keeper(session)
    board = a_material(session, grade="cotton rag board, buffered")
    lot = a_lot(session, board, "L-1")
    touched = a_poor_mount(session, a_work(session, number="A"), board, lot=lot)
    apart = a_mount(session, a_work(session, number="B"))
    a_layer(session, apart, role=LayerRole.WORK)
    a_layer(session, apart, role=LayerRole.MOUNT_BOARD)
    a_layer(session, apart, board, role=LayerRole.BACKING)
    held = a_mount(session, a_work(session, number="C"))
    a_hold(session, held, board)
    gone = a_mount(session, a_work(session, number="D"), dismounted="2020")
    a_layer(session, gone, board, lot=lot, removed="2020")
    works = [mount.work_id for mount in (touched, apart, held, gone)]
    refresh_forecasts(session, works, today=TODAY)

    seen = preview_material_recall(session, keeper, key_of(board), today=TODAY)
    assert [(work.number, work.reach) for work in seen.works] == [
        ("A", Reach.TOUCHES),
        ("C", Reach.TOUCHES),
        ("B", Reach.IN_PACKAGE),
        ("D", Reach.FORMERLY),
    ]
    assert {use.place for use in seen.works[0].uses} == {"window mat", "mount board"}
    of_lot = preview_lot_recall(session, keeper, key_of(lot), today=TODAY)
    assert (of_lot.lot, [work.number for work in of_lot.works]) == ("L-1", ["A", "D"])


def test_what_is_shown_before_a_recall_is_what_the_recall_then_does(session: Session) -> None:
    keeper = a_keeper(session)
    board = a_material(session, grade="cotton rag board, buffered")
    mounts = [a_poor_mount(session, a_work(session, number=n), board) for n in "AB"]
    apart = a_mount(session, a_work(session, number="C"))
    a_layer(session, apart, role=LayerRole.WORK)
    a_layer(session, apart, role=LayerRole.MOUNT_BOARD)
    a_layer(session, apart, board, role=LayerRole.BACKING)
    works = [mount.work_id for mount in (*mounts, apart)]
    refresh_forecasts(session, works, today=TODAY)

    with statements(session) as sent:
        seen = preview_material_recall(session, keeper, key_of(board), today=TODAY)
    assert not [line for line in sent if not line.lstrip().startswith("SELECT")]
    recall_material(session, keeper, key_of(board), "bleeds brown", today=TODAY)
    session.expire_all()
    for work in seen.works:
        stored = stored_forecast(session, work.id)
        assert stored is not None
        assert (stored.due_kind is DueKind.URGENT) == (work.reach is Reach.TOUCHES)
        assert (stored.due_on == TODAY) == work.comes_nearer
        assert work.comes_nearer or stored.due_on == work.due_on
    assert preview_material_recall(session, keeper, key_of(board), today=TODAY).is_called


def test_only_who_may_recall_looks_at_what_a_recall_would_do(session: Session) -> None:
    board = a_material(session)
    with pytest.raises(NotAllowed):
        preview_material_recall(session, a_framer(session), key_of(board), today=TODAY)
    keeper = a_keeper(session)
    with pytest.raises(NotFound):
        preview_material_recall(session, keeper, 99, today=TODAY)
    with pytest.raises(NotFound):
        preview_lot_recall(session, keeper, 99, today=TODAY)


def test_what_a_recall_would_do_takes_as_many_statements_for_many_works_as_for_few(
    session: Session,
) -> None:
    keeper = a_keeper(session)
    board = a_material(session)
    a_poor_mount(session, a_work(session), board)

    def count() -> int:
        session.expire_all()
        with statements(session) as sent:
            preview_material_recall(session, keeper, key_of(board), today=TODAY)
        return len(sent)

    few = count()
    for _ in range(20):
        a_poor_mount(session, a_work(session), board)
    assert count() == few <= 7
