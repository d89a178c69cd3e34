from datetime import UTC, datetime

import pytest
from sqlalchemy import Engine
from sqlmodel import Session, select

from models.actions.change_log import recording
from models.actions.works import (
    ImageTold,
    WorksAsked,
    WorksFound,
    WorkTold,
    change_work,
    find_works,
    read_work,
    register_work,
    withdraw_work,
)
from models.errors import (
    BadValue,
    NotAllowed,
    NotFound,
    NumberTaken,
    Stale,
    UnknownWord,
)
from models.rules.calendar_days import day_number
from models.rules.work_code import read_code
from models.tables import register
from models.tables.visible import Viewer
from models.tables.works import Stay, Work, WorkWord
from models.vocabulary import Replaceability, Surface, ValueBand
from tests.builders import (
    a_framer,
    a_keeper,
    a_place,
    a_technique,
    a_work,
    an_owner,
    an_owner_row,
    key_of,
    stored_forecast,
)
from tests.counting import statements

NOON = datetime(2026, 11, 25, 12, tzinfo=UTC)
TODAY = day_number(NOON.date())

WHOLE = WorkTold(
    number="GH 1994.12",
    title="Église au soir",
    maker="Ø. Nobody",
    made="1890~",
    technique="etching",
    support="laid paper",
    surface=Surface.OTHER,
    height_mm=212.5,
    width_mm=148,
    image=ImageTold(left_mm=20, top_mm=18.5, height_mm=160.125, width_mm=110),
    replaceability=Replaceability.SMALL_EDITION,
    value_band=ValueBand.HIGH,
    light_class=4,
    owner="The Gannet House",
    place="Gannet House / Stair",
    note="stamped on the verso",
)


def numbers(found: WorksFound) -> list[str]:
    return [work.told.number for work in found.works]


def test_a_work_needs_a_number_and_a_title_and_the_rest_stays_unknown(session: Session) -> None:
    work = register_work(
        session, a_keeper(session), WorkTold(number=" GH 1 ", title="The Mill"), today=TODAY
    )
    assert work.told == WorkTold(number="GH 1", title="The Mill")
    assert (work.version, work.recorded_on) == (1, TODAY)
    assert read_code(work.code) == work.code


def test_number_and_title_stand_on_one_line_with_single_blanks(session: Session) -> None:
    keeper = a_keeper(session)
    told = WorkTold(number=" GH   1 ", title="The  Mill\tat  dusk ")
    assert register_work(session, keeper, told, today=TODAY).told == WorkTold(
        number="GH 1", title="The Mill at dusk"
    )
    told = WorkTold(number="GH\n2", title="The Mill\u2028again")
    with pytest.raises(BadValue) as refused:
        register_work(session, keeper, told, today=TODAY)
    assert [(f.pointer, f.message) for f in refused.value.faults] == [
        ("/number", "The number is on one line."),
        ("/title", "The title is on one line."),
    ]


@pytest.mark.parametrize("number", ["gh 1", "GH1", "g h 1", "Gh  1"])
def test_a_number_that_differs_in_capitals_and_blanks_alone_is_taken(
    session: Session, number: str
) -> None:
    keeper = a_keeper(session)
    register_work(session, keeper, WorkTold(number="GH 1", title="The Mill"), today=TODAY)
    with pytest.raises(NumberTaken, match="The number 'GH 1' is given already"):
        register_work(session, keeper, WorkTold(number=number, title="x"), today=TODAY)
    other = register_work(session, keeper, WorkTold(number="GH 2", title="x"), today=TODAY)
    with pytest.raises(NumberTaken):
        change_work(session, keeper, other.id, {"number": number}, based_on=1, today=TODAY)
    own = change_work(session, keeper, other.id, {"number": "gh2"}, based_on=1, today=TODAY)
    assert own.told.number == "gh2"


def test_figures_that_a_blank_parts_are_another_number(session: Session) -> None:
    keeper = a_keeper(session)
    for number in ("1 12", "11 2", "112"):
        register_work(session, keeper, WorkTold(number=number, title="x"), today=TODAY)


