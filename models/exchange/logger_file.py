"""What does the file of a climate logger say, however its program wrote it?

Loggers write what their makers fancy: text in three encodings, parted by commas,
semicolons or tabs, decimals with a comma, dates with the day or the month first, lines
about the instrument before the figures, headings in any language. All of that is found
out from the content; what the content leaves open (01/02 is a day in January or in
February) is asked, never guessed. A row that cannot be right is refused with its reason
and counted; the others are kept. Moments come out in UTC, readings in degC, % RH, lux and
microwatts of UV per lumen.
"""

import csv
import io
import re
import zipfile
from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from datetime import UTC, date, datetime, time, timedelta
from enum import StrEnum
from itertools import islice, pairwise
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

import numpy as np
from numpy.typing import NDArray
from python_calamine import CalamineError, CalamineWorkbook

from models.errors import BadValue

Seconds = NDArray[np.int64]
Floats = NDArray[np.float64]
Row = Sequence[str]

# Beyond these a sensor is broken or a column is another one. Lowest, highest.
TEMPERATURE_C = (-30.0, 60.0)
RH_PERCENT = (0.0, 100.0)
LUX = (0.0, 120_000.0)
UV_UW_PER_LM = (0.0, 2_000.0)
# Before this a logger's clock was never set.
EARLIEST_YEAR = 1980
# Five years at five minutes are 526,000 rows.
MOST_ROWS = 600_000
MOST_COLUMNS = 60
# What a spreadsheet may hold in all when it is unpacked: a small file can claim far more.
MOST_UNPACKED_BYTES = 400_000_000
LONGEST_CELL = 200

_SNIFFED_ROWS = 400
_FIRST_ROWS_SHOWN = 6
_ROWS_NAMED = 3
_SECONDS_A_DAY = 86_400
# Offsets of clocks change at whole quarters of an hour, everywhere and always since 1980.
_QUARTER_S = 900
# Without a heading that says so: rooms are hardly ever warmer than 30 degC or colder than 45 degF.
_SURELY_CELSIUS_BELOW, _SURELY_FAHRENHEIT_ABOVE = 30.0, 45.0


class DateOrder(StrEnum):
    """How a date is written."""

    YEAR_FIRST = "year first"
    DAY_FIRST = "day first"
    MONTH_FIRST = "month first"


class Unit(StrEnum):
    """In what temperature is written."""

    CELSIUS = "°C"
    FAHRENHEIT = "°F"


class DecimalSign(StrEnum):
    """What stands before the tenths."""

    POINT = "point"
    COMMA = "comma"


class LoggerClock(StrEnum):
    """Whether the logger's clock goes with summer time."""

    AS_ON_THE_WALL = "as on the wall"
    WINTER_TIME = "winter time all year"


class Quantity(StrEnum):
    """What a column can hold."""

    MOMENT = "date"
    TIME = "time"
    TEMPERATURE = "temperature"
    RH = "humidity"
    LUX = "lux"
    UV = "UV"


READ = (Quantity.TEMPERATURE, Quantity.RH, Quantity.LUX, Quantity.UV)


class Reason(StrEnum):
    """Why a row is refused, as it is shown."""

    NO_MOMENT = "no date and time that can be read"
    NOT_SET = "before 1980: the logger's clock was not set"
    LATER = "later than now"
    LEFT_OUT = "a time that was left out when the clocks went forward"
    NO_FIGURE = "no figure in it"
    NO_NUMBER = "a figure that is no number"
    TEMPERATURE = "a temperature below -30 or above 60 °C"
    RH = "a humidity below 0 or above 100 %"
    LUX = "light below 0 or above 120,000 lx"
    UV = "UV below 0 or above 2,000 µW/lm"
    TWICE = "the same reading a second time"
    CONTRADICTS = "another figure for a moment that an earlier row has"


@dataclass(frozen=True, kw_only=True)
class Choices:
    """What a person says of a file; None leaves it to the file. `columns` counts from 0."""

    time_zone: str = "UTC"
    clock: LoggerClock = LoggerClock.AS_ON_THE_WALL
    date_order: DateOrder | None = None
    unit: Unit | None = None
    decimal: DecimalSign | None = None
    columns: tuple[tuple[Quantity, int], ...] | None = None
    not_after: int | None = None


@dataclass(frozen=True)
class Refused:
    """How many rows are refused for a reason, and which come first (1 is the file's first row)."""

    reason: Reason
    count: int
    first_rows: tuple[int, ...]


@dataclass(frozen=True)
class FirstRow:
    """One of the first rows: as it is written, and as it is understood."""

    written: tuple[str, ...]
    moment: str
    figures: tuple[float | None, ...]


