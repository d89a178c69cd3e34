"""The sheet inside the frame says what whoever opens it needs, and nothing that is private."""

import re
from collections.abc import Callable

from sqlalchemy import Engine
from sqlmodel import Session

from api.pages.qr_shown import QUIET_MODULES, qr_shown
from models.tables.mounts import Package
from models.tables.works import Work
from models.vocabulary import Answer, Freeing, KnownBy, LayerRole, Surface, ValueBand
from tests.builders import (
    a_hold,
    a_layer,
    a_lot,
    a_material,
    a_mount,
    a_work,
    an_owner_row,
    key_of,
)
from tests.with_app import ADDRESS, Browser

OWN = "The Gannet House"


def a_framed_work(engine: Engine, *, surface: Surface | None = None) -> int:
    """A work of an owner, in a place, of high value, between glass and rag board."""
    with Session(engine) as session, session.begin():
        an_owner_row(session, OWN)
        work = a_work(
            session,
            number="GH 7",
            title="Ferry at Low Water",
            owner=OWN,
            place="Gannet House / Secret stair",
            value_band=ValueBand.HIGH,
            note="insured by nobody",
            surface=surface,
        )
        mount = a_mount(session, work, mounted="2019-03")
        glass = a_material(session, "Float glass", kind="glazing", grade=None)
        rag = a_material(session)
        lot = a_lot(session, rag, "L-118")
        package = session.get_one(Package, mount.package_id)
        package.in_front = package.behind = Answer.THIS
        seen = KnownBy.SEEN
        a_layer(
            session,
            mount,
            glass,
            role=LayerRole.GLAZING,
            known_by=seen,
            note="from the cellar",
        )
        a_layer(session, mount, rag, role=LayerRole.WINDOW_MAT, lot=lot, known_by=seen)
        a_layer(session, mount, role=LayerRole.WORK)
        a_layer(session, mount, rag, known_by=KnownBy.TOLD)
        paste = a_material(session, "Wheat paste", kind="paste", frees_by=Freeing.WATER)
        a_hold(session, mount, paste, known_by=KnownBy.SEEN)
        return key_of(work)


def text_of(page: str) -> str:
    """The page as it is read: without tags, with single spaces."""
    inside = page[page.index("<article") : page.index("</article>")]
    return " ".join(re.sub(r"<[^>]+>", " ", inside).replace("&#39;", "'").split())


def test_it_lists_the_layers_the_holds_and_how_it_is_freed(keeper: Browser, engine: Engine) -> None:
    said = text_of(keeper.get(f"/works/{a_framed_work(engine)}/inside-sheet").text)
    assert "GH 7 Ferry at Low Water" in said
    assert "mounted March 2019" in said
    assert (
        "glazing Float glass seen window mat Cotton rag mat board, 4-ply, buffered"
        " (cotton rag board, buffered), lot L-118 seen the work mount board" in said
    )
    assert "told What holds it" in said
    assert "2, top Wheat paste" in said
    assert "Freed by water" in said
    assert "Next look" in said
    assert "Next unframing" in said


def test_it_never_says_owner_value_place_or_free_text(keeper: Browser, engine: Engine) -> None:
    page = keeper.get(f"/works/{a_framed_work(engine)}/inside-sheet").text
    for private in (OWN, "Secret stair", "high", "insured", "cellar"):
        assert private not in page, private


def test_the_bench_sheet_never_says_owner_value_place_title_or_free_text(
    keeper: Browser, engine: Engine
) -> None:
    page = keeper.get(f"/works/{a_framed_work(engine)}/bench-sheet").text
    for private in (OWN, "Secret stair", "Ferry at Low Water", "high</", "insured", "cellar"):
        assert private not in page, private


def test_it_bears_the_code_in_clear_and_as_a_qr(keeper: Browser, engine: Engine) -> None:
    work = a_framed_work(engine)
    with Session(engine) as session:
        code = session.get_one(Work, work).code
    page = keeper.get(f"/works/{work}/inside-sheet").text
    assert f"<figcaption>{code}</figcaption>" in page
    assert f'd="{qr_shown(f"{ADDRESS}/w/{code}").path}"' in page
    assert keeper.get(f"/w/{code}").headers["location"] == f"/works/{work}"


def test_the_drawing_keeps_the_quiet_zone_that_readers_ask_for() -> None:
    # ISO/IEC 18004: four light modules all round; 25 modules for version 2.
    drawn = qr_shown("http://localhost:8000")
    corners = [tuple(map(int, at)) for at in re.findall(r"M(\d+) (\d+)h", drawn.path)]
    assert min(map(min, corners)) == QUIET_MODULES == 4
    assert max(map(max, corners)) == drawn.side - QUIET_MODULES - 1


def test_what_to_mind_is_said(keeper: Browser, engine: Engine) -> None:
    work = a_framed_work(engine, surface=Surface.FRIABLE)
    said = text_of(keeper.get(f"/works/{work}/inside-sheet").text)
    assert "Mind The surface is loose: nothing may touch it" in said


def test_a_work_without_a_package_has_a_sheet_that_says_so(keeper: Browser, engine: Engine) -> None:
    with Session(engine) as session, session.begin():
        work = key_of(a_work(session))
    said = text_of(keeper.get(f"/works/{work}/inside-sheet").text)
    assert "Nobody has said how it is held" in said


def test_the_page_of_the_work_leads_to_it(owner: Browser, engine: Engine) -> None:
    work = a_framed_work(engine)
    assert f'href="/works/{work}/inside-sheet"' in owner.get(f"/works/{work}").text
    assert owner.get(f"/works/{work}/inside-sheet").status_code == 200


def test_it_takes_no_more_statements_than_it_may(
    keeper: Browser, engine: Engine, statements_of: Callable[[Browser, str], int]
) -> None:
    sheet = f"/works/{a_framed_work(engine)}/inside-sheet"
    # What is in force is read once and kept until it changes.
    keeper.get(sheet)
    assert statements_of(keeper, sheet) <= 12


def test_a_work_that_is_not_yours_has_none(owner: Browser, engine: Engine) -> None:
    with Session(engine) as session, session.begin():
        work = key_of(a_work(session, owner="Somebody else"))
    assert owner.get(f"/works/{work}/inside-sheet").status_code == 404
