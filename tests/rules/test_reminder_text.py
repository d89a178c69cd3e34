"""What a reminder says, and when it goes out."""

import json
from datetime import UTC, date, datetime, timedelta

import pytest

from models.errors import BadValue
from models.rules.calendar_days import day_number
from models.rules.reminder_text import (
    BACK_OFF,
    Reminder,
    ReminderLine,
    body,
    goes_out,
    letter,
    next_try,
    require_every_days,
    require_mail_address,
    require_secret,
    signature,
    subject,
)
from models.vocabulary import DueKind

TODAY = day_number(date(2026, 11, 25))
NOON = datetime(2026, 11, 25, 12, tzinfo=UTC)
LATE = ReminderLine(kind=DueKind.REMAT, on=TODAY - 2, is_overdue=True, number="GH 1994.12")
BOX = ReminderLine(kind=DueKind.BOX_CHECK, on=TODAY + 6, is_overdue=False, works=12)
TOLD = Reminder(TODAY, (LATE, BOX))


def test_a_letter_has_a_line_for_each_thing_due_with_number_and_date() -> None:
    assert letter(TOLD) == (
        "Due until 9 December 2026:\n\n"
        "GH 1994.12: remat, overdue since 23 November 2026\n"
        "a box of 12 works: box check, by 1 December 2026\n"
    )
    assert subject(TOLD) == "Hingebook: 2 due, 1 overdue"


def test_an_overdue_look_is_not_dated_back_to_before_the_record() -> None:
    look = ReminderLine(kind=DueKind.LOOK, on=TODAY - 9000, is_overdue=True, number="GH 7")
    assert letter(Reminder(TODAY, (look,))).splitlines()[-1] == "GH 7: look, overdue"


def test_a_letter_says_that_more_is_due_than_it_tells() -> None:
    cut = Reminder(TODAY, (BOX,), is_more=True)
    assert letter(cut).endswith("1 December 2026\nMore is due: see the list.\n")
    assert subject(cut) == "Hingebook: 1+ due"


def test_a_webhook_tells_the_same_to_a_program() -> None:
    assert json.loads(body(TOLD)) == {
        "day": "2026-11-25",
        "overdue": 1,
        "more": False,
        "due": [
            {
                "kind": "remat",
                "on": "2026-11-23",
                "overdue": True,
                "number": "GH 1994.12",
                "works": 1,
            },
            {
                "kind": "box check",
                "on": "2026-12-01",
                "overdue": False,
                "number": None,
                "works": 12,
            },
        ],
    }


def test_the_signature_is_the_keyed_digest_of_time_and_body() -> None:
    # By OpenSSL 3: printf 't\nwhat' | openssl dgst -sha256 -hmac Jefe
    assert signature("Jefe", "t", "what") == (
        "29ff9d93158b9830c5b5a4ea3d028a98045cfce68382a9149471c7a3837718a9"
    )


def test_a_reminder_goes_out_at_once_and_then_every_so_many_days() -> None:
    assert goes_out(None, 7, today=TODAY)
    assert not goes_out(TODAY - 6, 7, today=TODAY)
    assert goes_out(TODAY - 7, 7, today=TODAY)


def test_what_did_not_arrive_is_sent_again_later_and_later_and_then_given_up() -> None:
    waits = [(next_try(tries, NOON) or NOON) - NOON for tries in range(1, len(BACK_OFF) + 2)]
    hours = [5 / 60, 0.5, 2, 12, 24, 0]
    assert waits == [timedelta(hours=hour) for hour in hours]
    assert next_try(len(BACK_OFF) + 1, NOON) is None


def test_a_short_secret_signs_nothing() -> None:
    assert require_secret("x" * 16) == "x" * 16
    with pytest.raises(BadValue):
        require_secret("x" * 15)


@pytest.mark.parametrize(("days", "is_right"), [(0, False), (1, True), (31, True), (32, False)])
def test_reminders_go_out_between_daily_and_monthly(days: int, is_right: bool) -> None:
    if is_right:
        assert require_every_days(days) == days
        return
    with pytest.raises(BadValue):
        require_every_days(days)


@pytest.mark.parametrize(
    "address", ["", "studio", "a@b", "a@b.c\nBcc: x@y.z", "a@b.c,d@e.f", "a@@b.c", "<a@b.c>"]
)
def test_what_is_no_single_address_gets_no_letters(address: str) -> None:
    with pytest.raises(BadValue):
        require_mail_address(address)


def test_a_plain_address_gets_letters() -> None:
    assert require_mail_address("studio@example.org") == "studio@example.org"
