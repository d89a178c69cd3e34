"""Findings on the photographs of a work, read and drawn through pages."""

import json
import re
from collections.abc import Callable
from urllib.parse import urlencode

import numpy as np
import pytest
from PIL import Image
from sqlalchemy import Engine
from sqlmodel import select

from api.photograph_files import photograph_folder
from api.settings import Settings
from models.actions.change_log import recording
from models.database import read_session
from models.exchange.kept_photographs import keep_picture
from models.risk.colour_difference import colour_difference
from models.risk.photograph_colour import lab_of_srgb
from models.rules.visit_as_told import ReachTold, SightingTold, VisitTold
from models.tables.findings import ColourReading, Sighting
from models.tables.outlines import FindingOutline, PhotographContrast, PhotographCorners
from models.tables.photographs import Photograph
from models.tables.works import Work
from models.vocabulary import Change, Edge, PhotographView, Severity, VisitKind
from tests.actions.test_finding_outlines import a_photograph
from tests.builders import a_work, key_of
from tests.pages.bench_work import a_bench_work, a_book, told
from tests.pages.form_filled import fields_of
from tests.pages.page_read import text_of
from tests.with_app import NOON, Browser

# The sheet is 300 mm wide and 390 mm high; the photographs are 2000 x 1500.
CORNERS = ((10.0, 10.0), (90.0, 10.0), (90.0, 90.0), (10.0, 90.0))
BURN = SightingTold(
    change=Change.NEW,
    term="mat burn",
    severity=Severity.SLIGHT,
    reach=ReachTold(Edge.LEFT, 15, follows_window_edge=True),
)
SEEN = VisitTold(on="2019-05-20", kind=VisitKind.LOOK, sightings=(BURN,))


@pytest.fixture
def work(app: object, engine: Engine, reference_data: None) -> int:
    a_book(engine)
    work = a_bench_work(engine)
    told(engine, work, SEEN)
    return work


def photographed(engine: Engine, work: int, view: PhotographView = PhotographView.RECTO) -> int:
    with recording(engine, actor="test", now=NOON) as session:
        return key_of(a_photograph(session, session.get_one(Work, work), view))


def corners_typed(corners: tuple[tuple[float, float], ...] = CORNERS) -> dict[str, str | list[str]]:
    names = ("upper_left", "upper_right", "lower_right", "lower_left")
    return {
        f"{name}_{axis}": f"{value:g}"
        for name, corner in zip(names, corners, strict=True)
        for axis, value in zip("xy", corner, strict=True)
    }


Colour = tuple[int, int, int]


def keep(
    settings: Settings, engine: Engine, photograph: int, *, stained: Colour, paper: Colour
) -> None:
    """Keep a picture that is stained on its left half, as the original of a photograph."""
    picture = Image.new("RGB", (1200, 900), paper)
    picture.paste(stained, (0, 0, 600, 900))
    file = settings.data / "drawn.png"
    file.parent.mkdir(parents=True, exist_ok=True)
    picture.save(file)
    kept = keep_picture(photograph_folder(settings), file, "drawn.png")
    with recording(engine, actor="test", now=NOON) as session:
        session.get_one(Photograph, photograph).sha256 = kept.sha256


def drawn(page: str) -> list[str]:
    """The outlines on the picture, each once."""
    return re.findall(r'<polygon class="line[^"]*" points="([^"]+)"', page)


def test_without_a_photograph_the_findings_lie_on_a_plain_sheet(keeper: Browser, work: int) -> None:
    page = keeper.get(f"/works/{work}/findings").text
    # In tenths of a millimetre.
    assert drawn(page) == ["0.0,0.0 150.0,0.0 150.0,3900.0 0.0,3900.0"]
    assert "1 mat burn recto, left edge, 15 mm in, follows the window&#39;s edge" in text_of(page)