@dataclass(frozen=True, kw_only=True)
class Understood:
    """How a file was read. What stands in `open` must be chosen before it can be imported."""

    kind: str
    headings: tuple[str, ...]
    columns: tuple[tuple[Quantity, int], ...]
    first_data_row: int
    date_order: DateOrder | None
    unit: Unit | None
    decimal: DecimalSign
    open: tuple[str, ...] = ()
    is_unit_guessed: bool = False


@dataclass(frozen=True, kw_only=True)
class LoggerFile:
    """A file as read: UTC seconds in rising order, and a figure or NaN of each kind."""

    how: Understood
    rows: int
    refused: tuple[Refused, ...] = ()
    first: tuple[FirstRow, ...] = ()
    times_told_apart: int = 0
    seconds: Seconds = field(default_factory=lambda: np.empty(0, np.int64))
    figures: Floats = field(default_factory=lambda: np.empty((0, len(READ))))

    @property
    def refused_rows(self) -> int:
        """How many rows are refused."""
        return sum(one.count for one in self.refused)


def known_zone(name: str) -> ZoneInfo:
    """Return a time zone by its name. Raises BadValue for one that is not known."""
    try:
        return ZoneInfo(name)
    except (ZoneInfoNotFoundError, ValueError, OSError):
        message = f"{name!r} is no known time zone."
        raise BadValue.at("/time_zone", message, "Give one like Europe/Lisbon.") from None


def read_logger_file(content: bytes, choices: Choices) -> LoggerFile:
    """Return what a file says.

    Raises BadValue when it holds no readings or cannot be read at all. Call it through
    `models.exchange.read_apart` for files that people send.
    """
    zone = known_zone(choices.time_zone)
    table = _spreadsheet(content) if content.startswith(b"PK\x03\x04") else _text_table(content)
    how = _chosen(table, choices)
    if how.open:
        return LoggerFile(
            how=how, rows=len(table.rows), first=tuple(_unread(r) for r in _first(table))
        )
    return _read(table, how, choices, zone)


# --- which cells there are ------------------------------------------------------------------


@dataclass(frozen=True)
class _Table:
    """The rows from the first reading on, and the headings of their columns."""

    kind: str
    headings: tuple[str, ...]
    rows: Sequence[Row]
    first_row: int
    kinds: tuple[str, ...]


def _text_table(content: bytes) -> _Table:
    encoding, text = _decoded(content)
    text = text.replace("\r\n", "\n").replace("\r", "\n").replace("\0", "")
    found = [
        (tried.score, name, sign)
        for name, sign in (("semicolons", ";"), ("tabs", "\t"), ("commas", ","))
        if (tried := _start(list(islice(_split(text, sign), _SNIFFED_ROWS)))) is not None
    ]
    if not found:
        raise _no_readings()
    _score, name, sign = max(found, key=lambda one: one[0])
    rows = list(islice(_split(text, sign), MOST_ROWS + _SNIFFED_ROWS))
    return _table(f"text, {encoding}, parted by {name}", rows)


def _decoded(content: bytes) -> tuple[str, str]:
    if content.startswith((b"\xff\xfe", b"\xfe\xff")):
        return "UTF-16", content.decode("utf-16", errors="replace")
    if content.startswith(b"\xef\xbb\xbf"):
        return "UTF-8", content.decode("utf-8-sig", errors="replace")
    head = content[:2000]
    if head.count(0) > len(head) // 4:
        little = head[1::2].count(0) >= head[::2].count(0)
        return "UTF-16", content.decode("utf-16-le" if little else "utf-16-be", errors="replace")
    try:
        return "UTF-8", content.decode()
    except UnicodeDecodeError:
        return "Windows-1252", content.decode("cp1252", errors="replace")


def _split(text: str, sign: str) -> Iterator[Row]:
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=sign)
    try:
        for row in reader:
            yield row[:MOST_COLUMNS]
    except csv.Error:
        return


def _spreadsheet(content: bytes) -> _Table:
    _refuse_what_unpacks_too_large(content)
    try:
        book = CalamineWorkbook.from_filelike(io.BytesIO(content))
        for name in book.sheet_names:
            sheet = book.get_sheet_by_name(name)
            rows = [_as_text(row) for row in islice(sheet.iter_rows(), MOST_ROWS + _SNIFFED_ROWS)]
            if _start(rows[:_SNIFFED_ROWS]) is not None:
                return _table(f"spreadsheet, sheet “{name}”", rows)
    except (CalamineError, ValueError, OSError) as error:
        raise _unreadable() from error
    raise _no_readings()


