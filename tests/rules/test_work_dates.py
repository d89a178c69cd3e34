"""Dates of many works at once: the same as one by one, and never later for what is worse."""

import csv
from dataclasses import replace
from datetime import date
from math import log
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.stats import weibull_min

from models.rules.calendar_days import add_months, add_years, day_number, months_later, years_later
from models.rules.default_figures import DefaultFigures, read_default_figures
from models.rules.package_components import ComponentRow
from models.rules.packed_rows import (
    FRAME,
    ROW,
    HarmRows,
    Packed,
    figure_columns,
    harm_rows,
    pack_rows,
)
from models.rules.policy import Policy
from models.rules.work_dates import (
    DUE_KINDS,
    USES,
    Asked,
    WorkDates,
    after_clean_years,
    work_dates,
)
from models.vocabulary import DueKind, Mechanism, PlaceUse, Shown

TODAY = day_number(date(2026, 11, 25))
DEFAULTS = Path(__file__).resolve().parents[2] / "seed_data" / "risk_defaults.csv"
GROUNDWOOD = "groundwood board"
MARGINS, VERSO = 1 << list(Shown).index(Shown.MARGINS), 1 << list(Shown).index(Shown.VERSO)
NEVER = np.nan


def shipped() -> DefaultFigures:
    with DEFAULTS.open(newline="", encoding="utf-8") as file:
        return read_default_figures(csv.DictReader(file))


FIGURES = shipped()
BOARDS = [g for g in FIGURES.grades(Mechanism.ACID_MIGRATION) if g != "unknown board"]


def a_mat(
    grade: str = GROUNDWOOD, *, rate: float = 1.0, now: float = 0.0, seen: float | None = None
) -> ComponentRow:
    figure = FIGURES.figure(Mechanism.ACID_MIGRATION, grade)
    return ComponentRow(
        mechanism=Mechanism.ACID_MIGRATION,
        grade=grade,
        name="window mat",
        key=None,
        shown=Shown.MARGINS,
        median=np.nan if figure.median is None else figure.median,
        shape=np.nan if figure.shape is None else figure.shape,
        theta=1.0,
        severity=0.6,
        rate_per_year=rate,
        clock_seen=now if seen is None else seen,
        clock_now=now,
        weights=(0.55, 0.30, 0.15) if figure.median is None else (0.0, 0.0, 0.0),
        begun_day=TODAY - 3650,
    )


def a_frame(**days: float) -> Packed:
    """Return the frame of a unique work on display, opened and looked at today."""
    frame = np.zeros(1, dtype=FRAME)
    for name in FRAME.names or ():
        if FRAME[name].kind == "f":
            frame[name] = NEVER
    for name, value in {
        "was_ever_examined": 1,
        "as_of": TODAY,
        "since": TODAY - 3650,
        "unframed": TODAY,
        "opened": TODAY,
        "opened_for_certain": TODAY,
        "looked": TODAY,
        "soundness": 2,
        **days,
    }.items():
        frame[name] = value
    return frame


def rows_of(*works: list[ComponentRow], theta: float = 1.0) -> HarmRows:
    packed = [pack_rows(rows, FIGURES) for rows in works]
    counts = np.array([len(rows) for rows in packed], dtype=np.int64)
    figures = figure_columns(FIGURES, {(Mechanism.ACID_MIGRATION, GROUNDWOOD): theta})
    return harm_rows(np.concatenate([*packed, np.zeros(0, dtype=ROW)]), counts, figures)


def dates_of(
    rows: HarmRows,
    frames: Packed,
    *,
    policy: Policy | None = None,
    today: float = TODAY,
    advised_on: float = NEVER,
    not_advised_on: float = NEVER,
) -> WorkDates:
    count = len(frames)
    return work_dates(
        Asked(
            rows=rows,
            frames=frames,
            policy=policy or Policy(),
            today=np.full(count, float(today)),
            advised_on=np.full(count, advised_on),
            not_advised_on=np.full(count, not_advised_on),
        )
    )


