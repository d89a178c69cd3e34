"""At what temperature does this air wet a cold pane?

The dew point by the Magnus form with the constants of Alduchov and Eskridge (1996):
17.625 and 243.04 degC, within 0.4 % of saturation pressure from -40 to 50 degC.
At 100 % RH the dew point is the temperature itself. Glazing colder than it gathers
water on its inner side.
"""

import numpy as np
from numpy.typing import ArrayLike, NDArray

from models.errors import OutsideKnownRange

Floats = NDArray[np.float64]

# Alduchov and Eskridge, Journal of Applied Meteorology 35 (1996).
_A, _B_C = 17.625, 243.04
_LOWEST_C, _HIGHEST_C = -40.0, 60.0
# Perfectly dry air has no dew point; no sensor tells 0.1 % from 0.
_DRIEST_PERCENT = 0.1


def dew_point_c(temperature_c: ArrayLike, rh_percent: ArrayLike) -> Floats:
    """Return the dew point in degC; a missing reading (NaN) stays missing.

    RH is taken as at least 0.1 %. Raises OutsideKnownRange beyond -40…60 degC or 0…100 % RH.
    """
    temperature = np.asarray(temperature_c, dtype=np.float64)
    humidity = np.asarray(rh_percent, dtype=np.float64)
    if ((temperature < _LOWEST_C) | (temperature > _HIGHEST_C)).any():
        raise OutsideKnownRange(f"A dew point is known from {_LOWEST_C:g} to {_HIGHEST_C:g} degC.")
    if ((humidity < 0) | (humidity > 100)).any():
        raise OutsideKnownRange("Relative humidity lies between 0 and 100 %.")
    share = np.maximum(humidity, _DRIEST_PERCENT) / 100
    gamma = np.log(share) + _A * temperature / (_B_C + temperature)
    return np.asarray(_B_C * gamma / (_A - gamma))
