"""What the invented collection shows, and that it is whole and the same each time."""

import hashlib
import re
import shutil
from collections.abc import Callable, Iterator
from dataclasses import replace
from datetime import date
from itertools import combinations
from pathlib import Path

import pytest
from fastapi import FastAPI
from sqlalchemy import Engine
from sqlalchemy import select as columns
from sqlmodel import Session, SQLModel, col, func, select

from api.pages.findings_drawing import canvas_of, drawing_of
from api.pages.label_places import Label
from models.actions.change_log import is_secret, recording, records, verify_log
from models.actions.due import first_survey, what_is_due, what_waits_besides
from models.actions.findings_placed import findings_placed
from models.actions.forecasts import faults_of_stored
from models.actions.light_ledgers import works_in_light
from models.actions.own_evidence import what_mounts_say
from models.actions.stays import list_stays
from models.database import open_database, read_session
from models.exchange.kept_photographs import PictureKept
from models.risk.experience import experience_factors
from models.rules.calendar_days import day_date, day_number
from models.rules.half_known_dates import read_date
from models.tables.findings import ColourReading, Finding, Sighting
from models.tables.forecasts import Forecast
from models.tables.materials import HousePackage, Lot, Material
from models.tables.mounts import Hold, Layer, Mount, Remain
from models.tables.people import Owner, Person
from models.tables.photographs import Photograph
from models.tables.places import FollowUp, Incident, Place, Walk
from models.tables.terms import FindingTerm, TreatmentTerm
from models.tables.visible import THE_HOUSE
from models.tables.visits import Inscription, LayerTest, Treatment, Visit
from models.tables.works import Stay, Technique, Work
from models.vocabulary import (
    Advice,
    Change,
    DueKind,
    LayerRole,
    PhotographStage,
    Role,
    UrgentSign,
    Verdict,
    VisitKind,
)
from seed_data.demo.builds import BLACK_BOARD, HOUSE, OLD
from seed_data.demo.pictures_taken import PictureReady, pictures_taken
from seed_data.demo.record import LAST_DAY, deeds_in_order, record_demo
from seed_data.demo.register import read_people
from seed_data.demo.stories import all_deeds
from seed_data.load import load_reference_data
from tests.browser.kinds_of_pages import FOR_KEEPER
from tests.pages.page_read import text_of
from tests.with_app import (
    NOON,
    Browser,
    app,
    browse,
    clock,
    make_app,
    person_who_signs_in,
    portal,
    settings,
    sign_in_as,
)

__all__ = ["app", "browse", "clock", "make_app", "portal", "settings"]

FIRST_YEAR, LAST_YEAR = 2001, 2026
# What a work on paper can be: the demonstration leaves none of the great families out.
TECHNIQUES = {
    "etching",
    "woodcut",
    "lithograph",
    "pencil drawing",
    "pastel",
    "watercolour",
    "gelatin silver print, fibre base",
    "albumen print",
    "cyanotype",
    "chromogenic print, modern",
    "inkjet print, pigment",
    "map or chart, printed",
}


def record(engine: Engine) -> None:
    with recording(engine, actor="reference data", now=NOON) as session:
        load_reference_data(session)
    with recording(engine, actor="command", now=NOON) as session:
        record_demo(session, today=LAST_DAY, pictures=as_if_drawn)


def as_if_drawn() -> list[PictureReady]:
    """The photographs as if they had been drawn: what each shows is tested elsewhere."""
    corners = ((0.1, 0.1), (0.9, 0.1), (0.9, 0.9), (0.1, 0.9))
    return [
        PictureReady(
            taken=one,
            kept=PictureKept(
                sha256=hashlib.sha256(one.file_name.encode()).hexdigest(),
                media_type="image/jpeg",
                byte_count=100_000,
                file_name=one.file_name,
                width_px=1080,
                height_px=810,
            ),
            corners=None if one.stage is PhotographStage.IN_FRAME else corners,
        )
        for one in pictures_taken(deeds_in_order())
    ]


@pytest.fixture(scope="module")
def recorded(migrated_file: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Engine]:
    file = tmp_path_factory.mktemp("demo") / "hingebook.sqlite"
    shutil.copy(migrated_file, file)
    engine = open_database(f"sqlite:///{file}")
    record(engine)
    yield engine
    engine.dispose()


@pytest.fixture
def demo(recorded: Engine) -> Iterator[Session]:
    with read_session(recorded) as session:
        yield session


