"""How much light fades a colour noticeably, and how much a year is called acceptable?

Light adds up: lux times hours. Colours are ranked by the blue-wool references of
ISO 105-B: class 1 fades first, class 8 last. For each class stands the dose to one
just-noticeable fade (a step of the grey scale, about 1.7 in colour difference),
with ultraviolet filtered away and with it present. CIE 157:2004 puts the classes
into three groups, each with a limit of light and of light a year.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from models.errors import OutsideKnownRange

Floats = NDArray[np.float64]

LIGHT_CLASSES = range(1, 9)
LUX_HOURS_PER_MLX_H = 1_000_000.0

# Dose to one just-noticeable fade, Mlx.h, classes 1 to 8. Michalski, "Agent of deterioration:
# light, ultraviolet and infrared" (Canadian Conservation Institute), table 3; UV column from
# memory of the same table. Some printings give 1100 for class 8 without ultraviolet.
FADE_DOSE_UV_FILTERED_MLX_H = (0.3, 1.0, 3.0, 10.0, 30.0, 100.0, 300.0, 1000.0)
FADE_DOSE_UV_PRESENT_MLX_H = (0.22, 0.6, 1.5, 3.5, 8.0, 20.0, 50.0, 120.0)

# From here on ultraviolet counts as filtered away: share blocked by the glazing in percent, or
# microwatts per lumen in the place. CIE 157:2004 and common practice.
UV_BLOCKED_PERCENT = 97.0
UV_LOW_UW_PER_LM = 10.0


@dataclass(frozen=True)
class CieGroup:
    """A group of CIE 157:2004: limits in lux, and in lux hours a year."""

    name: str
    classes: range
    limit_lux: float
    limit_lux_hours_a_year: float


# CIE 157:2004, also CEN/TS 16163:2014.
HIGH = CieGroup("high responsivity", range(1, 4), 50.0, 15_000.0)
MEDIUM = CieGroup("medium responsivity", range(4, 7), 50.0, 150_000.0)
LOW = CieGroup("low responsivity", range(7, 9), 200.0, 600_000.0)
CIE_GROUPS = (HIGH, MEDIUM, LOW)


def cie_group(light_class: int) -> CieGroup:
    """Return the group of a blue-wool class. Raises OutsideKnownRange."""
    _require_class(light_class)
    return next(group for group in CIE_GROUPS if light_class in group.classes)


def fade_dose_lux_hours(light_class: int, *, uv_filtered: bool) -> float:
    """Return the dose to one just-noticeable fade. Raises OutsideKnownRange."""
    _require_class(light_class)
    column = FADE_DOSE_UV_FILTERED_MLX_H if uv_filtered else FADE_DOSE_UV_PRESENT_MLX_H
    return column[light_class - 1] * LUX_HOURS_PER_MLX_H


def dose_lux_hours(lux: ArrayLike, *, hours_per_day: ArrayLike, days: ArrayLike) -> Floats:
    """Return the dose of so many days: lux times hours a day times days."""
    per_day = np.asarray(lux, dtype=np.float64) * np.asarray(hours_per_day, dtype=np.float64)
    return np.asarray(per_day * np.asarray(days, dtype=np.float64))


def is_uv_filtered(*, uv_block_percent: float | None, uv_uw_per_lm: float) -> bool:
    """Say whether ultraviolet is filtered away, by the glazing or because there is hardly any.

    A glazing of which nobody knows what it blocks blocks nothing.
    """
    return (uv_block_percent or 0.0) >= UV_BLOCKED_PERCENT or uv_uw_per_lm <= UV_LOW_UW_PER_LM


def _require_class(light_class: int) -> None:
    if light_class not in LIGHT_CLASSES:
        raise OutsideKnownRange(f"Light class {light_class} is outside 1 to 8.")