_DIMENSION = re.compile(rb'<(?:\w+:)?dimension\b[^>]*\bref="([A-Z]+)?(\d+)?(?::([A-Z]+)(\d+))?"')


def _refuse_what_unpacks_too_large(content: bytes) -> None:
    """Raise BadValue for a spreadsheet that claims more than any logger writes."""
    try:
        with zipfile.ZipFile(io.BytesIO(content)) as packed:
            parts = packed.infolist()
            if sum(part.file_size for part in parts) > MOST_UNPACKED_BYTES:
                raise _too_large()
            for part in parts:
                if part.filename.startswith("xl/worksheets/"):
                    with packed.open(part) as sheet:
                        _refuse_dimension(sheet.read(4_000))
    except (zipfile.BadZipFile, NotImplementedError, RuntimeError, OSError, EOFError) as error:
        raise _unreadable() from error
    except zipfile.zlib.error as error:  # type: ignore[attr-defined]
        raise _unreadable() from error


def _refuse_dimension(head: bytes) -> None:
    found = _DIMENSION.search(head)
    if found is None or found.group(3) is None:
        return
    width = 0
    for letter in found.group(3)[:6]:
        width = width * 26 + letter - ord("A") + 1
    if int(found.group(4)[:12]) > MOST_ROWS or width > MOST_COLUMNS * 10:
        raise _too_large()


def _as_text(row: Iterable[object]) -> tuple[str, ...]:
    return tuple(_cell_as_text(cell) for cell in islice(row, MOST_COLUMNS))


def _cell_as_text(cell: object) -> str:
    if isinstance(cell, datetime):
        # A serial number of days is off by some microseconds.
        return (cell + timedelta(milliseconds=500)).replace(microsecond=0).isoformat(" ")
    if isinstance(cell, date):
        return cell.isoformat()
    if isinstance(cell, time):
        return cell.isoformat("seconds")
    return str(cell)


def _unreadable() -> BadValue:
    return BadValue.at("/file", "This file cannot be read.", "Send it as CSV, TSV or XLSX.")


def _no_readings() -> BadValue:
    message = "There are no readings in this file: no rows with a date, a time and figures."
    return BadValue.at("/file", message, "Send the logger's file as CSV, TSV or XLSX.")


def _too_large() -> BadValue:
    message = "This spreadsheet claims more cells than a logger writes."
    return BadValue.at("/file", message, "Save the readings alone, or send them as CSV.")


# --- where the readings begin ---------------------------------------------------------------


@dataclass(frozen=True)
class _Start:
    row: int
    kinds: tuple[str, ...]
    score: float


def _start(rows: Sequence[Row]) -> _Start | None:
    """Return where the first two rows of readings stand; None where there are none."""
    kinds = [tuple(map(_kind_of, row)) for row in rows]
    good = [_is_reading(one) for one in kinds]
    for at, is_good in enumerate(good):
        following = next((n for n in range(at + 1, len(rows)) if any(rows[n])), None)
        if is_good and (following is None or good[following]):
            return _Start(at, kinds[at], sum(good) * 100 + len(kinds[at]))
    return None


def _kind_of(cell: str) -> str:
    cell = cell.strip()[:LONGEST_CELL]
    if not cell:
        return "empty"
    day, clock = _parted(cell)
    if _DATE.fullmatch(day):
        return "date" if not clock else "moment" if _TIME.fullmatch(clock) else "word"
    if _NUMBER.fullmatch(cell):
        return "number"
    return "time" if _TIME.fullmatch(cell) else "word"


def _is_reading(kinds: Sequence[str]) -> bool:
    has_moment = "moment" in kinds or ("date" in kinds and "time" in kinds)
    return has_moment and ("number" in kinds)


def _table(kind: str, rows: Sequence[Row]) -> _Table:
    start = _start(rows[:_SNIFFED_ROWS])
    if start is None:
        raise _no_readings()
    readings = rows[start.row :]
    if len(readings) > MOST_ROWS:
        raise BadValue.at(
            "/file", f"This file has more than {MOST_ROWS:,} rows.", "Send it by year."
        )
    return _Table(kind, _headings(rows, start), readings, start.row + 1, _usual_kinds(readings))


def _usual_kinds(readings: Sequence[Row]) -> tuple[str, ...]:
    """Return what each column mostly holds at first; a sensor may begin with a fault."""
    sample = [[*map(_kind_of, row)] for row in readings[:_SNIFFED_ROWS]]
    width = max(len(row) for row in sample)
    found = []
    for n in range(width):
        counts = Counter(row[n] for row in sample if n < len(row) and row[n] != "empty")
        found.append(counts.most_common(1)[0][0] if counts else "empty")
    return tuple(found)