def rows_by_table(engine: Engine) -> dict[str, list[tuple[object, ...]]]:
    """Return every record and forecast, without what is secret, in the order of their keys."""
    kept: list[type[SQLModel]] = [*records(), Forecast]
    tables = [SQLModel.metadata.tables[str(t.__tablename__)] for t in kept]
    with read_session(engine) as session:
        return {
            table.name: [
                tuple(row)
                for row in session.execute(
                    columns(*(c for c in table.columns if not is_secret(c))).order_by(
                        *table.primary_key
                    )
                )
            ]
            for table in tables
        }


def work_id(demo: Session, number: str) -> int:
    key = demo.exec(select(Work.id).where(Work.number == number)).one()
    assert key is not None
    return key


def count(demo: Session, table: type[SQLModel]) -> int:
    return demo.exec(select(func.count()).select_from(table)).one()


def forecast(demo: Session, number: str) -> Forecast:
    return demo.exec(select(Forecast).where(Forecast.work_id == work_id(demo, number))).one()


def mounts(demo: Session, number: str) -> list[Mount]:
    of_work = select(Mount).where(Mount.work_id == work_id(demo, number))
    return list(demo.exec(of_work.order_by(col(Mount.mount_no))))


def sightings(demo: Session, number: str, term: str) -> list[Sighting]:
    seen = select(Sighting).join(Finding).join(FindingTerm).join(Visit)
    seen = seen.where(Finding.work_id == work_id(demo, number), FindingTerm.term == term)
    return list(demo.exec(seen.order_by(col(Visit.on_first))))


def every_page(app: FastAPI, engine: Engine, browser: Browser) -> dict[str, str]:
    """What every kind of page says to the keeper, without what is drawn by lot for each work."""
    app.state.installation = replace(app.state.installation, engine=engine)
    with read_session(engine) as session:
        codes = "|".join(session.exec(select(Work.code)))
    sign_in_as(browser, engine, person_who_signs_in(engine, "Ada Sill", Role.KEEPER))
    told = {}
    for path in FOR_KEEPER.values():
        if "{" not in path:
            answer = browser.get(path, follow_redirects=True)
            assert answer.status_code == (404 if path == "/nothing-here" else 200), path
            said = re.sub(codes, "", answer.text.partition("<main")[2])
            told[path] = text_of(re.sub(r"[0-9a-f-]{36,64}", "", said))
    return told


@pytest.mark.parametrize("fresh_url", ["postgresql"], indirect=True)
def test_it_is_the_same_each_time_and_on_both_databases(
    recorded: Engine,
    engine: Engine,
    app: FastAPI,
    browse: Callable[[FastAPI], Browser],
    tmp_path: Path,
) -> None:
    record(engine)
    once, again = rows_by_table(recorded), rows_by_table(engine)
    assert [table for table in once if once[table] != again[table]] == []
    # A copy: whoever signs in leaves a trace.
    file = tmp_path / "copy.sqlite"
    with recorded.connect() as connection:
        connection.connection.cursor().execute(f"VACUUM INTO '{file}'")
    copy = open_database(f"sqlite:///{file}")
    on_sqlite, on_postgresql = (every_page(app, of, browse(app)) for of in (copy, engine))
    copy.dispose()
    assert len(on_sqlite) > 50
    assert "H 014" in on_sqlite["/due"]
    assert [path for path in on_sqlite if on_sqlite[path] != on_postgresql[path]] == []


def test_the_log_is_whole_and_the_forecasts_are_what_the_rules_say(demo: Session) -> None:
    ids = [key for key in demo.exec(select(Work.id)) if key is not None]
    assert (verify_log(demo), faults_of_stored(demo, ids)) == ([], [])


def test_there_are_80_works_of_3_owners_in_15_places(demo: Session) -> None:
    assert [count(demo, table) for table in (Work, Owner, Place)] == [80, 3, 15]
    used = demo.exec(select(Stay.place_id).distinct()).all()
    around = demo.exec(select(Place.parent_id).distinct()).all()
    assert {place.id for place in demo.exec(select(Place))} - {*used, *around} == set()


def test_it_tells_25_years_and_nothing_after_its_last_day(demo: Session) -> None:
    days = [read_date(deed.on).last_day or 0 for deed in all_deeds()]
    assert (day_date(min(days)).year, day_date(max(days)).year) == (FIRST_YEAR, LAST_YEAR)
    assert max(days) <= LAST_DAY
    years = {day_date(day).year for day in demo.exec(select(Visit.on_first)) if day is not None}
    assert years == set(range(FIRST_YEAR + 1, LAST_YEAR + 1))


def test_every_family_of_works_on_paper_is_there(demo: Session) -> None:
    used = demo.exec(select(Technique.name).join(Work)).all()
    assert TECHNIQUES - set(used) == set()


