"""Every kind of page, against FastAPI answering with its own statements and template, bare.

A small page is for the most part the answering itself; so the bare page answers too: one
route without sign-in, headers or rules, which sends the same statements through the DBAPI
in one read transaction and renders the same template with what it was given. Of each page:
the ratio of the quickest answers, how many statements it sends (of 12), and how much slower
it is with 100,000 works than with 1,000 (1.3 at most). The invented collection has neither
photographs nor incidents; pages that have a part of the bench to themselves are left to it.
"""

import sqlite3
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import httpx
import jinja2
from anyio.from_thread import start_blocking_portal
from fastapi import FastAPI
from fastapi.responses import HTMLResponse

from tests.bench.bare_page import MOST_STATEMENTS, page, send_bare
from tests.bench.big_collection import database_with
from tests.bench.in_process import Open, Statements, Timed, app_on, rendered, statements_of
from tests.bench.measuring import Figure, figure
from tests.with_app import ADDRESS, InProcess

FEW, MANY = 1_000, 100_000
# Of so many answers the quickest is a page's own time; the others say how busy the machine is.
ANSWERS = 7
MOST, MOST_GROWN = 5.0, 1.3
PATHS = (
    "/works",
    "/works?q=sheet",
    "/works?q=nowhere",
    "/works/new",
    "/works/4/change",
    "/works/4/withdraw",
    "/works/move?work=4&work=15",
    "/works/4/put-off",
    "/works/4/compare",
    "/works/4/photographs",
    "/works/4/findings",
    "/works/4/what-if",
    "/works/4/inside-sheet",
    "/works/4/bench-sheet",
    "/visits/10",
    "/visits/10/report",
    "/due/first-survey",
    "/due/level",
    "/remat/15",
    "/remat/jobs",
    "/remat/jobs/new?work=4&work=15",
    "/materials/new",
    "/materials/1/change",
    "/materials/1/figures",
    "/places",
    "/places/new",
    "/places/1",
    "/places/1/change",
    "/places/1/climate",
    "/places/1/climate/file",
    "/incidents",
    "/incidents/new",
    "/house-packages",
    "/own-evidence",
    "/policy",
    "/people",
    "/people/new",
    "/people/1",
    "/people/owners/1",
    "/reminders",
    "/settings",
    "/bench",
)


def measure(folder: Path, paths: tuple[str, ...] = PATHS) -> list[Figure]:
    """Return three figures of each kind of page."""
    few, many = database_with(FEW, folder), database_with(MANY, folder)
    with app_on(few) as of_few, app_on(many) as of_many:
        return [line for path in paths for line in _of_page(path, of_few, of_many, few)]


def _of_page(path: str, few: Open, many: Open, file: Path) -> Iterator[Figure]:
    # Twice: the first request of a kind makes caches that a running server has.
    page(few, path), page(many, path)
    with statements_of(few.engine) as sent, rendered() as given:
        page(few, path)
    with _answered_bare(file, sent, *given[-1]) as bare:
        times = [(_asked(few, path), bare(), _asked(many, path)) for _ in range(ANSWERS)]
    ours, its_bare, grown = (min(those) for those in zip(*times, strict=True))
    yield figure(path, f"{FEW} works", ours, its_bare, MOST)
    yield figure(f"{path}, statements", "of 12", len(sent), MOST_STATEMENTS, 1.0)
    yield figure(f"{path}, 100,000 : 1,000", f"{MANY} works", grown, ours, MOST_GROWN)


def _asked(opened: Open, path: str) -> float:
    page(opened, path)
    return opened.timed.seconds


@contextmanager
def _answered_bare(
    file: Path, sent: Statements, template: jinja2.Template, told: dict[str, Any]
) -> Iterator[Callable[[], float]]:
    """Give what asks a bare app for the page, and returns how long it took to answer."""
    connection = sqlite3.connect(file, isolation_level=None, check_same_thread=False)
    app = FastAPI()

    @app.get("/page")
    def answer() -> HTMLResponse:
        return HTMLResponse(send_bare(connection, sent, template, told))

    timed = Timed(app)
    with start_blocking_portal() as portal:
        carried = InProcess(portal, timed, "127.0.0.1")
        with httpx.Client(transport=carried, base_url=ADDRESS) as client:

            def ask() -> float:
                client.get("/page").raise_for_status()
                return timed.seconds

            ask()
            yield ask
    connection.close()
