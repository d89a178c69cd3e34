"""On which day was it, as far as anybody knows?

A half-known date is written in EDTF (ISO 8601-2): `2005~` is about 2005, `193X`
some year of the 1930s, `2001/2010` from 2001 to 2010, `../1980` up to 1980,
`XXXX` unknown. Beside the text stand its first and last day, or None where it
is open or unknown. *About* does not widen the bounds: nobody knows by how much.

The `edtf` library says what is well written; the bounds are worked out here,
because the library invents a day for an open end.
"""

import re
from calendar import isleap, month_name, monthrange
from dataclasses import dataclass
from datetime import date
from functools import lru_cache

from edtf import parse_edtf
from edtf.parser.edtf_exceptions import EDTFParseException

from models.errors import BadValue
from models.rules.calendar_days import day_date, day_in_words, day_number, years_between

UNKNOWN = "XXXX"
_RIGHT = (
    "Write a day as 2026-11-20, a month as 2026-11, a year as 2026, about 2005 as 2005~,"
    " the 1930s as 193X, from 2001 to 2010 as 2001/2010, not known as XXXX."
)
_RIGHT_IN_WORDS = (
    "Write a day as 20 November 2026, a month as November 2026, a year as 2026; or about 2005,"
    " 1930s, before 1980, between 2001 and 2010, unknown."
)
_QUALIFIED = "[~?%]?"
_SIMPLE = re.compile(rf"(\d{{4}}|\d{{3}}X|\d{{2}}XX|XXXX)(-\d\d(-\d\d)?)?({_QUALIFIED})")
_WHOLE = re.compile(r"(?<!\d)([1-9]\d{3})-(\d\d)-(\d\d)(?!\d)")
_YEAR = re.compile(r"([\dX]{4})")
_SAYS_UNKNOWN = re.compile(r"[X.,~?%/-]+")
_FIRST_RECORD_DAY = day_number(date(1000, 1, 1))
_MARKS = str.maketrans("", "", "~?%")
_MONTHS = {name.lower(): number for number, name in enumerate(month_name) if name}
# ISO 8601-2: 21-24 are seasons, 25-41 hemispheres, quarters, quadrimesters and halves.
_SPANS = {
    **{21: (3, 5), 22: (6, 8), 23: (9, 11)},
    **{25: (3, 5), 26: (6, 8), 27: (9, 11), 29: (9, 11), 31: (3, 5), 32: (6, 8)},
    **{33: (1, 3), 34: (4, 6), 35: (7, 9), 36: (10, 12)},
    **{37: (1, 4), 38: (5, 8), 39: (9, 12), 40: (1, 6), 41: (7, 12)},
}


@dataclass(frozen=True)
class HalfKnownDate:
    """An EDTF text with the first and last day that it allows (days since 1970-01-01)."""

    edtf: str
    first_day: int | None
    last_day: int | None


def exactly(on: date) -> HalfKnownDate:
    """Return a day that is fully known."""
    return HalfKnownDate(on.isoformat(), day_number(on), day_number(on))


@lru_cache(maxsize=20_000)
def read_date(text: str) -> HalfKnownDate:
    """Read EDTF, levels 0 to 2. Raises BadValue that says how dates are written."""
    if not (_SIMPLE.fullmatch(text) and _is_real(text)):
        # Asked first: the library takes the 29 February of every year.
        missing = _no_such_day(text)
        if missing or not _is_edtf(text):
            raise BadValue(missing or f"{text!r} is not a date. {_RIGHT}")
    first, last = _bounds(text)
    if (first is not None and last is not None and last < first) or _runs_into_years_bc(text):
        raise BadValue(f"{text!r} ends before it starts. {_RIGHT}")
    return HalfKnownDate(text, first, last)


def read_record_date(text: str) -> HalfKnownDate:
    """Read a date at which something can have happened to a work on paper, or unknown.

    Raises BadValue before the year 1000, or beyond the calendar.
    """
    date_ = read_date(text)
    is_open = date_.first_day is None and date_.last_day is None
    too_early = date_.last_day is not None and date_.last_day < _FIRST_RECORD_DAY
    if too_early or (is_open and not _SAYS_UNKNOWN.fullmatch(text)):
        raise BadValue(f"{text!r} is before the year 1000 or beyond the calendar. {_RIGHT}")
    return date_


def _is_real(text: str) -> bool:
    """Say whether month and day exist; only asked of the simple forms."""
    parts = text.translate(_MARKS).split("-")
    if len(parts) == 1:
        return parts[0] != "0000"
    if "X" in parts[0] or parts[0] == "0000" or not 1 <= int(parts[1]) <= 12:
        return False
    return len(parts) == 2 or 1 <= int(parts[2]) <= monthrange(int(parts[0]), int(parts[1]))[1]