def test_every_build_is_used_by_its_name_or_offered(demo: Session) -> None:
    assert set(demo.exec(select(HousePackage.name))) == set(HOUSE)
    assert set(HOUSE) & set(OLD) == set()


def test_nobody_and_nothing_in_it_can_be_reached_or_bought(demo: Session) -> None:
    said = [
        value
        for rows in (demo.exec(select(table)) for table in records() if table is not Material)
        for row in rows
        for value in row.model_dump().values()
        if isinstance(value, str)
    ]
    assert [text for text in said if re.search(r"@|https?:|www\.|[®™]|\+\d{2} ?\d", text)] == []


def test_a_mat_burn_is_followed_from_8_to_12_mm_with_readings(demo: Session) -> None:
    burn = sightings(demo, "H 007", "mat burn")
    assert [(s.change, s.reach_um) for s in burn] == [
        (Change.FOUND_AGE_UNKNOWN, 8_000),
        (Change.GROWN, 10_000),
        (Change.GROWN, 12_000),
    ]
    read = select(ColourReading).where(col(ColourReading.sighting_id).in_([s.id for s in burn]))
    stain = [r.lab_l for r in demo.exec(read.order_by(col(ColourReading.id))) if r.spot == "stain"]
    assert stain == [87.2, 84.9, 82.3]


def test_it_came_off_hold_by_hold_with_harm_and_a_stub_stayed(demo: Session) -> None:
    old, new = mounts(demo, "H 007")
    holds = demo.exec(select(Hold).where(Hold.mount_id == old.id).order_by(col(Hold.hold_no)))
    assert [(h.freed_by, h.outcome) for h in holds] == [
        ("water", "freed"),
        ("scalpel or spatula", "cut and stub left"),
    ]
    assert (old.harm_at_dismount, new.ended) == ("slight skinning above the right tape", False)
    left = demo.exec(select(Remain).where(Remain.work_id == old.work_id)).one()
    assert (left.grade, left.ended) == ("rubber pressure-sensitive", False)


def test_one_work_waits_to_be_unframed_today(demo: Session) -> None:
    expected = forecast(demo, "H 014")
    assert (expected.due_kind, expected.urgent_sign) == (DueKind.REMAT, "")
    assert (expected.due_on or LAST_DAY) < LAST_DAY
    (mount,) = mounts(demo, "H 014")
    assert (mount.mounted_edtf, mount.ended) == ("1986~", False)
    assert [s.reach_um for s in sightings(demo, "H 014", "mat burn")] == [7_000, 9_000]
    assert expected.weak_layer == "Groundwood mat board"


@pytest.mark.parametrize(
    ("number", "weak_layer"),
    [
        ("F 002", "Groundwood mat board"),
        ("F 005", "Rubber masking tape"),
        ("H 021", "Corrugated kraft board"),
        ("D 006", "White-core mat board, not tested"),
    ],
)
def test_works_want_a_remat_for_reasons_of_their_own(
    demo: Session, number: str, weak_layer: str
) -> None:
    expected = forecast(demo, number)
    assert expected.weak_layer == weak_layer
    assert expected.verdict is Verdict.HARMFUL
    assert expected.advice in (Advice.REMAT, Advice.REHINGE)


def test_a_photograph_lies_behind_a_board_that_failed_the_activity_test(demo: Session) -> None:
    assert forecast(demo, "H 031").verdict is Verdict.HARMFUL
    assert forecast(demo, "H 031").weak_layer == BLACK_BOARD
    assert [s.change for s in sightings(demo, "H 031", "photographic fading or staining")] == [
        Change.NEW
    ]


def test_a_board_of_before_1980_is_unknown_and_another_was_tested(demo: Session) -> None:
    (mount,) = mounts(demo, "D 004")
    assert (mount.mounted_edtf, forecast(demo, "D 004").advice) == ("197X", Advice.REMAT)
    tests = demo.exec(select(LayerTest.test, LayerTest.result)).all()
    assert {("bevel colour", "brown"), ("lignin spot test", "red"), ("surface pH", "4.6")} <= {
        (str(test), result) for test, result in tests
    }


@pytest.mark.parametrize("number", ["F 008", "F 009"])
def test_sheets_are_stuck_down_all_over(demo: Session, number: str) -> None:
    (mount,) = mounts(demo, number)
    assert demo.exec(select(Hold.covers_all).where(Hold.mount_id == mount.id)).all() == [True]


def test_most_works_need_nothing_now(demo: Session) -> None:
    verdicts = demo.exec(select(Forecast.verdict)).all()
    assert verdicts.count(Verdict.SOUND) >= 40