def _headings(rows: Sequence[Row], start: _Start) -> tuple[str, ...]:
    """Return the heading of each column: one row, or two when units stand below the names."""
    width = len(start.kinds)
    above = [row for row in rows[: start.row] if any(cell.strip() for cell in row)][-2:]
    fitting = [row for row in above if sum(1 for cell in row if cell.strip()) >= 2]
    lines = [[*row[:width], *([""] * (width - len(row)))] for row in fitting]
    joined = (" ".join(filter(None, (cell.strip() for cell in column))) for column in zip(*lines))  # noqa: B905
    return tuple(one[:LONGEST_CELL] for one in joined) or ("",) * width


# --- which column is what -------------------------------------------------------------------

# Words of headings, in the languages that loggers are sold in; the first that fits decides.
_NOT_MEANT = re.compile(
    r"dew|taupunkt|ros[ée]e|roc[ií]o|rugiada|orvalho|dauwpunt|abs|batter|volt|alarm|event|press|"
    r"druck|co2|status|max|min\b|setpoint|limit",
    re.IGNORECASE,
)
# A short word stands by itself: before and behind it is no letter.
_ALONE = "(?<![a-z])(?:{})(?![a-z])"
_MEANT: tuple[tuple[Quantity, re.Pattern[str]], ...] = tuple(
    (quantity, re.compile(f"{_ALONE.format(short)}|{words}", re.IGNORECASE))
    for quantity, short, words in (
        (Quantity.UV, "uv", "ultra"),
        (Quantity.LUX, "lx", r"lux|illum|licht|light|luce|luz|lumi|beleucht|[ée]clair"),
        (Quantity.RH, "rh|hrh|hr|rf", r"r\.h|humid|feuchte|hum[ée]d|umidit|vocht|%"),
        (Quantity.TEMPERATURE, "t", r"temp|celsius|fahrenheit|°\s*[cf]\b|w[äa]rme"),
    )
)
_SAYS_FAHRENHEIT = re.compile(
    rf"{_ALONE.format('f')}|fahrenheit|deg\.?\s*f(?![a-z])", re.IGNORECASE
)
_SAYS_CELSIUS = re.compile(rf"{_ALONE.format('c')}|celsius|centigr|deg\.?\s*c", re.IGNORECASE)


def _columns_found(table: _Table) -> tuple[tuple[Quantity, int], ...]:
    found: dict[Quantity, int] = {}
    kinds = table.kinds
    found[Quantity.MOMENT] = next((n for n, kind in enumerate(kinds) if kind == "moment"), 0)
    if "moment" not in kinds and "date" in kinds:
        found[Quantity.MOMENT] = kinds.index("date")
    if "time" in kinds and not _has_times(table, found[Quantity.MOMENT]):
        found[Quantity.TIME] = kinds.index("time")
    for n, heading in enumerate(table.headings):
        if n not in found.values() and (quantity := _meant(heading)) is not None:
            found.setdefault(quantity, n)
    if not set(found) & set(READ) and not any(table.headings):
        numbers = [n for n in _numbers(table) if not _is_a_count(table, n)]
        found |= dict(zip((Quantity.TEMPERATURE, Quantity.RH), numbers, strict=False))
    return tuple(sorted(found.items(), key=lambda one: list(Quantity).index(one[0])))


def _has_times(table: _Table, column: int) -> bool:
    """Say whether a column holds times of day; a spreadsheet gives plain dates midnight."""
    clocks = {_parted(_cell(row, column))[1] for row in table.rows[:_SNIFFED_ROWS]}
    return bool(clocks - {"", "00:00:00"})


def _meant(heading: str) -> Quantity | None:
    if _NOT_MEANT.search(heading):
        return None
    return next((quantity for quantity, words in _MEANT if words.search(heading)), None)


def _numbers(table: _Table) -> list[int]:
    return [n for n, kind in enumerate(table.kinds) if kind == "number"]


def _is_a_count(table: _Table, column: int) -> bool:
    """Say whether a column only counts the rows."""
    first = [_cell(row, column) for row in table.rows[:10]]
    numbers = [int(cell) for cell in first if cell.isdecimal()]
    steps = {after - before for before, after in pairwise(numbers)}
    return len(numbers) == len(first) and steps == {1}


def _cell(row: Row, column: int) -> str:
    return row[column].strip() if column < len(row) else ""


# --- what is chosen, by the file or by a person -----------------------------------------------


