import csv
import io
import json
from collections.abc import Iterator

import pytest
from hypothesis import given
from hypothesis import strategies as st
from openpyxl import load_workbook  # type: ignore[import-untyped]

from models.errors import RuleBroken
from models.exchange.mounting_history import (
    COLUMNS,
    LONGEST_XLSX_CELL,
    MOST_XLSX_ROWS,
    HistoryRow,
    csv_bytes,
    csvw_description,
    plain_number,
    xlsx_bytes,
)

# What programs outside rely on: these names in this order, for good.
PROMISED = (
    "work_number, work_title, mount_no, package_no, shared_with, place, method, reason, mounted_on,"
    " mounted_by, dismounted_on, dismounted_by, years_mounted, freed_by, outcome, residue, remains,"
    " harm_at_dismount, freeing, layer_no, role, position, count, material, grade, known_by, lot,"
    " distance, fitted_on, removed_on, ph, alkaline_reserve_percent, kappa, pat, thickness_mm,"
    " verdict, found_when_unframed, next_unframing_on, kept_where, note"
).split(", ")


def a_row(**cells: object) -> HistoryRow:
    nothing = dict.fromkeys(HistoryRow._fields)
    named = {"work_number": "GH 7", "work_title": "The Mill", "mount_no": 1, "package_no": 3}
    return HistoryRow(**{**nothing, **named, **cells})  # type: ignore[arg-type]


def all_of(rows: list[HistoryRow], *, raw: bool = False) -> bytes:
    return b"".join(csv_bytes(rows, raw=raw))


def read_back(rows: list[HistoryRow], *, raw: bool = False) -> list[dict[str, str]]:
    text = io.StringIO(all_of(rows, raw=raw).decode(), newline="")
    return list(csv.DictReader(text, strict=True))


def sheet_of(rows: list[HistoryRow]) -> list[dict[str, object]]:
    cells = load_workbook(io.BytesIO(xlsx_bytes(rows))).active.iter_rows()
    names = [cell.value for cell in next(cells)]
    return [dict(zip(names, row, strict=True)) for row in cells]


def test_the_columns_are_those_promised_in_that_order() -> None:
    assert list(COLUMNS) == PROMISED
    assert [f.replace("hold_count", "count") for f in HistoryRow._fields] == PROMISED


def test_a_small_history_comes_out_byte_for_byte() -> None:
    mat = a_row(
        work_title='The "Mill", in winter',
        shared_with="GH 8; GH 9",
        place="Gannet House / Stair",
        method="T-hinge",
        mounted_on="1985~",
        dismounted_on="2026-11-20",
        years_mounted=41.9,
        harm_at_dismount="slight skinning",
        freeing="water",
        layer_no=1,
        role="window mat",
        position="front",
        material="Museum board, 4-ply",
        grade="cotton rag board, buffered",
        known_by="seen",
        lot="L-118",
        distance="touches",
        fitted_on="1985~",
        removed_on="2026-11-20",
        ph=8.5,
        alkaline_reserve_percent=0.1 + 0.2,
        kappa=1.0,
        pat="not tested",
        thickness_mm=1.4,
        verdict="sound",
        found_when_unframed="mat burn (moderate)",
        kept_where="discarded",
        note="brown\nat the bevel",
    )
    hinge = a_row(
        mount_no=2,
        years_mounted=12.0,
        freed_by="water",
        outcome="freed",
        residue="=paste",
        layer_no=1,
        role="hold",
        position="top",
        hold_count=2,
        next_unframing_on="2031-11-20",
    )
    assert all_of([mat, hinge]) == (
        ",".join(PROMISED).encode() + b"\r\n"
        b'GH 7,"The ""Mill"", in winter",1,3,GH 8; GH 9,Gannet House / Stair,T-hinge,,1985~,,'
        b"2026-11-20,,41.9,,,,,slight skinning,water,1,window mat,front,,"
        b'"Museum board, 4-ply","cotton rag board, buffered",seen,L-118,touches,1985~,2026-11-20,'
        b"8.5,0.3,1.0,not tested,1.4,sound,mat burn (moderate),,discarded,"
        b'"brown\nat the bevel"\r\n'
        b"GH 7,The Mill,2,3,,,,,,,,,12.0,water,freed,'=paste,,,,1,hold,top,2,,,,,,,,,,,,,,,"
        b"2031-11-20,,\r\n"
    )


def test_a_work_without_a_mount_still_has_its_header() -> None:
    assert all_of([]) == ",".join(PROMISED).encode() + b"\r\n"


@pytest.mark.parametrize("first", ["=", "+", "-", "@", "\t", "\r", "\n"])
def test_what_a_spreadsheet_would_take_for_a_formula_has_an_apostrophe(first: str) -> None:
    row = a_row(note=f"{first}1+1", work_title=f"{first}A1", mounted_on="1985-04")
    (told,) = read_back([row])
    assert (told["note"], told["work_title"]) == (f"'{first}1+1", f"'{first}A1")
    (plain,) = read_back([row], raw=True)
    assert (plain["note"], plain["work_title"]) == (f"{first}1+1", f"{first}A1")