def mat_dates(row: ComponentRow | None = None, **changes: float) -> WorkDates:
    return dates_of(rows_of([row or a_mat()]), a_frame(**changes))


DAYS = st.integers(day_number(date(1800, 1, 1)), day_number(date(2200, 12, 31)))


@given(st.lists(DAYS, min_size=1), st.integers(-3000, 3000))
def test_calendar_months_of_an_array_are_those_of_each_day(days: list[int], months: int) -> None:
    later = months_later(np.array(days, dtype=np.float64), months)
    assert later.tolist() == [add_months(day, months) for day in days]


@pytest.mark.parametrize("months", [-40_000, 120_000])
def test_the_calendar_has_a_first_and_a_last_day(months: int) -> None:
    assert months_later(np.array([float(TODAY)]), months)[0] == add_months(TODAY, months)


@given(DAYS, st.floats(-500, 1e6))
def test_years_of_an_array_are_those_of_each_day(day: int, years: float) -> None:
    later = years_later(np.array([float(day)]), np.array([years]))
    assert later.tolist() == [add_years(day, years)]


def test_no_day_and_endless_years_stay_none() -> None:
    assert np.isnan(months_later(np.array([NEVER]), 12)).all()
    assert np.isnan(years_later(np.array([TODAY, NEVER]), np.array([np.inf, 1.0]))).all()


@st.composite
def some_works(draw: st.DrawFn) -> list[tuple[list[ComponentRow], Packed]]:
    grades = st.sampled_from([*BOARDS, "unknown board"])
    clocks = st.tuples(st.floats(0, 40), st.floats(0, 1), st.floats(0, 3))
    works = []
    for _ in range(draw(st.integers(1, 5))):
        rows = [
            replace(
                a_mat(grade, rate=rate, now=now, seen=now * seen),
                shown=draw(st.sampled_from([Shown.MARGINS, Shown.VERSO])),
                can_be_seen=draw(st.booleans()),
                is_of_package=draw(st.booleans()),
            )
            for grade, (now, seen, rate) in draw(st.lists(st.tuples(grades, clocks), max_size=4))
        ]
        rows.sort(key=lambda row: list(Shown).index(row.shown))
        frame = a_frame(
            replaceability=draw(st.integers(0, 2)),
            use=draw(st.integers(0, len(USES) - 1)),
            soundness=draw(st.integers(0, 2)),
            clean=draw(st.sampled_from([0, MARGINS, VERSO])),
            clean_floor=TODAY + draw(st.integers(365, 4000)),
            was_ever_examined=draw(st.booleans()),
            left_in_peace=draw(st.booleans()),
            is_live_stain=draw(st.booleans()),
            urgent=draw(st.sampled_from([NEVER, TODAY - 3])),
        )
        works.append((rows, frame))
    return works


@settings(deadline=None, max_examples=100)
@given(some_works())
def test_many_works_at_once_are_the_works_one_by_one(
    works: list[tuple[list[ComponentRow], Packed]],
) -> None:
    frames = np.concatenate([frame for _, frame in works])
    together = dates_of(rows_of(*(rows for rows, _ in works)), frames)
    first = 0
    for index, (rows, frame) in enumerate(works):
        alone = dates_of(rows_of(rows), frame)
        for name, values in vars(alone).items():
            expected = values[0]
            if name in ("leading_mendable", "leading_at_unframing") and expected >= 0:
                expected += first
            np.testing.assert_allclose(
                vars(together)[name][index], expected, rtol=1e-8, atol=1e-8, err_msg=name
            )
        first += len(rows)


