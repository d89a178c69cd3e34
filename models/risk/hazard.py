"""What is the chance of harm since somebody last looked, and until when is it small?

A mechanism has a typical time to noticeable harm (its median) and a shape, and
runs by a clock of its own. Its summed hazard at clock E is
theta · ln 2 · (E / median)^shape; the chance of harm unseen between two readings
of the clock is 1 - exp(-difference). Of one mechanism only the worst layer at
one place of the work counts; places and mechanisms add. Conditional reliability
as risk-based inspection uses it (API RP 580/581, named from memory).
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from models.risk.acid_transfer import mixture_hazard

Floats = NDArray[np.float64]
Indexes = NDArray[np.int64]

# A millionth of a day: dates are whole days.
_CLOSE_YEARS = 1e-9
_MOST_STEPS = 200
_HALVE_EVERY = 8
# A hazard this close to the target is the target, to the digits that a float holds.
_CLOSE_HAZARD = 1e-15
_LN_2 = float(np.log(2.0))
# Rounding of a hazard that is exactly ln 2.
_HALF = 1e-9
LONGEST_YEARS = 10_000.0


@dataclass(frozen=True)
class Components:
    """One row per layer or hold that can harm, for any number of works, as parallel arrays.

    `group` numbers the pairs of mechanism and place within a work: of one group
    only the worst row counts. Rows are sorted by work, then group; both are
    numbered from 0; a work may have no row, so `works` counts them. `median` in
    the unit of the clock (NaN for an unknown board, whose `weights` (n, 3) then
    hold). Clocks in years of the mechanism, `rate_per_year` in such years per year.
    """

    work: Indexes
    group: Indexes
    median: Floats
    shape: Floats
    theta: Floats
    clock_seen: Floats
    clock_now: Floats
    rate_per_year: Floats
    weights: Floats
    works: int

    # A search for a date asks for these dozens of times: each is worked out once.

    @cached_property
    def group_starts(self) -> Indexes:
        """Return the first row of each group."""
        return np.flatnonzero(np.diff(self.group, prepend=-1))

    @cached_property
    def work_of_group(self) -> Indexes:
        """Return the work to which each group belongs."""
        return np.asarray(self.work[self.group_starts])

    @cached_property
    def is_mixture(self) -> NDArray[np.bool_]:
        """Say which rows are an unknown board."""
        return np.isnan(self.median)

    @cached_property
    def hazard_seen(self) -> Floats:
        """Return each row's hazard summed up to when its place was last seen."""
        return summed_hazard(self, self.clock_seen)


def summed_hazard(rows: Components, clock: Floats) -> Floats:
    """Return each row's hazard summed up to the reading `clock` of its own clock."""
    plain = rows.theta * _LN_2 * (np.maximum(clock, 0.0) / rows.median) ** rows.shape
    mixed = rows.is_mixture
    if mixed.any():
        plain[mixed] = mixture_hazard(clock[mixed], rows.weights[mixed])
    return np.asarray(plain)


def hazard_unseen(rows: Components, years: Floats | float) -> Floats:
    """Return, per work, the hazard since each place was last seen until `years` from now.

    Before a place was last seen nothing there is unseen.
    """
    return _worst_then_sum(rows, _unseen(rows, years))


def hazard_ahead(rows: Components, years: float) -> Floats:
    """Return, per work, the hazard from now until `years` from now: new harm only."""
    now = np.zeros(rows.works)
    return _hazard_between(rows, now, now + years)


def chance(hazard: Floats) -> Floats:
    """Return the chance that belongs to a summed hazard."""
    return np.asarray(-np.expm1(-hazard))


