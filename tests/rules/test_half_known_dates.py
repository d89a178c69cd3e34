from datetime import date

import pytest
from edtf import parse_edtf
from hypothesis import given, settings
from hypothesis import strategies as st

from models.errors import BadValue
from models.rules.calendar_days import day_date
from models.rules.half_known_dates import (
    exact_day,
    exactly,
    from_words,
    in_words,
    is_certainly_before,
    read_date,
    read_record_date,
    years_between_first_days,
)


def days(text: str) -> tuple[str | None, str | None]:
    read = read_date(text)
    return (
        None if read.first_day is None else day_date(read.first_day).isoformat(),
        None if read.last_day is None else day_date(read.last_day).isoformat(),
    )


# Valid and invalid: the lists of an open EDTF validator (unt-libraries/edtf-validate, 01c13c5).
VALID = """1985 1985-04 1985-04-12 1985-04-12T23:20:30Z 1964/2008 2004-06/2006-08 1984?
2004-06~ 2004-06-11% 201X 19XX 1985-04-XX 1985-XX-XX 2001-21 Y170000002 1985/.. 1985/ ../1985
1984~/2004-06 -1985 1950S2 156X-12-25 2004?-06-~11 [1667,1668,1670..1672] {1960,1961-12}
[..1760-12-03] 2001-25 2001-41""".split()
INVALID = [
    "-0000",
    "1863- 03-29",
    " 1863-03-29",
    "Y2006",
    "20067890%",
    "[1667,1668, 1670..1672]",
    "+2006%",
    "2012-24/2012-21",
    "0800/-0999",
    "1985-04-12t23:20:30",
    "",
    "2026-13",
    "last year",
]


@pytest.mark.parametrize("text", VALID)
def test_every_valid_notation_is_read_and_kept_as_written(text: str) -> None:
    assert read_date(text).edtf == text


@pytest.mark.parametrize("text", INVALID)
def test_what_is_no_date_is_refused_and_told_how_dates_are_written(text: str) -> None:
    with pytest.raises(BadValue, match="about 2005 as 2005~"):
        read_date(text)


@pytest.mark.parametrize(
    ("text", "first", "last"),
    [
        ("1985", "1985-01-01", "1985-12-31"),
        ("2024-02", "2024-02-01", "2024-02-29"),
        ("2005~", "2005-01-01", "2005-12-31"),
        ("193X", "1930-01-01", "1939-12-31"),
        ("19XX", "1900-01-01", "1999-12-31"),
        ("2001/2010", "2001-01-01", "2010-12-31"),
        ("../1980", None, "1980-12-31"),
        ("/1980", None, "1980-12-31"),
        ("1990/..", "1990-01-01", None),
        ("XXXX", None, None),
        ("1985-04-XX", "1985-04-01", "1985-04-30"),
        ("1985-XX-XX", "1985-01-01", "1985-12-31"),
        ("156X-12-25", "1560-12-25", "1569-12-25"),
        ("2001-21", "2001-03-01", "2001-05-31"),
        ("2001-24", "2001-12-01", "2002-02-28"),
        ("2001-34", "2001-04-01", "2001-06-30"),
        ("1950S2", "1900-01-01", "1999-12-31"),
        ("[1667,1668,1670..1672]", "1667-01-01", "1672-12-31"),
        ("[..1760-12-03]", None, "1760-12-03"),
        ("Y170000002", None, None),
        ("-1985", None, None),
        ("0000", None, None),
        ("1985-04-12T23:20:30Z", "1985-04-12", "1985-04-12"),
    ],
)
def test_a_date_allows_these_days_and_no_others(
    text: str, first: str | None, last: str | None
) -> None:
    assert days(text) == (first, last)


# A reading by the library takes long.
@settings(deadline=None, max_examples=30)
@given(st.dates(min_value=date(1000, 1, 1)))
def test_the_quick_reading_accepts_what_the_library_accepts(on: date) -> None:
    for text in (on.isoformat(), on.isoformat()[:7], on.isoformat()[:4], f"{on.year}~"):
        parse_edtf(text)
        assert read_date(text).edtf == text


@given(st.dates())
def test_a_known_day_reads_back_as_itself(on: date) -> None:
    assert exact_day(read_date(on.isoformat())) == on
    assert read_date(exactly(on).edtf) == exactly(on)


