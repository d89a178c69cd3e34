"""How fast do paper, board and adhesives age in a place, against 20 degC and 50 % RH?

The rate is one over the published lifetime multiplier (Michalski, ICOM-CC 2002;
Martens 2012): it doubles for every 4.9 degC of paper and 6.9 degC of adhesives,
and grows with relative humidity. Over a record the rate is averaged, never the
temperature and the humidity.
"""

import numpy as np
from numpy.typing import ArrayLike, NDArray

from models.errors import OutsideKnownRange

Floats = NDArray[np.float64]

# Activation energies in J/mol, published with the lifetime multiplier.
PAPER_J_PER_MOL = 100_000.0
ADHESIVE_J_PER_MOL = 70_000.0

_GAS_CONSTANT = 8.314462618  # J/(mol K), CODATA 2018
# 293.15 K, not the 293 K sometimes printed: the rate at 20 degC must be exactly 1.
_REFERENCE_K, _REFERENCE_RH, _RH_POWER = 293.15, 50.0, 1.3
# The power law diverges towards dry air; published multipliers agree between 20 and 60 %.
_RH_CLAMP = (5.0, 95.0)
_RANGE_C = (-30.0, 60.0)


def ageing_rate(
    temperature_c: ArrayLike, rh_percent: ArrayLike, *, activation_j_per_mol: float
) -> Floats:
    """Return years of ageing at 20 degC and 50 % per year in this climate.

    A missing reading (NaN) stays missing. Raises OutsideKnownRange beyond
    -30…60 degC or 0…100 % RH; RH is clamped to 5…95 %.
    """
    temperature = np.asarray(temperature_c, dtype=np.float64)
    humidity = np.asarray(rh_percent, dtype=np.float64)
    _require(temperature, _RANGE_C, "degC")
    _require(humidity, (0.0, 100.0), "% RH")
    arrhenius = np.exp(
        activation_j_per_mol / _GAS_CONSTANT * (1 / _REFERENCE_K - 1 / (temperature + 273.15))
    )
    return np.asarray((np.clip(humidity, *_RH_CLAMP) / _REFERENCE_RH) ** _RH_POWER * arrhenius)


def _require(values: Floats, span: tuple[float, float], unit: str) -> None:
    low, high = span
    outside = (values < low) | (values > high)
    if outside.any():
        raise OutsideKnownRange(
            f"{values[outside].flat[0]:g} {unit} is outside {low:g} to {high:g}."
        )