def years_to_chance(rows: Components, allowed: Floats | float) -> Floats:
    """Return, per work, the years from now until the chance unseen reaches `allowed`.

    0 where it has been reached already, infinity where it is not within
    10,000 years. Bracketed, since unknown boards make the sum monotone but not
    convex: regula falsi (Illinois), with a halving now and then.
    """
    target = np.broadcast_to(-np.log1p(-np.asarray(allowed, dtype=np.float64)), rows.works)
    low, low_gap = np.zeros(rows.works), hazard_unseen(rows, 0.0) - target
    high, high_gap = _upper_ends(rows, target)
    is_reached, is_never = low_gap >= 0, high_gap < 0
    open_ = ~(is_reached | is_never)
    side = np.zeros(rows.works)
    for step in range(_MOST_STEPS):
        open_ &= high - low > _CLOSE_YEARS
        if not open_.any():
            break
        span = np.where(open_, high_gap - low_gap, 1.0)
        middle = np.where(open_, low - low_gap * (high - low) / span, low)
        if step % _HALVE_EVERY == _HALVE_EVERY - 1:
            middle = (low + high) / 2
        gap = hazard_unseen(rows, middle) - target
        above, below = open_ & (gap >= 0), open_ & (gap < 0)
        # Illinois: an end that stands still twice counts half, so that both ends close in.
        low_gap = np.where(above & (side > 0), low_gap / 2, low_gap)
        high_gap = np.where(below & (side < 0), high_gap / 2, high_gap)
        high, high_gap = np.where(above, middle, high), np.where(above, gap, high_gap)
        low, low_gap = np.where(below, middle, low), np.where(below, gap, low_gap)
        side = np.where(above, 1.0, np.where(below, -1.0, side))
        open_ &= np.abs(gap) > _CLOSE_HAZARD
    return np.where(is_never, np.inf, np.where(is_reached, 0.0, np.where(side < 0, low, high)))


def years_to_chance_from(
    rows: Components, allowed: Floats | float, *, back_years: Floats
) -> Floats:
    """Return, per work, the years from now at which the chance unseen reaches `allowed`.

    Negative where it was reached in the past, as far back as `back_years`, which
    is the time since the first of its clocks started or its places were seen: so
    a date that is past does not move with the day on which it is worked out.
    """
    return years_to_chance(at_years(rows, -back_years), allowed) - back_years


def at_years(rows: Components, years: Floats) -> Components:
    """Return the rows as their clocks will stand so many years from now, per work."""
    return replace(rows, clock_now=rows.clock_now + rows.rate_per_year * years[rows.work])


def unseen_shares(rows: Components, years: Floats) -> Floats:
    """Return each row's share of its work's hazard unseen at `years` from now, per work."""
    return leading_shares(rows, _unseen(rows, years))


def hazard_shares(rows: Components, years: float) -> Floats:
    """Return each row's share of its work's hazard from now until `years` from now.

    Of a group only the worst row has a share; the shares of a work add up to 1,
    or are all 0 where nothing can happen.
    """
    clock = rows.clock_now + rows.rate_per_year * years
    return leading_shares(rows, summed_hazard(rows, clock) - summed_hazard(rows, rows.clock_now))


def leading_shares(rows: Components, differences: Floats) -> Floats:
    """Return the share of each row that leads its group, 0 for the others."""
    worst = np.full(int(rows.group[-1]) + 1 if len(rows.group) else 0, -np.inf)
    np.maximum.at(worst, rows.group, differences)
    leads = differences == worst[rows.group]
    # Of rows that are equal the first one leads.
    first = np.unique(np.where(leads, rows.group, -1), return_index=True)
    only = np.zeros(len(differences), dtype=bool)
    only[first[1][first[0] >= 0]] = True
    share = np.where(only, differences, 0.0)
    total = np.bincount(rows.work, weights=share, minlength=rows.works)[rows.work]
    return np.divide(share, total, out=np.zeros(len(share)), where=total > 0)


def with_medians(rows: Components, factor: float) -> Components:
    """Return the rows as if every median were `factor` times as long: for the range of a chance."""
    clocks = {
        name: getattr(rows, name) / factor for name in ("clock_seen", "clock_now", "rate_per_year")
    }
    return replace(rows, **clocks)