def test_dates_and_numbers_never_have_an_apostrophe() -> None:
    (told,) = read_back([a_row(mounted_on="-0044-03-15", note="-", years_mounted=0.0)])
    assert (told["mounted_on"], told["note"], told["years_mounted"]) == ("-0044-03-15", "'-", "0.0")


@pytest.mark.parametrize(
    ("number", "printed"),
    [
        (0.1 + 0.2, "0.3"),
        (1e-7, "0.0000001"),
        (1e22, "10000000000000000000000.0"),
        (7.0, "7.0"),
        (1.4, "1.4"),
        (0.0, "0.0"),
    ],
)
def test_numbers_are_printed_without_noise_and_exponent(number: float, printed: str) -> None:
    assert plain_number(number) == printed


@given(st.integers(0, 20_000_000))
def test_a_thickness_in_micrometres_comes_back_exactly(um: int) -> None:
    assert round(float(plain_number(um / 1000)) * 1000) == um


# No surrogates, and no control characters but tab and line ends: what a record may hold.
texts = st.text(st.characters(codec="utf-8", categories=["L", "N", "P", "S", "Zs"]) | st.just("\n"))


@given(st.lists(st.tuples(texts, texts), min_size=1, max_size=5))
def test_every_text_comes_back_as_it_went_out(told: list[tuple[str, str]]) -> None:
    rows = [a_row(work_title=title, note=note) for title, note in told]
    found = read_back(rows, raw=True)
    assert [(row["work_title"], row["note"]) for row in found] == told


def test_the_file_is_made_while_it_is_read() -> None:
    taken = []

    def rows() -> Iterator[HistoryRow]:
        for number in range(10_000):
            taken.append(number)
            yield a_row(mount_no=number)

    pieces = csv_bytes(rows())
    next(pieces), next(pieces)
    assert 0 < len(taken) <= 256


def test_a_spreadsheet_keeps_dates_and_identifiers_as_text_and_numbers_as_numbers() -> None:
    row = a_row(
        work_number="0012",
        mounted_on="1985-04",
        lot="3E5",
        years_mounted=41.9,
        layer_no=2,
        hold_count=2,
        ph=8.5,
        note="=1+1",
        next_unframing_on="2031-11-20",
    )
    (told,) = sheet_of([row])
    found = {name: (cell.data_type, cell.value) for name, cell in told.items()}  # type: ignore[attr-defined]
    assert {name: cell for name, cell in found.items() if cell[1] is not None} == {
        "work_number": ("s", "0012"),
        "work_title": ("s", "The Mill"),
        "mount_no": ("n", 1),
        "package_no": ("s", "3"),
        "mounted_on": ("s", "1985-04"),
        "years_mounted": ("n", 41.9),
        "layer_no": ("n", 2),
        "count": ("n", 2),
        "lot": ("s", "3E5"),
        "ph": ("n", 8.5),
        "next_unframing_on": ("s", "2031-11-20"),
        "note": ("s", "=1+1"),
    }


def test_a_history_too_long_for_a_spreadsheet_is_refused_and_the_csv_named() -> None:
    with pytest.raises(RuleBroken, match=r"more than 50,000 rows.*take the CSV") as refused:
        xlsx_bytes(a_row() for _ in range(MOST_XLSX_ROWS + 1))
    assert refused.value.code == "too_long_for_xlsx"


def test_a_text_too_long_for_a_cell_is_refused_and_never_left_out() -> None:
    with pytest.raises(RuleBroken, match=r"A cell of GH 7 .*take the CSV"):
        xlsx_bytes([a_row(note="n" * (LONGEST_XLSX_CELL + 1))])


def test_the_description_names_every_column_with_its_type() -> None:
    told = json.loads(csvw_description("mounting-history.csv"))
    columns = {column["name"]: column for column in told["tableSchema"]["columns"]}
    assert (told["@context"][0], told["url"], told["null"]) == (
        "http://www.w3.org/ns/csvw",
        "mounting-history.csv",
        "",
    )
    assert list(columns) == PROMISED
    assert columns["mounted_on"] == {
        "name": "mounted_on",
        "titles": ["mounted_on", "mounted on"],
        "dc:description": "When it was mounted, in EDTF as recorded.",
        "datatype": {"base": "string", "dc:title": "EDTF (ISO 8601-2)"},
    }
    assert columns["ph"]["datatype"] == {"base": "decimal", "minimum": 0, "maximum": 14}
    assert columns["verdict"]["datatype"] == {
        "base": "string",
        "format": "sound|doubtful|harmful",
    }


def test_the_description_says_whether_there_are_apostrophes() -> None:
    notes = [
        json.loads(csvw_description("h.csv", raw=raw))["notes"][-1]["dc:description"]
        for raw in (False, True)
    ]
    assert notes == [
        "A text that would begin with = + - @ TAB CR or LF has an apostrophe before it.",
        "Texts stand as they were recorded.",
    ]