def _chosen(table: _Table, choices: Choices) -> Understood:
    columns = choices.columns or _columns_found(table)
    _refuse_columns(table, columns)
    at = dict(columns)
    decimal = choices.decimal or _decimal(table, [at[q] for q in READ if q in at])
    order = choices.date_order or _date_order(table, at[Quantity.MOMENT])
    unit, is_guessed = _unit(table, at.get(Quantity.TEMPERATURE), decimal)
    if choices.unit is not None:
        unit, is_guessed = choices.unit, False
    asked = (("date_order", order is None), ("unit", unit is None))
    return Understood(
        kind=table.kind,
        headings=tuple(_named(table, n) for n in range(len(table.kinds))),
        columns=columns,
        first_data_row=table.first_row,
        date_order=order,
        unit=unit,
        decimal=decimal,
        open=tuple(name for name, is_open in asked if is_open),
        is_unit_guessed=is_guessed,
    )


def _named(table: _Table, column: int) -> str:
    heading = table.headings[column] if column < len(table.headings) else ""
    return heading or f"column {column + 1}"


def _refuse_columns(table: _Table, columns: tuple[tuple[Quantity, int], ...]) -> None:
    if not set(dict(columns)) & set(READ):
        message = "No column is known to hold temperature, humidity or light."
        raise BadValue.at("/columns", message, "Say which column holds what.")
    if Quantity.MOMENT not in dict(columns):
        raise BadValue.at("/columns", "No column is said to hold the date.", "Say which it is.")
    if any(not 0 <= n < len(table.kinds) for _quantity, n in columns):
        message = f"The file has {len(table.kinds)} columns."
        raise BadValue.at("/columns", message, "Count them from 0.")


def _decimal(table: _Table, columns: Sequence[int]) -> DecimalSign:
    cells = [_cell(row, n) for row in table.rows[:_SNIFFED_ROWS] for n in columns]
    commas = [cell for cell in cells if "," in cell and "." not in cell]
    points = sum("." in cell and "," not in cell for cell in cells)
    if all(_THOUSANDS.fullmatch(cell) for cell in commas) and table.kind.endswith("commas"):
        return DecimalSign.POINT
    return DecimalSign.COMMA if len(commas) > points else DecimalSign.POINT


def _date_order(table: _Table, column: int) -> DateOrder | None:
    """Return the order in which every date can be one; None when two can be."""
    days = {_parted(_cell(row, column))[0] for row in table.rows}
    parts = [found for day in days if (found := _DATE.fullmatch(day)) is not None]
    if any(len(one["a"]) == 4 for one in parts):
        return DateOrder.YEAR_FIRST
    if any(not one["b"].isdecimal() for one in parts):
        is_month = all(one["b"].isdecimal() for one in parts)
        return DateOrder.MONTH_FIRST if is_month else DateOrder.DAY_FIRST
    firsts = [int(one["a"]) for one in parts if one["a"].isdecimal()]
    seconds = [int(one["b"]) for one in parts]
    if any(n > 12 for n in firsts):
        return DateOrder.DAY_FIRST
    return DateOrder.MONTH_FIRST if any(n > 12 for n in seconds) else None


def _unit(table: _Table, column: int | None, decimal: DecimalSign) -> tuple[Unit | None, bool]:
    """Return the unit of temperature, and whether it is taken from the figures alone."""
    if column is None:
        return Unit.CELSIUS, False
    heading = _named(table, column)
    says = (bool(_SAYS_CELSIUS.search(heading)), bool(_SAYS_FAHRENHEIT.search(heading)))
    if says != (False, False) and says != (True, True):
        return (Unit.CELSIUS if says[0] else Unit.FAHRENHEIT), False
    numbers = _Numbers(decimal)
    read = np.array([numbers[_cell(row, column)] for row in table.rows[:20_000]])
    read = read[np.isfinite(read) & (np.abs(read) < 150)]
    middle = float(np.median(read)) if len(read) else 20.0
    if middle < _SURELY_CELSIUS_BELOW:
        return Unit.CELSIUS, True
    return (Unit.FAHRENHEIT, True) if middle > _SURELY_FAHRENHEIT_ABOVE else (None, False)


# --- single cells ---------------------------------------------------------------------------

_NUMBER = re.compile(
    r"[-+\u2212]?(?:\d[\d .,']*|[.,]\d+)(?:[eE][-+]?\d{1,3})?\s*(?:°?[CF]|%|lx|lux)?"
)
_THOUSANDS = re.compile(r"[-+]?\d{1,3}(?:,\d{3})+")
_DATE = re.compile(
    r"(?P<a>\d{1,4})\s*(?P<s>[./\- ])\s*(?P<b>\d{1,2}|[A-Za-z]{3,9})\.?"
    r"\s*(?P=s)\s*(?P<c>\d{1,4})\.?"
)
_TIME = re.compile(
    r"(?P<h>\d{1,2})[:.h](?P<m>\d{2})(?:[:.m](?P<s>\d{2})s?(?:[.,]\d{1,9})?)?"
    r"\s*(?P<half>[AaPp]\.?\s?[Mm]\.?)?\s*(?P<zone>[Zz]|UTC|GMT|[-+]\d{2}:?\d{2})?"
)
_DAY_THEN_TIME = re.compile(r"(?P<day>.+?)[\sT,;]+(?P<clock>\d{1,2}[:.h]\d{2}.*)")
_MONTHS = ("jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec")
_NOTHING = frozenset(
    ("", "-", "--", "---", "----", "n/a", "na", "nan", "null", "none", "#n/a", "?", "x")
)


