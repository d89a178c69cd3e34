"""Causes that wait for a person, on the page of the work."""

import re

import pytest
from sqlalchemy import Engine

from models.database import read_session
from models.rules.visit_as_told import ReachTold, SightingTold, VisitTold
from models.tables.findings import Finding
from models.vocabulary import CauseMount, Change, Edge, Mechanism, Severity, Shown, VisitKind
from tests.pages.bench_work import POOR, a_bench_work, a_book, told
from tests.with_app import Browser

BURN = SightingTold(
    change=Change.FOUND_AGE_UNKNOWN,
    term="mat burn",
    severity=Severity.SLIGHT,
    reach=ReachTold(Edge.ALL, 12, follows_window_edge=True),
)
OPENED = VisitTold(
    on="2026-11-24",
    kind=VisitKind.UNFRAMING,
    seen=frozenset({Shown.MARGINS, Shown.VERSO}),
    sightings=(BURN,),
)


@pytest.fixture
def work(app: object, engine: Engine) -> int:
    a_book(engine)
    work = a_bench_work(engine, mount=POOR)
    told(engine, work, OPENED)
    return work


def finding(engine: Engine) -> tuple[Mechanism | None, CauseMount | None, int | None]:
    with read_session(engine) as session:
        row = session.get_one(Finding, 1)
        return row.cause_mechanism, row.cause_mount, row.cause_mount_id


def test_a_suggested_cause_is_taken_with_one_tap(
    framer: Browser, engine: Engine, work: int
) -> None:
    page = framer.get(f"/works/{work}").text
    assert "Mat burn: probably acid migration. It follows the edge of this window" in page
    assert "Yes: acid migration, this mount" in page
    sent = {"version": "1", "mechanism": "acid migration", "mount": "this"}
    done = framer.send_form(f"/works/{work}/findings/1/cause", dict(sent))
    assert (done.status_code, done.headers["location"]) == (303, f"/works/{work}#causes")
    assert finding(engine) == (Mechanism.ACID_MIGRATION, CauseMount.THIS, 1)
    page = framer.get(f"/works/{work}").text
    assert ("Causes not yet confirmed" in page, "put down to acid migration" in page) == (
        False,
        True,
    )


def test_that_it_cannot_be_told_is_kept_too(framer: Browser, engine: Engine, work: int) -> None:
    framer.send_form(f"/works/{work}/findings/1/cause", {"version": "1"})
    assert finding(engine) == (None, CauseMount.CANNOT_TELL, None)
    assert "Causes not yet confirmed" not in framer.get(f"/works/{work}").text


def test_somebody_slower_is_told(keeper: Browser, engine: Engine, work: int) -> None:
    sent: dict[str, str | list[str]] = {"version": "1", "mechanism": "accident", "mount": "earlier"}
    assert keeper.send_form(f"/works/{work}/findings/1/cause", sent).status_code == 303
    assert keeper.send_form(f"/works/{work}/findings/1/cause", sent).status_code == 409
    assert finding(engine) == (Mechanism.ACCIDENT, CauseMount.EARLIER, None)


def test_an_owner_reads_what_is_suggested_and_confirms_nothing(owner: Browser, work: int) -> None:
    page = owner.get(f"/works/{work}").text
    assert "Causes not yet confirmed" in page
    assert re.findall(r"findings/\d+/cause", page) == []


def test_programs_read_and_confirm_them_too(program: Browser, engine: Engine, work: int) -> None:
    (waiting,) = program.get(f"/api/works/{work}/causes-to-confirm").json()["items"]
    assert (waiting["finding"], waiting["mechanism"], waiting["mount"]) == (
        1,
        "acid migration",
        "this",
    )
    assert waiting["layer"] == "Groundwood mat board"
    answer = program.post(
        "/api/findings/1/cause",
        json={"mechanism": "acid migration", "mount": "this"},
        headers={"If-Match": f'"{waiting["version"]}"'},
    )
    assert answer.json() == {"id": 1, "version": 2}
    assert program.get(f"/api/works/{work}/causes-to-confirm").json()["items"] == []
    assert program.get("/api/works/99/causes-to-confirm").status_code == 404


def test_the_form_of_a_visit_says_what_each_word_suggests(framer: Browser, work: int) -> None:
    form = framer.get(f"/works/{work}/visits/new?kind=unframing").text
    assert '<option value="mat burn">usually acid migration</option>' in form
    assert '<option value="tear"></option>' in form
