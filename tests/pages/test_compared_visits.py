"""What the page of two visits says is different between them, and to whom."""

import re
from dataclasses import replace

import pytest
from fastapi import FastAPI
from sqlalchemy import Engine
from sqlmodel import Session

from models.actions.change_log import recording
from models.actions.finding_outlines import record_corners
from models.actions.photographs import PhotographTold, add_photograph
from models.actions.window_edges import record_window_edge
from models.exchange.kept_photographs import PictureKept
from models.rules.visit_as_told import (
    DismountTold,
    ReachTold,
    SightingTold,
    VisitTold,
    WindowTold,
)
from models.tables.people import find_person_by_name
from models.tables.visible import Viewer
from models.vocabulary import (
    Change,
    Edge,
    FreedBy,
    PhotographStage,
    PhotographView,
    Role,
    Severity,
    Shown,
    VisitKind,
)
from tests.builders import key_of
from tests.pages.bench_work import POOR, SOUND, TODAY, a_bench_work, a_book, told
from tests.pages.test_work_page import statements_for, text_of
from tests.with_app import NOON, Browser

BURN = SightingTold(
    change=Change.NEW, term="mat burn", severity=Severity.SLIGHT, reach=ReachTold(Edge.LEFT, 8)
)
FOXING = SightingTold(change=Change.FOUND_AGE_UNKNOWN, term="foxing", severity=Severity.SLIGHT)
SEEN = frozenset({Shown.MARGINS})
FIRST = VisitTold(on="2016-05-02", kind=VisitKind.UNFRAMING, seen=SEEN, sightings=(BURN,))
SECOND = VisitTold(
    on="2024-05-06",
    kind=VisitKind.UNFRAMING,
    seen=SEEN,
    sightings=(
        replace(
            BURN,
            finding=1,
            term="",
            change=Change.GROWN,
            severity=Severity.MODERATE,
            reach=ReachTold(Edge.LEFT, 12),
        ),
        FOXING,
    ),
    dismount=DismountTold(freed_by=FreedBy.WATER),
    mount=SOUND,
)


@pytest.fixture(autouse=True)
def _book(engine: Engine, reference_data: None) -> None:
    a_book(engine)


def photographed(engine: Engine, work: int, *visits: int) -> list[int]:
    """One photograph of the recto at each visit; only the first of them has its corners said."""
    found: list[int] = []
    with recording(engine, actor="test", now=NOON) as session:
        framer = the_framer(session)
        for visit in visits:
            kept = PictureKept(
                sha256=f"{visit:064d}",
                media_type="image/jpeg",
                byte_count=9,
                file_name="a.jpg",
                width_px=1200,
                height_px=1500,
            )
            shows = PhotographTold(
                work_id=work,
                view=PhotographView.RECTO,
                stage=PhotographStage.MAT_LIFTED,
                visit_id=visit,
            )
            found.append(add_photograph(session, framer, shows, kept, today=TODAY).id)
        corners = ((0.1, 0.1), (0.9, 0.1), (0.9, 0.9), (0.1, 0.9))
        record_corners(session, framer, found[0], corners)
    return found


Corners = tuple[tuple[float, float], ...]


def boxed(left: float, top: float, right: float, bottom: float) -> Corners:
    return (left, top), (right, top), (right, bottom), (left, bottom)


def marked(engine: Engine, windows: dict[int, Corners], sheets: dict[int, Corners]) -> None:
    """Say where sheet and window are on photographs."""
    with recording(engine, actor="test", now=NOON) as session:
        framer = the_framer(session)
        for photograph, corners in sheets.items():
            record_corners(session, framer, photograph, corners)
        for photograph, window in windows.items():
            record_window_edge(session, framer, photograph, window)


def laid_by(page: str, photograph: int) -> list[list[float]]:
    """The matrices that lay a photograph, each once, in their order."""
    shown = rf'href="/photographs/{photograph}/2400"[^>]*transform="matrix\(([^)]*)\)'
    found = dict.fromkeys(re.findall(shown, page))
    return [[float(figure) for figure in one.split()] for one in found]


def the_framer(session: Session) -> Viewer:
    person = find_person_by_name(session, "R. Imaginary")
    assert person is not None
    return Viewer(key_of(person), Role.FRAMER)