def _no_such_day(text: str) -> str:
    """Say which day or month of a well-written date the calendar has not; empty for none."""
    for year, month, day in _WHOLE.findall(text):
        if not 1 <= int(month) <= 12:
            return f"{text!r}: there is no month {int(month)}. Months go from 01 to 12."
        longest = monthrange(int(year), int(month))[1]
        if not 1 <= int(day) <= longest:
            name = f"{month_name[int(month)]} {year}"
            last = f"{longest} {name} ({year}-{month}-{longest})"
            return f"There is no {int(day)} {name}: it has {longest} days, the last is {last}."
    return ""


def _is_edtf(text: str) -> bool:
    # The library trims spaces and lets a reversed season interval through; the standard does not.
    if not text or text != text.strip() or " " in text or len(text) > 100:
        return False
    try:
        parse_edtf(text)
    except (EDTFParseException, ValueError, TypeError, AttributeError, OverflowError):
        return False
    return True


def _runs_into_years_bc(text: str) -> bool:
    start, _, end = text.partition("/")
    return end.startswith("-") and bool(_YEAR.match(start))


def _bounds(text: str) -> tuple[int | None, int | None]:
    if "/" in text:
        start, end = text.split("/", 1)
        return _bounds_of_end(start)[0], _bounds_of_end(end)[1]
    if text[0] in "[{":
        return _bounds_of_set(text[1:-1])
    return _bounds_of_one(text)


def _bounds_of_end(text: str) -> tuple[int | None, int | None]:
    return (None, None) if text in ("", "..") else _bounds_of_one(text)


def _bounds_of_set(inside: str) -> tuple[int | None, int | None]:
    members = [part for chunk in inside.split(",") for part in chunk.split("..") if part]
    found = [_bounds_of_one(member) for member in members]
    firsts = [first for first, _ in found if first is not None]
    lasts = [last for _, last in found if last is not None]
    is_whole = len(firsts) == len(members)
    return (
        min(firsts) if is_whole and not inside.startswith("..") else None,
        max(lasts) if is_whole and not inside.endswith("..") else None,
    )


def _bounds_of_one(text: str) -> tuple[int | None, int | None]:
    """Return the bounds of a date that is no interval and no set."""
    plain = text.split("T", 1)[0].translate(_MARKS)
    if plain.startswith(("Y", "-")) or "S" in plain or plain.startswith(UNKNOWN):
        return _bounds_of_far_year(plain)
    year, *rest = plain.split("-")
    low, high = int(year.replace("X", "0")), int(year.replace("X", "9"))
    if high < 1:
        return None, None
    if rest == ["02", "29"]:
        low, high = _leap_years(year, low, high)
    return _within(max(low, 1), high, rest)


def _leap_years(year: str, low: int, high: int) -> tuple[int, int]:
    """Return the first and the last leap year that "19XX" allows. Raises BadValue for none."""
    allowed = re.compile(year.replace("X", "."))
    leap = [y for y in range(max(low, 1), high + 1) if isleap(y) and allowed.fullmatch(f"{y:04d}")]
    if not leap:
        raise BadValue(f"No year of {year} has a 29 February. {_RIGHT}")
    return leap[0], leap[-1]


def _bounds_of_far_year(plain: str) -> tuple[int | None, int | None]:
    """Years before 1, after 9999, or with significant digits: 1950S2 is 1900 to 1999."""
    significant = re.fullmatch(r"(\d{4})S(\d)", plain)
    if not significant:
        return None, None
    kept = int(significant[2])
    year = significant[1][:kept].ljust(4, "X")
    return _bounds_of_one(year)


def _within(low: int, high: int, rest: list[str]) -> tuple[int, int]:
    if not rest:
        return day_number(date(low, 1, 1)), day_number(date(high, 12, 31))
    month_text, *day_text = rest
    if month_text in ("24", "28", "30"):
        return day_number(date(low, 12, 1)), day_number(date(min(high + 1, 9999), 2, 28))
    first_month, last_month = _months(month_text)
    first_day, last_day = _days(high, last_month, day_text)
    return (
        day_number(date(low, first_month, first_day)),
        day_number(date(high, last_month, last_day)),
    )


def _months(text: str) -> tuple[int, int]:
    if "X" in text:
        return {"1X": (10, 12), "0X": (1, 9)}.get(text, (1, 12))
    number = int(text)
    return _SPANS.get(number, (number, number))


def _days(year: int, month: int, text: list[str]) -> tuple[int, int]:
    longest = monthrange(year, month)[1]
    if not text:
        return 1, longest
    low, high = int(text[0].replace("X", "0")), int(text[0].replace("X", "9"))
    return min(max(low, 1), longest), min(high, longest)


_WORDED: tuple[tuple[re.Pattern[str], str], ...] = (
    (re.compile(r"about (.+)"), "{0}~"),
    (re.compile(r"perhaps (.+)"), "{0}?"),
    (re.compile(r"before (.+)"), "../{0}"),
    (re.compile(r"after (.+)"), "{0}/.."),
    (re.compile(r"(?:between|from) (.+) (?:and|to) (.+)"), "{0}/{1}"),
)
_NO_YEAR = re.compile(r"(\d{1,2}) ([a-z]+)")
_SLASHED = re.compile(r"(\d{1,2})[/.](\d{1,2})[/.](\d{4})")