def test_a_number_that_is_taken_is_said_with_all_else_that_is_wrong(session: Session) -> None:
    keeper = a_keeper(session)
    register_work(session, keeper, WorkTold(number="GH 1", title="x"), today=TODAY)
    told = WorkTold(number="GH 1", title="x", made="2027", height_mm=-3)
    with pytest.raises(BadValue) as refused:
        register_work(session, keeper, told, today=TODAY)
    assert [f.pointer for f in refused.value.faults] == ["/made", "/height_mm", "/number"]
    assert refused.value.faults[0].message == "2027 has not come yet."


def test_a_work_may_have_been_made_this_year(session: Session) -> None:
    told = WorkTold(number="GH 1", title="x", made="2026")
    assert register_work(session, a_keeper(session), told, today=TODAY).told.made == "2026"


def test_all_that_is_told_of_a_work_comes_back_as_it_was_told(session: Session) -> None:
    keeper = a_keeper(session)
    a_technique(session, "etching")
    an_owner_row(session, "The Gannet House")
    a_place(session, "Gannet House / Stair")
    work = register_work(session, keeper, WHOLE, today=TODAY)
    assert work.told == WHOLE
    row = session.get(Work, work.id)
    assert row is not None
    assert (row.height_um, row.image_height_um, row.made_first) == (
        212_500,
        160_125,
        day_number(datetime(1890, 1, 1, tzinfo=UTC).date()),
    )
    stay = session.exec(select(Stay)).one()
    assert (stay.since_edtf, stay.ended) == (None, False)


def test_all_that_is_wrong_with_a_work_is_said_at_once_and_where(session: Session) -> None:
    wrong = WorkTold(
        number="",
        title=" ",
        made="last summer",
        technique="etchin",
        height_mm="12.34567",
        image=ImageTold(left_mm=1),
        light_class=9,
        owner="Nobody at all",
        place="Nowhere",
    )
    keeper = a_keeper(session)
    a_technique(session, "etching")
    with pytest.raises(BadValue) as refused:
        register_work(session, keeper, wrong, today=TODAY)
    assert [fault.pointer for fault in refused.value.faults] == [
        "/made",
        "/technique",
        "/owner",
        "/place",
        "/number",
        "/title",
        "/light_class",
        "/height_mm",
        "/image/top_mm",
        "/image/height_mm",
        "/image/width_mm",
    ]


@pytest.mark.parametrize(
    ("told", "code"),
    [
        (WorkTold(number="1", title="x", technique="etchin"), "unknown_technique"),
        (WorkTold(number="1", title="x", owner="The Gannet Hous"), "unknown_owner"),
        (WorkTold(number="1", title="x", place="Gannet House / Stairs"), "unknown_place"),
    ],
)
def test_an_unknown_name_is_refused_with_what_is_near_and_nothing_is_made(
    session: Session, told: WorkTold, code: str
) -> None:
    keeper = a_keeper(session)
    a_technique(session, "etching")
    an_owner_row(session, "The Gannet House")
    a_place(session, "Gannet House / Stair")
    with pytest.raises(UnknownWord) as refused:
        register_work(session, keeper, told, today=TODAY)
    assert (refused.value.code, len(refused.value.near) > 0) == (code, True)
    assert session.exec(select(Work)).all() == []


def test_an_image_larger_than_its_sheet_is_refused(session: Session) -> None:
    image = ImageTold(left_mm=20, top_mm=0, height_mm=100, width_mm=90)
    told = WorkTold(number="1", title="x", height_mm=100, width_mm=100, image=image)
    with pytest.raises(BadValue) as refused:
        register_work(session, a_keeper(session), told, today=TODAY)
    fault = refused.value.faults[0]
    assert (fault.pointer, fault.right) == (
        "/image/width_mm",
        "left and width together are at most 100 mm.",
    )


