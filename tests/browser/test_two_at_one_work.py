"""Two people tell a visit to one work at the same time: the slower sees both states and chooses."""

from pathlib import Path

from playwright.sync_api import Browser, Page, expect

from tests.browser.driven import page, sign_in
from tests.browser.test_bench_job import NAME, PASSWORD
from tests.browser.test_bench_survives import (
    SAVED,
    SLOW_MS,
    a_work,
    begun,
    folder,
    go,
    says,
    visits,
)
from tests.served import command, serving

__all__ = ["folder"]
SECOND, SECOND_PASSWORD = "Fay Invented", "another long password 8"


def finish(shown: Page) -> None:
    shown.get_by_role("button", name="Finish the unframing").click()


def test_the_second_to_finish_sees_both_states_and_tells_theirs_on_top(
    folder: Path, opened: Browser
) -> None:
    command(folder, "person", "add", SECOND, "--role", "framer", given=f"{SECOND_PASSWORD}\n")
    with serving(folder) as served:
        work = a_work(folder, served)
        with (
            page(opened, served.address) as quick,
            page(opened, served.address, may_complain_of="409 (Conflict)") as slow,
        ):
            sign_in(quick, SECOND, SECOND_PASSWORD)
            sign_in(slow, NAME, PASSWORD)
            begun(quick, work)
            begun(slow, work)
            go(slow, "seen")
            slow.fill("[name=summary]", "Torn at the corner.")
            go(slow, "came-off")
            slow.get_by_role("button", name="Freed with water, nothing left").click()
            for question in range(3):
                slow.check(f"[name='wet/{question}'][value=yes]")
            says(slow, SAVED)

            go(quick, "came-off")
            quick.get_by_role("button", name="Lifted out, nothing left").click()
            go(quick, "finish")
            expect(quick.locator("#outcome")).to_contain_text("What comes next", timeout=SLOW_MS)
            finish(quick)
            quick.wait_for_url(f"**/works/{work}?visit=*")

            go(slow, "finish")
            finish(slow)
            both = slow.locator(".refused").filter(has_text="What is on record now")
            expect(both).to_contain_text(f"by {SECOND}", timeout=SLOW_MS)
            expect(both).to_contain_text("no mount")
            expect(both).to_contain_text("What you told")
            expect(both).to_contain_text("water")
            assert slow.input_value("[name=summary]") == "Torn at the corner."
            finish(slow)
            slow.wait_for_url(f"**/works/{work}?visit=*")
            assert "Torn at the corner." in slow.inner_text("main")
    assert visits(folder) == 3
