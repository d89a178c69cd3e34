"""Logger files as they really come, format by format; and no bytes that end the program."""

import io
import zipfile
from datetime import UTC, datetime, timedelta
from pathlib import Path

import numpy as np
import pytest
import xlsxwriter  # type: ignore[import-untyped]
from hypothesis import given, settings
from hypothesis import strategies as st

from models.errors import BadValue
from models.exchange.logger_file import (
    Choices,
    DateOrder,
    DecimalSign,
    LoggerClock,
    LoggerFile,
    Quantity,
    Reason,
    Refused,
    Unit,
    read_logger_file,
)
from models.exchange.read_apart import read_apart

NOON = int(datetime(2026, 1, 31, 12, tzinfo=UTC).timestamp())
BERLIN = "Europe/Berlin"


def read(text: str, encoding: str = "utf-8", **choices: object) -> LoggerFile:
    return read_logger_file(text.encode(encoding), Choices(**choices))  # type: ignore[arg-type]


def readings(file: LoggerFile) -> list[tuple[str, float, float]]:
    """The moments in UTC with temperature and humidity."""
    return [
        (datetime.fromtimestamp(int(second), UTC).strftime("%Y-%m-%d %H:%M"), row[0], row[1])
        for second, row in zip(file.seconds, file.figures.tolist(), strict=True)
    ]


def refusals(file: LoggerFile) -> dict[Reason, int]:
    return {one.reason: one.count for one in file.refused}


TWO = [("2026-01-31 12:00", 20.5, 45.25), ("2026-01-31 12:05", 20.75, 45.5)]


def test_plain_csv_with_iso_dates() -> None:
    file = read(
        "time,temperature (°C),RH (%)\n2026-01-31 12:00,20.5,45.25\n2026-01-31 12:05,20.75,45.5\n"
    )
    assert readings(file) == TWO
    assert (file.how.date_order, file.how.unit, file.how.decimal) == (
        DateOrder.YEAR_FIRST,
        Unit.CELSIUS,
        DecimalSign.POINT,
    )
    assert file.how.kind == "text, UTF-8, parted by commas"


def test_semicolons_decimal_commas_day_first_windows_1252_and_lines_about_the_logger() -> None:
    file = read(
        "Datenlogger;Treppe\nStart;31.01.2026 12:00\n\n"
        "Datum;Uhrzeit;Temperatur [°C];Rel. Feuchte [%]\n"
        "31.01.2026;12:00:00;20,5;45,25\n31.01.2026;12:05:00;20,75;45,5\n",
        "cp1252",
    )
    assert readings(file) == TWO
    assert file.how.kind == "text, Windows-1252, parted by semicolons"
    assert file.how.columns == (
        (Quantity.MOMENT, 0),
        (Quantity.TIME, 1),
        (Quantity.TEMPERATURE, 2),
        (Quantity.RH, 3),
    )
    assert (file.how.first_data_row, file.how.decimal) == (5, DecimalSign.COMMA)


def test_fahrenheit_month_first_tabs_utf_16() -> None:
    file = read(
        "#\tDate Time\tTemp, °F\tRH, %\n"
        "1\t01/31/26 12:00:00 PM\t68.9\t45.25\n2\t01/31/26 12:05:00 PM\t69.35\t45.5\n",
        "utf-16",
    )
    assert readings(file) == TWO
    assert (file.how.date_order, file.how.unit) == (DateOrder.MONTH_FIRST, Unit.FAHRENHEIT)


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "utf-16-le", "utf-16-be"])
def test_every_encoding_of_unicode(encoding: str) -> None:
    file = read(
        "Date;Température °C;Humidité %\n2026-01-31T12:00:00Z;20,5;45,25\n"
        "2026-01-31T13:05:00+01:00;20,75;45,5\n",
        encoding,
        time_zone="America/Lima",
    )
    assert readings(file) == TWO


def test_a_spreadsheet_with_dates_as_dates() -> None:
    kept = io.BytesIO()
    with xlsxwriter.Workbook(kept, {"default_date_format": "yyyy-mm-dd hh:mm"}) as book:
        book.add_worksheet("About").write(0, 0, "Logger of the stair")
        sheet = book.add_worksheet("Readings")
        sheet.write_row(0, 0, ["Timestamp", "Temperature °C", "Humidity %"])
        for n, (minute, temperature, humidity) in enumerate(((0, 20.5, 45.25), (5, 20.75, 45.5))):
            sheet.write_datetime(n + 1, 0, datetime(2026, 1, 31, 12, minute))  # noqa: DTZ001
            sheet.write_row(n + 1, 1, [temperature, humidity])
    file = read_logger_file(kept.getvalue(), Choices())
    assert readings(file) == TWO
    assert file.how.kind == "spreadsheet, sheet “Readings”"