def test_what_is_new_and_what_has_grown_stands_with_what_it_was(
    keeper: Browser, engine: Engine
) -> None:
    work = a_bench_work(engine, mount=POOR)
    told(engine, work, FIRST, SECOND)
    page = text_of(keeper.get(f"/works/{work}/compare").text)
    assert "new 2 foxing recto not on record slight" in page
    assert "grown 1 mat burn recto, left edge, 8 mm in slight, 8 mm moderate, 12 mm +4 mm" in page
    assert page.index("new 2 foxing") < page.index("grown 1 mat burn")


def test_the_package_stands_as_it_was_after_each_visit(keeper: Browser, engine: Engine) -> None:
    work = a_bench_work(engine, mount=POOR)
    told(engine, work, FIRST, SECOND)
    page = keeper.get(f"/works/{work}/compare").text
    then, now = page.split('<div class="packages-then">')[1].split("<h3>")[1:]
    assert '<li class="is-other">window mat: Groundwood mat board</li>' in then
    assert '<li class="is-other">window mat: Cotton rag mat board, 4-ply, buffered</li>' in now
    assert "<li>mount board: Cotton rag mat board, 4-ply, buffered</li>" in now


def test_both_packages_are_drawn_beside_each_other_at_one_scale(
    keeper: Browser, engine: Engine
) -> None:
    work = a_bench_work(engine, mount=POOR)
    told(engine, work, FIRST, SECOND)
    page = keeper.get(f"/works/{work}/compare").text
    then, now = page.split('<div class="packages-then">')[1].split("<h3>")[1:]
    assert re.findall(r'<desc id="(package-\w+)-said">Front to back: (.+?);', then + now) == [
        ("package-before", "window mat, Groundwood mat board, 1.4 mm, harmful, the weakest link"),
        ("package-after", "window mat, Cotton rag mat board, 4-ply, buffered, 1.5 mm, sound"),
    ]
    bars = re.findall(r'<path class="bar" d="M16.0 ([\d.]+)V([\d.]+)', then + now)
    assert len({round(float(low) - float(top), 1) for top, low in bars}) == 1


def test_two_visits_are_told_in_the_order_of_time_however_they_are_asked_for(
    keeper: Browser, engine: Engine
) -> None:
    work = a_bench_work(engine, mount=POOR)
    one, two = told(engine, work, FIRST, SECOND)
    there = keeper.get(f"/works/{work}/compare?before={one}&after={two}").text
    back = keeper.get(f"/works/{work}/compare?before={two}&after={one}").text
    assert text_of(there) == text_of(back)


def test_pictures_of_one_view_lie_at_one_scale_by_their_corners(
    keeper: Browser, engine: Engine
) -> None:
    work = a_bench_work(engine, mount=POOR)
    visits = told(engine, work, FIRST, SECOND)
    first, second = photographed(engine, work, *visits)
    page = keeper.get(f"/works/{work}/compare?edge=left").text
    # 300 by 390 mm: eight tenths of 1200 px are 300 mm; the other lies whole in the sheet.
    assert f'href="/photographs/{first}/2400" width="1200" height="1500"' in page
    assert 'transform="matrix(0.3125 0 0 0.325 -37.5 -48.75)"' in page
    assert f'href="/photographs/{second}/2400"' in page
    assert 'transform="matrix(0.25 0 0 0.25 0 7.5)"' in page
    # The edge of 390 mm is shown in four parts, the second first, and a little beyond both ends.
    assert 'viewBox="-12 85.5 92 121.5"' in page
    assert "from the top 0 to 98 mm 98 to 195 mm 195 to 292 mm 292 to 390 mm" in text_of(page)
    last = keeper.get(f"/works/{work}/compare?edge=bottom&part=3").text
    assert 'viewBox="188 310 124 92"' in last
    assert "say where the corners are" in page