def test_once_the_corners_are_set_a_band_lies_on_the_photograph(
    keeper: Browser, engine: Engine, work: int
) -> None:
    photograph = photographed(engine, work)
    page = keeper.get(f"/works/{work}/findings").text
    assert drawn(page) == []
    assert "Nobody has said where the corners of the sheet are" in page

    answer = keeper.send_form(f"/photographs/{photograph}/corners", corners_typed())

    assert (
        answer.headers["location"] == f"/works/{work}/findings?photograph={photograph}#findings-on"
    )
    page = keeper.get(f"/works/{work}/findings?photograph={photograph}").text
    # 15 of 300 mm are a twentieth of 1600 pixels.
    assert drawn(page) == ["200.0,150.0 280.0,150.0 280.0,1350.0 200.0,1350.0"]


def test_corners_that_make_no_sheet_are_refused_in_words(
    keeper: Browser, engine: Engine, work: int
) -> None:
    photograph = photographed(engine, work)
    answer = keeper.send_form(f"/photographs/{photograph}/corners", corners_typed(CORNERS[::-1]))
    assert answer.status_code == 422
    assert "The corners run the wrong way round." in text_of(answer.text)
    missing = {**corners_typed(), "upper_right_x": ""}
    answer = keeper.send_form(f"/photographs/{photograph}/corners", missing)
    assert "Where is the upper right corner?" in text_of(answer.text)
    with read_session(engine) as session:
        assert session.exec(select(PhotographCorners)).all() == []


def test_corners_that_somebody_else_set_meanwhile_are_not_overwritten(
    keeper: Browser, engine: Engine, work: int
) -> None:
    photograph = photographed(engine, work)
    keeper.send_form(f"/photographs/{photograph}/corners", corners_typed())
    again = keeper.send_form(f"/photographs/{photograph}/corners", corners_typed())
    assert again.status_code == 409


def test_a_band_runs_alongside_the_window_once_it_is_marked_and_not_when_it_is_taken_back(
    keeper: Browser, engine: Engine, work: int
) -> None:
    photograph = photographed(engine, work)
    keeper.send_form(f"/photographs/{photograph}/corners", corners_typed())
    # Its left side leans by 16 px in 600; the band is as long as the sheet, 1200 px.
    window = ((14.0, 20.0), (80.0, 20.0), (80.0, 60.0), (14.8, 60.0))
    path = f"/photographs/{photograph}/window-edge"
    assert keeper.send_form(path, {**corners_typed(window), "version": "0"}).status_code == 303
    page = keeper.get(f"/works/{work}/findings").text
    assert drawn(page) == ["200.0,150.0 264.0,150.0 296.0,1350.0 200.0,1350.0"]
    assert "drawn alongside the window&#39;s edge, as it is marked" in text_of(page)
    assert 'class="window-line" points="280.0,300.0 1600.0,300.0 1600.0,900.0 296.0,900.0"' in page
    assert keeper.send_form(path, {**corners_typed(), "version": "0"}).status_code == 409

    back = keeper.send_form(path, {"take_back": "yes", "version": "1"})
    assert back.status_code == 303
    page = keeper.get(f"/works/{work}/findings").text
    assert drawn(page) == ["200.0,150.0 280.0,150.0 280.0,1350.0 200.0,1350.0"]
    assert "nobody has marked the window&#39;s edge" in text_of(page)


def test_a_window_is_offered_as_it_lies_on_the_sheet_by_another_photograph(
    keeper: Browser, engine: Engine, work: int
) -> None:
    one, other = photographed(engine, work), photographed(engine, work)
    for photograph in (one, other):
        keeper.send_form(f"/photographs/{photograph}/corners", corners_typed())
    keeper.send_form(f"/photographs/{one}/window-edge", {**corners_typed(), "version": "0"})
    offered = 'data-do="offer"'
    assert offered not in keeper.get(f"/works/{work}/findings?photograph={one}").text
    page = keeper.get(f"/works/{work}/findings?photograph={other}").text
    assert offered in page
    assert "&#34;window_mm&#34;: [[0.0, 0.0], [300.0, 0.0], [300.0, 390.0], [0.0, 390.0]]" in page