def test_the_signs_that_do_not_wait_are_there(demo: Session) -> None:
    urgent = what_is_due(demo, THE_HOUSE, kind=DueKind.URGENT, today=LAST_DAY).items
    assert [item.number for item in urgent] == [
        *("D 001", "F 010", "H 037", "H 042"),
        *("F 012", "H 040", "D 006"),
    ]
    signs = demo.exec(select(Forecast.urgent_sign).where(Forecast.urgent_sign != "")).all()
    assert set(signs) == {
        UrgentSign.RECALLED_LAYER,
        UrgentSign.FRIABLE_ON_GLAZING,
        UrgentSign.ACTIVE_MOULD,
        UrgentSign.TACKY_TAPE,
    }


def test_visits_were_stopped_before_unframing(demo: Session) -> None:
    stopped = demo.exec(
        select(Work.number).join(Visit).where(col(Visit.stop_why).is_not(None))
    ).all()
    assert sorted(stopped) == ["F 012", "H 020", "H 040"]


def test_one_lot_is_recalled_and_another_in_use(demo: Session) -> None:
    lots = demo.exec(select(Lot).join(Material).where(col(Material.name).startswith("Cotton rag")))
    assert sorted((lot.number, lot.in_use) for lot in lots) == [
        ("L-0301", False),
        ("L-1506", False),
        ("L-2103", True),
    ]


def test_own_mounts_say_nearly_what_the_defaults_say_but_of_two_grades(demo: Session) -> None:
    seen = (one.seen for those in what_mounts_say(demo).values() for one in those)
    shown = {of: one.factor for of, one in experience_factors(seen).items() if one.is_shown}
    assert len(shown) > 10
    assert {of for of, factor in shown.items() if not 0.6 < factor < 1.3} == {
        # A white core does more here than it is said to; an unsealed back lets in less dust.
        ("acid migration", "white-core board, not tested"),
        ("insects and dust", "unsealed package"),
    }


def test_a_handful_of_works_had_more_light_than_their_year_may_bring(demo: Session) -> None:
    lit = works_in_light(demo, THE_HOUSE, today=LAST_DAY, limit=100)
    over = [work.number for work in lit.works if work.take_down_on == LAST_DAY]
    assert sorted(over) == [
        *("F 002", "F 006", "F 008", "F 012", "F 014", "F 016", "F 019"),
        *("H 015", "H 018", "H 042"),
    ]


def test_days_due_are_past_near_and_far(demo: Session) -> None:
    days = [day for day in demo.exec(select(Forecast.unframing_on)) if day is not None]
    past = sum(day < LAST_DAY for day in days)
    within_5_years = sum(LAST_DAY <= day < LAST_DAY + 1826 for day in days)
    assert (past, within_5_years, len(days) - past - within_5_years) == (22, 16, 32)


def test_nine_works_wait_for_their_first_survey(demo: Session) -> None:
    survey = first_survey(demo, THE_HOUSE, today=LAST_DAY)
    assert sorted(item.number for item in survey.items) == [
        *("D 010", "D 011", "D 012", "D 013", "D 014"),
        *("F 018", "F 019", "F 020", "H 046"),
    ]


def test_a_leak_asks_for_looks_and_the_first_was_made(demo: Session) -> None:
    leak = demo.exec(select(Incident).where(Incident.kind == "leak")).one()
    assert leak.on_edtf == "2026-10-28"
    asked = demo.exec(select(FollowUp.due_on, FollowUp.done_by_visit_id)).all()
    in_a_week, in_a_month = (day_number(date(2026, 11, day)) for day in (4, 28))
    assert {done is None for day, done in asked if day == in_a_week} == {False}
    assert [done for day, done in asked if day == in_a_month] == [None] * 9


def test_two_visits_are_to_be_written_up(demo: Session) -> None:
    waiting = what_waits_besides(demo, THE_HOUSE).to_write_up
    assert [(visit.number, visit.on_edtf) for visit in waiting] == [
        ("H 026", "2026-11-10"),
        ("H 016", "2026-11-20"),
    ]


def test_boxes_are_checked_and_rooms_walked_over_the_years(demo: Session) -> None:
    kinds = [walk.kind for walk in demo.exec(select(Walk))]
    assert (kinds.count(VisitKind.LOOK), kinds.count(VisitKind.BOX_CHECK)) == (63, 34)
    boxes = what_is_due(demo, THE_HOUSE, kind=DueKind.BOX_CHECK, today=LAST_DAY).items
    assert [(box.place, box.works) for box in boxes] == [
        ("House / Print room / Drawer 3", 3),
        ("House / Print room / Box 1", 7),
        ("House / Print room / Box 2", 3),
    ]