def from_words(text: str) -> HalfKnownDate:
    """Read what people type: EDTF, "about 2005", "before 1980", "1930s", "20 November 2026".

    Raises BadValue; a date like 03/04/2026 is refused with both of its readings, one like
    27/11/2026 has only one.
    """
    try:
        return _read_words(" ".join(text.split()))
    except BadValue as error:
        # Who types words is told of words; the notation of the standard is taken all the same.
        raise BadValue(error.message.replace(_RIGHT, _RIGHT_IN_WORDS)) from None


def _read_words(plain: str) -> HalfKnownDate:
    low = plain.lower()
    if low in ("unknown", "not known"):
        return read_date(UNKNOWN)
    for pattern, form in _WORDED:
        if told := pattern.fullmatch(low):
            return read_date(form.format(*(_one_from_words(part) for part in told.groups())))
    return read_date(_one_from_words(plain))


def _one_from_words(text: str) -> str:
    low = text.lower()
    if slashed := _SLASHED.fullmatch(low):
        return _by_its_readings(text, *map(int, slashed.groups()))
    if re.fullmatch(r"\d{3}0s", low):
        return f"{low[:3]}X"
    if undated := _NO_YEAR.fullmatch(low):
        if undated[2] in _MONTHS:
            raise BadValue(f"{text!r} has no year: write {text} and the year, such as {text} 2026.")
    *day, month, year = low.split() if len(low.split()) in (2, 3) else ["", "", ""]
    if month in _MONTHS and re.fullmatch(r"\d{4}", year):
        days = [f"{int(number):02d}" for number in day if number.isdigit()]
        return "-".join([year, f"{_MONTHS[month]:02d}", *days])
    return text


def _by_its_readings(text: str, one: int, two: int, year: int) -> str:
    """Return the one day that a slashed date can be. Raises BadValue for two, and for none."""
    readings = [
        (f"{year}-{month:02d}-{number:02d}", f"{number} {month_name[month]}")
        for month, number in dict.fromkeys(((two, one), (one, two)))
        if year and 1 <= month <= 12 and 1 <= number <= monthrange(year, month)[1]
    ]
    if len(readings) == 1:
        return readings[0][0]
    if readings:
        ways = " or ".join(f"{said} ({written})" for written, said in readings)
        raise BadValue(f"{text!r} can be read in two ways: write {ways}.")
    raise BadValue(f"There is no day {text}. {_RIGHT}")


def in_words(date_: HalfKnownDate) -> str:
    """Return the date as people say it; notations that have no short words stay as they are."""
    text = date_.edtf
    if "/" in text:
        return _interval_in_words(*text.split("/", 1))
    return _one_in_words(text)


def _interval_in_words(start: str, end: str) -> str:
    if start in ("", "..") and end in ("", ".."):
        return "unknown"
    if start in ("", ".."):
        return f"before {_one_in_words(end)}" if start == ".." else f"up to {_one_in_words(end)}"
    if end in ("", ".."):
        return f"after {_one_in_words(start)}"
    return f"between {_one_in_words(start)} and {_one_in_words(end)}"


def _one_in_words(text: str) -> str:
    mark = text[-1] if text[-1] in "~?%" else ""
    words = _plain_in_words(text[: len(text) - len(mark)])
    return {"": "", "~": "about ", "?": "perhaps ", "%": "perhaps about "}[mark] + words


def _plain_in_words(text: str) -> str:
    if text == UNKNOWN:
        return "unknown"
    if re.fullmatch(r"\d{3}X", text):
        return f"{text[:3]}0s"
    if re.fullmatch(r"\d{4}-\d\d", text) and int(text[5:]) <= 12:
        return f"{month_name[int(text[5:])]} {text[:4]}"
    if re.fullmatch(r"(?!0000)\d{4}-\d\d-\d\d", text):
        return day_in_words(day_number(date.fromisoformat(text)))
    return text


def is_certainly_before(one: HalfKnownDate, other: HalfKnownDate) -> bool:
    """Say whether every day of one comes before every day of the other."""
    if one.last_day is None or other.first_day is None:
        return False
    return one.last_day < other.first_day


def years_between_first_days(start: HalfKnownDate, end: HalfKnownDate) -> float | None:
    """Return years from first day to first day to one decimal; None where one is not known."""
    if start.first_day is None or end.first_day is None:
        return None
    return round(years_between(start.first_day, end.first_day), 1)


def exact_day(date_: HalfKnownDate) -> date | None:
    """Return the one day that the date allows, None where it allows more."""
    if date_.first_day is None or date_.first_day != date_.last_day:
        return None
    return day_date(date_.first_day)
