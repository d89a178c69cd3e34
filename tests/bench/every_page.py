"""Every kind of page, against FastAPI answering with its own statements and template, bare.

A small page is for the most part the answering itself; so the bare page answers too: one
route without sign-in, headers or rules, which sends the same statements through the DBAPI
in one read transaction and renders the same template with what it was given. Of each page:
the ratio of the quickest answers, how many statements it sends (of 12), and how much slower
it is with 100,000 works than with 1,000 (1.3 at most). The invented collection has neither
photographs nor incidents; pages that have a part of the bench to themselves are left to it.

The forecasts of the works are among the last that were worked out, as they are for whoever
goes on from the page of a work to its sheets; to work one out takes about 7 ms more.
"""

import sqlite3
from collections.abc import Iterator
from contextlib import closing
from functools import partial
from pathlib import Path

from tests.bench.bare_page import MOST_STATEMENTS, page, send_bare
from tests.bench.big_collection import database_with
from tests.bench.in_process import Bare, Open, app_on, bare_app, rendered, statements_of
from tests.bench.measuring import Figure, figure

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
    with app_on(few) as of_few, app_on(many) as of_many, bare_app() as bare:
        return [line for path in paths for line in _of_page(path, of_few, of_many, bare, few)]


def ratio_to_bare(name: str, size: str, opened: Open, bare: Bare, file: Path, path: str) -> Figure:
    """Return how long a page takes against the bare app that answers with the same."""
    # Twice: the first request of a kind makes caches that a running server has.
    page(opened, path), page(opened, path)
    with statements_of(opened.engine) as sent, rendered() as given:
        page(opened, path)
    connection = sqlite3.connect(file, isolation_level=None, check_same_thread=False)
    with closing(connection):
        answered = partial(send_bare, connection, sent, *given[-1])
        bare.asked(answered)
        times = [(_asked(opened, path), bare.asked(answered)) for _ in range(ANSWERS)]
    ours, its_bare = (min(those) for those in zip(*times, strict=True))
    return figure(name, size, ours, its_bare, MOST)


def _of_page(path: str, few: Open, many: Open, bare: Bare, file: Path) -> Iterator[Figure]:
    yield ratio_to_bare(path, f"{FEW} works", few, bare, file, path)
    page(many, path)
    with statements_of(few.engine) as sent:
        page(few, path)
    times = [(_asked(few, path), _asked(many, path)) for _ in range(ANSWERS)]
    ours, grown = (min(those) for those in zip(*times, strict=True))
    yield figure(f"{path}, statements", "of 12", len(sent), MOST_STATEMENTS, 1.0)
    yield figure(f"{path}, 100,000 : 1,000", f"{MANY} works", grown, ours, MOST_GROWN)


def _asked(opened: Open, path: str) -> float:
    page(opened, path)
    return opened.timed.seconds