def test_a_margin_is_aligned_at_the_window_although_the_mat_lay_otherwise(
    keeper: Browser, engine: Engine
) -> None:
    work = a_bench_work(engine, mount=POOR)
    first, second = photographed(engine, work, *told(engine, work, FIRST, SECOND))
    # The sheet is 300 by 390 mm and fills eight tenths: 1 % of the picture is 3.75 mm across.
    # The window's left edge lay 15 mm in, and later 30 mm.
    windows = {first: boxed(0.14, 0.2, 0.8, 0.8), second: boxed(0.18, 0.2, 0.8, 0.8)}
    marked(engine, windows, {second: boxed(0.1, 0.1, 0.9, 0.9)})
    page = keeper.get(f"/works/{work}/compare?edge=left").text
    (then,), (now,) = laid_by(page, first), laid_by(page, second)
    assert then == pytest.approx([0.3125, 0, 0, 0.325, -37.5, -48.75])
    assert now == pytest.approx([0.3125, 0, 0, 0.325, -52.5, -48.75])
    # From the sheet's edge to 20 mm within the window.
    assert 'viewBox="-12 85.5 47 121.5"' in page
    assert "At one scale, aligned at the window" in text_of(page)
    whole = keeper.get(f"/works/{work}/compare").text
    assert laid_by(whole, second) == [pytest.approx([0.3125, 0, 0, 0.325, -37.5, -48.75])]
    assert "laid upon each other by the corners of the sheet" in text_of(whole)


def test_all_four_margins_stand_at_one_scale_with_the_window_level(
    keeper: Browser, engine: Engine
) -> None:
    work = a_bench_work(engine, mount=POOR)
    first, second = photographed(engine, work, *told(engine, work, FIRST, SECOND))
    # Askew by a hundredth of the picture's height along its upper side.
    askew = ((0.2, 0.2), (0.8, 0.21), (0.8, 0.8), (0.2, 0.8))
    windows = {first: boxed(0.2, 0.2, 0.8, 0.8), second: askew}
    marked(engine, windows, {second: boxed(0.1, 0.1, 0.9, 0.9)})
    page = keeper.get(f"/works/{work}/compare?edge=all four margins").text
    widths = re.findall(r'viewBox="\S+ \S+ (\S+) \S+"[^>]*data-picture', page)
    # 390 mm are the longest edge, and 12 mm are seen beyond both ends.
    assert widths == ["414"] * 4
    turned = re.findall(r'<g transform="rotate\((-?\d+)\)"', page)
    assert list(dict.fromkeys(turned)) == ["90", "-90", "180"]
    # Only the upper side is askew: the other three margins lie by one and the same.
    _, top = laid_by(page, second)
    ends = [top[1] * x * 1200 + top[3] * y * 1500 + top[5] for x, y in askew[:2]]
    # 0.2 of 1500 px are 150 px below the sheet's edge: 48.75 mm.
    assert ends == pytest.approx([48.75, 48.75], abs=0.01)


def test_photographs_in_the_frame_are_aligned_by_their_windows_alone(
    keeper: Browser, engine: Engine
) -> None:
    work = a_bench_work(engine, mount=POOR)
    first, second = photographed(engine, work, *told(engine, work, FIRST, SECOND))
    # By the first sheet the window is 225 by 292.5 mm, 37.5 and 48.75 mm in.
    marked(engine, {first: boxed(0.2, 0.2, 0.8, 0.8), second: boxed(0.3, 0.3, 0.7, 0.7)}, {})
    page = keeper.get(f"/works/{work}/compare").text
    # There it is 480 by 600 px large, from 360 and 450 px.
    scale = [225 / 480, 292.5 / 600]
    expected = [scale[0], 0, 0, scale[1], 37.5 - 360 * scale[0], 48.75 - 450 * scale[1]]
    assert laid_by(page, second) == [pytest.approx(expected, abs=1e-3)]
    assert "its size is known, by the mat or by the corners of the sheet" in text_of(page)


def test_in_the_frame_the_window_of_the_mat_gives_both_photographs_their_scale(
    keeper: Browser, engine: Engine
) -> None:
    mat, *behind = SOUND.layers
    windows = (WindowTold(height_mm=240, width_mm=180),)
    work = a_bench_work(
        engine, mount=replace(SOUND, layers=(replace(mat, windows=windows), *behind))
    )
    looks = [VisitTold(on=f"20{year}-05-02", kind=VisitKind.LOOK) for year in (12, 16, 20)]
    visits = told(engine, work, *looks)
    _, second, third = photographed(engine, work, *visits)
    window = boxed(0.3, 0.3, 0.7, 0.7)
    marked(engine, {second: window, third: boxed(0.2, 0.2, 0.8, 0.8)}, {})
    path = f"/works/{work}/compare?before={visits[1]}&after={visits[2]}&edge=left"
    page = keeper.get(path).text
    # 180 mm are 480 px of 1200 on the one and 720 on the other, in the middle of 300 x 390 mm.
    laid = [0.375, 0, 0, 0.4, 60 - 360 * 0.375, 75 - 450 * 0.4]
    assert laid_by(page, second) == [pytest.approx(laid)]
    assert laid_by(page, third)[0][:4] == pytest.approx([0.25, 0, 0, 240 / 900], abs=1e-4)
    assert 'class="ten-mm"' in page
    assert "from the top 0 to 98 mm" in text_of(page)


