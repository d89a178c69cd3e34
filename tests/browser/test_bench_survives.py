"""A visit at the bench survives the network, the server and the tablet going away."""

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, expect

from tests.browser.driven import TABLET, sign_in, sign_out
from tests.browser.test_bench_job import NAME, PASSWORD, _on_record
from tests.served import Served, command, serving

# Nothing takes so long but a machine with much else to do.
SLOW_MS = 20_000
SAVED, AWAY = "Everything saved", "Kept on this tablet, the network is away"


@contextmanager
def tablet(opened: Browser, address: str) -> Iterator[Page]:
    """A tablet of one framer; what its console says of a network that is away is no fault."""
    context = opened.new_context(base_url=address, viewport=TABLET, locale="en-GB")  # type: ignore[arg-type]
    shown = context.new_page()
    faults: list[str] = []
    shown.on("pageerror", lambda error: faults.append(str(error)))
    sign_in(shown, NAME, PASSWORD)
    yield shown
    assert faults == []
    context.close()


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    folder = tmp_path / "data"
    command(folder, "migrate")
    command(folder, "person", "add", NAME, "--role", "keeper", given=f"{PASSWORD}\n")
    return folder


def a_work(folder: Path, served: Served) -> int:
    return _on_record(served.address, command(folder, "token", NAME).strip().split()[-1])


def visits(folder: Path) -> int:
    with sqlite3.connect(next(folder.glob("*.sqlite"))) as book:
        number: int = book.execute("SELECT count(*) FROM visit").fetchone()[0]
    return number


def begun(shown: Page, work: int) -> None:
    shown.goto(f"/works/{work}/visits/new?kind=unframing")
    for question in range(4):
        shown.check(f"[name='stop/{question}'][value=no]")
    says(shown, SAVED)


@contextmanager
def at_seen(folder: Path, opened: Browser) -> Iterator[Page]:
    """An unframing that has begun, at the step where one says what was seen."""
    with serving(folder) as served, tablet(opened, served.address) as shown:
        begun(shown, a_work(folder, served))
        go(shown, "seen")
        yield shown


def says(shown: Page, words: str) -> None:
    expect(shown.locator("#kept")).to_contain_text(words, timeout=SLOW_MS)


def go(shown: Page, step: str) -> None:
    shown.locator(f".step-line button[value={step}]").click()
    expect(shown.locator(f".step[data-step={step}]")).to_be_visible()


def test_the_network_is_cut_in_mid_visit_and_nothing_is_lost(folder: Path, opened: Browser) -> None:
    with serving(folder) as served:
        work = a_work(folder, served)
        with tablet(opened, served.address) as shown:
            begun(shown, work)
            shown.context.set_offline(True)
            go(shown, "seen")
            shown.fill("[name=summary]", "Brown along the left.")
            says(shown, AWAY)
            # On through the steps, although nobody answers.
            go(shown, "finish")
            shown.get_by_role("button", name="Finish the unframing").click()
            says(shown, AWAY)
            shown.context.set_offline(False)
            says(shown, SAVED)
            shown.reload()
            assert shown.input_value("[name=summary]") == "Brown along the left."
            shown.get_by_role("button", name="Finish the unframing").click()
            shown.wait_for_url(f"**/works/{work}?*")
    assert visits(folder) == 2


def test_the_tablet_is_closed_while_the_network_is_away(folder: Path, opened: Browser) -> None:
    with serving(folder) as served:
        work = a_work(folder, served)
        with tablet(opened, served.address) as shown:
            begun(shown, work)
            shown.context.set_offline(True)
            go(shown, "seen")
            shown.fill("[name=summary]", "Brown along the left.")
            says(shown, AWAY)
            shown.goto("about:blank")
            shown.context.set_offline(False)
            shown.goto(f"/works/{work}/visits/new?kind=unframing")
            says(shown, SAVED)
            shown.reload()
            assert shown.input_value("[name=summary]") == "Brown along the left."


def test_the_sign_in_ends_in_mid_visit_and_every_choice_comes_back(
    folder: Path, opened: Browser
) -> None:
    with at_seen(folder, opened) as shown:
        shown.fill("[name='new/0/term']", "mat burn")
        # The last of their groups: what is first there comes back more easily.
        last = ["[name='new/0/severity']", "[name='seen']"]
        for group in last:
            shown.locator(group).last.check()
        says(shown, SAVED)
        other = shown.context.new_page()
        other.goto("/works")
        sign_out(other)
        other.wait_for_url("**/sign-in**")
        shown.fill("[name=summary]", "Brown along the left.")
        says(shown, "your sign-in is over")
        shown.get_by_role("link", name="Sign in again").click()
        shown.fill("[name=name]", NAME)
        shown.fill("[name=password]", PASSWORD)
        shown.click("main button[type=submit]")
        says(shown, SAVED)
        for _ in range(2):
            for group in last:
                expect(shown.locator(group).last).to_be_checked()
            expect(shown.locator("[name=summary]")).to_have_value("Brown along the left.")
            shown.reload()


