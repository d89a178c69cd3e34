"""What does the mounting history look like as a file?

One row for each layer and each hold of every mount a work ever had. As CSV for
any program (RFC 4180, UTF-8, CRLF, header always), as XLSX in which a spreadsheet
can turn no date and no number of a work into something else, and beside them a
description in the form of the W3C (CSV on the Web) that says what every column
means.

Dates are EDTF exactly as recorded; an empty cell is not recorded. A spreadsheet
takes a text that begins with = + - @ TAB CR or LF for a formula, so such a text
has an apostrophe before it; the raw form for machines has none. Dates and
numbers are left as they are. In XLSX a text is marked as text and needs none.
"""

import csv
import io
import json
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from enum import Enum
from functools import lru_cache
from itertools import chain, islice
from typing import NamedTuple

from xlsxwriter import Workbook  # type: ignore[import-untyped]

from models.errors import RuleBroken
from models.vocabulary import (
    Distance,
    FreedBy,
    Freeing,
    Kept,
    KnownBy,
    LayerRole,
    Outcome,
    PatResult,
    Verdict,
)

HOLD = "hold"
TAKEN_FOR_FORMULA = frozenset("=+-@\t\r\n")

# A spreadsheet of more rows is slow to open anywhere, and the writer keeps silent
# about what it leaves out beyond its own limits. A cell holds 32,767 characters.
MOST_XLSX_ROWS = 50_000
LONGEST_XLSX_CELL = 32_767
_ROWS_AT_A_TIME = 256

Cell = str | int | float | None


class HistoryRow(NamedTuple):
    """One layer or hold of one mount, in the order of the columns; None: not recorded.

    Years of 365.25 days, percent CaCO3 by mass, thickness in mm. The column of
    `hold_count` is called `count`, a name that a tuple has for itself.
    """

    work_number: str
    work_title: str
    mount_no: int
    package_no: int
    shared_with: str | None
    place: str | None
    method: str | None
    reason: str | None
    mounted_on: str | None
    mounted_by: str | None
    dismounted_on: str | None
    dismounted_by: str | None
    years_mounted: float | None
    freed_by: str | None
    outcome: str | None
    residue: str | None
    remains: str | None
    harm_at_dismount: str | None
    freeing: str | None
    layer_no: int | None
    role: str | None
    position: str | None
    hold_count: int | None
    material: str | None
    grade: str | None
    known_by: str | None
    lot: str | None
    distance: str | None
    fitted_on: str | None
    removed_on: str | None
    ph: float | None
    alkaline_reserve_percent: float | None
    kappa: float | None
    pat: str | None
    thickness_mm: float | None
    verdict: str | None
    found_when_unframed: str | None
    next_unframing_on: str | None
    kept_where: str | None
    note: str | None


class Kind(Enum):
    """What stands in the cells of a column."""

    TEXT = "text"
    EDTF = "EDTF"
    DAY = "day"
    COUNT = "count"
    IDENTIFIER = "identifier"
    NUMBER = "number"


@dataclass(frozen=True)
class Column:
    """What a column holds; the closed list of its words, or the range of its numbers."""

    kind: Kind
    meaning: str
    words: tuple[str, ...] = ()
    lowest: float | None = None
    highest: float | None = None


_TEXT, _EDTF, _NUMBER = Kind.TEXT, Kind.EDTF, Kind.NUMBER