def test_a_number_is_given_once_even_when_its_work_was_withdrawn(session: Session) -> None:
    keeper = a_keeper(session)
    work = a_work(session, number="GH 1")
    withdraw_work(session, keeper, key_of(work), "entered twice", today=TODAY)
    with pytest.raises(NumberTaken, match="'GH 1' is given already"):
        register_work(session, keeper, WorkTold(number="GH 1", title="Another"), today=TODAY)


def test_whoever_may_not_keep_the_register_is_not_told_which_numbers_are_taken(
    session: Session,
) -> None:
    a_work(session, number="TH 1", owner="The Tern House")
    owner = an_owner(session, "The Gannet House")
    for number in ("TH 1", "TH 2"):
        with pytest.raises(NotAllowed, match="add or change works"):
            register_work(session, owner, WorkTold(number=number, title="x"), today=TODAY)


def test_a_code_that_is_given_already_is_not_given_again(session: Session) -> None:
    keeper = a_keeper(session)
    drawn = iter([b"\0\0\0\0\1", b"\0\0\0\0\1", b"\0\0\0\0\2"])
    codes = [
        register_work(
            session,
            keeper,
            WorkTold(number=n, title="x"),
            today=TODAY,
            random_bytes=lambda _: next(drawn),
        ).code
        for n in ("1", "2")
    ]
    assert len(set(codes)) == 2
    assert next(drawn, None) is None


def test_a_change_says_only_what_differs_and_renews_the_words(session: Session) -> None:
    keeper = a_keeper(session)
    work = key_of(a_work(session, number="GH 1", title="The Mill", maker="A. Nobody"))
    changed = change_work(
        session, keeper, work, {"title": "The Weir", "height_mm": 210}, based_on=1, today=TODAY
    )
    assert changed.told == WorkTold(
        number="GH 1", title="The Weir", maker="A. Nobody", height_mm=210
    )
    words = session.exec(select(WorkWord.word).where(WorkWord.work_id == work)).all()
    assert sorted(words) == ["1", "a", "gh", "gh1", "nobody", "the", "weir"]


def test_what_is_set_to_nothing_is_unknown_again(session: Session) -> None:
    keeper = a_keeper(session)
    work = key_of(a_work(session, technique="etching", height_um=1000, maker="A. Nobody"))
    changes = {"technique": None, "height_mm": None, "maker": None, "replaceability": None}
    changed = change_work(session, keeper, work, changes, based_on=1, today=TODAY)
    assert changed.told == WorkTold(number="GH 1", title="The Mill in Winter")
    with pytest.raises(BadValue) as refused:
        change_work(session, keeper, work, {"number": None, "title": None}, based_on=1, today=TODAY)
    assert [fault.pointer for fault in refused.value.faults] == ["/number", "/title"]


def test_an_image_is_merged_part_by_part(session: Session) -> None:
    keeper = a_keeper(session)
    work = key_of(a_work(session))
    whole = {"left_mm": 1, "top_mm": 2, "height_mm": 30, "width_mm": 40}
    change_work(session, keeper, work, {"image": whole}, based_on=1, today=TODAY)
    changed = change_work(session, keeper, work, {"image": {"top_mm": 5}}, based_on=1, today=TODAY)
    assert changed.told.image == ImageTold(left_mm=1, top_mm=5, height_mm=30, width_mm=40)


def test_where_a_work_is_is_moved_and_not_corrected(session: Session) -> None:
    keeper = a_keeper(session)
    work = key_of(a_work(session, place="Gannet House / Stair"))
    a_place(session, "Gannet House / Study")
    same = {"place": "Gannet House / Stair", "note": "seen"}
    assert change_work(session, keeper, work, same, based_on=1, today=TODAY).told.note == "seen"
    with pytest.raises(BadValue, match="a move has a day"):
        change_work(
            session, keeper, work, {"place": "Gannet House / Study"}, based_on=1, today=TODAY
        )


