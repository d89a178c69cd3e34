"""How is what is due written as a calendar (iCalendar, RFC 5545)?

One all-day event for each date of each work. Its UID stays the same as long as the
work is on record, and SEQUENCE rises when a date moves, so that a calendar that has the
old date takes the new one. Numbers only: never an owner, a value or a place.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from icalendar import Calendar, Event

PRODUCT = "-//Hingebook//Due//EN"
# What comes after @ in a UID; RFC 7986 asks for no more than that it is unlike any other.
UID_DOMAIN = "hingebook"
# How often a calendar should ask again.
REFRESH = timedelta(hours=12)


@dataclass(frozen=True, kw_only=True)
class CalendarEntry:
    """One all-day event. `uid` is unique within the calendar, `sequence` counts its moves."""

    uid: str
    on: date
    summary: str
    description: str = ""
    sequence: int = 0


def calendar_bytes(entries: Iterable[CalendarEntry], *, name: str, made_at: datetime) -> bytes:
    """Return the calendar as UTF-8 with CRLF; `made_at` is aware and becomes each DTSTAMP."""
    calendar = Calendar()
    calendar.add("prodid", PRODUCT)
    calendar.add("version", "2.0")
    calendar.add("method", "PUBLISH")
    calendar.add("name", name)
    calendar.add("x-wr-calname", name)
    calendar.add("refresh-interval", REFRESH, parameters={"VALUE": "DURATION"})
    for entry in entries:
        calendar.add_component(_event(entry, made_at))
    return bytes(calendar.to_ical())


def _event(entry: CalendarEntry, made_at: datetime) -> Event:
    event = Event()
    event.add("uid", f"{entry.uid}@{UID_DOMAIN}")
    event.add("dtstamp", made_at)
    event.add("dtstart", entry.on)
    event.add("dtend", entry.on + timedelta(days=1))
    event.add("summary", entry.summary)
    if entry.description:
        event.add("description", entry.description)
    event.add("sequence", entry.sequence)
    # A day on which something is due keeps nobody from meeting anybody.
    event.add("transp", "TRANSPARENT")
    return event
