"""Which words of works stand on record under a letter, as both databases tell them."""

from sqlmodel import Session

from models.rules.search_words import prefix_range
from models.tables.visible import THE_HOUSE, Viewer
from models.tables.work_search import words_like
from tests.builders import a_work, an_owner


def words_under(letter: str, session: Session, viewer: Viewer = THE_HOUSE) -> list[str]:
    return words_like(session, viewer, prefix_range(letter))


def test_the_words_of_works_are_told_once_each_and_numbers_not_at_all(session: Session) -> None:
    for nth, title in enumerate(("Gull Weir", "Gull Mill", "The Gannets, plate G7b", "Über Gull")):
        a_work(session, number=f"GH 1995.{nth}", title=title, maker="G. Groyne")
    assert words_under("g", session) == ["gannets", "gh", "groyne", "gull"]
    assert words_under("u", session) == ["uber"]
    assert words_under("z", session) == []
    assert words_under("ж", session) == []


def test_words_of_letters_that_have_no_place_in_the_alphabet_are_told_too(session: Session) -> None:
    a_work(session, number="1", title="Жар жаворонок gжel")
    assert words_under("ж", session) == ["жаворонок", "жар"]
    assert words_under("g", session) == ["gжel"]


def test_nobody_is_told_a_word_that_stands_on_works_they_do_not_see_alone(session: Session) -> None:
    a_work(session, number="A 1", title="Tern Tide", owner="The Gannet House")
    a_work(session, number="A 2", title="Tern Tower", owner="The Tern House")
    a_work(session, number="A 3", title="Tern Tarn", withdrawn_reason="sold")
    assert words_under("t", session, an_owner(session, "The Gannet House")) == ["tern", "tide"]
    assert words_under("t", session) == ["tern", "tide", "tower"]