@pytest.mark.parametrize(
    "headings",
    [
        "timestamp,temperature_c,rh_percent",
        "Date Time,T,HR",
        "Zeit,Temp. (°C),r.F. RF",
        "Date,TEMP_C,HUMIDITY",
        "Fecha,Temperatura °C,Humedad",
        "#time,T[°C],RH[%]",
    ],
)
def test_headings_come_in_many_words(headings: str) -> None:
    assert readings(read(f"{headings}\n2026-01-31 12:00,20.5,45.25\n")) == TWO[:1]


def test_light_and_ultraviolet_are_read_with_it() -> None:
    file = read('Date,T °C,RH %,Illuminance lx,UV µW/lm\n2026-01-31 12:00,20,45,"1,250",35\n')
    assert file.figures.tolist() == [[20.0, 45.0, 1250.0, 35.0]]


def test_a_dew_point_is_not_taken_for_the_temperature() -> None:
    file = read("Date,Dew point °C,Temperature °C,RH %\n2026-01-31 12:00,8.2,20.5,45.25\n")
    assert readings(file) == TWO[:1]


def test_first_or_second_of_february_is_asked_and_never_guessed() -> None:
    text = "Date,T °C,RH %\n01/02/2026 12:00,20,45\n02/02/2026 12:00,20,45\n"
    asked = read(text)
    assert (asked.how.open, len(asked.seconds)) == (("date_order",), 0)
    assert asked.first[0].written == ("01/02/2026 12:00", "20", "45")
    day_first = read(text, date_order=DateOrder.DAY_FIRST)
    assert readings(day_first)[0][0] == "2026-02-01 12:00"
    assert readings(read(text, date_order=DateOrder.MONTH_FIRST))[0][0] == "2026-01-02 12:00"


def test_one_late_day_settles_the_order_for_all() -> None:
    file = read("Date,T °C,RH %\n01/02/2026 12:00,20,45\n13/02/2026 12:00,20,45\n")
    assert file.how.date_order is DateOrder.DAY_FIRST


def test_the_unit_is_asked_where_figures_could_be_either() -> None:
    rows = "".join(f"2026-01-31 12:0{n},{38 + n / 10},45\n" for n in range(5))
    assert read(f"Date,Temp,RH\n{rows}").how.open == ("unit",)
    warm = read("Date,Temp,RH\n2026-01-31 12:00,68,45\n")
    assert (warm.how.unit, warm.how.is_unit_guessed) == (Unit.FAHRENHEIT, True)


def test_nonsense_of_a_sensor_is_refused_by_row_and_counted() -> None:
    file = read(
        "Date,T °C,RH %\n"
        "2026-01-31 12:00,20.5,45.25\n"
        "2026-01-31 12:01,20.5,140\n"
        "2026-01-31 12:02,-999,45\n"
        "2026-01-31 12:03,20.5,-999\n"
        "2026-01-31 12:04,ERR,45\n"
        "2026-01-31 12:05,20.75,45.5\n"
        "2026-01-31 12:06,,\n"
        "1970-01-01 00:00,20,45\n"
        "2027-01-31 12:07,20,45\n"
        "End of file,,\n",
        not_after=NOON + 86_400,
    )
    assert readings(file) == TWO
    assert file.refused == (
        Refused(Reason.NO_MOMENT, 1, (11,)),
        Refused(Reason.NOT_SET, 1, (9,)),
        Refused(Reason.LATER, 1, (10,)),
        Refused(Reason.NO_NUMBER, 1, (6,)),
        Refused(Reason.NO_FIGURE, 1, (8,)),
        Refused(Reason.TEMPERATURE, 1, (4,)),
        Refused(Reason.RH, 2, (3, 5)),
    )
    assert (file.rows, file.refused_rows) == (10, 8)


def test_a_row_of_which_one_figure_is_missing_is_kept() -> None:
    file = read("Date,T °C,RH %\n2026-01-31 12:00,20.5,\n2026-01-31 12:05,--,45\n")
    np.testing.assert_array_equal(
        file.figures[:, :2], [[20.5, np.nan], [np.nan, 45.0]], strict=True
    )


