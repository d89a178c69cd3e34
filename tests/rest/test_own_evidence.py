"""Own evidence as programs see it."""

import pytest
from sqlalchemy import Engine

from models.actions.change_log import recording
from models.actions.own_evidence import renew_experience
from tests.actions.mat_burns import ACID, GROUNDWOOD, a_burn, a_mat_of, opened
from tests.builders import a_work
from tests.with_app import NOON, Browser

OF_GROUNDWOOD = f"{ACID}/{GROUNDWOOD}"
TODAY = 20_782


@pytest.fixture(autouse=True)
def _five_mats(app: object, engine: Engine) -> None:
    """Five groundwood mats seen after 5 years, three of them burnt; two are The Tern House's."""
    with recording(engine, actor="test", now=NOON) as session:
        for nth in range(5):
            owner = "The Gannet House" if nth < 3 else "The Tern House"
            work = a_work(session, number=f"GB {nth}", owner=owner, recorded_on=14_000)
            mount, _ = a_mat_of(session, work)
            visit = opened(session, work, "2015-05-01", seen_margins=True)
            if nth < 3:
                a_burn(session, work, visit, of=mount)
    renew(engine)


def renew(engine: Engine) -> None:
    with recording(engine, actor="test", now=NOON) as session:
        renew_experience(session, TODAY)


def of_groundwood(browser: Browser) -> dict[str, object]:
    items = browser.get("/api/own-evidence").json()["items"]
    (found,) = [item for item in items if item["grade"] == GROUNDWOOD]
    assert isinstance(found, dict)
    return found


def test_default_and_own_experience_stand_side_by_side(program: Browser) -> None:
    found = of_groundwood(program)
    assert (found["mounts"], found["harmed"], found["in_use"], found["typical"]) == (5, 3, True, 7)
    # Five mounts of H = ln 2 * (5 / 7)^2.5 = 0.299 expect 1.49.
    assert found["factor"] == pytest.approx(7 / (4 + 1.494), abs=1e-3)
    assert found["since"] == "2026-11-25"


def test_the_mounts_that_spoke_are_named_to_whoever_may_see_their_works(
    program: Browser, owner: Browser
) -> None:
    asked = {"scope": OF_GROUNDWOOD}
    named = program.get("/api/own-evidence/mounts", params=asked).json()
    assert [one["number"] for one in named["items"]] == ["GB 0", "GB 1", "GB 2", "GB 3", "GB 4"]
    assert {(one["place"], one["found"]) for one in named["items"][:3]} == {
        ("margins", "new or grown")
    }
    own = owner.get("/api/own-evidence/mounts", params=asked).json()
    assert (own["mounts"], [one["number"] for one in own["items"]]) == (5, ["GB 0", "GB 1", "GB 2"])


def test_a_keeper_switches_it_off_and_somebody_slower_is_told(
    program: Browser, engine: Engine
) -> None:
    told = {"scope": OF_GROUNDWOOD, "is_off": True, "reason": "All of one maker"}
    answer = program.patch("/api/own-evidence", json=told, headers={"If-Match": '"0"'})
    assert (answer.status_code, answer.headers["etag"]) == (200, '"1"')
    assert answer.json() == {**told, "version": 1}
    slower = program.patch("/api/own-evidence", json=told, headers={"If-Match": '"0"'})
    assert slower.status_code == 412
    assert of_groundwood(program)["in_use"] is True
    renew(engine)
    assert of_groundwood(program)["in_use"] is False


@pytest.mark.parametrize(
    ("told", "pointer"),
    [
        ({"scope": "acid migration/groundwod board", "reason": "so"}, "/scope"),
        ({"scope": "everything", "reason": "  "}, "/reason"),
    ],
)
def test_a_wrong_switch_is_refused_beside_what_is_wrong(
    program: Browser, told: dict[str, str], pointer: str
) -> None:
    answer = program.patch(
        "/api/own-evidence", json={**told, "is_off": True}, headers={"If-Match": '"0"'}
    )
    assert (answer.status_code, answer.json()["errors"][0]["pointer"]) == (422, pointer)


def test_a_framer_may_not_switch_it(framer: Browser) -> None:
    told = {"scope": "everything", "is_off": True, "reason": "so"}
    headers = {"If-Match": '"0"', "X-Form-Token": framer.form_token}
    assert framer.patch("/api/own-evidence", json=told, headers=headers).status_code == 403
