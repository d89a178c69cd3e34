"""How many years would quickly decaying paper and film last in this climate?

The Preservation Index in the form printed as the "IPI fit" (Reilly, Nishimura and Zinn
1995): form A, whose result in days is divided by 365. It gives 51 years at 20 degC and
45 % RH, where the published table says about 50. A second form in circulation differs
by up to a fifth, so the form is named wherever the index is shown. Over a record the
*rate* 1/PI is averaged by time; the mean of the indices themselves would flatter.
"""

import numpy as np
from numpy.typing import ArrayLike, NDArray

from models.errors import OutsideKnownRange

Floats = NDArray[np.float64]

FORM = "form A, divisor 365, “IPI fit”"

_GAS_CONSTANT = 8.314  # J/(mol K), as printed with the fit
_ENERGY_J, _ENERGY_J_PER_RH = 95_220.0, 134.9
_PER_RH, _CONSTANT, _DAYS_A_YEAR = 0.0284, 28.023, 365.0
# The published table reaches this far.
_RANGE_C, _RANGE_RH = (-23.0, 65.0), (6.0, 95.0)
_SENSOR_RANGE_C = (-30.0, 65.0)


def preservation_index_years(temperature_c: ArrayLike, rh_percent: ArrayLike) -> Floats:
    """Return the Preservation Index in years; a missing reading (NaN) stays missing.

    Temperature is clamped to -23 degC from below and RH to 6…95 %, the reach of the published
    table. Raises OutsideKnownRange beyond -30…65 degC or 0…100 % RH.
    """
    temperature = np.asarray(temperature_c, dtype=np.float64)
    humidity = np.asarray(rh_percent, dtype=np.float64)
    _require(temperature, _SENSOR_RANGE_C, "degC")
    _require(humidity, (0.0, 100.0), "% RH")
    kelvin = np.clip(temperature, *_RANGE_C) + 273.15
    humidity = np.clip(humidity, *_RANGE_RH)
    energy = (_ENERGY_J - _ENERGY_J_PER_RH * humidity) / (_GAS_CONSTANT * kelvin)
    return np.asarray(np.exp(energy + _PER_RH * humidity - _CONSTANT) / _DAYS_A_YEAR)


def time_weighted_index_years(index_years: ArrayLike, duration: ArrayLike) -> float:
    """Return the mean index of a record, each value weighted by how long it held.

    Durations in any one unit. NaN when nothing was read.
    """
    index = np.asarray(index_years, dtype=np.float64)
    weight = np.broadcast_to(np.asarray(duration, dtype=np.float64), index.shape)
    read = ~np.isnan(index) & (weight > 0)
    if not read.any():
        return float("nan")
    return float(weight[read].sum() / (weight[read] / index[read]).sum())


def _require(values: Floats, span: tuple[float, float], unit: str) -> None:
    low, high = span
    if ((values < low) | (values > high)).any():
        raise OutsideKnownRange(f"The index is known from {low:g} to {high:g} {unit}.")