def test_a_window_is_offered_as_large_as_that_of_the_mat_on_record(
    keeper: Browser, engine: Engine, work: int
) -> None:
    photograph = photographed(engine, work)
    keeper.send_form(f"/photographs/{photograph}/corners", corners_typed())
    sizes = {"version": "1", "0/height_mm": "290", "0/width_mm": "200"}
    assert keeper.send_form(f"/works/{work}/layers/1/windows", {**sizes}).status_code == 303
    page = keeper.get(f"/works/{work}/findings").text
    assert "As on the mat is on record" not in page
    assert "As the mat is on record" in page
    # In the middle of 300 by 390 mm.
    offered = "[[50.0, 50.0], [250.0, 50.0], [250.0, 340.0], [50.0, 340.0]]"
    assert f"&#34;window_offered&#34;: {offered}, " in page
    assert "&#34;window_mm&#34;: [], " in page


def test_what_is_drawn_of_a_sighting_shows_on_every_photograph_of_its_side(
    keeper: Browser, engine: Engine, work: int
) -> None:
    one, other = photographed(engine, work), photographed(engine, work)
    for photograph in (one, other):
        keeper.send_form(f"/photographs/{photograph}/corners", corners_typed())
    with read_session(engine) as session:
        sighting = session.exec(select(Sighting.id)).one()
    outline = {"photograph": one, "shape": "outline", "points": [[0, 0], [30, 0], [30, 39]]}
    answer = keeper.send_form(
        f"/sightings/{sighting}/outline", {"outline": json.dumps(outline), "version": "0"}
    )
    assert answer.status_code == 303
    pages = [keeper.get(f"/works/{work}/findings?photograph={p}").text for p in (one, other)]
    assert [drawn(page) for page in pages] == [["200.0,150.0 360.0,150.0 360.0,270.0"]] * 2
    # Half of a tenth by a tenth of the sheet.
    assert "0.5 %" in text_of(pages[1])


@pytest.mark.parametrize(
    "outline",
    ["", "[]", "{}", "x", '{"shape": "star"}', '{"shape": "point", "points": [[1]]}', "[" * 20_000],
)
def test_a_drawing_that_cannot_be_read_is_refused(
    keeper: Browser, engine: Engine, work: int, outline: str
) -> None:
    answer = keeper.send_form("/sightings/1/outline", {"outline": outline, "version": "0"})
    assert answer.status_code == 422
    assert "This drawing cannot be read. Draw it again." in text_of(answer.text)
    with read_session(engine) as session:
        assert session.exec(select(FindingOutline)).all() == []


def test_earlier_places_have_a_letter_and_their_date_on_the_drawing_and_in_the_table(
    keeper: Browser, engine: Engine, work: int
) -> None:
    grown = SightingTold(finding=1, change=Change.GROWN, reach=ReachTold(Edge.LEFT, 30))
    told(engine, work, VisitTold(on="2024-05-20", kind=VisitKind.LOOK, sightings=(grown,)))
    page = keeper.get(f"/works/{work}/findings").text
    assert drawn(page) == [
        "0.0,0.0 150.0,0.0 150.0,3900.0 0.0,3900.0",
        "0.0,0.0 300.0,0.0 300.0,3900.0 0.0,3900.0",
    ]
    labels = re.findall(r'<text class="label"[^>]*>(.+?)</text>', page)
    assert labels == ['1a<tspan class="label-date">, 20 May 2019</tspan>', "1"]
    assert "30 mm in, 20 May 2024 1a 20 May 2019, 15 mm in" in text_of(page)


def test_the_colour_of_a_stain_is_read_from_the_picture_against_clean_paper(
    keeper: Browser, engine: Engine, settings: Settings, work: int
) -> None:
    photograph = photographed(engine, work)
    keep(settings, engine, photograph, stained=(200, 170, 120), paper=(240, 232, 214))
    tapped = {"photograph": str(photograph), "version": "0"}
    places = {"stain_x": "0.25", "stain_y": "0.5", "clean_x": "0.75", "clean_y": "0.5"}
    answer = keeper.send_form("/sightings/1/contrast", {**tapped, **places})
    assert answer.status_code == 303
    with read_session(engine) as session:
        kept = session.exec(select(PhotographContrast)).one()
        stain = [kept.stain_l, kept.stain_a, kept.stain_b]
    # JPEG moves a flat colour by a step of its scale at most: a few tenths of L*, a*, b*.
    np.testing.assert_allclose(
        stain,
        lab_of_srgb(np.array((200, 170, 120)) / 255),
        rtol=0,
        atol=0.8,
    )
    said = re.search(
        r"ΔE2000 ([\d.]+), from the photograph, indicative",
        keeper.get(f"/works/{work}/findings").text,
    )
    pair = lab_of_srgb(np.array([(200, 170, 120), (240, 232, 214)]) / 255)
    assert said is not None
    assert float(said.group(1)) == pytest.approx(float(colour_difference(*pair)), abs=0.6)


