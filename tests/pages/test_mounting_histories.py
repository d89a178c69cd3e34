"""The page from which the mounting history of all works is taken away."""

from collections.abc import Callable

from sqlalchemy import Engine

from models.actions.change_log import recording
from tests.builders import a_work
from tests.pages.bench_work import POOR, a_bench_work, a_book
from tests.pages.page_read import text_of
from tests.with_app import NOON, Browser


def test_works_that_have_no_row_in_the_file_are_counted_beside_it(
    keeper: Browser,
    engine: Engine,
    reference_data: None,
    statements_of: Callable[[Browser, str], int],
) -> None:
    a_book(engine)
    a_bench_work(engine, mount=POOR)
    with recording(engine, actor="test", now=NOON) as session:
        a_work(session, number="ZZ 1")
    page = text_of(keeper.get("/mounting-histories").text)
    assert "No mount is on record of 1 of 2 works: it has no row in these files." in page
    assert "/mounting-histories" in keeper.get("/works").text
    csv = keeper.get("/api/mounting-history.csv").text
    assert ("ZZ 1" in csv, "GH 1" in csv) == (False, True)
    assert statements_of(keeper, "/mounting-histories") <= 12


def test_nothing_on_record_is_no_file(keeper: Browser) -> None:
    assert "No work is on record for you yet." in keeper.get("/mounting-histories").text