def test_one_work_has_six_mounts_of_every_kind_of_knowledge(demo: Session) -> None:
    told = [(m.mounted_edtf, m.inferred, m.by_unknown_hand) for m in mounts(demo, "H 003")]
    assert told == [
        ("1890~", True, False),
        ("1927~", False, False),
        ("2004-03-01", False, False),
        ("2006-05/2008-09", False, True),
        ("2009-09-14", False, False),
        ("2021-05-10", False, False),
    ]
    assert mounts(demo, "H 003")[1].reason == ""


def test_what_was_written_on_old_backs_is_kept(demo: Session) -> None:
    assert count(demo, Inscription) == 4
    (_, now) = mounts(demo, "F 001")
    kept = select(Layer.role).where(Layer.package_id == now.package_id, col(Layer.belongs_to_work))
    assert demo.exec(kept).all() == [LayerRole.BACKING]


def test_a_lining_belongs_to_its_chart(demo: Session) -> None:
    (mount,) = mounts(demo, "F 015")
    own = select(Layer.role).where(Layer.package_id == mount.package_id, col(Layer.belongs_to_work))
    assert set(demo.exec(own)) == {LayerRole.ADHESIVE, LayerRole.LINING}


def test_two_works_share_a_mat_with_two_windows(demo: Session) -> None:
    assert mounts(demo, "H 025")[0].package_id == mounts(demo, "H 026")[0].package_id


def test_a_mat_and_a_glass_were_changed_while_the_hinges_stayed(demo: Session) -> None:
    (mount,) = mounts(demo, "H 010")
    gone = select(Layer.role).where(Layer.package_id == mount.package_id, col(Layer.ended))
    assert set(demo.exec(gone)) == {LayerRole.GLAZING, LayerRole.WINDOW_MAT}


def test_what_a_tape_had_left_was_taken_off_later(demo: Session) -> None:
    left = demo.exec(select(Remain).where(Remain.work_id == work_id(demo, "H 009"))).one()
    assert left.ended
    done = (
        select(TreatmentTerm.term)
        .join(Treatment)
        .where(Treatment.visit_id == left.removed_visit_id)
    )
    assert demo.exec(done).all() == ["residue removed"]


def test_works_went_from_place_to_place(demo: Session) -> None:
    stays = list_stays(demo, THE_HOUSE, work_id(demo, "H 020"))
    assert [(stay.told.place, stay.told.on) for stay in stays] == [
        ("House / Hall", "2006-03-06"),
        ("Workshop", "2017-08-17"),
        ("House / Hall", "2017-08-23"),
    ]


def test_dates_are_half_known_where_people_only_half_know(demo: Session) -> None:
    made = set(demo.exec(select(Work.made_edtf)))
    assert {"193X", "1850~", "1869?", "XXXX"} <= made
    mounted = demo.exec(select(Mount.mounted_edtf, Mount.mounted_assumed)).all()
    assert {("2005~", False), ("197X", False), ("XXXX", False), (None, True)} <= set(mounted)


def test_every_work_has_photographs_and_they_stand_at_their_visits(demo: Session) -> None:
    pictures = demo.exec(select(Photograph)).all()
    assert len({one.work_id for one in pictures}) == 80
    at_visits = [one for one in pictures if one.visit_id is not None]
    # Those of the works that nobody has examined belong to no visit.
    assert len(pictures) - len(at_visits) == 9
    for one in at_visits:
        visit = demo.get_one(Visit, one.visit_id)
        assert (visit.work_id, visit.on_edtf) == (one.work_id, one.taken_on_edtf)


def test_a_keeper_a_framer_and_an_owner_can_sign_in(demo: Session) -> None:
    signing_in = [person for person in read_people() if person.password]
    assert [person.role for person in signing_in] == ["keeper", "framer", "owner"]
    assert {person.name for person in read_people()} == set(demo.exec(select(Person.name)))


def test_no_label_lies_upon_another_on_any_photograph_of_the_demonstration(
    demo: Session,
) -> None:
    count = 0
    for number in demo.exec(select(Work.id)):
        placed = findings_placed(demo, THE_HOUSE, number or 0)
        for photograph in [None, *(listed.photograph for listed in placed.photographs)]:
            canvas = canvas_of(photograph, placed)
            assert canvas is not None
            drawing = drawing_of(canvas, placed.findings)
            boxes = [
                Label(s.label, s.label_size, s.best_x, s.best_y).box(s.label_x, s.label_y)
                for s in drawing.shapes
                if s.label and not s.is_left_out
            ]
            assert not any(one.meets(other) for one, other in combinations(boxes, 2))
            count += len(boxes)
    assert count > 100
