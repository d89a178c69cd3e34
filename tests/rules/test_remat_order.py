"""What is to be rematted first: the project's own policy, its worked values computed apart."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from models.rules.package_components import ComponentRow
from models.rules.package_facts import FindingFacts
from models.rules.remat_order import (
    LEFT_TO_LOSE,
    RISK_OF_UNDOING,
    WEIGHT_OF_REPLACEABILITY,
    WEIGHT_OF_VALUE,
    risk_of_the_work_itself,
    risk_reduced,
    still_to_lose,
    weight_of_work,
)
from models.vocabulary import (
    Freeing,
    Mechanism,
    Replaceability,
    Severity,
    Shown,
    Surface,
    UrgentSign,
    ValueBand,
)

BURN = FindingFacts(
    term="mat burn",
    mechanism=Mechanism.ACID_MIGRATION,
    shows_at=Shown.MARGINS,
    is_of_this_mount=True,
)


def groundwood_mat(years: float, *, seen_at: float | None = None) -> ComponentRow:
    """A groundwood window mat of this age that touches; its place was seen at that age."""
    return ComponentRow(
        mechanism=Mechanism.ACID_MIGRATION,
        grade="groundwood board",
        name="Groundwood mat board",
        key=1,
        shown=Shown.MARGINS,
        median=7.0,
        shape=2.5,
        theta=1.0,
        severity=0.6,
        rate_per_year=1.0,
        clock_seen=years if seen_at is None else seen_at,
        clock_now=years,
        weights=(0.0, 0.0, 0.0),
        begun_day=0,
    )


def to_lose(*rows: ComponentRow, findings: tuple[FindingFacts, ...] = ()) -> float:
    return float(still_to_lose([rows], [findings]).loss[0])


@pytest.mark.parametrize(("years", "loss"), [(12, 0.5852), (3, 0.3522)])
def test_a_clean_sheet_behind_groundwood_has_nearly_all_to_lose(years: float, loss: float) -> None:
    # Worked values of the design, computed independently at high precision.
    assert to_lose(groundwood_mat(years)) == pytest.approx(loss, abs=5e-5)


@pytest.mark.parametrize(
    ("severity", "is_grown", "loss"),
    [
        (Severity.SLIGHT, False, 0.18),
        (Severity.MODERATE, False, 0.108),
        (Severity.SEVERE, False, 0.054),
        (Severity.SLIGHT, True, 0.27),
    ],
)
def test_a_recorded_burn_leaves_less_to_lose_the_worse_it_is_and_more_when_it_grows(
    severity: Severity, is_grown: bool, loss: float
) -> None:
    burn = replace(BURN, severity=severity, is_grown=is_grown)
    assert to_lose(groundwood_mat(12), findings=(burn,)) == pytest.approx(loss)


def test_what_nobody_has_seen_may_be_marked_already() -> None:
    seen, never_seen = groundwood_mat(12), groundwood_mat(12, seen_at=0)
    # q = 1 - exp(-ln 2 * (12/7)^2.5), p as of the clean sheet; by hand from the formula.
    q = 1 - 0.5 ** ((12 / 7) ** 2.5)
    clean = to_lose(seen)
    assert to_lose(never_seen) == pytest.approx((1 - q) * clean + q * 0.3 * 0.6)


def test_a_mark_of_an_earlier_mount_or_one_that_is_gone_is_none_of_this_mat() -> None:
    clean = to_lose(groundwood_mat(12))
    others = (
        replace(BURN, is_of_this_mount=False),
        replace(BURN, is_still_there=False),
        replace(BURN, shows_at=Shown.VERSO),
        replace(BURN, mechanism=Mechanism.ADHESIVE_AGEING),
        replace(BURN, first_seen_day=-1),
    )
    assert [to_lose(groundwood_mat(12), findings=(one,)) for one in others] == [clean] * 5


def test_of_one_way_to_harm_only_the_worst_layer_at_a_place_counts() -> None:
    worst, other = groundwood_mat(12), replace(groundwood_mat(3), key=2)
    assert to_lose(worst, other) == to_lose(worst)
    elsewhere = replace(other, shown=Shown.VERSO)
    assert to_lose(worst, elsewhere) == pytest.approx(0.5852 + 0.3522, abs=1e-4)


@pytest.mark.parametrize(
    "mechanism", [Mechanism.ACCIDENT, Mechanism.OWN_AGEING, Mechanism.FACE_MOUNT]
)
def test_what_no_package_can_mend_is_no_reason_to_remat(mechanism: Mechanism) -> None:
    row = replace(groundwood_mat(12), mechanism=mechanism, shown=Shown.FRONT)
    found = still_to_lose([(row,)])
    assert (found.loss.tolist(), found.leading) == ([0.0], (None,))


def test_the_weak_layer_is_the_one_with_most_to_lose_by_it() -> None:
    mat, tape = groundwood_mat(3), replace(groundwood_mat(12), key=2, shown=Shown.VERSO)
    assert still_to_lose([(mat, tape)]).leading == (tape,)


def test_many_works_at_once_are_the_same_as_one_by_one() -> None:
    works = [(groundwood_mat(12),), (), (groundwood_mat(3), groundwood_mat(1)), ()]
    found = [((BURN,)), (), (), ()]
    together = still_to_lose(works, found)
    alone = [still_to_lose([rows], [its]) for rows, its in zip(works, found, strict=True)]
    np.testing.assert_array_equal(together.loss, [one.loss[0] for one in alone])
    np.testing.assert_array_equal(together.chance_new_5y, [one.chance_new_5y[0] for one in alone])
    assert together.leading == tuple(one.leading[0] for one in alone)


@given(st.floats(0.5, 40), st.floats(0.5, 40))
def test_a_worse_board_never_leaves_less_to_lose_on_a_clean_sheet(
    years: float, median: float
) -> None:
    row = replace(groundwood_mat(years), median=median)
    assert to_lose(replace(row, median=median * 0.9)) >= to_lose(row) - 1e-12


@pytest.mark.parametrize(
    ("surface", "signs", "undone", "risk"),
    [
        (Surface.OTHER, (), (), 0.003),
        (Surface.FRIABLE, (), (), 0.03),
        (Surface.FRIABLE, (UrgentSign.FRIABLE_ON_GLAZING,), (), 0.10),
        (Surface.OTHER, (UrgentSign.SLIPPED_SHEET,), (), 0.10),
        (Surface.OTHER, (), (Freeing.NO_ADHESIVE,), 0.005),
        (Surface.OTHER, (), (Freeing.WATER,), 0.023),
        (Surface.OTHER, (), (Freeing.SOLVENT_OR_HEAT,), 0.063),
        (Surface.OTHER, (), (Freeing.NOT_WITHOUT_HARM,), 0.403),
        (Surface.OTHER, (), (Freeing.WATER, Freeing.SOLVENT_OR_HEAT), 0.083),
    ],
)
def test_opening_and_undoing_put_the_work_itself_at_risk(
    surface: Surface, signs: tuple[UrgentSign, ...], undone: tuple[Freeing, ...], risk: float
) -> None:
    assert risk_of_the_work_itself(surface, signs, undone) == pytest.approx(risk)


def test_what_exists_once_and_is_worth_more_weighs_more() -> None:
    assert weight_of_work(Replaceability.UNIQUE, ValueBand.HIGH) == 2.0
    assert weight_of_work(Replaceability.REPLACEABLE, ValueBand.LOW) == pytest.approx(0.1)


def test_a_remat_that_harms_more_than_it_mends_is_negative() -> None:
    reduced = risk_reduced(
        as_it_is=[0.5852, 0.1], proposed=[0.01, 0.01], of_the_work=[0.063, 0.403], weight=[1.0, 0.6]
    )
    np.testing.assert_allclose(reduced, [0.5122, -0.1878])
    assert float(risk_reduced(as_it_is=0.5852, proposed=0.01, of_the_work=0.063, weight=1)) == (
        pytest.approx(0.5122)
    )


def test_every_word_has_its_figure() -> None:
    assert set(LEFT_TO_LOSE) == set(Severity)
    assert set(RISK_OF_UNDOING) == set(Freeing)
    assert set(WEIGHT_OF_REPLACEABILITY) == set(Replaceability)
    assert set(WEIGHT_OF_VALUE) == set(ValueBand)
