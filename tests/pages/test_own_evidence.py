"""The page of own evidence: default beside own experience, in words."""

import re
from collections.abc import Callable

import pytest
from sqlalchemy import Engine
from sqlmodel import select

from api.pages.own_evidence import how_often
from models.actions.change_log import recording
from models.actions.own_evidence import renew_experience
from models.database import read_session
from models.tables.own_evidence import ExperienceSwitch
from tests.actions.mat_burns import ACID, GROUNDWOOD, a_burn, a_mat_of, opened
from tests.builders import a_work
from tests.pages.page_read import text_of
from tests.with_app import NOON, Browser

TODAY = 20_782
GRADE = f"/own-evidence/grade?of={ACID}/{GROUNDWOOD}".replace(" ", "%20")


def mats(engine: Engine, *, burnt: int, clear: int) -> None:
    """Groundwood mats seen after five years; the first work is The Gannet House's."""
    with recording(engine, actor="test", now=NOON) as session:
        for nth in range(burnt + clear):
            owner = "The Tern House" if nth else "The Gannet House"
            work = a_work(session, number=f"GB {nth}", owner=owner, recorded_on=14_000)
            mount, _ = a_mat_of(session, work)
            visit = opened(session, work, "2015-05-01", seen_margins=True)
            if nth < burnt:
                a_burn(session, work, visit, of=mount)
        renew_experience(session, TODAY)


def test_the_page_says_in_words_what_the_mounts_say(keeper: Browser, engine: Engine) -> None:
    mats(engine, burnt=3, clear=2)
    page = keeper.get("/own-evidence")
    said = text_of(page.text)
    assert (
        "3 of 5 mounts were found marked where 1.5 were expected: 1.3 times as often as by the"
        " default; 90 % between 0.6 and 2.2 times." in said
    )
    assert "Typical time by the default 7 years at 20 °C, 50 %, as now used 6.35." in said
    assert "Used as of 25 November 2026." in said
    assert 'class="often-between"' in page.text


def test_under_five_mounts_there_is_a_count_and_nothing_else(
    keeper: Browser, engine: Engine
) -> None:
    mats(engine, burnt=1, clear=0)
    page = keeper.get("/own-evidence")
    assert "1 mount speaks of it so far: too few to be shown." in text_of(page.text)
    assert "often-between" not in page.text


def test_an_empty_house_is_told_what_makes_a_mount_speak(owner: Browser) -> None:
    assert "No mount has said anything yet" in owner.get("/own-evidence").text


def test_the_mounts_that_spoke_are_links_and_an_owner_sees_their_own_alone(
    keeper: Browser, owner: Browser, engine: Engine
) -> None:
    mats(engine, burnt=3, clear=2)
    assert re.findall(r"GB \d", keeper.get(GRADE).text) == ["GB 0", "GB 1", "GB 2", "GB 3", "GB 4"]
    own = owner.get(GRADE).text
    assert (re.findall(r"GB \d", own), "/own-evidence/switch" in own) == (["GB 0"], False)
    assert "3 of 5 mounts" in text_of(own)


@pytest.mark.parametrize("scope", ["everything", f"{ACID}/{GROUNDWOOD}"])
def test_a_keeper_switches_it_off_with_a_reason(
    keeper: Browser, engine: Engine, scope: str
) -> None:
    mats(engine, burnt=3, clear=2)
    told: dict[str, str | list[str]] = {"scope": scope, "switch": "off", "version": "0"}
    blank = keeper.send_form("/own-evidence/switch", {**told, "reason": ""})
    assert (blank.status_code, 'id="fault-reason"' in blank.text) == (422, True)
    done = keeper.send_form("/own-evidence/switch", {**told, "reason": "All of one maker"})
    assert done.status_code == 303
    assert "Switched off: All of one maker." in text_of(keeper.get(done.headers["location"]).text)
    slower = keeper.send_form("/own-evidence/switch", {**told, "reason": "Another"})
    assert (slower.status_code, 'value="Another"' in slower.text) == (409, True)
    with read_session(engine) as session:
        kept = session.exec(select(ExperienceSwitch)).one()
        assert (kept.scope, kept.is_off, kept.reason) == (scope, True, "All of one maker")


def test_a_grade_that_there_is_not_is_not_found(keeper: Browser) -> None:
    assert keeper.get("/own-evidence/grade?of=acid%20migration/blotting").status_code == 404
    assert keeper.get("/own-evidence/grade").status_code == 404


def test_few_statements_however_many_mounts(
    keeper: Browser, engine: Engine, statements_of: Callable[[Browser, str], int]
) -> None:
    mats(engine, burnt=3, clear=9)
    assert statements_of(keeper, "/own-evidence") <= 12
    assert statements_of(keeper, GRADE) <= 12


def test_materials_due_and_the_policy_lead_to_it(keeper: Browser) -> None:
    for path in ("/materials", "/due", "/policy"):
        assert 'href="/own-evidence"' in keeper.get(path).text


@pytest.mark.parametrize(
    ("factor", "said"),
    [
        (1.04, "about as often as by the default"),
        (2.0, "2.0 times as often as by the default"),
        (0.4, "0.4 times as often as by the default"),
    ],
)
def test_a_factor_is_said_in_words(factor: float, said: str) -> None:
    assert how_often(factor) == said