def test_of_two_rows_for_one_moment_the_first_stands() -> None:
    file = read(
        "Date,T °C,RH %\n2026-01-31 12:05,20.75,45.5\n2026-01-31 12:00,20.5,45.25\n"
        "2026-01-31 12:00,20.5,45.25\n2026-01-31 12:05,22,45.5\n"
    )
    assert readings(file) == TWO
    assert refusals(file) == {Reason.TWICE: 1, Reason.CONTRADICTS: 1}


AUTUMN = (
    "Date,T °C,RH %\n2026-10-25 01:30,1,50\n2026-10-25 02:00,2,50\n2026-10-25 02:30,3,50\n"
    "2026-10-25 02:00,4,50\n2026-10-25 02:30,5,50\n2026-10-25 03:00,6,50\n"
)


def test_the_hour_that_comes_twice_in_autumn_is_told_apart_by_its_order() -> None:
    file = read(AUTUMN, time_zone=BERLIN)
    steps = {int(step) for step in np.diff(file.seconds)}
    assert (steps, file.figures[:, 0].tolist()) == ({1800}, [1, 2, 3, 4, 5, 6])
    assert (file.refused, file.times_told_apart) == ((), 2)
    head, *rows = AUTUMN.splitlines()
    falling = read("\n".join([head, *reversed(rows)]), time_zone=BERLIN)
    assert falling.seconds.tolist() == file.seconds.tolist()
    assert falling.figures[:, 0].tolist() == [1, 2, 3, 4, 5, 6]


def test_an_hour_that_never_was_in_spring_is_refused() -> None:
    text = "Date,T °C,RH %\n2026-03-29 01:30,1,50\n2026-03-29 02:30,2,50\n2026-03-29 03:30,3,50\n"
    file = read(text, time_zone=BERLIN)
    assert refusals(file) == {Reason.LEFT_OUT: 1}
    winter = read(text, time_zone=BERLIN, clock=LoggerClock.WINTER_TIME)
    assert [one[0] for one in readings(winter)] == [
        "2026-03-29 00:30",
        "2026-03-29 01:30",
        "2026-03-29 02:30",
    ]


def test_winter_time_in_the_south_is_that_of_july() -> None:
    text = "Date,T °C,RH %\n2026-01-31 12:00,20,50\n"
    winter = read(text, time_zone="Pacific/Auckland", clock=LoggerClock.WINTER_TIME)
    assert readings(winter)[0][0] == "2026-01-31 00:00"
    assert readings(read(text, time_zone="Pacific/Auckland"))[0][0] == "2026-01-30 23:00"


def test_a_person_says_which_column_is_what() -> None:
    text = "a,b,c,d\n2026-01-31 12:00,20.5,1,45.25\n"
    columns = ((Quantity.MOMENT, 0), (Quantity.TEMPERATURE, 1), (Quantity.RH, 3))
    with pytest.raises(BadValue, match="No column is known"):
        read(text)
    assert readings(read(text, columns=columns, unit=Unit.CELSIUS)) == TWO[:1]


@pytest.mark.parametrize(
    "content",
    [b"", b"Hello", b"\x00" * 50, b"PK\x03\x04 and nothing", b"Date,T,RH\n", b'"' + b"a" * 200_000],
)
def test_what_holds_no_readings_is_refused_in_words(content: bytes) -> None:
    with pytest.raises(BadValue):
        read_logger_file(content, Choices())


def test_an_unknown_time_zone_is_refused() -> None:
    with pytest.raises(BadValue, match="no known time zone"):
        read("Date,T °C,RH %\n2026-01-31 12:00,20,45\n", time_zone="Mars/Base")


def spreadsheet_claiming(dimension: str, cells: str) -> bytes:
    """A spreadsheet of a kilobyte whose cells lie as far apart as they can."""
    kept = io.BytesIO()
    spread = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
    office = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
    package = "http://schemas.openxmlformats.org/package/2006"
    parts = {
        "[Content_Types].xml": f'<Types xmlns="{package}/content-types"/>',
        "xl/workbook.xml": f'<workbook xmlns="{spread}" xmlns:r="{office}"><sheets>'
        '<sheet name="A" sheetId="1" r:id="rId1"/></sheets></workbook>',
        "xl/_rels/workbook.xml.rels": f'<Relationships xmlns="{package}/relationships">'
        f'<Relationship Id="rId1" Type="{office}/worksheet" Target="worksheets/sheet1.xml"/>'
        "</Relationships>",
        "xl/worksheets/sheet1.xml": f'<worksheet xmlns="{spread}">{dimension}'
        f"<sheetData>{cells}</sheetData></worksheet>",
    }
    with zipfile.ZipFile(kept, "w", zipfile.ZIP_DEFLATED) as packed:
        for name, text in parts.items():
            packed.writestr(name, text)
    return kept.getvalue()