def test_the_server_is_killed_in_mid_visit_and_comes_back(folder: Path, opened: Browser) -> None:
    with serving(folder) as first:
        work = a_work(folder, first)
        port = int(first.address.rpartition(":")[2])
        with tablet(opened, first.address) as shown:
            begun(shown, work)
            first.kill()
            go(shown, "seen")
            shown.fill("[name='new/0/term']", "mat burn")
            shown.check("[name='new/0/severity'][value=moderate]")
            says(shown, AWAY)
            with serving(folder, port=port):
                says(shown, SAVED)
                go(shown, "finish")
                expect(shown.locator("#outcome")).to_contain_text("mat burn")
                shown.get_by_role("button", name="Finish the unframing").click()
                shown.wait_for_url(f"**/works/{work}?*")
                assert "mat burn" in shown.inner_text("main")
    assert visits(folder) == 2


@contextmanager
def in_two_windows(folder: Path, opened: Browser) -> Iterator[tuple[Page, Page]]:
    """One unframing at the step where one says what was seen, open twice."""
    with at_seen(folder, opened) as one:
        says(one, SAVED)
        two = one.context.new_page()
        two.goto(one.url)
        yield one, two


def test_two_pages_of_one_visit_let_the_person_choose(folder: Path, opened: Browser) -> None:
    with in_two_windows(folder, opened) as (one, two):
        one.fill("[name=summary]", "Foxed.")
        says(one, SAVED)
        two.fill("[name=summary]", "Torn.")
        says(two, "changed this visit elsewhere")
        two.get_by_role("button", name="Look at both").click()
        expect(two.locator(".refused")).to_contain_text("Foxed.", timeout=SLOW_MS)
        expect(two.locator(".refused")).to_contain_text("Torn.")
        two.get_by_role("button", name="Keep what I typed here").click()
        says(two, SAVED)
        one.reload()
        assert one.input_value("[name=summary]") == "Torn."


def test_what_is_typed_in_one_window_after_another_has_finished_is_shown_until_it_is_done_with(
    folder: Path, opened: Browser
) -> None:
    with in_two_windows(folder, opened) as (one, two):
        one.fill("[name=summary]", "Foxed.")
        says(one, SAVED)
        go(one, "finish")
        one.get_by_role("button", name="Finish the unframing").click()
        one.wait_for_url("**/works/1?*")
        two.fill("[name=summary]", "Torn at the left edge.")
        says(two, "Finished in another window")
        two.get_by_role("link", name="See what becomes of it").click()
        two.get_by_text("What was typed", exact=True).click()
        expect(two.get_by_text("Torn at the left edge.")).to_be_visible()
        two.get_by_role("button", name="Throw it away").click()
        two.goto("/works")
        expect(two.get_by_role("heading", name="Works")).to_be_visible()
        expect(two.locator(".notice")).to_have_count(0)


def test_a_yes_skips_what_is_done_to_an_open_package_and_a_second_tap_takes_a_choice_back(
    folder: Path, opened: Browser
) -> None:
    with serving(folder) as served:
        work = a_work(folder, served)
        with tablet(opened, served.address) as shown:
            begun(shown, work)
            shown.check("[name='stop/1'][value=yes]")
            expect(shown.get_by_role("button", name="Came off")).to_be_hidden()
            go(shown, "seen")
            shown.get_by_role("button", name="Save and go on").click()
            expect(shown.locator(".step[data-step=finish]")).to_be_visible()
            go(shown, "seen")
            shown.fill("[name='new/0/term']", "foxing")
            edge = shown.locator("[name='new/0/edge']").first
            edge.check()
            edge.click()
            expect(edge).not_to_be_checked()
            edge.check()
            shown.get_by_role("button", name="clear all of it").click()
            expect(shown.locator("[name='new/0/side'][value=recto]")).to_be_checked()
            says(shown, SAVED)
            shown.reload()
            expect(edge).not_to_be_checked()
            assert shown.input_value("[name='new/0/term']") == ""
            assert shown.locator("[name='new/0/side'][value=recto]").is_checked()


def test_what_is_wrong_stands_beside_its_field_as_soon_as_it_is_looked_through(
    folder: Path, opened: Browser
) -> None:
    with at_seen(folder, opened) as shown:
        shown.fill("[name='new/0/term']", "mat burn")
        shown.check("[name='new/0/severity'][value=slight]")
        shown.check("[name='new/0/edge'][value=left]")
        shown.fill("[name='new/0/mm']", "a thumb")
        go(shown, "finish")
        expect(shown.locator("#outcome")).to_contain_text("cannot be right", timeout=SLOW_MS)
        shown.locator("#outcome").get_by_role("link").first.click()
        wrong = shown.locator(".field.wrong", has=shown.locator("[name='new/0/mm']"))
        expect(wrong.locator(".fault")).to_contain_text("such as 12.5")
        shown.fill("[name='new/0/mm']", "12")
        go(shown, "finish")
        expect(shown.locator("#outcome")).to_contain_text("mat burn", timeout=SLOW_MS)
        expect(shown.locator(".field.wrong")).to_have_count(0)


def test_what_comes_before_water_is_asked_where_one_would_go_on_without_it(
    folder: Path, opened: Browser
) -> None:
    with at_seen(folder, opened) as shown:
        go(shown, "came-off")
        shown.check("[name='dismount/done']")
        shown.locator("select[name$='/freed_by']").first.select_option("water")
        shown.get_by_role("button", name="Save and go on").click()
        expect(shown.get_by_role("alert")).to_contain_text("Before it comes near the work")
        expect(shown.locator("[name='wet/0']").first).to_be_focused()
        # Asked once: what stays open is told of again at Finish, and nothing is recorded without.
        shown.get_by_role("button", name="Save and go on").click()
        expect(shown.locator(".step[data-step=package]")).to_be_visible()
