from sqlmodel import Session

from models.rules.search_words import prefix_range
from models.tables.register import Wanted, listed_work, works_page
from tests.builders import a_framer, a_keeper, a_lot, a_material, a_stay, a_work, an_owner, key_of


def test_what_builders_make_is_valid_and_is_found(session: Session) -> None:
    keeper, owner = a_keeper(session), an_owner(session)
    a_framer(session)
    work = a_work(
        session, owner="The Gannet House", place="Gannet House / Stair", maker="Églantine"
    )
    a_work(session, title="another", technique="etching", height_um=210_000, width_um=148_000)
    a_stay(session, work, place="Gannet House / Store", since=None, until="1999")
    a_lot(session, a_material(session), in_use=True)

    listed = listed_work(session, keeper, key_of(work))
    found, _ = works_page(session, owner, limit=5, wanted=Wanted(beginnings=[prefix_range("egl")]))

    assert (listed.owner, listed.work.number) == ("The Gannet House", "GH 1")
    assert [one.work.title for one in found] == ["The Mill in Winter"]