@settings(deadline=None)
@given(st.sampled_from(BOARDS), st.floats(0, 60), st.floats(0.2, 3))
def test_the_chance_is_that_of_a_weibull_life(grade: str, now: float, rate: float) -> None:
    # Conditional reliability; SciPy's distribution with the median put in for its scale.
    median, shape = FIGURES.median_and_shape(Mechanism.ACID_MIGRATION, grade)
    life = weibull_min(shape, scale=median / log(2) ** (1 / shape))
    found = mat_dates(a_mat(grade, rate=rate, now=now))
    new = 1 - life.sf(now + 5 * rate) / life.sf(now)
    np.testing.assert_allclose(found.chance_new_5y[0], new, rtol=1e-7, atol=1e-12)
    years = found.unframing_years[0]
    if np.isfinite(years):
        at_the_date = 1 - life.sf(now + years * rate) / life.sf(now)
        np.testing.assert_allclose(at_the_date, 0.05, rtol=1e-6)


@settings(deadline=None)
@given(
    st.sampled_from(BOARDS),
    st.floats(0, 40),
    st.floats(0, 1),
    st.floats(0.1, 3),
    st.floats(1, 2),
    st.floats(0, 1),
)
def test_worse_warmer_or_longer_unseen_is_never_later(
    grade: str, now: float, seen: float, rate: float, warmer: float, unseen: float
) -> None:
    row = a_mat(grade, rate=rate, now=now, seen=now * seen)
    found = mat_dates(row).unframing_years[0]
    worst = min(BOARDS, key=lambda g: FIGURES.figure(Mechanism.ACID_MIGRATION, g).median or 0)
    worse = a_mat(worst, rate=rate, now=now, seen=now * seen)
    # Warm means warm from the mounting on.
    warm = replace(
        row,
        rate_per_year=rate * warmer,
        clock_now=now * warmer,
        clock_seen=now * seen * warmer,
    )
    longer = replace(row, clock_seen=now * seen * unseen)
    for other in (worse, warm, longer):
        assert mat_dates(other).unframing_years[0] <= found + 1e-6


@settings(deadline=None)
@given(st.sampled_from(BOARDS), st.floats(0, 30), st.integers(0, 3650))
def test_however_often_one_looks_no_date_is_earlier_than_its_limit(
    grade: str, now: float, days_ago: int
) -> None:
    last = TODAY - days_ago
    found = mat_dates(a_mat(grade, now=now), opened=last, looked=last)
    assert add_months(last, 12) <= found.unframing_on[0] <= add_months(last, 120)
    assert add_months(last, 1) <= found.look_on[0] <= add_months(last, 12)


def test_an_experience_factor_hastens_or_delays() -> None:
    years = [
        dates_of(rows_of([a_mat()], theta=theta), a_frame()).unframing_years[0]
        for theta in (1.0, 1.35)
    ]
    # Worked examples A and I of the design table.
    np.testing.assert_allclose(years, [2.4705, 2.1911], atol=5e-5)


def test_a_clean_place_is_held_back_to_its_floor_and_the_others_are_not() -> None:
    frames = np.concatenate(
        [
            a_frame(clean=MARGINS, clean_floor=TODAY + 700),
            a_frame(clean=MARGINS, clean_floor=TODAY + 700),
            a_frame(clean=MARGINS, clean_floor=TODAY + 700),
            a_frame(clean=0, clean_floor=TODAY + 700),
        ]
    )
    day = np.array([100.0, 100.0, 900.0, 100.0]) + TODAY
    others = np.array([NEVER, TODAY + 500.0, NEVER, NEVER])
    held = after_clean_years(frames, day, others) - TODAY
    assert held.tolist() == [700, 500, 900, 100]


@pytest.mark.parametrize(
    ("now", "opened", "is_advised"),
    [
        (0.0, TODAY, False),
        (6.0, TODAY - 2000, True),
        (2.0, TODAY, True),
        (2.0, TODAY - 2000, False),
    ],
)
def test_harm_more_likely_than_not_or_due_within_a_year_is_rematted(
    now: float, opened: int, is_advised: bool
) -> None:
    found = mat_dates(a_mat(now=now), opened_for_certain=opened)
    assert bool(found.why_remat[0]) is is_advised


def test_a_work_never_opened_for_certain_is_not_called_opened_too_often() -> None:
    assert mat_dates(a_mat(now=2), opened_for_certain=NEVER).why_remat[0] == 0


