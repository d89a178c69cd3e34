"""What is photographed at a visit stands in its step: taken anew, taken away, and no words yet."""

from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, expect

from tests.browser.driven import page, sign_in
from tests.browser.test_bench_job import NAME, PASSWORD
from tests.browser.test_bench_survives import SLOW_MS, a_work, begun, folder, go
from tests.exchange.pictures import as_file, four_colours
from tests.served import serving

__all__ = ["folder"]


@pytest.fixture
def picture(tmp_path: Path) -> Path:
    file = tmp_path / "back.jpg"
    file.write_bytes(as_file(four_colours()))
    return file


def take(shown: Page, picture: Path, label: str) -> None:
    shown.locator(".take-one", has_text=label).first.locator("input").set_input_files(picture)


def test_a_photograph_is_taken_taken_anew_and_taken_away_and_words_come_later(
    folder: Path, picture: Path, opened: Browser
) -> None:
    with serving(folder) as served:
        work = a_work(folder, served)
        with page(opened, served.address) as shown:
            sign_in(shown, NAME, PASSWORD)
            begun(shown, work)
            go(shown, "photographs")
            taken = shown.locator(".taken li")
            take(shown, picture, "Back off")
            expect(taken).to_have_count(1, timeout=SLOW_MS)
            expect(taken).to_contain_text("Verso, back off")
            first = taken.locator("a").get_attribute("href")
            with shown.expect_file_chooser() as chooser:
                shown.get_by_role("button", name="Take anew: Verso, back off").click()
            chooser.value.set_files(picture)
            expect(shown.locator(f".taken a[href='{first}']")).to_have_count(0, timeout=SLOW_MS)
            expect(taken).to_have_count(1)
            take(shown, picture, "Mat lifted")
            expect(taken).to_have_count(2, timeout=SLOW_MS)
            shown.get_by_role("button", name="Take away: Recto, mat lifted").click()
            expect(taken).to_have_count(1, timeout=SLOW_MS)
            shown.get_by_role("button", name="Put it back").click()
            expect(taken).to_have_count(2, timeout=SLOW_MS)
            shown.get_by_role("button", name="Take away: Recto, mat lifted").click()
            expect(taken).to_have_count(1, timeout=SLOW_MS)

            shown.get_by_role("button", name="Photographs now, words later").click()
            expect(shown.locator("#outcome")).to_contain_text(
                "goes on the list to write up", timeout=SLOW_MS
            )
            shown.get_by_role("button", name="Finish the unframing").click()
            shown.wait_for_url(f"**/works/{work}?visit=*")
            expect(shown.locator("main .strip li")).to_have_count(1)