def test_two_places_are_read_for_the_form_of_a_visit_and_go_on_record_with_it(
    framer: Browser, engine: Engine, settings: Settings, work: int
) -> None:
    photograph = photographed(engine, work)
    keep(settings, engine, photograph, stained=(200, 170, 120), paper=(240, 232, 214))
    places = {"stain_x": "0.25", "stain_y": "0.5", "clean_x": "0.75", "clean_y": "0.5"}
    read = framer.get(f"/photographs/{photograph}/contrast?{urlencode(places)}").json()
    assert re.fullmatch(r"ΔE2000 1\d\.\d, from the photograph, indicative", read["said"])

    page = framer.get(f"/works/{work}/visits/new?kind=look").text
    action = re.search(r'action="(/bench/([^/"]+)/[^"]+)" data-key', page)
    assert action is not None
    told = {**fields_of(page, action[1]), "finding/1/change": "unchanged"}
    told["finding/1/contrast"] = read["kept"]
    # The lid is closed, and opened again.
    framer.send_form(f"/bench/{action[2]}/seen", told)
    again = framer.get(f"/bench/{action[2]}/seen").text
    fields = fields_of(again, f"/bench/{action[2]}/seen")
    assert fields["finding/1/contrast"] == [read["kept"]]

    assert framer.send_form(f"/bench/{action[2]}/record", fields).status_code == 303

    with read_session(engine) as session:
        kept = session.exec(select(PhotographContrast)).one()
        assert (kept.photograph_id, kept.stain_x_ppm, kept.clean_x_ppm) == (1, 250_000, 750_000)
        assert session.exec(select(ColourReading)).all() == []
    assert read["said"] in text_of(framer.get(f"/works/{work}/findings").text)


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("{}", "This reading means nothing. Read the colours again."),
        ("[" * 999, "This reading means nothing. Read the colours again."),
        (
            '{"photograph": 1, "stain": [0, 0, 0, 0, 2], "clean": [1, 1, 1, 1, 1]}',
            "This reading means nothing. Read the colours again.",
        ),
        (
            '{"photograph": 9, "stain": [0, 0, 0, 0, 0], "clean": [1, 1, 1, 1, 1]}',
            "The photograph that the colours were read from was taken away.",
        ),
        (
            '{"photograph": 1, "stain": [0, 0, 0, 0, 0], "clean": [1, 1, 1, 1, 1]}',
            "This photograph does not show the finding.",
        ),
    ],
)
def test_a_reading_that_cannot_be_is_refused_beside_its_finding(
    framer: Browser, engine: Engine, work: int, text: str, message: str
) -> None:
    photographed(engine, work, PhotographView.VERSO)
    page = framer.get(f"/works/{work}/visits/new?kind=look").text
    action = re.search(r'action="(/bench/([^/"]+)/[^"]+)" data-key', page)
    assert action is not None
    told = {**fields_of(page, action[1]), "finding/1/change": "grown", "finding/1/contrast": text}
    answer = framer.send_form(f"/bench/{action[2]}/record", told)
    assert answer.status_code == 422
    assert message in text_of(answer.text)
    assert 'id="fault-finding/1/contrast"' in answer.text


def test_the_desk_of_a_visit_opens_on_a_photograph_taken_in_it(
    framer: Browser, engine: Engine, work: int
) -> None:
    one, _other = photographed(engine, work), photographed(engine, work)
    with recording(engine, actor="test", now=NOON) as session:
        session.get_one(Photograph, one).draft_key = "k1"
    shown = [
        re.search(
            r'data-sharp="/photographs/(\d+)/', framer.get(f"/works/{work}/findings{asked}").text
        )
        for asked in ("?draft=k1", "?draft=k2", "")
    ]
    assert [found and found[1] for found in shown] == ["1", "2", "2"]