COLUMNS: Mapping[str, Column] = {
    "work_number": Column(_TEXT, "The number of the work."),
    "work_title": Column(_TEXT, "The title of the work."),
    "mount_no": Column(Kind.COUNT, "Which mount of the work it is, the oldest first.", lowest=1),
    "package_no": Column(Kind.IDENTIFIER, "The package; works in one package share its number."),
    "shared_with": Column(_TEXT, "Other works in the package at that time, '; ' between them."),
    "place": Column(_TEXT, "Where the work was last in this mount, the outermost place first."),
    "method": Column(_TEXT, "How the work is held."),
    "reason": Column(_TEXT, "Why it was mounted."),
    "mounted_on": Column(_EDTF, "When it was mounted, in EDTF as recorded."),
    "mounted_by": Column(_TEXT, "Who mounted it."),
    "dismounted_on": Column(_EDTF, "When it was taken out, in EDTF as recorded."),
    "dismounted_by": Column(_TEXT, "Who took it out."),
    "years_mounted": Column(
        _NUMBER,
        "Years in this mount, from first day to first day; of the current mount, to this day.",
        lowest=0,
    ),
    "freed_by": Column(_TEXT, "How this hold came off.", tuple(FreedBy)),
    "outcome": Column(_TEXT, "What became of this hold.", tuple(Outcome)),
    "residue": Column(_TEXT, "What was seen where this hold had been."),
    "remains": Column(_TEXT, "What stayed on the work and goes on acting until it is removed."),
    "harm_at_dismount": Column(_TEXT, "What taking it out did to the work."),
    "freeing": Column(_TEXT, "How the work comes out of this mount.", tuple(Freeing)),
    "layer_no": Column(
        Kind.COUNT, "Counts the layers front to back, and the holds apart from them.", lowest=1
    ),
    "role": Column(_TEXT, "What the layer is there for, or that it is a hold.", (*LayerRole, HOLD)),
    "position": Column(_TEXT, "The side of the work on which a layer lies; where a hold is."),
    "count": Column(Kind.COUNT, "How many hinges, pockets or strips.", lowest=1),
    "material": Column(_TEXT, "The material."),
    "grade": Column(_TEXT, "The grade by which it is judged, as it was known when fitted."),
    "known_by": Column(_TEXT, "How anybody knows what it is.", tuple(KnownBy)),
    "lot": Column(_TEXT, "The delivery it came from."),
    "distance": Column(_TEXT, "How near the layer is to the work.", tuple(Distance)),
    "fitted_on": Column(
        _EDTF, "When the layer was fitted, in EDTF as recorded; of a hold, since when it is there."
    ),
    "removed_on": Column(_EDTF, "When the layer was removed, in EDTF as recorded."),
    "ph": Column(_NUMBER, "pH of the material, as known when fitted.", lowest=0, highest=14),
    "alkaline_reserve_percent": Column(
        _NUMBER, "Alkaline reserve in percent CaCO3 by mass.", lowest=0, highest=100
    ),
    "kappa": Column(_NUMBER, "Kappa number: how much lignin.", lowest=0),
    "pat": Column(_TEXT, "Photographic Activity Test, ISO 18916.", tuple(PatResult)),
    "thickness_mm": Column(_NUMBER, "Thickness in millimetres.", lowest=0),
    "verdict": Column(
        _TEXT, "The judgement on this layer or hold, to this day or the end.", tuple(Verdict)
    ),
    "found_when_unframed": Column(
        _TEXT, "What was found when the package was opened, and how the layer looked."
    ),
    "next_unframing_on": Column(
        Kind.DAY,
        "By when the current mount is to be unframed and looked at again, as worked out on the"
        " day of the file; a day that was past by then stands as that day. A remat that is"
        " advised takes its place. Empty for an earlier mount, and where no day is set.",
    ),
    "kept_where": Column(_TEXT, "Where the removed layer went.", tuple(Kept)),
    "note": Column(_TEXT, "What else was noted, of the layer or hold and of the mount."),
}

_NUMBERS_AT = tuple(i for i, c in enumerate(COLUMNS.values()) if c.kind is Kind.NUMBER)
_TEXTS_AT = tuple(i for i, c in enumerate(COLUMNS.values()) if c.kind is Kind.TEXT)
_NUMERIC_AT = frozenset(
    i for i, c in enumerate(COLUMNS.values()) if c.kind in (Kind.NUMBER, Kind.COUNT)
)


def csv_bytes(rows: Iterable[HistoryRow], *, raw: bool = False) -> Iterator[bytes]:
    """Return the CSV piece by piece, its header first; `raw` without apostrophes."""
    yield ",".join(COLUMNS).encode() + b"\r\n"
    rows = iter(rows)
    while some := list(islice(rows, _ROWS_AT_A_TIME)):
        yield _csv_of(some, raw=raw).encode()


def _csv_of(rows: Sequence[Sequence[Cell]], *, raw: bool) -> str:
    # Most cells of a history repeat, and hardly any is written otherwise than it stands: each
    # different one is looked at once, and only rows that hold one of those are gone through.
    different = set(chain.from_iterable(rows))
    numbers = {cell for cell in different if isinstance(cell, float) and _is_noisy(cell)}
    formulas = {cell for cell in different if isinstance(cell, str) and _is_like_a_formula(cell)}
    if numbers or (formulas and not raw):
        plain = {number: plain_number(number) for number in numbers}
        marked = {} if raw else {text: f"'{text}" for text in formulas}
        rows = [_as_written(row, plain, marked) for row in rows]
    text = io.StringIO(newline="")
    csv.writer(text, lineterminator="\r\n").writerows(rows)
    return text.getvalue()


def _is_like_a_formula(text: str) -> bool:
    return text[:1] in TAKEN_FOR_FORMULA


def _is_noisy(number: float) -> bool:
    return repr(number) != plain_number(number)


