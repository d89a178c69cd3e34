"""What may be meant by a few letters, and by whom it may be seen."""

from sqlmodel import Session

from models.actions.suggestions import Named, suggest
from models.tables.visible import Viewer
from models.vocabulary import Verdict
from tests.builders import a_forecast, a_keeper, a_place, a_technique, a_work, an_owner

TODAY = 20_782


def numbers(session: Session, viewer: Viewer, text: str) -> list[str]:
    found = suggest(session, viewer, text, today=TODAY)
    return [one.work.told.number for one in found.works]


def test_two_letters_of_number_title_or_maker_find_a_work(session: Session) -> None:
    keeper = a_keeper(session)
    a_work(session, number="GH 12", title="The Weir", maker="Ø. Nobody")
    a_work(session, number="TH 3", title="Église au soir", maker="I. Other")
    assert [numbers(session, keeper, text) for text in ("gh", "we", "no", "12")] == [["GH 12"]] * 4
    assert numbers(session, keeper, "eg") == ["TH 3"]


def test_a_number_typed_whole_comes_before_those_that_begin_so(session: Session) -> None:
    keeper = a_keeper(session)
    for number in ("GH 1", "GH 10", "GH 100", "A GH1"):
        a_work(session, number=number)
    assert numbers(session, keeper, "gh1")[0] == "GH 1"


def test_cynotype_finds_the_cyanotypes_and_says_by_which_word(session: Session) -> None:
    keeper = a_keeper(session)
    a_technique(session, "cyanotype")
    a_work(session, number="GH 1", title="Fern", technique="cyanotype")
    a_work(session, number="GH 2", title="Mill")
    found = suggest(session, keeper, "cynotype", today=TODAY)
    assert [one.work.told.number for one in found.works] == ["GH 1"]
    assert found.instead == "cyanotype"
    assert numbers(session, keeper, "cyanotype") == ["GH 1"]
    assert numbers(session, keeper, "fern cyano") == ["GH 1"]


def test_another_number_is_never_near(session: Session) -> None:
    keeper = a_keeper(session)
    a_work(session, number="GH 1994")
    for text in ("1995", "gh 1995", "gh1995"):
        found = suggest(session, keeper, text, today=TODAY)
        assert (found.works, found.instead) == ((), None)


def test_a_suggestion_says_how_the_work_stands(session: Session) -> None:
    keeper = a_keeper(session)
    a_forecast(session, a_work(session, title="The Weir"), verdict=Verdict.HARMFUL)
    (one,) = suggest(session, keeper, "weir", today=TODAY).works
    assert one.mark is not None
    assert one.mark.verdict is Verdict.HARMFUL


def test_an_owner_is_suggested_their_own_works_and_places_alone(session: Session) -> None:
    viewer = an_owner(session, "The Gannet House")
    a_work(session, number="GH 1", title="Weir", owner="The Gannet House", place="North / Stair")
    a_work(session, number="TH 1", title="Weir", owner="The Tern House", place="South / Stair")
    found = suggest(session, viewer, "weir", today=TODAY)
    assert [one.work.told.number for one in found.works] == ["GH 1"]
    assert [p.name for p in suggest(session, viewer, "stair", today=TODAY).places] == [
        "North / Stair"
    ]
    for text in ("th", "south", "tren"):
        nothing = suggest(session, viewer, text, today=TODAY)
        assert (nothing.works, nothing.instead, nothing.places) == ((), None, ())


def test_places_are_suggested_by_any_word_of_their_name(session: Session) -> None:
    keeper = a_keeper(session)
    place = a_place(session, "Gannet House / Upper stair")
    assert suggest(session, keeper, "upper", today=TODAY).places == (
        Named(place.id or 0, "Gannet House / Upper stair"),
    )


def test_nothing_typed_suggests_nothing(session: Session) -> None:
    a_work(session)
    found = suggest(session, a_keeper(session), " ?", today=TODAY)
    assert (found.works, found.places, found.materials) == ((), (), ())
