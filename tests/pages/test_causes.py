"""Causes that wait for a person, on the page of the work."""

import re
from dataclasses import replace

import pytest
from sqlalchemy import Engine

from models.database import read_session
from models.rules.visit_as_told import ReachTold, SightingTold, VisitTold
from models.tables.findings import Finding
from models.vocabulary import CauseMount, Change, Edge, Mechanism, Severity, Shown, VisitKind
from tests.pages.bench_work import POOR, a_bench_work, a_book, told
from tests.pages.form_filled import fields_of
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
def work(app: object, engine: Engine, reference_data: None) -> int:
    a_book(engine)
    work = a_bench_work(engine, mount=POOR)
    told(engine, work, OPENED)
    return work


def finding(engine: Engine) -> tuple[Mechanism | None, CauseMount | None, int | None]:
    with read_session(engine) as session:
        row = session.get_one(Finding, 1)
        return row.cause_mechanism, row.cause_mount, row.cause_mount_id


def causes_told(engine: Engine) -> list[Mechanism | None]:
    with read_session(engine) as session:
        return [session.get_one(Finding, number).cause_mechanism for number in (1, 2, 3)]


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


def test_the_same_cause_of_several_findings_is_taken_with_one_tap_and_of_all_or_none(
    framer: Browser, engine: Engine, work: int
) -> None:
    told(engine, work, replace(OPENED, on="2026-11-25", sightings=(BURN,) * 2))
    page = framer.get(f"/works/{work}").text
    assert page.count("Mat burn: probably acid migration") == 1
    assert "<strong>1, 2, 3</strong> Mat burn" in page
    assert "Yes, of all 3: acid migration, this mount" in page
    cause = {"mechanism": "acid migration", "mount": "this"}
    way = f"/works/{work}/findings/causes"
    stale = framer.send_form(way, {"finding": ["2:1", "3:1", "1:9"], **cause})
    assert (stale.status_code, causes_told(engine)) == (409, [None, None, None])
    assert framer.send_form(way, {"finding": [], **cause}).status_code == 422
    done = framer.send_form(way, {"finding": ["1:1", "2:1", "3:1"], **cause})
    assert (done.status_code, causes_told(engine)) == (303, [Mechanism.ACID_MIGRATION] * 3)


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
    assert re.search('<option value="mat burn"[^>]*>usually acid migration</option>', form)
    assert re.search('<option value="tear"[^>]*></option>', form)


def sightings_sent(framer: Browser, work: int, **changes: str | list[str]) -> str:
    """Finish a look with these fields changed; return where it leads."""
    page = framer.get(f"/works/{work}/visits/new?kind=look").text
    action = re.search(r'action="(/bench/([^/"]+)/[^"]+)" data-key', page)
    assert action is not None
    fields = {**fields_of(page, action[1]), **changes}
    answer = framer.send_form(f"/bench/{action[2]}/record", fields)
    assert answer.status_code == 303, answer.text
    return answer.headers["location"]


def test_a_visit_asks_for_the_cause_of_an_earlier_finding_and_one_tap_says_it(
    framer: Browser, engine: Engine, work: int
) -> None:
    page = framer.get(f"/works/{work}/visits/new?kind=look").text
    assert "Probably acid migration, by this mount: Groundwood mat board?" in page
    choices = re.findall(r'name="finding/1/cause" value="([^"]*)"( checked)?', page)
    assert choices == [
        ("acid migration, this", ""),
        ("acid migration, earlier", ""),
        ("cannot tell", ""),
        ("", " checked"),
    ]
    sightings_sent(framer, work, **{"finding/1/cause": "acid migration, this"})
    assert finding(engine) == (Mechanism.ACID_MIGRATION, CauseMount.THIS, 1)
    assert "finding/1/cause" not in framer.get(f"/works/{work}/visits/new?kind=look").text


def test_a_cause_of_an_earlier_finding_may_be_another_mounts_or_nobodys_to_tell(
    framer: Browser, engine: Engine, work: int
) -> None:
    earlier = {"finding/1/cause": "acid migration, earlier", "finding/1/change": "unchanged"}
    sightings_sent(framer, work, **earlier)
    assert finding(engine) == (Mechanism.ACID_MIGRATION, CauseMount.EARLIER, None)


def test_that_nobody_can_tell_a_cause_is_kept_with_the_visit(
    framer: Browser, engine: Engine, work: int
) -> None:
    sightings_sent(framer, work, **{"finding/1/cause": "cannot tell"})
    assert finding(engine) == (None, CauseMount.CANNOT_TELL, None)


def test_a_new_finding_needs_one_tap_on_its_mount_for_the_usual_cause(
    framer: Browser, engine: Engine, work: int
) -> None:
    new = {"new/0/term": "foxing", "new/0/severity": "slight", "new/0/mount": "this"}
    sightings_sent(framer, work, **new)
    with read_session(engine) as session:
        row = session.get_one(Finding, 2)
        assert (row.cause_mechanism, row.cause_mount, row.cause_mount_id) == (
            Mechanism.FOXING,
            CauseMount.THIS,
            1,
        )


def test_a_new_finding_without_a_usual_cause_asks_for_it_beside_its_field(
    framer: Browser, engine: Engine, work: int
) -> None:
    page = framer.get(f"/works/{work}/visits/new?kind=look").text
    action = re.search(r'action="(/bench/([^/"]+)/[^"]+)" data-key', page)
    assert action is not None
    new = {"new/0/term": "tear", "new/0/severity": "slight", "new/0/mount": "this"}
    fields = {**fields_of(page, action[1]), **new}
    answer = framer.send_form(f"/bench/{action[2]}/record", fields)
    assert answer.status_code == 422
    assert 'id="fault-new/0/mechanism"' in answer.text
    assert "No cause is usual for tear" in answer.text