def _as_written(
    row: Sequence[Cell], plain: Mapping[float, str], marked: Mapping[str, str]
) -> Sequence[Cell]:
    if plain.keys().isdisjoint(row) and marked.keys().isdisjoint(row):
        return row
    cells: list[Cell] = list(row)
    for at in _NUMBERS_AT:
        if isinstance(number := cells[at], float):
            cells[at] = plain.get(number, number)
    for at in _TEXTS_AT:
        if isinstance(text := cells[at], str):
            cells[at] = marked.get(text, text)
    return cells


@lru_cache(maxsize=20_000)
def plain_number(number: float) -> str:
    """Return a number as people write it: no noise of binary fractions, and no exponent."""
    # Fifteen digits are all that a binary fraction keeps of any decimal one.
    text = f"{Decimal(f'{number:.15g}'):f}"
    return text if "." in text else f"{text}.0"


def xlsx_bytes(rows: Iterable[HistoryRow]) -> bytes:
    """Return a spreadsheet: numbers are numbers, every identifier and date is text.

    Raises RuleBroken (`too_long_for_xlsx`) where only the CSV can hold it all.
    """
    file = io.BytesIO()
    with Workbook(file, {"constant_memory": True}) as book:
        sheet = book.add_worksheet("Mounting history")
        sheet.freeze_panes(1, 1)
        for at, name in enumerate(COLUMNS):
            sheet.write_string(0, at, name)
        for number, row in enumerate(rows, start=1):
            _refuse_too_long(number, row)
            for at, cell in enumerate(row):
                if cell is None or cell == "":
                    continue
                if at in _NUMERIC_AT:
                    sheet.write_number(number, at, float(cell))
                else:
                    sheet.write_string(number, at, str(cell))
    return file.getvalue()


def _refuse_too_long(number: int, row: HistoryRow) -> None:
    if number > MOST_XLSX_ROWS:
        raise RuleBroken(
            f"This history has more than {MOST_XLSX_ROWS:,} rows, too many for a spreadsheet:"
            " take the CSV, which has no limit.",
            "too_long_for_xlsx",
        )
    if any(isinstance(cell, str) and len(cell) > LONGEST_XLSX_CELL for cell in row):
        raise RuleBroken(
            f"A cell of {row.work_number} is longer than a spreadsheet can hold"
            f" ({LONGEST_XLSX_CELL:,} characters): take the CSV, which has no limit.",
            "too_long_for_xlsx",
        )


def csvw_description(csv_address: str, *, raw: bool = False) -> bytes:
    """Return the description of the CSV at this address, as JSON (W3C CSV on the Web)."""
    description = {
        "@context": ["http://www.w3.org/ns/csvw", {"@language": "en"}],
        "url": csv_address,
        "dc:title": "Mounting history",
        "null": "",
        "dialect": {
            "encoding": "utf-8",
            "delimiter": ",",
            "quoteChar": '"',
            "doubleQuote": True,
            "lineTerminators": ["\r\n"],
            "header": True,
        },
        "notes": [{"dc:description": note} for note in _notes(raw=raw)],
        "tableSchema": {"columns": [_described(*named) for named in COLUMNS.items()]},
    }
    return json.dumps(description, ensure_ascii=False, indent=2).encode() + b"\n"


def _notes(*, raw: bool) -> list[str]:
    formula = (
        "Texts stand as they were recorded."
        if raw
        else "A text that would begin with = + - @ TAB CR or LF has an apostrophe before it."
    )
    return [
        "One row for each layer and each hold of every mount; a mount of which nothing is"
        " recorded has one row. Oldest mount first, layers front to back, then holds.",
        "A work of which no mount at all is on record has no row.",
        "Dates are EDTF (ISO 8601-2) exactly as recorded. An empty cell is not recorded.",
        formula,
    ]


def _described(name: str, column: Column) -> dict[str, object]:
    return {
        "name": name,
        "titles": [name, name.replace("_", " ")],
        "dc:description": column.meaning,
        "datatype": _datatype(column),
    }


_BASE = {
    Kind.TEXT: "string",
    Kind.EDTF: "string",
    Kind.DAY: "date",
    Kind.COUNT: "integer",
    Kind.IDENTIFIER: "integer",
    Kind.NUMBER: "decimal",
}


def _datatype(column: Column) -> dict[str, object]:
    datatype: dict[str, object] = {"base": _BASE[column.kind]}
    if column.words:
        # The standard reads the format of a string as a regular expression.
        datatype["format"] = "|".join(column.words)
    if column.kind is Kind.EDTF:
        datatype["dc:title"] = "EDTF (ISO 8601-2)"
    if column.lowest is not None:
        datatype["minimum"] = column.lowest
    if column.highest is not None:
        datatype["maximum"] = column.highest
    return datatype