def only_rows(rows: Components, chosen: NDArray[np.bool_]) -> Components:
    """Return the chosen rows of the same works, with groups numbered anew."""
    names = ("work", "median", "shape", "theta", "clock_seen", "clock_now", "rate_per_year")
    kept = {name: getattr(rows, name)[chosen] for name in names}
    group = np.unique(rows.group[chosen], return_inverse=True)[1].astype(np.int64)
    return Components(**kept, group=group, weights=rows.weights[chosen], works=rows.works)


def side_by_side(parts: Sequence[Components]) -> Components:
    """Return several sets of rows as one, the works of each after those of the one before.

    NumPy takes nearly as long for one work as for a hundred, so what is asked of the
    same works in several ways is asked at once.
    """
    names = ("median", "shape", "theta", "clock_seen", "clock_now", "rate_per_year", "weights")
    works = np.cumsum([0, *(part.works for part in parts)])
    groups = np.cumsum([0, *(len(part.group_starts) for part in parts)])
    return Components(
        **{name: np.concatenate([getattr(part, name) for part in parts]) for name in names},
        work=np.concatenate([p.work + first for p, first in zip(parts, works, strict=False)]),
        group=np.concatenate([p.group + first for p, first in zip(parts, groups, strict=False)]),
        works=int(works[-1]),
    )


def years_to_likely_harm(rows: Components, window_years: float, longest_years: float) -> Floats:
    """Return, per work, when the chance of new harm within the window first passes one half.

    0 where it does so now; infinity where it does not within `longest_years`.
    Bracketed on a grid of a tenth of a year, then halved.
    """
    grid = np.linspace(0.0, longest_years, max(2, round(longest_years * 10) + 1))
    low, high = np.zeros(rows.works), np.full(rows.works, np.inf)
    for years in grid:
        passes = _is_likely(rows, np.full(rows.works, years), window_years)
        high = np.where(passes & np.isinf(high), years, high)
        low = np.where(np.isinf(high), years, low)
    while (high - low > _CLOSE_YEARS)[np.isfinite(high)].any():
        middle = np.where(np.isfinite(high), (low + high) / 2, low)
        passes = _is_likely(rows, middle, window_years)
        high, low = np.where(passes, middle, high), np.where(passes, low, middle)
    return high


def _is_likely(rows: Components, years: Floats, window_years: float) -> NDArray[np.bool_]:
    # A chance of exactly one half has not passed it.
    return np.asarray(_hazard_between(rows, years, years + window_years) > _LN_2 + _HALF)


def _hazard_between(rows: Components, start: Floats, end: Floats) -> Floats:
    return _worst_then_sum(
        rows, summed_hazard(rows, _clock(rows, end)) - summed_hazard(rows, _clock(rows, start))
    )


def _unseen(rows: Components, years: Floats | float) -> Floats:
    return np.maximum(summed_hazard(rows, _clock(rows, years)) - rows.hazard_seen, 0.0)


def _clock(rows: Components, years: Floats | float) -> Floats:
    ahead = years[rows.work] if isinstance(years, np.ndarray) and years.ndim else years
    return np.asarray(rows.clock_now + rows.rate_per_year * ahead)


def _upper_ends(rows: Components, target: Floats) -> tuple[Floats, Floats]:
    high = np.ones(len(target))
    gap = hazard_unseen(rows, high) - target
    while ((gap < 0) & (high < LONGEST_YEARS)).any():
        high = np.where(gap < 0, np.minimum(high * 2, LONGEST_YEARS), high)
        gap = hazard_unseen(rows, high) - target
    return high, gap


def _worst_then_sum(rows: Components, differences: Floats) -> Floats:
    if not len(differences):
        return np.zeros(rows.works)
    worst = np.maximum.reduceat(differences, rows.group_starts)
    sums = np.bincount(rows.work_of_group, weights=worst, minlength=rows.works)
    return np.asarray(sums, dtype=np.float64)
