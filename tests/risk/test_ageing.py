import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from models.errors import OutsideKnownRange
from models.risk.ageing import ADHESIVE_J_PER_MOL, PAPER_J_PER_MOL, ageing_rate

# Lifetime multipliers computed from the published equation (Michalski, ICOM-CC 2002) with
# 293.15 K as reference: temperature, humidity, at 100 kJ/mol, at 70 kJ/mol.
PUBLISHED_LIFETIMES = [
    (20, 50, 1.0, 1.0),
    (15, 40, 2.7238, 2.2),
    (21, 50, 0.8698, 0.9070),
    (18, 45, 1.5202, 1.3969),
    (10, 30, 8.274, 5.357),
    (30, 60, 0.2038, 0.3059),
    (20, 75, 0.5903, 0.5903),
]


@pytest.mark.parametrize(("temperature", "humidity", "paper", "adhesive"), PUBLISHED_LIFETIMES)
def test_the_rate_is_one_over_the_published_lifetime_multiplier(
    temperature: float, humidity: float, paper: float, adhesive: float
) -> None:
    for energy, lifetime in ((PAPER_J_PER_MOL, paper), (ADHESIVE_J_PER_MOL, adhesive)):
        rate = ageing_rate(temperature, humidity, activation_j_per_mol=energy)
        np.testing.assert_allclose(1 / rate, lifetime, rtol=3e-4)


# Independent high-precision computation with R = 8.314462618 (this project's design table).
@pytest.mark.parametrize(
    ("temperature", "humidity", "paper", "adhesive"),
    [
        (25, 50, 1.989804, 1.618703),
        (15, 50, 0.490704, 0.607539),
        (20, 40, 0.748199, 0.748199),
        (25, 60, 2.522004, 2.051648),
        (30, 70, 5.994183, 3.993935),
        (10, 40, 0.175686, 0.271345),
        (24, 55, 1.96636, 1.666124),
    ],
)
def test_the_rate_agrees_with_the_independent_table(
    temperature: float, humidity: float, paper: float, adhesive: float
) -> None:
    for energy, rate in ((PAPER_J_PER_MOL, paper), (ADHESIVE_J_PER_MOL, adhesive)):
        ours = ageing_rate(temperature, humidity, activation_j_per_mol=energy)
        np.testing.assert_allclose(ours, rate, atol=5e-6)


def test_a_missing_reading_stays_missing() -> None:
    rates = ageing_rate([20.0, np.nan], 50.0, activation_j_per_mol=PAPER_J_PER_MOL)
    np.testing.assert_array_equal(np.isnan(rates), [False, True])


@pytest.mark.parametrize(("temperature", "humidity"), [(-99, 50), (20, 140), (20, -1), (75, 50)])
def test_a_reading_that_cannot_be_is_refused(temperature: float, humidity: float) -> None:
    with pytest.raises(OutsideKnownRange, match="is outside"):
        ageing_rate(temperature, humidity, activation_j_per_mol=PAPER_J_PER_MOL)


@given(st.floats(-30, 59), st.floats(5, 90), st.floats(0.1, 1), st.floats(0.1, 5))
def test_warmer_or_damper_never_ages_slower(t: float, rh: float, dt: float, drh: float) -> None:
    before = ageing_rate(t, rh, activation_j_per_mol=PAPER_J_PER_MOL)
    assert ageing_rate(t + dt, rh, activation_j_per_mol=PAPER_J_PER_MOL) > before
    assert ageing_rate(t, rh + drh, activation_j_per_mol=PAPER_J_PER_MOL) > before
