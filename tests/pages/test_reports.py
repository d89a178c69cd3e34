"""The condition report and the bench sheet say what paper must say, and nothing that is private."""

from collections.abc import Callable
from dataclasses import replace

import pytest
from sqlalchemy import Engine
from sqlmodel import Session, col, select

from models.rules.visit_as_told import (
    DismountTold,
    HoldFreedTold,
    HoldTold,
    ReachTold,
    SightingTold,
    VisitTold,
)
from models.tables.findings import Finding
from models.tables.mounts import Hold
from models.tables.works import Work
from models.vocabulary import Change, Edge, FreedBy, Outcome, Severity, Shown, VisitKind
from tests.builders import key_of
from tests.pages.bench_work import POOR, SOUND, a_bench_work, a_book, told
from tests.pages.page_read import text_of
from tests.with_app import OWNER, Browser

pytestmark = pytest.mark.usefixtures("reference_data")

BURN = SightingTold(
    change=Change.NEW,
    term="mat burn",
    severity=Severity.SLIGHT,
    reach=ReachTold(Edge.LEFT, 9, follows_window_edge=True),
)
LOOK = VisitTold(
    on="2019-05-20",
    kind=VisitKind.LOOK,
    by="R. Imaginary",
    seen=frozenset({Shown.FRONT}),
    summary="A brown line at the window.",
    sightings=(BURN,),
)


def a_report(engine: Engine) -> tuple[int, int, int]:
    """A groundwood mat, its burn seen in 2019; grown and rematted in rag in 2024."""
    a_book(engine)
    work = a_bench_work(engine, mount=POOR)
    (look,) = told(engine, work, LOOK)
    with Session(engine) as session:
        burn = session.exec(select(Finding)).one()
    grown = SightingTold(
        change=Change.GROWN,
        finding=burn.id,
        severity=Severity.MODERATE,
        reach=ReachTold(Edge.LEFT, 12),
        extent_percent=3,
        note="Darker than before.",
    )
    remat = VisitTold(
        on="2024-05-20",
        kind=VisitKind.UNFRAMING,
        by="R. Imaginary",
        seen=frozenset(Shown),
        sightings=(grown,),
        dismount=DismountTold(
            freed_by=FreedBy.WATER, outcome=Outcome.FREED, residue="paste at the top edge"
        ),
        mount=SOUND,
    )
    (unframed,) = told(engine, work, remat)
    return work, look, unframed


def test_the_report_says_what_was_seen_found_and_done(keeper: Browser, engine: Engine) -> None:
    _, _, unframed = a_report(engine)
    said = text_of(keeper.get(f"/visits/{unframed}/report").text)
    for part in (
        "Tern over the Outer Bar I. Hollow, wood engraving",
        f"Owner {OWNER}",
        "Examined 20 May 2024, unframing, by R. Imaginary",
        "Not seen every place was seen",
        "1 mat burn recto, left edge, 9 mm in, follows the window&#39;s edge",
        "moderate, 12 mm in, 3 % of the sheet grown before: slight, 9 mm (20 May 2019)",
        "Darker than before.",
        "Taken out of mount 1:",
        "by water",
        "paste at the top edge",
        "The new package, front to back",
        "these are planning figures".capitalize(),
        "Day and signature",
    ):
        assert part in said, part


def test_the_report_says_of_each_hold_how_it_came_off(keeper: Browser, engine: Engine) -> None:
    a_book(engine)
    tape = HoldTold(grade="rubber pressure-sensitive tape", position="left")
    work = a_bench_work(engine, mount=replace(SOUND, holds=(*SOUND.holds, tape)))
    with Session(engine) as session:
        hinges, strip = session.exec(select(Hold).order_by(col(Hold.hold_no))).all()
    freed = DismountTold(
        holds=(
            HoldFreedTold(hold=key_of(hinges), freed_by=FreedBy.WATER, residue="paste"),
            HoldFreedTold(
                hold=key_of(strip), freed_by=FreedBy.CUT, outcome=Outcome.CUT_AND_STUB_LEFT
            ),
        ),
        harm="slight skinning",
    )
    visit = VisitTold(on="2024-05-20", kind=VisitKind.UNFRAMING, by="R. Imaginary", dismount=freed)
    (unframed,) = told(engine, work, visit)
    said = text_of(keeper.get(f"/visits/{unframed}/report").text)
    for part in (
        "Wheat starch paste on Japanese paper (2, top) freed by water, leaving paste;",
        "rubber pressure-sensitive tape (left) cut and stub left.",
        "Harm: slight skinning.",
        "Left on the work: stub",
    ):
        assert part in said, part


