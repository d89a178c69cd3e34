"""A walk-round on a tablet: the network goes away, the page is left, and nothing is lost."""

from axe_playwright_python.sync_playwright import Axe  # type: ignore[import-untyped]
from playwright.sync_api import Browser, Locator, Page, Route, expect

from seed_data.demo.register import read_people
from tests.browser.driven import page, sign_in
from tests.served import Served

# Nothing takes so long but a machine with much else to do.
SLOW_MS = 20_000
# Longer than a page waits before it saves.
PAST_THE_PAUSE_MS = 1_500
STAIR, WORKS = "/walk-round/2", 9
FINISH = "[data-finish]"


def signed_in(shown: Page, role: str = "framer") -> None:
    person = next(person for person in read_people() if person.role == role)
    sign_in(shown, person.name, person.password)


def answer(shown: Page, nth: int, words: str) -> Locator:
    """Tap one answer of the nth work."""
    work = shown.locator("[data-work]").nth(nth)
    work.locator("label.answer", has_text=words).click()
    return work


def says(shown: Page, words: str) -> None:
    expect(shown.locator("#kept")).to_contain_text(words, timeout=SLOW_MS)


def test_the_network_is_cut_in_mid_walk_and_the_walk_is_recorded_once(
    demo: Served, opened: Browser
) -> None:
    with page(opened, demo.address, may_complain_of="Failed to load resource") as shown:
        signed_in(shown)
        shown.goto(STAIR)
        answer(shown, 0, "as before")
        different = answer(shown, 1, "different")
        different.get_by_label("In words").fill("A brown line along the left.")
        says(shown, "Everything saved")
        # The page is left and comes back: by a lid that was closed, by a tab that was.
        shown.goto("about:blank")
        shown.goto(STAIR)
        expect(shown.locator("[data-gone-on-with]")).to_contain_text(f"2 of {WORKS} answered")
        expect(shown.locator("[data-progress]")).to_have_text(f"2 of {WORKS}")
        expect(different.get_by_label("In words")).to_have_value("A brown line along the left.")
        shown.context.set_offline(True)
        answer(shown, 2, "not looked at")
        shown.get_by_role("button", name="All the rest as before").click()
        expect(shown.locator("[data-progress]")).to_have_text(f"{WORKS} of {WORKS}")
        different.get_by_label("In words").fill("")
        shown.locator(FINISH).click()
        says(shown, "Say what is different of")
        shown.keyboard.type("A brown line along the left.")
        shown.locator(FINISH).click()
        says(shown, "It is sent as soon as it is back")
        shown.context.set_offline(False)
        shown.wait_for_url("**/walk-round?walk=*", timeout=SLOW_MS)
        told = shown.locator(".recorded").inner_text()
        assert f"{WORKS - 1} works looked at, 1 not as before" in told
        assert "Not looked at: " in told
        assert "Next look" in told
        assert shown.evaluate("Object.keys(localStorage).filter(n => n.includes('walk'))") == []


def test_one_goes_on_upon_another_tablet_and_two_tablets_walk_one_round(
    demo: Served, opened: Browser
) -> None:
    with (
        page(opened, demo.address) as one,
        page(opened, demo.address, may_complain_of="409 (Conflict)") as other,
    ):
        for shown in (one, other):
            signed_in(shown)
            shown.goto("/walk-round/4")
        answer(one, 0, "not found")
        says(one, "Everything saved")
        # The other opened the room before anything was answered in it.
        differs = answer(other, 1, "different")
        differs.get_by_label("In words").fill("A brown line.")
        expect(other.locator("[data-work]").nth(0).locator(":checked")).to_have_value("not found")
        answer(other, 0, "as before")
        says(other, "Everything saved")
        answer(one, 0, "not looked at")
        contradiction = one.locator(".elsewhere")
        expect(contradiction).to_contain_text("On another tablet: as before", timeout=SLOW_MS)
        expect(one.locator("[data-work]").nth(1).get_by_label("In words")).to_have_value(
            "A brown line."
        )
        assert Axe().run(one).response["violations"] == []
        # Nobody has chosen yet: the page asks again however often it is opened.
        for _ in range(2):
            one.reload()
            expect(contradiction).to_contain_text("On another tablet: as before", timeout=SLOW_MS)
            mine = one.locator("[data-work]").nth(0).locator(":checked")
            expect(mine).to_have_value("not looked at")
            one.goto("/walk-round")
            one.get_by_text("answers on this tablet not sent yet").wait_for()
            one.goto("/walk-round/4")
        expect(contradiction).to_contain_text("On another tablet: as before", timeout=SLOW_MS)
        # Who goes on answering there has not chosen: what the other told is not written over.
        answer(one, 0, "not found")
        one.wait_for_timeout(PAST_THE_PAUSE_MS)
        expect(contradiction).to_contain_text("On another tablet: as before")
        contradiction.get_by_role("button", name="Take that").click()
        says(one, "Everything saved")
        one.get_by_role("button", name="All the rest as before").click()
        one.locator(FINISH).click()
        one.wait_for_url("**/walk-round?walk=*", timeout=SLOW_MS)
        expect(one.locator(".recorded")).to_contain_text("1 not as before")
        # Recorded once: the other is told so, and led to what its round became.
        answer(other, 0, "not found")
        other.get_by_text("This walk was finished on another tablet.").wait_for()
        answer(other, 0, "as before")
        other.get_by_role("button", name="All the rest as before").click()
        other.locator(FINISH).click()
        expect(other.locator(".quicker, .recorded").first).to_contain_text(
            "1 not as before", timeout=SLOW_MS
        )