def _parted(cell: str) -> tuple[str, str]:
    """Return the day and the time of a cell, the time empty where there is none."""
    if cell[10:11] in (" ", "T"):
        return cell[:10], cell[11:].strip()
    found = _DAY_THEN_TIME.fullmatch(cell[:LONGEST_CELL])
    return (found["day"].strip(), found["clock"].strip()) if found else (cell, "")


class _Numbers(dict[str, float]):
    """The number in a cell: NaN for none, infinity for what is no number. Kept, for they recur."""

    def __init__(self, decimal: DecimalSign) -> None:
        super().__init__()
        self._is_comma = decimal is DecimalSign.COMMA

    def __missing__(self, cell: str) -> float:
        self[cell] = number = self._number(cell.strip()[:LONGEST_CELL])
        return number

    def _number(self, cell: str) -> float:
        if cell.lower() in _NOTHING:
            return float("nan")
        if not _NUMBER.fullmatch(cell):
            return float("inf")
        plain = cell.rstrip("CFlux%° ").replace("\u2212", "-").replace(" ", "").replace("'", "")
        thousands, tenths = (".", ",") if self._is_comma else (",", ".")
        head, *tail = plain.split(tenths)
        if thousands in head and not re.fullmatch(
            rf"[-+]?\d{{1,3}}(?:{re.escape(thousands)}\d{{3}})+", head
        ):
            return float("inf")
        try:
            number = float(".".join((head.replace(thousands, ""), *tail)))
        except ValueError:
            return float("inf")
        return number if abs(number) < 1e12 else float("inf")


class _Days(dict[str, int | None]):
    """The day number of a date, None for what is none in this order."""

    def __init__(self, order: DateOrder) -> None:
        super().__init__()
        self._order = order

    def __missing__(self, text: str) -> int | None:
        self[text] = day = self._day(text)
        return day

    def _day(self, text: str) -> int | None:
        found = _DATE.fullmatch(text[:LONGEST_CELL])
        if found is None:
            return None
        a, b, c = found["a"], found["b"], found["c"]
        if self._order is DateOrder.YEAR_FIRST or len(a) == 4:
            year, month, day = a, b, c
        elif self._order is DateOrder.DAY_FIRST or not b.isdecimal():
            day, month, year = a, b, c
        else:
            month, day, year = a, b, c
        try:
            return (date(_year(year), _month(month), int(day)) - date(1970, 1, 1)).days
        except ValueError:
            return None


def _year(text: str) -> int:
    return int(text) + (2000 if len(text) <= 2 else 0)


def _month(text: str) -> int:
    return int(text) if text.isdecimal() else _MONTHS.index(text[:3].lower()) + 1


# Seconds into the day, and what it is ahead of UTC where the cell says so.
_Clock = tuple[int, int | None]


class _Times(dict[str, _Clock | None]):
    """The time of day in a cell; None for what is none."""

    def __missing__(self, text: str) -> _Clock | None:
        self[text] = clock = self._clock(text)
        return clock

    def _clock(self, text: str) -> _Clock | None:
        found = _TIME.fullmatch(text[:LONGEST_CELL])
        if found is None:
            return None
        hour, minute, second = int(found["h"]), int(found["m"]), int(found["s"] or 0)
        if found["half"]:
            if not 1 <= hour <= 12:
                return None
            hour = hour % 12 + (12 if found["half"][0] in "Pp" else 0)
        if hour > 24 or minute > 59 or second > 59 or (hour == 24 and minute + second):
            return None
        return hour * 3600 + minute * 60 + second, _ahead(found["zone"])


def _ahead(zone: str | None) -> int | None:
    if not zone:
        return None
    if zone.upper() in ("Z", "UTC", "GMT"):
        return 0
    hours, minutes = int(zone[1:3]), int(zone[-2:])
    return (hours * 3600 + minutes * 60) * (-1 if zone[0] == "-" else 1)


# --- all rows -------------------------------------------------------------------------------


