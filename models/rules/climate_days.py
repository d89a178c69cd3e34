"""How far did each clock run, day by day, while a logger was reading?

Between two readings a clock runs at the mean of their two rates: the rate is averaged,
never temperature and humidity. A hole of more than six hours counts as not read; beside
it a reading stands for a quarter of an hour. What is not read is filled later at the rate
of the assumed climate. Days are UTC days; at midnight an interval is cut in two.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from models.risk.ageing import ADHESIVE_J_PER_MOL, PAPER_J_PER_MOL, ageing_rate
from models.risk.damp import damp_rate_per_day

Floats = NDArray[np.float64]
Seconds = NDArray[np.int64]

DAY_S = 86_400
# A hole that is longer was not read; and what a reading beside it stands for.
LONGEST_HOLE_S = 6 * 3600
EDGE_S = 900


# The columns of `days_of_readings`, each row one day.
COLUMNS = (
    "day",
    "read_share",
    "paper_days",
    "adhesive_days",
    "damp",
    "damp_from_60",
    "light_read_share",
    "lux_hours",
    "uv_lux_hours",
)


@dataclass(frozen=True)
class ReadDays:
    """Integrals of some rates over the part of each UTC day that was read, in rate times days."""

    days: Seconds
    read_s: Floats
    integrals: Floats


# Of a day that was read for less than an hour nothing is known. Share of a day.
LEAST_OF_A_DAY = 1 / 24


def days_of_readings(climate: tuple[Seconds, Floats], light: tuple[Seconds, Floats]) -> Floats:
    """Return a row of `COLUMNS` for each day on which anything was read.

    Each series is its moments, rising, and two figures, NaN where not read: degC and % RH; lux
    and microwatts of UV per lumen. UV counts where light was read as well.
    """
    climate_sums = integrals_by_day(climate[0], climate_rates(*climate[1].T))
    lux, uv = light[1].T
    light_sums = integrals_by_day(light[0], np.column_stack([lux * 24]))
    uv_sums = integrals_by_day(light[0], np.column_stack([lux * uv * 24]))
    days = np.union1d(climate_sums.days, light_sums.days)
    rows = np.zeros((len(days), len(COLUMNS)))
    rows[:, 0] = days
    at = np.searchsorted(days, climate_sums.days)
    rows[at, 1], rows[at, 2:6] = climate_sums.read_s / DAY_S, climate_sums.integrals
    at = np.searchsorted(days, light_sums.days)
    rows[at, 6], rows[at, 7] = light_sums.read_s / DAY_S, light_sums.integrals[:, 0]
    rows[np.searchsorted(days, uv_sums.days), 8] = uv_sums.integrals[:, 0]
    # The first and the last reading reach a little past midnight: that is no day that was read.
    return rows[np.maximum(rows[:, 1], rows[:, 6]) >= LEAST_OF_A_DAY]


def climate_rates(temperature_c: Floats, rh_percent: Floats) -> Floats:
    """Return the rates a day of paper, adhesives, damp and damp from 60 %, one column each."""
    return np.column_stack(
        [
            ageing_rate(temperature_c, rh_percent, activation_j_per_mol=PAPER_J_PER_MOL),
            ageing_rate(temperature_c, rh_percent, activation_j_per_mol=ADHESIVE_J_PER_MOL),
            damp_rate_per_day(temperature_c, rh_percent),
            damp_rate_per_day(temperature_c, rh_percent, from_percent=60.0),
        ]
    )


def integrals_by_day(seconds: Seconds, rates: Floats) -> ReadDays:
    """Return how much each rate (one column each, per day) added up on each day.

    Seconds rise; rates may be missing (NaN) in a whole row, which is then no reading.
    """
    is_read = ~np.isnan(rates).any(axis=1)
    if not is_read.any():
        return ReadDays(np.empty(0, np.int64), np.empty(0), np.empty((0, rates.shape[1])))
    times, rates, holes = _with_edges(seconds[is_read], rates[is_read])
    times, rates, holes = _cut_at_midnight(times, rates, holes)
    lengths = np.where(holes, 0, np.diff(times))
    days = times[:-1] // DAY_S
    which = days - days[0]
    count = int(which[-1]) + 1
    means = (rates[:-1] + rates[1:]) / 2 * (lengths / DAY_S)[:, None]
    sums: Floats = np.column_stack(
        [np.bincount(which, part, count).astype(np.float64) for part in means.T]
    )
    read_s = np.bincount(which, lengths, count).astype(np.float64)
    was_read = read_s > 0
    return ReadDays(np.flatnonzero(was_read) + days[0], read_s[was_read], sums[was_read])


def _with_edges(times: Seconds, rates: Floats) -> tuple[Seconds, Floats, NDArray[np.bool_]]:
    """Add a point behind and before each hole and at both ends; say after which a hole begins."""
    hole = np.diff(times) > LONGEST_HOLE_S
    before = np.flatnonzero(np.append(hole, True))
    after = np.flatnonzero(np.append(True, hole))
    times_too = np.concatenate([times, times[before] + EDGE_S, times[after] - EDGE_S])
    rates_too = np.concatenate([rates, rates[before], rates[after]])
    begins_hole = np.zeros(len(times_too), bool)
    begins_hole[len(times) : len(times) + len(before)] = True
    order = np.argsort(times_too, kind="stable")
    return times_too[order], rates_too[order], begins_hole[order][:-1]


def _cut_at_midnight(
    times: Seconds, rates: Floats, holes: NDArray[np.bool_]
) -> tuple[Seconds, Floats, NDArray[np.bool_]]:
    midnights = np.arange(times[0] // DAY_S + 1, times[-1] // DAY_S + 1, dtype=np.int64) * DAY_S
    midnights = np.setdiff1d(midnights, times)
    within = np.searchsorted(times, midnights, side="right") - 1
    at_midnight = np.column_stack([np.interp(midnights, times, part) for part in rates.T])
    everywhere = np.concatenate([times, midnights])
    order = np.argsort(everywhere, kind="stable")
    cut_holes = np.concatenate([np.append(holes, False), holes[within]])[order][:-1]
    return everywhere[order], np.concatenate([rates, at_midnight])[order], cut_holes