@pytest.mark.parametrize(
    ("typed", "edtf", "said"),
    [
        ("about 2005", "2005~", "about 2005"),
        ("perhaps 1890", "1890?", "perhaps 1890"),
        ("before 1980", "../1980", "before 1980"),
        ("after 1990", "1990/..", "after 1990"),
        ("1930s", "193X", "1930s"),
        ("unknown", "XXXX", "unknown"),
        ("20 November 2026", "2026-11-20", "20 November 2026"),
        ("November  2026", "2026-11", "November 2026"),
        ("between 2001 and 2010", "2001/2010", "between 2001 and 2010"),
        ("about November 2026", "2026-11~", "about November 2026"),
        ("1985-04-12", "1985-04-12", "12 April 1985"),
    ],
)
def test_what_people_type_is_read_and_said_again(typed: str, edtf: str, said: str) -> None:
    assert (from_words(typed).edtf, in_words(from_words(typed))) == (edtf, said)


def test_a_date_with_two_readings_is_refused_with_both() -> None:
    with pytest.raises(BadValue, match=r"3 April \(2026-04-03\) or 4 March \(2026-03-04\)"):
        from_words("03/04/2026")


@pytest.mark.parametrize("typed", ["27/11/2026", "27.11.2026", "11/27/2026"])
def test_a_date_that_can_be_only_one_day_is_taken(typed: str) -> None:
    assert from_words(typed).edtf == "2026-11-27"


@given(st.integers(1000, 9999), st.integers(0, 13), st.integers(0, 32))
def test_those_days_are_taken_which_the_calendar_of_the_standard_library_has(
    year: int, month: int, day: int
) -> None:
    written = f"{year}-{month:02d}-{day:02d}"
    try:
        there_is = bool(date(year, month, day))
    except ValueError:
        there_is = False
    if there_is:
        assert read_date(written).first_day == read_date(written).last_day
    else:
        with pytest.raises(BadValue):
            read_date(written)


def test_a_leap_day_of_a_half_known_year_lies_in_its_leap_years() -> None:
    # ISO 8601: the proleptic Gregorian calendar; 1900 was no leap year, 1904 and 1996 were.
    decades = read_date("19XX-02-29")
    assert (decades.first_day, decades.last_day) == (
        read_date("1904-02-29").first_day,
        read_date("1996-02-29").first_day,
    )


def test_only_what_is_certain_counts_as_before() -> None:
    assert is_certainly_before(read_date("1985"), read_date("1986"))
    assert not is_certainly_before(read_date("198X"), read_date("1986"))
    assert not is_certainly_before(read_date("1985/.."), read_date("1999"))


def test_years_run_from_first_day_to_first_day() -> None:
    assert years_between_first_days(read_date("1985~"), read_date("2026-11-20")) == 41.9
    assert years_between_first_days(read_date("XXXX"), read_date("2026")) is None


@pytest.mark.parametrize("text", ["0000", "-0500", "Y170000002", "0999-12-31", "-0500~"])
def test_nothing_on_paper_was_examined_before_the_year_1000(text: str) -> None:
    with pytest.raises(BadValue):
        read_record_date(text)


@pytest.mark.parametrize("text", ["1985~", "193X", "XXXX", "2006-05/2008-09", "../1980", "2020/.."])
def test_half_known_dates_of_a_record_are_taken(text: str) -> None:
    assert read_record_date(text).edtf == text


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ("31 February 2027", "There is no 31 February 2027: it has 28 days, the last is 28"),
        ("2028-02-30", "it has 29 days, the last is 29 February 2028 (2028-02-29)."),
        ("2026-11-00", "There is no 0 November 2026: it has 30 days"),
        ("2026-13-05", "'2026-13-05': there is no month 13. Months go from 01 to 12."),
        ("about 31 June 2020", "There is no 31 June 2020"),
        ("2019-01-05/2019-04-31", "There is no 31 April 2019"),
        ("1960-06-31", "There is no 31 June 1960"),
        ("31 February", "'31 February' has no year"),
        ("29 February 2027", "There is no 29 February 2027: it has 28 days"),
        ("about 1900-02-29", "There is no 29 February 1900"),
        ("19X1-02-29", "No year of 19X1 has a 29 February."),
        ("30.02.2027", "There is no day 30.02.2027."),
    ],
)
def test_a_day_that_the_calendar_has_not_is_said_to_be_none(typed: str, said: str) -> None:
    with pytest.raises(BadValue) as refused:
        from_words(typed)
    assert said in refused.value.message