FAR_APART = (
    '<row r="1"><c r="A1"><v>1</v></c></row><row r="1048576"><c r="XFD1048576"><v>1</v></c></row>'
)


def test_a_small_spreadsheet_that_claims_billions_of_cells_is_refused_unopened() -> None:
    content = spreadsheet_claiming('<dimension ref="A1:XFD1048576"/>', FAR_APART)
    with pytest.raises(BadValue, match="claims more cells"):
        read_logger_file(content, Choices())


def test_one_that_does_not_say_so_ends_the_child_alone(tmp_path: Path) -> None:
    file = tmp_path / "far-apart.xlsx"
    file.write_bytes(spreadsheet_claiming("", FAR_APART))
    with pytest.raises(BadValue, match="cannot be read"):
        read_apart(file, Choices())


def test_the_child_hands_back_what_was_read(tmp_path: Path) -> None:
    file = tmp_path / "logger.csv"
    file.write_text(AUTUMN + "End,,\n", encoding="utf-8")
    choices = Choices(time_zone=BERLIN, date_order=DateOrder.YEAR_FIRST, unit=Unit.CELSIUS)
    there, here = read_apart(file, choices), read_logger_file(file.read_bytes(), choices)
    assert (there.how, there.rows, there.refused, there.first, there.times_told_apart) == (
        here.how,
        here.rows,
        here.refused,
        here.first,
        here.times_told_apart,
    )
    np.testing.assert_array_equal(there.seconds, here.seconds)
    np.testing.assert_array_equal(there.figures, here.figures)


def test_the_child_says_in_words_what_is_wrong(tmp_path: Path) -> None:
    file = tmp_path / "letter.txt"
    file.write_text("Dear keeper, please find enclosed nothing.", encoding="utf-8")
    with pytest.raises(BadValue, match="There are no readings"):
        read_apart(file, Choices())


HEADS = st.sampled_from([b"", b"\xff\xfe", b"\xef\xbb\xbf", b"PK\x03\x04", b"Date;T;RH\n"])
CELLS = st.text(alphabet="0123456789.,:;-+/ TZ°CF%ae\t\n\"'xAPM", max_size=80)


@settings(max_examples=150, deadline=None)
@given(HEADS, st.binary(max_size=300))
def test_no_bytes_crash_the_reader(head: bytes, rest: bytes) -> None:
    try:
        read_logger_file(head + rest, Choices())
    except BadValue:
        return


@settings(max_examples=300, deadline=None)
@given(CELLS, st.sampled_from(list(DateOrder)), st.sampled_from(["UTC", BERLIN]))
def test_no_rows_like_readings_crash_the_reader(cells: str, order: DateOrder, zone: str) -> None:
    text = f"Date,T °C,RH %\n2026-01-31 12:00,20,45\n2026-01-31 12:05,20,45\n{cells}\n"
    try:
        file = read(text, date_order=order, time_zone=zone)
    except BadValue:
        return
    assert (np.diff(file.seconds) > 0).all()
    assert file.rows == len(file.seconds) + file.refused_rows


@settings(max_examples=60, deadline=None)
@given(
    st.lists(
        st.tuples(st.integers(0, 500_000), st.floats(-29, 59), st.floats(0, 100)),
        min_size=2,
        max_size=30,
        unique_by=lambda row: row[0],
    ),
    st.sampled_from([";", "\t"]),
    st.sampled_from(["utf-8", "utf-16", "cp1252"]),
)
def test_what_is_written_is_what_is_read(
    rows: list[tuple[int, float, float]], sign: str, encoding: str
) -> None:
    begun = datetime(2025, 1, 13, tzinfo=UTC)
    lines = [
        sign.join(
            (
                (begun + timedelta(minutes=minute)).strftime("%d.%m.%Y %H:%M"),
                f"{temperature:.2f}".replace(".", ","),
                f"{humidity:.2f}".replace(".", ","),
            )
        )
        for minute, temperature, humidity in rows
    ]
    text = "\r\n".join([sign.join(("Datum", "Temperatur °C", "Feuchte %")), *lines])
    file = read(text, encoding, date_order=DateOrder.DAY_FIRST, decimal=DecimalSign.COMMA)
    expected = np.array(
        sorted(
            (int(begun.timestamp()) + minute * 60, round(t, 2), round(rh, 2))
            for minute, t, rh in rows
        )
    )
    np.testing.assert_array_equal(np.column_stack([file.seconds, file.figures[:, :2]]), expected)
