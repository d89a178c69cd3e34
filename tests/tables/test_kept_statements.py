"""What is asked for of one work is what is asked for of many, on both databases."""

from sqlmodel import Session

from models.tables.case_rows import (
    VisitsRead,
    layer_rows,
    mount_rows,
    visit_rows,
    visits_beside,
    work_rows,
)
from models.tables.visible import THE_HOUSE, Viewer
from models.tables.visits import LayerTest
from models.vocabulary import BenchTest, Role
from tests.builders import a_layer, a_mount, a_visit, a_work, key_of


def test_one_work_is_found_as_among_many(session: Session) -> None:
    works = [a_work(session, number=number) for number in "AB"]
    mounts = [a_mount(session, work) for work in works]
    for work, mount in zip(works, mounts, strict=True):
        a_layer(session, mount)
        a_visit(session, work, on="2021-06-01")
    session.flush()
    ids, packages = [key_of(work) for work in works], [mount.package_id for mount in mounts]
    for rows, numbers in (
        (work_rows, ids),
        (mount_rows, ids),
        (layer_rows, packages),
    ):
        together = list(rows(session, THE_HOUSE, numbers))
        assert len(together) == 2
        assert [row for one in numbers for row in rows(session, THE_HOUSE, [one])] == together


def test_the_visits_beside_one_are_those_of_its_work_with_their_bench_tests(
    session: Session,
) -> None:
    work, other = a_work(session, number="A"), a_work(session, number="B")
    board = a_layer(session, a_mount(session, work))
    later, unknown = a_visit(session, work, on="2021"), a_visit(session, work, on="XXXX")
    a_visit(session, other, on="2020")
    pen, bevel, lignin = BenchTest.PH_PEN, BenchTest.BEVEL_COLOUR, BenchTest.LIGNIN_SPOT
    for visit, test in ((later, pen), (later, bevel), (unknown, lignin)):
        its = key_of(board), key_of(visit)
        session.add(LayerTest(layer_id=its[0], visit_id=its[1], test=test, result="violet"))
    session.flush()

    read = visits_beside(session, THE_HOUSE, key_of(later))

    assert read == visit_rows(session, THE_HOUSE, [key_of(work)])
    assert [visit.id for visit in read.visits] == [unknown.id, later.id]
    assert [test.test for test in read.tests] == [lignin, pen, bevel]
    stranger = Viewer(1, Role.OWNER, owner_id=999)
    assert visits_beside(session, stranger, key_of(later)) == VisitsRead([], [])


def test_an_owner_finds_no_work_of_another_by_its_number_alone(session: Session) -> None:
    work = key_of(a_work(session, number="A"))
    stranger = Viewer(1, Role.OWNER, owner_id=999)
    assert len(work_rows(session, THE_HOUSE, [work])) == 1
    assert work_rows(session, stranger, [work]) == []
    assert work_rows(session, stranger, [work, work + 1]) == []