class _Kept:
    """Which rows still stand, and why the others do not."""

    def __init__(self, numbers: Sequence[int]) -> None:
        self.mask = np.ones(len(numbers), bool)
        self._numbers = numbers
        self._refused: dict[Reason, NDArray[np.int64]] = {}

    def refuse(self, wrong: NDArray[np.bool_], reason: Reason) -> None:
        """Refuse the rows that are wrong and still stand."""
        rows = np.flatnonzero(wrong & self.mask)
        if len(rows):
            self._refused[reason] = np.union1d(self._refused.get(reason, rows), rows)
            self.mask[rows] = False

    def refused(self) -> tuple[Refused, ...]:
        return tuple(
            Refused(reason, len(rows), tuple(self._numbers[r] for r in rows[:_ROWS_NAMED]))
            for reason, rows in self._refused.items()
        )


def _read(table: _Table, how: Understood, choices: Choices, zone: ZoneInfo) -> LoggerFile:
    at = dict(how.columns)
    full = [n for n, row in enumerate(table.rows) if any(cell.strip() for cell in row)]
    rows = [table.rows[n] for n in full]
    kept = _Kept([table.first_row + n for n in full])
    assert how.date_order is not None, "asked before"
    local, ahead = _local_seconds(rows, at, how.date_order)
    kept.refuse(local == _NO_MOMENT, Reason.NO_MOMENT)
    kept.refuse(local < _seconds_of(EARLIEST_YEAR), Reason.NOT_SET)
    seconds, left_out, told_apart = _in_utc(local, ahead, kept.mask, zone, choices.clock)
    kept.refuse(left_out, Reason.LEFT_OUT)
    if choices.not_after is not None:
        kept.refuse(seconds > choices.not_after, Reason.LATER)
    figures = _figures(rows, at, how, kept)
    order, refused = _in_order(seconds, figures, kept)
    return LoggerFile(
        how=how,
        rows=len(rows),
        refused=refused,
        first=tuple(
            _understood(row, int(second), figure, is_kept)
            for row, second, figure, is_kept in zip(
                rows[:_FIRST_ROWS_SHOWN], seconds, figures, kept.mask, strict=False
            )
        ),
        times_told_apart=told_apart,
        seconds=seconds[order],
        figures=figures[order],
    )


_NO_MOMENT = np.iinfo(np.int64).min


def _seconds_of(year: int) -> int:
    return int(datetime(year, 1, 1, tzinfo=UTC).timestamp())


def _local_seconds(
    rows: Sequence[Row], at: dict[Quantity, int], order: DateOrder
) -> tuple[Seconds, Floats]:
    """Return the seconds that each row's clock shows, and what it says to be ahead of UTC."""
    days, times = _Days(order), _Times()
    column, apart = at[Quantity.MOMENT], at.get(Quantity.TIME)
    local = np.full(len(rows), _NO_MOMENT, np.int64)
    ahead = np.full(len(rows), np.nan)
    for n, row in enumerate(rows):
        text, clock_text = _parted(_cell(row, column))
        day = days[text]
        clock = times[clock_text if apart is None else _cell(row, apart)]
        if day is not None and clock is not None:
            local[n] = day * _SECONDS_A_DAY + clock[0]
            if clock[1] is not None:
                ahead[n] = clock[1]
    return local, ahead


