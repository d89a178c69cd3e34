"""What colour does a photograph show at a place, in CIE L*a*b*?

Pictures for the screen are sRGB (IEC 61966-2-1), whose white is D65; instruments that
measure paper say L*a*b* under D50, so the colour is adapted to D50 (Bradford) first.
It is as true as light and camera were: one place against another in the same picture
tells something, the figures by themselves do not.
"""

import numpy as np
from coloraide import Color
from numpy.typing import ArrayLike, NDArray

from models.errors import OutsideKnownRange

Floats = NDArray[np.float64]
# The space of that name in `coloraide` is CIE L*a*b* under D50.
_LAB_D50 = "lab"


def lab_of_srgb(rgb: ArrayLike) -> Floats:
    """Return L*, a*, b* (D50) of colours in sRGB, red, green, blue from 0 to 1 on the last axis.

    Raises OutsideKnownRange where a figure is no part of a colour.
    """
    colours = np.asarray(rgb, dtype=np.float64)
    # Written so that a missing number (NaN) is refused too.
    if not ((colours >= 0) & (colours <= 1)).all():
        raise OutsideKnownRange("Red, green and blue of a picture run from 0 to 1.")
    found = [Color("srgb", one.tolist()).convert(_LAB_D50)[:3] for one in colours.reshape(-1, 3)]
    return np.array(found, dtype=np.float64).reshape(colours.shape)