def test_a_number_is_not_changed_into_one_that_is_given(session: Session) -> None:
    keeper = a_keeper(session)
    a_work(session, number="GH 1")
    work = key_of(a_work(session, number="GH 2"))
    with pytest.raises(NumberTaken):
        change_work(session, keeper, work, {"number": "GH 1"}, based_on=1, today=TODAY)


def test_whoever_was_slower_is_shown_what_is_there_now(engine: Engine) -> None:
    with recording(engine, actor="command", now=NOON) as session:
        keeper = a_keeper(session)
        work = key_of(a_work(session, title="The Mill"))
    with recording(engine, actor="person:1", now=NOON) as session:
        assert (
            change_work(
                session, keeper, work, {"title": "The Weir"}, based_on=1, today=TODAY
            ).version
            == 2
        )
    with recording(engine, actor="person:1", now=NOON) as session:
        with pytest.raises(Stale) as refused:
            change_work(session, keeper, work, {"title": "The Lock"}, based_on=1, today=TODAY)
        assert refused.value.theirs == read_work(session, keeper, work)


def test_a_withdrawn_work_is_not_on_record_any_more(session: Session) -> None:
    keeper = a_keeper(session)
    work = key_of(a_work(session))
    with pytest.raises(BadValue, match="reason is missing"):
        withdraw_work(session, keeper, work, "  ", today=TODAY)
    withdraw_work(session, keeper, work, "entered twice", today=TODAY)
    with pytest.raises(NotFound):
        read_work(session, keeper, work)
    with pytest.raises(NotFound):
        withdraw_work(session, keeper, work, "entered twice", today=TODAY)
    assert find_works(session, keeper, WorksAsked()).works == []


@pytest.mark.parametrize(
    "q", ["eglise", "ÉGLISE", "Ø. nobody", "nob soir", "gh1994.12", "GH 1994.12", "1994"]
)
def test_a_work_is_found_whatever_the_accents_and_capitals(session: Session, q: str) -> None:
    keeper = a_keeper(session)
    a_work(session, number="GH 1994.12", title="Église au soir", maker="Ø. Nobody")
    a_work(session, number="GH 2", title="The Mill")
    assert numbers(find_works(session, keeper, WorksAsked(q=q))) == ["GH 1994.12"]


def test_a_slip_of_the_pen_finds_nothing_and_is_told_what_is_near(session: Session) -> None:
    keeper = a_keeper(session)
    a_work(session, number="GH 1994", title="The Windmill")
    assert find_works(session, keeper, WorksAsked(q="windnill")) == WorksFound(
        works=[], near=("windmill",)
    )
    assert find_works(session, keeper, WorksAsked(q="GH 1995")).near == ()
    assert find_works(session, keeper, WorksAsked(q="!?")) == WorksFound(works=[])


def test_works_are_listed_by_number_a_page_at_a_time(session: Session) -> None:
    keeper = a_keeper(session)
    for number in ("C", "A", "B"):
        a_work(session, number=number)
    first = find_works(session, keeper, WorksAsked(limit=2))
    assert (numbers(first), first.next_after) == (["A", "B"], "B")
    rest = find_works(session, keeper, WorksAsked(limit=2, after="B"))
    assert (numbers(rest), rest.next_after) == (["C"], None)


def test_works_are_narrowed_to_a_place_an_owner_or_one_number(session: Session) -> None:
    keeper = a_keeper(session)
    a_work(session, number="A", owner="The Gannet House", place="Gannet House / Stair")
    a_work(session, number="B", owner="The Tern House", place="Tern House")
    assert numbers(find_works(session, keeper, WorksAsked(place="Gannet House"))) == ["A"]
    assert numbers(find_works(session, keeper, WorksAsked(owner="the tern house"))) == ["B"]
    assert numbers(find_works(session, keeper, WorksAsked(number="B"))) == ["B"]
    assert numbers(find_works(session, keeper, WorksAsked(number="C"))) == []