def _in_utc(
    local: Seconds, ahead: Floats, standing: NDArray[np.bool_], zone: ZoneInfo, clock: LoggerClock
) -> tuple[Seconds, NDArray[np.bool_], int]:
    """Return UTC seconds, which times never were, and how many that came twice were told apart.

    An hour that came twice is the second one from where the file's times go back.
    """
    seconds = np.zeros(len(local), np.int64)
    left_out = np.zeros(len(local), bool)
    says_itself = ~np.isnan(ahead)
    seconds[says_itself] = local[says_itself] - ahead[says_itself].astype(np.int64)
    asked = standing & ~says_itself
    quarters, which = np.unique(local[asked] // _QUARTER_S, return_inverse=True)
    earlier, later = _offsets(quarters, zone, clock)
    first, second = earlier[which], later[which]
    seconds[asked] = local[asked] - first
    left_out[asked] = first < second
    twice = np.flatnonzero(asked)[first > second]
    told_apart = _tell_apart(seconds, local, twice, dict(zip(quarters, later, strict=True)))
    return seconds, left_out, told_apart


def _offsets(quarters: Seconds, zone: ZoneInfo, clock: LoggerClock) -> tuple[Seconds, Seconds]:
    """Return what local time is ahead of UTC, for the first and the second time it comes."""
    offset = _winter_offset if clock is LoggerClock.WINTER_TIME else _offset
    found = [[offset(int(quarter), zone, fold) for quarter in quarters] for fold in (0, 1)]
    return np.array(found[0], np.int64), np.array(found[1], np.int64)


def _offset(quarter: int, zone: ZoneInfo, fold: int) -> int:
    moment = datetime(1970, 1, 1) + timedelta(seconds=quarter * _QUARTER_S)  # noqa: DTZ001
    return _ahead_at(moment.replace(tzinfo=zone, fold=fold))


def _winter_offset(quarter: int, zone: ZoneInfo, _fold: int) -> int:
    year = (datetime(1970, 1, 1) + timedelta(seconds=quarter * _QUARTER_S)).year  # noqa: DTZ001
    return min(_ahead_at(datetime(year, month, 1, tzinfo=zone)) for month in (1, 7))


def _ahead_at(moment: datetime) -> int:
    offset = moment.utcoffset()
    assert offset is not None, "a moment with a zone has an offset"
    return int(offset.total_seconds())


def _tell_apart(
    seconds: Seconds, local: Seconds, twice: NDArray[np.int64], later: dict[int, int]
) -> int:
    falls = len(local) > 1 and np.sum(np.diff(seconds) < 0) > len(local) / 2
    told = 0
    step = 1 if falls else -1
    for n in reversed(twice) if falls else twice:
        before = n + step
        if 0 <= before < len(seconds) and seconds[n] <= seconds[before] < seconds[n] + 7_200:
            seconds[n] = local[n] - later[local[n] // _QUARTER_S]
            told += 1
    return told


_RANGES = (
    (Quantity.TEMPERATURE, TEMPERATURE_C, Reason.TEMPERATURE),
    (Quantity.RH, RH_PERCENT, Reason.RH),
    (Quantity.LUX, LUX, Reason.LUX),
    (Quantity.UV, UV_UW_PER_LM, Reason.UV),
)


def _figures(rows: Sequence[Row], at: dict[Quantity, int], how: Understood, kept: _Kept) -> Floats:
    numbers = _Numbers(how.decimal)
    figures = np.full((len(rows), len(READ)), np.nan)
    for n, quantity in enumerate(READ):
        if quantity in at:
            column = at[quantity]
            figures[:, n] = [numbers[_cell(row, column)] for row in rows]
    kept.refuse(np.isinf(figures).any(axis=1), Reason.NO_NUMBER)
    kept.refuse(np.isnan(figures).all(axis=1), Reason.NO_FIGURE)
    if how.unit is Unit.FAHRENHEIT:
        # To the hundredth that a sensor may claim.
        figures[:, 0] = np.round((figures[:, 0] - 32) / 1.8, 2)
    for n, (_quantity, (lowest, highest), reason) in enumerate(_RANGES):
        kept.refuse((figures[:, n] < lowest) | (figures[:, n] > highest), reason)
    return figures


def _in_order(
    seconds: Seconds, figures: Floats, kept: _Kept
) -> tuple[NDArray[np.int64], tuple[Refused, ...]]:
    """Return the rows that stand, by time; of one moment the first row of the file stands."""
    standing = np.flatnonzero(kept.mask)
    order = standing[np.argsort(seconds[standing], kind="stable")]
    again = np.zeros(len(order), bool)
    again[1:] = np.diff(seconds[order]) == 0
    first_of = np.maximum.accumulate(np.where(again, 0, np.arange(len(order))))
    same = _alike(figures[order], figures[order][first_of])
    for which, reason in ((same, Reason.TWICE), (~same, Reason.CONTRADICTS)):
        wrong = np.zeros(len(kept.mask), bool)
        wrong[order[again & which]] = True
        kept.refuse(wrong, reason)
    return order[~again], kept.refused()


def _alike(some: Floats, others: Floats) -> NDArray[np.bool_]:
    return np.asarray(((some == others) | (np.isnan(some) & np.isnan(others))).all(axis=1))


# --- the first rows, to be looked at ----------------------------------------------------------


def _first(table: _Table) -> Sequence[Row]:
    return table.rows[:_FIRST_ROWS_SHOWN]


def _unread(row: Row) -> FirstRow:
    return FirstRow(_written(row), "", (None,) * len(READ))


def _understood(row: Row, second: int, figures: Floats, is_kept: bool) -> FirstRow:
    if not is_kept:
        return _unread(row)
    moment = datetime.fromtimestamp(second, UTC).isoformat(" ", "seconds")
    return FirstRow(
        _written(row), moment[:19], tuple(None if np.isnan(f) else float(f) for f in figures)
    )


def _written(row: Row) -> tuple[str, ...]:
    return tuple(cell.strip()[:40] for cell in row)
