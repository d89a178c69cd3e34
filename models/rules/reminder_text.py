"""What does a reminder say, when does it go out, and when again after it did not arrive?

Numbers and dates only: a reminder leaves the house, so no owner, value, title or
place is in it. It tells what is overdue and what comes within two weeks, and goes
out once in so many days, never when nothing is due. What did not arrive is sent
again after 5 minutes, 30 minutes, 2, 12 and 24 hours; then it is given up, and
the next one tells the same. A webhook is signed with a secret that both sides know:
HMAC-SHA256 over the time of sending, a line feed and the body (RFC 2104).
"""

import hmac
import json
from dataclasses import dataclass
from datetime import datetime, timedelta

from models.errors import BadValue
from models.rules.calendar_days import day_date, day_in_words
from models.vocabulary import DueKind

# Looking ahead. Default of this project.
AHEAD_DAYS = 14
FEWEST_DAYS, MOST_DAYS = 1, 31
SHORTEST_SECRET, LONGEST_SECRET = 16, 200
# Lines that one reminder tells, and letters of a number: more is for the list.
MOST_LINES, LONGEST_NUMBER = 30, 100
TEST_SUBJECT = "Hingebook: a test"
TEST_LETTER = "This is a test, asked for by a keeper. Reminders arrive here.\n"
TEST_BODY = '{"test":true}'
# Waiting after the first try, the second and so on. Defaults of this project.
BACK_OFF = (
    timedelta(minutes=5),
    timedelta(minutes=30),
    timedelta(hours=2),
    timedelta(hours=12),
    timedelta(hours=24),
)


@dataclass(frozen=True, kw_only=True)
class ReminderLine:
    """One thing due: of a work by its number, or of a box (no number) with so many works."""

    kind: DueKind
    on: int
    is_overdue: bool
    number: str = ""
    works: int = 1

    @property
    def what(self) -> str:
        """The thing, in the words of a list."""
        return self.number or f"a box of {self.works} {'work' if self.works == 1 else 'works'}"


@dataclass(frozen=True)
class Reminder:
    """What one reminder tells; `is_more`: more is due than the lines tell."""

    day: int
    lines: tuple[ReminderLine, ...]
    is_more: bool = False

    @property
    def overdue(self) -> int:
        """How many lines are overdue."""
        return sum(line.is_overdue for line in self.lines)


def goes_out(last_day: int | None, every_days: int, *, today: int) -> bool:
    """Say whether a reminder is to go out today."""
    return last_day is None or last_day + every_days <= today


def subject(reminder: Reminder) -> str:
    """Return the subject of a letter."""
    many = f"{len(reminder.lines)}{'+' if reminder.is_more else ''}"
    late = f", {reminder.overdue} overdue" if reminder.overdue else ""
    return f"Hingebook: {many} due{late}"


def letter(reminder: Reminder) -> str:
    """Return a reminder as plain text, a line for each thing due."""
    said = [_sentence(line) for line in reminder.lines]
    more = ["More is due: see the list."] if reminder.is_more else []
    head = f"Due until {day_in_words(reminder.day + AHEAD_DAYS)}:"
    return "\n".join([head, "", *said, *more, ""])


def body(reminder: Reminder) -> str:
    """Return a reminder as JSON, dates as ISO 8601."""
    told = {
        "day": day_date(reminder.day).isoformat(),
        "overdue": reminder.overdue,
        "more": reminder.is_more,
        "due": [
            {
                "kind": line.kind.value,
                "on": day_date(line.on).isoformat(),
                "overdue": line.is_overdue,
                "number": line.number or None,
                "works": line.works,
            }
            for line in reminder.lines
        ],
    }
    return json.dumps(told, ensure_ascii=False, separators=(",", ":"))


def signature(secret: str, sent_at: str, content: str) -> str:
    """Return the signature of a body that is sent at a time, in hexadecimal digits."""
    return hmac.digest(secret.encode(), f"{sent_at}\n{content}".encode(), "sha256").hex()


def next_try(tries: int, now: datetime) -> datetime | None:
    """Return when to send again after so many tries failed; None when it is given up."""
    return now + BACK_OFF[tries - 1] if tries <= len(BACK_OFF) else None


def require_secret(secret: str) -> str:
    """Return a secret that is long enough to sign with. Raises BadValue."""
    if not SHORTEST_SECRET <= len(secret) <= LONGEST_SECRET:
        right = f"{SHORTEST_SECRET} to {LONGEST_SECRET} characters that nobody can guess."
        raise BadValue.at("/secret", "With this secret nothing can be signed.", right)
    return secret


def require_every_days(days: int) -> int:
    """Return every how many days a reminder goes out. Raises BadValue."""
    if not FEWEST_DAYS <= days <= MOST_DAYS:
        right = f"From {FEWEST_DAYS} to {MOST_DAYS} days."
        raise BadValue.at("/every_days", f"Every {days} days is no rhythm for reminders.", right)
    return days


def require_mail_address(address: str) -> str:
    """Return an address that a letter can go to. Raises BadValue."""
    name, at, host = address.partition("@")
    plain = address.isascii() and address.isprintable() and not set(' ,;:<>()[]"\\') & set(address)
    if not (name and at and "." in host and "@" not in host and plain):
        right = "One address such as studio@example.org."
        raise BadValue.at("/address", f"{address!r} is no e-mail address.", right)
    return address


def _sentence(line: ReminderLine) -> str:
    when = f"by {day_in_words(line.on)}"
    if line.is_overdue:
        # Looks and unframings are reckoned back to days on which nothing was on record.
        is_reckoned = line.kind in (DueKind.LOOK, DueKind.UNFRAMING)
        when = "overdue" if is_reckoned else f"overdue since {day_in_words(line.on)}"
    return f"{line.what}: {line.kind}, {when}"
