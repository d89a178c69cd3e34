"""Which photographs the invented collection has, and what each can show."""

from models.vocabulary import PhotographStage, PhotographView
from seed_data.demo.pictures_taken import PictureTaken, pictures_taken, sheets
from seed_data.demo.record import deeds_in_order

# Each takes the start of the demonstration a moment.
MOST = 150


def taken() -> list[PictureTaken]:
    return pictures_taken(deeds_in_order())


def of(number: str) -> list[PictureTaken]:
    return [one for one in taken() if one.number == number]


def test_every_work_has_one_and_there_are_not_too_many() -> None:
    pictures = taken()
    assert {one.number for one in pictures} == set(sheets())
    assert len(pictures) <= MOST
    assert len({one.file_name for one in pictures}) == len(pictures)


def test_an_earlier_photograph_shows_the_earlier_reach() -> None:
    opened = [one for one in of("H 007") if one.stage is not PhotographStage.IN_FRAME]
    reach = [
        (one.on, mark.reach_mm)
        for one in opened
        if one.view is PhotographView.RECTO
        for mark in one.marks
        if mark.term == "mat burn"
    ]
    assert reach == [("2009-03-09", 8), ("2016-04-18", 10), ("2023-05-22", 12), ("2026-06-08", 12)]


def test_what_was_found_behind_has_a_photograph_of_the_back() -> None:
    (back,) = [one for one in of("H 007") if one.view is PhotographView.VERSO]
    assert (back.on, back.stage) == ("2023-05-22", PhotographStage.VERSO)
    assert "skinning" in {mark.term for mark in back.marks}


def test_a_work_that_nobody_opened_is_seen_in_its_frame_alone() -> None:
    assert [(one.on, one.stage) for one in of("D 010")] == [
        ("2026-09-14", PhotographStage.IN_FRAME)
    ]
    (before, after) = of("F 012")
    assert (before.on, before.marks) == ("2012-10-08", ())
    assert "friable surface touching the glazing" in {mark.term for mark in after.marks}


def test_what_went_with_the_old_package_is_not_drawn_any_more() -> None:
    last = of("H 020")[-1]
    assert "cracked acrylic" not in {mark.term for mark in last.marks}


def test_groundwood_has_browned() -> None:
    framed = next(one for one in of("H 014") if one.stage is PhotographStage.IN_FRAME)
    new = next(one for one in of("D 010"))
    assert sum(framed.mat) < sum(new.mat)
