"""What is asked for of one work is what is asked for of many, on both databases."""

from sqlmodel import Session

from models.tables.case_rows import layer_rows, mount_rows, visit_rows, work_rows
from models.tables.visible import THE_HOUSE, Viewer
from models.vocabulary import Role
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
        (visit_rows, ids),
        (layer_rows, packages),
    ):
        together = list(rows(session, THE_HOUSE, numbers))
        assert len(together) == 2
        assert [row for one in numbers for row in rows(session, THE_HOUSE, [one])] == together


def test_an_owner_finds_no_work_of_another_by_its_number_alone(session: Session) -> None:
    work = key_of(a_work(session, number="A"))
    stranger = Viewer(1, Role.OWNER, owner_id=999)
    assert len(work_rows(session, THE_HOUSE, [work])) == 1
    assert work_rows(session, stranger, [work]) == []
    assert work_rows(session, stranger, [work, work + 1]) == []