@pytest.mark.parametrize("looked_through", [2, 4, 100])
def test_a_place_with_many_works_is_listed_as_one_with_few(
    session: Session, monkeypatch: pytest.MonkeyPatch, looked_through: int
) -> None:
    keeper, owner = a_keeper(session), an_owner(session, "The Gannet House")
    places = ["Hall", "Hall / Wall", "Study", "Study", "Hall", "Study", "Hall", "Hall / Wall"]
    for number, place in enumerate(places):
        a_work(session, number=f"N {number}", place=place, owner="The Gannet House")
    a_work(session, number="N 8", place="Hall", owner="The Tern House")
    asked = [
        WorksAsked(place="Hall", limit=2),
        WorksAsked(place="Hall", limit=2, after="N 1"),
        WorksAsked(place="Hall", limit=9, after="N 4"),
        WorksAsked(place="Hall / Wall", limit=1),
        WorksAsked(place="Hall", q="n 6"),
        WorksAsked(place="Hall", owner="The Tern House"),
    ]

    def found(viewer: Viewer) -> list[tuple[list[str], str | None]]:
        pages = [find_works(session, viewer, one) for one in asked]
        return [(numbers(page), page.next_after) for page in pages]

    few = found(keeper), found(owner)
    monkeypatch.setattr(register, "MANY_IN_A_PLACE", 2)
    monkeypatch.setattr(register, "LOOKED_THROUGH", looked_through)
    assert (found(keeper), found(owner)) == few
    assert few[0][:2] == [(["N 0", "N 1"], "N 1"), (["N 4", "N 6"], "N 6")]


def test_an_owner_neither_sees_nor_counts_nor_guesses_the_works_of_another(
    session: Session,
) -> None:
    owner = an_owner(session, "The Gannet House")
    a_work(session, number="A", owner="The Gannet House", place="Gannet House / Stair")
    other = a_work(
        session, number="B", title="Windmill", owner="The Tern House", place="Tern House / Study"
    )
    assert numbers(find_works(session, owner, WorksAsked())) == ["A"]
    assert find_works(session, owner, WorksAsked(number="B")) == WorksFound(works=[])
    assert find_works(session, owner, WorksAsked(q="windnill")) == WorksFound(works=[])
    assert find_works(session, owner, WorksAsked(owner="The Tern House")) == WorksFound(works=[])
    with pytest.raises(UnknownWord) as refused:
        find_works(session, owner, WorksAsked(place="Tern House / Study"))
    assert "Tern House" not in " ".join(refused.value.near)
    with pytest.raises(NotFound):
        read_work(session, owner, key_of(other))


def test_only_a_keeper_changes_or_withdraws_a_work(session: Session) -> None:
    framer = a_framer(session)
    work = key_of(a_work(session))
    with pytest.raises(NotAllowed, match="add or change works"):
        change_work(session, framer, work, {"title": "x"}, based_on=1, today=TODAY)
    with pytest.raises(NotAllowed, match="withdraw a record"):
        withdraw_work(session, framer, work, "because", today=TODAY)


def test_a_list_takes_as_many_statements_for_many_works_as_for_few(session: Session) -> None:
    keeper = a_keeper(session)
    a_work(session, place="Gannet House / Stair", owner="The Gannet House")
    with statements(session) as few:
        find_works(session, keeper, WorksAsked(q="mill"))
    for _ in range(20):
        a_work(session, place="Gannet House / Stair", owner="The Gannet House")
    with statements(session) as many:
        assert len(find_works(session, keeper, WorksAsked(q="mill")).works) == 21
    assert len(many) == len(few) <= 4


def test_a_work_has_a_forecast_from_its_first_day_and_none_once_withdrawn(
    session: Session,
) -> None:
    keeper = a_keeper(session)
    work = register_work(session, keeper, WorkTold(number="GH 1", title="The Mill"), today=TODAY)
    forecast = stored_forecast(session, work.id)
    assert forecast is not None
    assert (forecast.score_day, forecast.first_survey) == (TODAY, True)
    withdraw_work(session, keeper, work.id, "entered twice", today=TODAY)
    assert stored_forecast(session, work.id) is None