def test_the_report_of_an_earlier_visit_knows_nothing_of_later_ones(
    keeper: Browser, engine: Engine
) -> None:
    _, look, _ = a_report(engine)
    said = text_of(keeper.get(f"/visits/{look}/report").text)
    assert "Not seen back of frame, margins, verso, under hinges" in said
    assert "slight, 9 mm in new" in said
    assert "12 mm" not in said
    assert "window mat Groundwood mat board: harmful" in said
    assert "Harmful. The weakest link is the window mat" in said
    assert "2024" not in said


def test_the_findings_are_drawn_and_numbered_without_a_photograph_too(
    keeper: Browser, engine: Engine
) -> None:
    _, look, unframed = a_report(engine)
    for visit in (look, unframed):
        page = keeper.get(f"/visits/{visit}/report").text
        assert "A plain sheet, no photograph" in text_of(page)
        assert 'dominant-baseline="central">1</text>' in page
    page = keeper.get(f"/visits/{unframed}/report").text
    assert 'dominant-baseline="central">1a<tspan class="label-date">, 20 May 2019</tspan>' in page


def test_owners_read_reports_of_their_own_works_only(
    keeper: Browser, owner: Browser, engine: Engine
) -> None:
    a_book(engine)
    own = a_bench_work(engine)
    foreign = a_bench_work(engine, owner="Somebody else", number="SE 1")
    (of_own,) = told(engine, own, LOOK)
    (of_foreign,) = told(engine, foreign, LOOK)
    assert owner.get(f"/visits/{of_own}/report").status_code == 200
    assert owner.get(f"/works/{own}/bench-sheet").status_code == 200
    assert owner.get(f"/visits/{of_foreign}/report").status_code == 404
    assert owner.get(f"/works/{foreign}/bench-sheet").status_code == 404
    assert keeper.get(f"/visits/{of_foreign}/report").status_code == 200


def test_the_bench_sheet_has_questions_layers_findings_and_room_to_write(
    keeper: Browser, engine: Engine
) -> None:
    work, _, _ = a_report(engine)
    page = keeper.get(f"/works/{work}/bench-sheet").text
    said = text_of(page)
    with Session(engine) as session:
        code = session.get_one(Work, work).code
    for part in (
        code,
        "GH 1 wood engraving, 390",
        "One yes is a stop",
        "Freed by: water",
        "Came off by: lifted",
        "Layer Stays Out Condition, pen, lignin, pH New material Lot",
        "1 mat burn recto, left edge",
        "unchanged grown treated gone not seen",
        "Recto, in proportion",
    ):
        assert part in said, part
    # The sheet is 390 mm high and 300 mm wide: 200 by 153.8 units.
    assert page.count('width="153.8" height="200.0"') == 2


def test_pages_lead_to_the_report_and_the_bench_sheet(keeper: Browser, engine: Engine) -> None:
    work, look, _ = a_report(engine)
    assert f'href="/visits/{look}/report"' in keeper.get(f"/visits/{look}").text
    assert f'href="/works/{work}/bench-sheet"' in keeper.get(f"/works/{work}").text


def test_they_take_no_more_statements_than_they_need(
    keeper: Browser, engine: Engine, statements_of: Callable[[Browser, str], int]
) -> None:
    work, _, unframed = a_report(engine)
    for path in (f"/visits/{unframed}/report", f"/works/{work}/bench-sheet"):
        keeper.get(path)
        assert statements_of(keeper, path) <= 12
