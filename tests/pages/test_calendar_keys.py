"""The page on which an address for one's own calendar is made."""

import re

from tests.with_app import Browser


def test_an_address_is_shown_once_opens_the_calendar_and_can_be_ended(
    framer: Browser, stranger: Browser
) -> None:
    made = framer.send_form("/due/calendar", {"name": "bench tablet"})
    assert made.status_code == 200
    found = re.search(r"<code>(.*?)</code>", made.text)
    assert found is not None
    address = found.group(1)
    assert stranger.get(address).status_code == 200
    page = framer.get("/due/calendar").text
    assert "bench tablet, since 25 November 2026" in page
    assert address not in page
    assert framer.send_form("/due/calendar/1/end", {}).status_code == 303
    assert stranger.get(address).status_code == 404


def test_an_address_without_a_name_is_refused_beside_the_field(framer: Browser) -> None:
    answer = framer.send_form("/due/calendar", {"name": " "})
    assert answer.status_code == 422
    assert 'id="fault-name"' in answer.text