@pytest.mark.parametrize(
    ("stored", "mounted", "counts_from"),
    [
        (NEVER, TODAY - 1000, TODAY),
        (TODAY - 200, TODAY - 1000, TODAY - 200),
        (TODAY - 200, NEVER, TODAY - 200),
        (TODAY - 200, TODAY - 100, TODAY),
    ],
)
def test_advice_counts_from_the_day_it_first_held_for_this_mount(
    stored: float, mounted: float, counts_from: int
) -> None:
    found = dates_of(rows_of([a_mat(now=6)]), a_frame(mounted=mounted), advised_on=stored)
    assert found.advised_on[0] == counts_from


def test_advice_that_nobody_recorded_anything_for_began_when_harm_became_likely() -> None:
    row = a_mat(now=6)
    early = dates_of(rows_of([row]), a_frame(), not_advised_on=TODAY - 2000)
    late = dates_of(rows_of([row]), a_frame(), not_advised_on=TODAY - 2)
    assert TODAY - 2000 < early.advised_on[0] < TODAY - 300
    assert late.advised_on[0] == TODAY - 2


def test_a_remat_waits_until_harm_is_likely_within_90_days_and_36_months_of_the_advice() -> None:
    early = TODAY - 3000
    frame = a_frame(mounted=early, opened_for_certain=TODAY)
    likely_then = dates_of(rows_of([a_mat(now=15)]), frame, advised_on=early)
    likely_now = dates_of(rows_of([a_mat(now=6)]), frame, advised_on=TODAY)
    too_soon = dates_of(rows_of([a_mat(now=2)]), frame, advised_on=TODAY)
    stain = dates_of(
        rows_of([a_mat("cotton rag board, buffered", now=180, rate=1)]),
        a_frame(is_live_stain=1),
        policy=Policy(allowed_unique=0.001),
        advised_on=TODAY,
    )
    never_likely = dates_of(
        rows_of([a_mat("cotton rag board, buffered", now=100, rate=1)]),
        a_frame(),
        policy=Policy(allowed_unique=0.001),
        advised_on=TODAY,
    )
    assert [int(d.remat_by[0]) for d in (likely_then, likely_now, too_soon)] == [
        early + 90,
        TODAY + 90,
        TODAY + 90,
    ]
    assert [int(d.remat_by[0]) for d in (stain, never_likely)] == [
        add_months(TODAY, 12),
        add_months(TODAY, 36),
    ]


def test_what_is_due_first_is_named() -> None:
    urgent = mat_dates(urgent=TODAY - 3)
    survey = mat_dates(was_ever_examined=0)
    box = mat_dates(use=USES.index(PlaceUse.BOX), box_checked=TODAY)
    kinds = [DUE_KINDS[found.due_kind[0]] for found in (urgent, survey, box, mat_dates())]
    assert kinds == [DueKind.URGENT, DueKind.FIRST_SURVEY, DueKind.BOX_CHECK, DueKind.LOOK]
    assert urgent.due_on[0] == TODAY - 3


def test_a_day_by_formula_does_not_move_with_the_day_of_the_question() -> None:
    rows, frame = rows_of([a_mat(now=1)]), a_frame()
    asked = [dates_of(rows, frame, today=TODAY + later) for later in (0, 100, 3000)]
    assert len({found.unframing_on[0] for found in asked}) == 1
    assert asked[0].chance_unseen[0] < asked[1].chance_unseen[0] < asked[2].chance_unseen[0]


def test_a_keeper_who_allows_more_is_asked_later() -> None:
    rows, frame = rows_of([a_mat()]), a_frame()
    strict, easy = (
        dates_of(rows, frame, policy=Policy(allowed_unique=share)).unframing_years[0]
        for share in (0.05, 0.25)
    )
    # Worked example A of the design table.
    np.testing.assert_allclose([strict, easy], [2.4705, 4.9242], atol=5e-5)


def test_no_work_at_all_has_no_dates() -> None:
    found = dates_of(rows_of(), np.zeros(0, dtype=FRAME))
    assert all(len(values) == 0 for values in vars(found).values())
