"""How is what is due written as a calendar?"""

from datetime import UTC, date, datetime

from icalendar import Calendar

from models.exchange.calendar import CalendarEntry, calendar_bytes

MADE_AT = datetime(2026, 11, 25, 9, 30, tzinfo=UTC)


def written(*entries: CalendarEntry) -> bytes:
    return calendar_bytes(entries, name="Due", made_at=MADE_AT)


def test_an_event_is_a_whole_day_that_keeps_nobody_busy() -> None:
    text = written(
        CalendarEntry(uid="abc-look", on=date(2027, 1, 31), summary="H 014: look", sequence=3)
    )
    # RFC 5545 3.6.1: DTEND of an all-day event is the day after; 3.1: lines end with CRLF.
    assert text.decode().split("\r\n") == [
        "BEGIN:VCALENDAR",
        "VERSION:2.0",
        "PRODID:-//Hingebook//Due//EN",
        "METHOD:PUBLISH",
        "NAME:Due",
        "X-WR-CALNAME:Due",
        "REFRESH-INTERVAL;VALUE=DURATION:PT12H",
        "BEGIN:VEVENT",
        "SUMMARY:H 014: look",
        "DTSTART;VALUE=DATE:20270131",
        "DTEND;VALUE=DATE:20270201",
        "DTSTAMP:20261125T093000Z",
        "UID:abc-look@hingebook",
        "SEQUENCE:3",
        "TRANSP:TRANSPARENT",
        "END:VEVENT",
        "END:VCALENDAR",
        "",
    ]


def test_no_line_is_longer_than_75_octets_and_folding_loses_nothing() -> None:
    # RFC 5545 3.1: lines SHOULD NOT be longer than 75 octets, excluding the line break.
    long = "Ü" * 90 + "; a, b\\ c\nd"
    text = written(CalendarEntry(uid="x", on=date(2027, 1, 1), summary="H 1", description=long))
    assert max(len(line) for line in text.split(b"\r\n")) <= 75
    (event,) = Calendar.from_ical(text).walk("VEVENT")
    assert str(event["DESCRIPTION"]) == long


def test_an_empty_calendar_is_still_one() -> None:
    assert len(Calendar.from_ical(written()).walk("VEVENT")) == 0