def test_what_is_answered_while_a_save_is_under_way_writes_over_nobody(
    demo: Served, opened: Browser
) -> None:
    with page(opened, demo.address) as one, page(opened, demo.address) as other:
        for shown in (one, other):
            signed_in(shown)
            shown.goto("/walk-round/6")
        answer(one, 0, "not found")
        says(one, "Everything saved")
        held: list[Route] = []
        other.route("**/answers", lambda route: held.append(route), times=1)
        answer(other, 1, "as before")
        other.wait_for_timeout(PAST_THE_PAUSE_MS)
        answer(other, 0, "as before")
        held[0].continue_()
        contradiction = other.locator(".elsewhere")
        expect(contradiction).to_contain_text("On another tablet: not found", timeout=SLOW_MS)
        contradiction.get_by_role("button", name="Keep this one").click()
        says(other, "Everything saved")
        one.reload()
        expect(one.locator("[data-work]").nth(0).locator(":checked")).to_have_value("as before")


def test_an_answer_that_was_lost_is_asked_for_again_and_records_once(
    demo: Served, opened: Browser
) -> None:
    with page(opened, demo.address, may_complain_of="Failed to load resource") as shown:
        signed_in(shown)
        shown.goto("/walk-round/3")
        shown.get_by_role("button", name="All the rest as before").click()
        shown.route(
            "**/walk-round/3",
            lambda route: (route.fetch(max_redirects=0), route.abort())[1],
            times=1,
        )
        shown.locator(FINISH).click()
        says(shown, "the network is away")
        shown.reload()
        shown.wait_for_url("**/walk-round?walk=*", timeout=SLOW_MS)
        first = shown.url
        shown.goto("/walk-round/3")
        expect(shown.locator("[data-progress]")).to_have_text("0 of 3")
        last = shown.locator("[name=last_walk]").get_attribute("value")
        assert first.endswith(f"walk={last}")


def test_a_room_is_walked_round_by_the_keyboard_alone(demo: Served, opened: Browser) -> None:
    with page(opened, demo.address) as shown:
        signed_in(shown)
        shown.goto("/walk-round/5")
        count = shown.locator("[data-work]").count()
        shown.locator(FINISH).focus()
        shown.keyboard.press("Enter")
        says(shown, f"{count} works have no answer yet")
        for _ in range(count):
            expect(shown.locator(".answer :focus")).to_have_count(1)
            shown.keyboard.press("Space")
            shown.locator("[data-next]:visible, [data-finish]").first.focus()
            shown.keyboard.press("Enter")
        shown.wait_for_url("**/walk-round?walk=*", timeout=SLOW_MS)
        said = f"{count} works looked at, all as before"
        expect(shown.locator(".recorded")).to_contain_text(said)


def test_two_walk_round_the_same_room_and_neither_is_written_over(
    demo: Served, opened: Browser
) -> None:
    with (
        page(opened, demo.address, may_complain_of="409") as one,
        page(opened, demo.address) as two,
    ):
        signed_in(one)
        signed_in(two, "keeper")
        for shown in (one, two):
            shown.goto("/walk-round/14")
            shown.get_by_role("button", name="All the rest as before").click()
        one_differs = answer(one, 0, "different")
        one_differs.get_by_label("In words").fill("Condensation inside.")
        two.locator(FINISH).click()
        two.wait_for_url("**/walk-round?walk=*", timeout=SLOW_MS)
        one.locator(FINISH).click()
        quicker = one.locator(".quicker")
        expect(quicker).to_contain_text("3 works looked at, all as before", timeout=SLOW_MS)
        expect(one_differs.get_by_label("In words")).to_have_value("Condensation inside.")
        assert Axe().run(one).response["violations"] == []
        quicker.get_by_role("button", name="Record mine as well").click()
        one.wait_for_url("**/walk-round?walk=*", timeout=SLOW_MS)
        expect(one.locator(".recorded")).to_contain_text("1 not as before")


def test_without_scripts_one_form_does_the_same(demo: Served, opened: Browser) -> None:
    with page(opened, demo.address, with_scripts=False) as shown:
        signed_in(shown)
        shown.goto("/due?place=10")
        shown.get_by_role("link", name="Check this box").click()
        answer(shown, 0, "not found")
        shown.get_by_role("button", name="All the rest as before").click()
        expect(shown.locator(".rest-said")).to_contain_text("2 works without an answer are now")
        shown.locator(FINISH).click()
        shown.wait_for_url("**/walk-round?walk=*")
        expect(shown.locator(".recorded")).to_contain_text("2 works looked at, all as before")
