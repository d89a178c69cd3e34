"""The logger files of the demonstration: three formats, read as they were meant."""

from pathlib import Path

import numpy as np

from models.exchange.logger_file import (
    Choices,
    DateOrder,
    DecimalSign,
    Reason,
    Unit,
    read_logger_file,
)
from seed_data.demo.logger_files import SAMPLE_NAME, ZONE, demo_files, sample_file

HOURS = 17_520
SAMPLE = Path(__file__).resolve().parents[2] / "seed_data" / "demo" / SAMPLE_NAME


def test_the_three_files_are_of_three_kinds_and_read_as_meant() -> None:
    read = [read_logger_file(f.content, Choices(time_zone=f.time_zone)) for f in demo_files()]
    assert [(one.how.date_order, one.how.unit, one.how.decimal) for one in read] == [
        (DateOrder.DAY_FIRST, Unit.CELSIUS, DecimalSign.COMMA),
        (DateOrder.YEAR_FIRST, Unit.CELSIUS, DecimalSign.POINT),
        (DateOrder.MONTH_FIRST, Unit.FAHRENHEIT, DecimalSign.POINT),
    ]
    assert [one.how.kind for one in read] == [
        "text, Windows-1252, parted by semicolons",
        "text, UTF-8, parted by commas",
        "text, UTF-16, parted by tabs",
    ]
    # Every one has temperature and humidity, one has light.
    assert [np.isnan(one.figures).all(axis=0).tolist() for one in read] == [
        [False, False, True, True],
        [False, False, True, True],
        [False, False, False, True],
    ]
    # Twelve days and seven hours without a battery.
    assert [one.rows for one in read] == [HOURS, HOURS - 295, HOURS]
    assert [{r.reason: r.count for r in one.refused} for one in read] == [
        {Reason.RH: 5},
        {Reason.TEMPERATURE: 5},
        {Reason.RH: 5},
    ]
    # Two autumns, an hour each that came twice.
    assert [one.times_told_apart for one in read] == [2, 0, 2]
    # However its clock was written, a logger read once an hour, two where a row was refused.
    assert {int(step) for one in read for step in np.diff(one.seconds)} == {3600, 7200, 296 * 3600}


def test_the_file_to_try_an_import_with_is_the_generated_one() -> None:
    content = SAMPLE.read_bytes()
    assert content == sample_file()
    assert len(content) < 60_000
    read = read_logger_file(content, Choices(time_zone=ZONE))
    assert (read.rows, read.refused) == (504, ())
