"""When a work is rematted instead of being looked at again: policy of the project, no source."""

from dataclasses import replace
from datetime import date

import pytest

from models.rules.calendar_days import day_number
from models.rules.package_components import MENDABLE, ComponentRow
from models.rules.package_facts import FindingFacts, WorkFacts
from models.rules.policy import Policy
from models.rules.remat_advice import (
    CURE,
    WhyRemat,
    is_live_stain,
    latest_months,
    remat_advice,
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


def test_whatever_can_be_mended_has_its_cure() -> None:
    assert set(CURE) == MENDABLE


def test_the_advice_names_its_cure_its_day_and_its_reason() -> None:
    said = remat_advice(
        leading=Mechanism.HOLD_FAILURE,
        why=WhyRemat.LIKELY,
        advised_on=LAST,
        remat_by=LAST + 90,
    )
    assert (said.advice, said.sentence) == (
        Advice.REHINGE,
        "Instead of looking again: rehinge by 23 February 2027, because new harm within 5 years is"
        " more likely than not (advised since 25 November 2026; leading: hold failure).",
    )


def test_a_frame_that_lets_in_dust_is_resealed() -> None:
    said = remat_advice(
        leading=Mechanism.INSECTS_AND_DUST,
        why=WhyRemat.LIKELY,
        advised_on=LAST,
        remat_by=LAST + 90,
    )
    assert (said.advice, said.sentence[:46]) == (
        Advice.RESEAL,
        "Instead of looking again: reseal by 23 Februar",
    )


def test_a_live_stain_has_its_own_limit_in_the_policy() -> None:
    policy = Policy(remat_latest_months=30, remat_latest_live_stain_months=6)
    assert [latest_months(policy, is_live_stain=is_it) for is_it in (False, True)] == [30, 6]


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