def test_where_nothing_gives_a_scale_no_millimetres_are_said(
    keeper: Browser, engine: Engine
) -> None:
    work = a_bench_work(engine)
    looks = [VisitTold(on=f"20{year}-05-02", kind=VisitKind.LOOK) for year in (12, 16, 20)]
    visits = told(engine, work, *looks)
    _, second, third = photographed(engine, work, *visits)
    marked(engine, dict.fromkeys((second, third), boxed(0.2, 0.2, 0.8, 0.8)), {})
    path = f"/works/{work}/compare?before={visits[1]}&after={visits[2]}&edge=left"
    page = keeper.get(path).text
    assert "from the top 1 of 4 2 of 4 3 of 4 4 of 4" in text_of(page)
    assert "so they have one scale and no measure" in text_of(page)
    assert 'class="ten-mm"' not in page


def test_it_says_on_which_photograph_nobody_has_marked_the_window(
    keeper: Browser, engine: Engine
) -> None:
    work = a_bench_work(engine, mount=POOR)
    first, second = photographed(engine, work, *told(engine, work, FIRST, SECOND))
    marked(engine, {first: boxed(0.2, 0.2, 0.8, 0.8)}, {})
    page = keeper.get(f"/works/{work}/compare?edge=top").text
    assert f'href="/works/{work}/findings?photograph={second}">Mark the edge' in page
    assert f'href="/works/{work}/findings?photograph={first}">Mark the edge' not in page


def test_findings_lie_on_each_picture_as_its_visit_left_them(
    keeper: Browser, engine: Engine
) -> None:
    work = a_bench_work(engine, mount=POOR)
    photographed(engine, work, *told(engine, work, FIRST, SECOND))
    page = keeper.get(f"/works/{work}/compare").text
    # Only of the first photograph are the corners known: 8 mm of 300 mm are 25.6 of 960 px.
    assert set(re.findall(r'class="line" points="([^"]*)"', page)) == {
        "120.0,150.0 145.6,150.0 145.6,1350.0 120.0,1350.0"
    }
    assert "findings on the pictures, as each visit left them" in page


def test_without_two_visits_or_without_pictures_it_says_so(keeper: Browser, engine: Engine) -> None:
    bare = a_bench_work(engine, mount=None)
    assert "not yet two visits" in text_of(keeper.get(f"/works/{bare}/compare").text)
    assert 'href="/works/1/compare"' not in keeper.get(f"/works/{bare}").text
    told(engine, bare, FIRST, replace(FIRST, on="2017", sightings=()))
    page = text_of(keeper.get(f"/works/{bare}/compare").text)
    assert "There are no photographs of one and the same view from both visits." in page


def test_a_visit_of_another_work_or_of_another_owner_is_not_found(
    keeper: Browser, owner: Browser, engine: Engine
) -> None:
    own, other = a_bench_work(engine), a_bench_work(engine, owner="The Tern House", number="TH 1")
    (visit,) = told(engine, other, FIRST)
    told(engine, own, FIRST)
    assert keeper.get(f"/works/{own}/compare?before={visit}").status_code == 404
    assert owner.get(f"/works/{other}/compare").status_code == 404
    assert owner.get(f"/works/{own}/compare").status_code == 200


def test_it_takes_twelve_statements_at_most(app: FastAPI, keeper: Browser, engine: Engine) -> None:
    work = a_bench_work(engine, mount=POOR)
    photographed(engine, work, *told(engine, work, FIRST, SECOND))
    assert statements_for(app, keeper, f"/works/{work}/compare") <= 12
