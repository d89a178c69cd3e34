"""How far does a sheet grow or shrink when the air turns damp or dry?

By length times expansion times the change of relative humidity. A sheet grows most
across its grain, and nobody writes the grain of a sheet down: the cross direction
is taken. What a mount must leave free on each side is half of that, and a little
for what the knife is out.
"""

import numpy as np
from numpy.typing import ArrayLike, NDArray

Floats = NDArray[np.float64]

# Share of its length by which a sheet grows across the grain per 1 % RH. Bond papers by the
# standard test of dimensional stability 0.6 to 1.2e-4; the others from memory, uncertain.
PAPER_PER_PERCENT = 1.0e-4
RESIN_COATED_PER_PERCENT = 0.2e-4
PARCHMENT_PER_PERCENT = 3.0e-4
# What cutting is out, per side. From memory.
CUTTING_MM = 1.0


def movement_mm(
    length_mm: ArrayLike, change_rh_percent: ArrayLike, *, per_percent: float = PAPER_PER_PERCENT
) -> Floats:
    """Return by how much a sheet grows, or shrinks (below 0), over its whole length."""
    length = np.asarray(length_mm, dtype=np.float64)
    return np.asarray(length * per_percent * np.asarray(change_rh_percent, dtype=np.float64))


def clearance_mm(
    length_mm: ArrayLike, growth_rh_percent: ArrayLike, *, per_percent: float = PAPER_PER_PERCENT
) -> Floats:
    """Return the clearance to cut on each side for a sheet that may grow that much damper."""
    growth = movement_mm(length_mm, growth_rh_percent, per_percent=per_percent)
    return np.asarray(np.maximum(growth, 0.0) / 2 + CUTTING_MM)
