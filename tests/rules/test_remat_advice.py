"""When a work is rematted instead of being looked at again: policy of the project, no source."""

from dataclasses import replace
from datetime import date
from math import inf

import pytest

from models.rules.calendar_days import day_number
from models.rules.package_components import MENDABLE, ComponentRow
from models.rules.package_facts import FindingFacts, WorkFacts
from models.rules.policy import Policy
from models.rules.remat_advice import (
    CURE,
    advice_counts_from,
    is_live_stain,
    remat_advice,
    why_remat,
)
from models.vocabulary import Advice, Mechanism, Replaceability, Shown, ValueBand


def day(year: int, month: int, on: int) -> int:
    return day_number(date(year, month, on))


LAST = day(2026, 11, 25)
MAT = ComponentRow(
    mechanism=Mechanism.ACID_MIGRATION,
    grade="groundwood board",
    name="window mat",
    key=1,
    shown=Shown.MARGINS,
    median=7.0,
    shape=2.5,
    theta=1.0,
    severity=0.6,
    rate_per_year=1.0,
    clock_seen=0.0,
    clock_now=6.0,
    weights=(0.0, 0.0, 0.0),
    begun_day=LAST,
)
BURN = FindingFacts(
    term="mat burn",
    mechanism=Mechanism.ACID_MIGRATION,
    grade="groundwood board",
    shows_at=Shown.MARGINS,
    is_of_this_mount=True,
)


def remat_by(likely_years: float, *, is_live_stain: bool = False) -> int:
    return remat_advice(
        leading=Mechanism.ACID_MIGRATION,
        why="it must be",
        advised_on=LAST,
        likely_years=likely_years,
        is_live_stain=is_live_stain,
        policy=Policy(),
    ).remat_by


def test_whatever_can_be_mended_has_its_cure() -> None:
    assert set(CURE) == MENDABLE


@pytest.mark.parametrize(
    ("formula", "chance", "is_advised"),
    [
        (day(2027, 11, 25), 0.1, True),
        (day(2027, 11, 26), 0.1, False),
        (None, 0.1, False),
        (None, 0.5, False),
        (None, 0.501, True),
    ],
)
def test_a_year_too_soon_or_harm_more_likely_than_not(
    formula: int | None, chance: float, is_advised: bool
) -> None:
    why = why_remat(formula_day=formula, last_unframed_day=LAST, chance_new=chance)
    assert (why is not None) is is_advised


def test_a_work_never_opened_for_certain_is_not_called_opened_too_often() -> None:
    assert why_remat(formula_day=LAST, last_unframed_day=None, chance_new=0.1) is None


@pytest.mark.parametrize(
    ("likely_years", "by"),
    [
        (0.0, LAST + 90),
        (1.0, LAST + 366),
        (2.9, LAST + 1060),
        (3.1, day(2029, 11, 25)),
        (inf, day(2029, 11, 25)),
    ],
)
def test_by_the_day_harm_is_likely_but_not_before_90_days_and_within_36_months(
    likely_years: float, by: int
) -> None:
    assert remat_by(likely_years) == by


def test_a_stain_whose_source_is_still_there_waits_a_year_at_most() -> None:
    assert remat_by(inf, is_live_stain=True) == day(2027, 11, 25)


def test_the_advice_names_its_cure_its_day_and_its_reason() -> None:
    said = remat_advice(
        leading=Mechanism.HOLD_FAILURE,
        why="new harm within 5 years is more likely than not",
        advised_on=LAST,
        likely_years=0.0,
        is_live_stain=False,
        policy=Policy(),
    )
    assert (said.advice, said.sentence) == (
        Advice.REHINGE,
        "Instead of looking again: rehinge by 23 February 2027, because new harm within 5 years is"
        " more likely than not (advised since 25 November 2026; leading: hold failure).",
    )


@pytest.mark.parametrize(
    ("stored", "mounted", "counts_from"),
    [(None, 100, 500), (300, 100, 300), (300, None, 300), (300, 400, 500)],
)
def test_advice_counts_from_the_day_it_first_held_for_this_mount(
    stored: int | None, mounted: int | None, counts_from: int
) -> None:
    assert advice_counts_from(stored=stored, mounted_day=mounted, today=500) == counts_from


@pytest.mark.parametrize(
    ("finding", "is_live"),
    [
        (BURN, True),
        (replace(BURN, grade=None), True),
        (replace(BURN, is_of_this_mount=False), False),
        (replace(BURN, is_still_there=False), False),
        (replace(BURN, shows_at=Shown.VERSO), False),
        (replace(BURN, grade="unknown board"), False),
        (replace(BURN, mechanism=Mechanism.HOLD_FAILURE), False),
        (replace(BURN, mechanism=None), False),
    ],
)
def test_a_burn_is_live_as_long_as_its_own_mat_lies_on_it(
    finding: FindingFacts, is_live: bool
) -> None:
    assert is_live_stain([finding], [MAT], WorkFacts()) is is_live


@pytest.mark.parametrize(
    ("how", "band", "is_live"),
    [
        (Replaceability.UNIQUE, ValueBand.LOW, True),
        (Replaceability.REPLACEABLE, ValueBand.HIGH, True),
        (Replaceability.REPLACEABLE, ValueBand.NORMAL, False),
    ],
)
def test_haste_is_for_what_is_unique_or_of_high_value(
    how: Replaceability, band: ValueBand, is_live: bool
) -> None:
    work = WorkFacts(replaceability=how, value_band=band)
    assert is_live_stain([BURN], [MAT], work) is is_live