@pytest.mark.parametrize("photograph", ["", "x", "9" * 30])
def test_colour_is_read_from_no_photograph_that_is_not_there(
    keeper: Browser, work: int, photograph: str
) -> None:
    told = {"photograph": photograph, "stain_x": "0.5", "stain_y": "0.5"}
    answer = keeper.send_form("/sightings/1/contrast", {**told, "clean_x": "0.1", "clean_y": "0.1"})
    assert answer.status_code == 422


@pytest.mark.parametrize("place", ["", "1.2", "x", "nan"])
def test_a_place_off_the_picture_has_no_colour(
    keeper: Browser, engine: Engine, work: int, place: str
) -> None:
    photograph = photographed(engine, work)
    tapped = {"photograph": str(photograph), "version": "0"}
    places = {"stain_x": place, "stain_y": "0.5", "clean_x": "0.75", "clean_y": "0.5"}
    assert keeper.send_form("/sightings/1/contrast", {**tapped, **places}).status_code == 422


def test_findings_of_the_other_side_are_counted_and_not_drawn(
    keeper: Browser, engine: Engine, work: int
) -> None:
    photograph = photographed(engine, work, PhotographView.VERSO)
    page = keeper.get(f"/works/{work}/findings?photograph={photograph}").text
    assert drawn(page) == []
    assert "Nothing was found on this side so far." in page


def test_a_work_with_neither_photograph_nor_size_says_what_is_missing(
    keeper: Browser, engine: Engine, work: int
) -> None:
    with recording(engine, actor="test", now=NOON) as session:
        bare = key_of(a_work(session, number="GH 2"))
    page = text_of(keeper.get(f"/works/{bare}/findings").text)
    assert "There is no photograph of this work yet, and the size of its sheet is not on" in page


def test_a_photograph_of_another_work_is_not_there(
    keeper: Browser, engine: Engine, work: int
) -> None:
    assert keeper.get(f"/works/{work}/findings?photograph=99").status_code == 404
    assert keeper.get(f"/works/{work}/findings?photograph=x").status_code == 404


def test_an_owner_reads_the_findings_of_their_own_works_and_draws_none(
    owner: Browser, engine: Engine, work: int
) -> None:
    with recording(engine, actor="test", now=NOON) as session:
        other = key_of(a_work(session, number="GH 2", owner="Somebody else"))
    page = owner.get(f"/works/{work}/findings").text
    assert "data-desk " not in page
    assert drawn(page) == ["0.0,0.0 150.0,0.0 150.0,3900.0 0.0,3900.0"]
    assert owner.get(f"/works/{other}/findings").status_code == 404


def test_the_page_takes_few_statements_however_many_photographs_there_are(
    keeper: Browser, engine: Engine, work: int, statements_of: Callable[[Browser, str], int]
) -> None:
    for _ in range(3):
        photographed(engine, work)
    assert statements_of(keeper, f"/works/{work}/findings") <= 9


def test_the_page_of_a_photograph_shows_what_was_found_and_says_it_in_a_table(
    framer: Browser, engine: Engine, work: int, statements_of: Callable[[Browser, str], int]
) -> None:
    photograph = photographed(engine, work)
    bare = framer.get(f"/photographs/{photograph}").text
    assert ("data-findings-shown" in bare, "not placed on this photograph" in bare) == (False, True)
    framer.send_form(f"/photographs/{photograph}/corners", corners_typed())
    page = framer.get(f"/photographs/{photograph}").text
    assert "data-findings-shown" in page
    # 15 mm of 300 mm are a twentieth of the 1600 px between the corners.
    assert 'points="200.0,150.0 280.0,150.0 280.0,1350.0 200.0,1350.0"' in page
    assert "1 mat burn recto, left edge, 15 mm in" in text_of(page)
    assert "drawn alongside the sheet&#39;s edge: nobody has marked the window&#39;s edge" in page
    assert statements_of(framer, f"/photographs/{photograph}") <= 12
