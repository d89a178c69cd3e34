"""How far has a colour moved, as an eye would see it?

The difference CIEDE2000 (ISO/CIE 11664-6) between a reading in CIE L*a*b* and
its reference, for instance a stain against the clean paper beside it. About 1
is just noticeable side by side. Readings are given as triples L*, a*, b* along
the last axis: one triple, or as many as there are. A reading that is missing
(NaN) has a missing difference, never none.
"""

from collections.abc import Mapping

import numpy as np
from coloraide import Color
from numpy.typing import ArrayLike, NDArray

from models.errors import OutsideKnownRange

Floats = NDArray[np.float64]

# L* runs from black to white; a* and b* of any real surface lie far within these limits.
RANGES: Mapping[str, tuple[float, float]] = {
    "L*": (0.0, 100.0),
    "a*": (-200.0, 200.0),
    "b*": (-200.0, 200.0),
}
# The space only keeps `coloraide` from converting: the difference is worked out in L*a*b* itself.
_SPACE, _FORMULA = "lab-d65", "2000"


def colour_difference(reading_lab: ArrayLike, reference_lab: ArrayLike) -> Floats:
    """Return the difference (no unit, 0 for equal colours) of each pair of triples.

    Raises OutsideKnownRange where a figure cannot be one of L*, a* or b*.
    """
    readings, references = np.broadcast_arrays(_triples(reading_lab), _triples(reference_lab))
    pairs = zip(readings.reshape(-1, 3), references.reshape(-1, 3), strict=True)
    found = [_of_one_pair(reading, reference) for reading, reference in pairs]
    return np.array(found, dtype=np.float64).reshape(readings.shape[:-1])


def _triples(lab: ArrayLike) -> Floats:
    triples = np.asarray(lab, dtype=np.float64)
    for axis, (name, (low, high)) in enumerate(RANGES.items()):
        figures = triples[..., axis]
        outside = (figures < low) | (figures > high)
        if outside.any():
            wrong = figures[outside].flat[0]
            raise OutsideKnownRange(f"{name} {wrong:g} is outside {low:g} to {high:g}.")
    return triples


def _of_one_pair(reading: Floats, reference: Floats) -> float:
    # `coloraide` takes a missing figure for zero.
    if np.isnan(reading).any() or np.isnan(reference).any():
        return float("nan")
    one, other = Color(_SPACE, reading.tolist()), Color(_SPACE, reference.tolist())
    return float(one.delta_e(other, method=_FORMULA))
