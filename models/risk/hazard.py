"""What is the chance of harm since somebody last looked, and until when is it small?

A mechanism has a typical time to noticeable harm (its median) and a shape, and
runs by a clock of its own. Its summed hazard at clock E is
theta · ln 2 · (E / median)^shape; the chance of harm unseen between two readings
of the clock is 1 - exp(-difference). Of one mechanism only the worst layer at
one place of the work counts; places and mechanisms add. Conditional reliability
as risk-based inspection uses it (API RP 580/581, named from memory).
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from models.risk.acid_transfer import MIXTURE_MEDIANS, MIXTURE_SHAPE, mixture_hazard

Floats = NDArray[np.float64]
Indexes = NDArray[np.int64]

# A millionth of a day: dates are whole days.
_CLOSE_YEARS = 1e-9
_MOST_STEPS = 200
_HALVE_EVERY = 8
# A hazard this close to the target, as a share of it, is the target.
_CLOSE_SHARE = 1e-12
# Works that are found are carried along until there are so many that leaving them pays.
_SHARE_STILL_OPEN = 0.5
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
        return np.flatnonzero(begins(self.group))

    @cached_property
    def work_of_group(self) -> Indexes:
        """Return the work to which each group belongs."""
        return np.asarray(self.work[self.group_starts])

    @cached_property
    def work_starts(self) -> Indexes:
        """Return the first row of each work that has one."""
        return np.flatnonzero(begins(self.work))

    @cached_property
    def mixtures(self) -> Indexes:
        """Return the rows that are an unknown board."""
        return np.flatnonzero(self.is_mixture)

    @cached_property
    def is_mixture(self) -> NDArray[np.bool_]:
        """Say which rows are an unknown board."""
        return np.isnan(self.median)

    @cached_property
    def weight_of_hazard(self) -> Floats:
        """Return theta · ln 2 of each row."""
        return np.asarray(self.theta * _LN_2)

    @cached_property
    def hazard_seen(self) -> Floats:
        """Return each row's hazard summed up to when its place was last seen."""
        return summed_hazard(self, self.clock_seen)


def begins(numbers: Indexes) -> NDArray[np.bool_]:
    """Say at which places another number begins than stands before it: at the first one too."""
    is_other = np.ones(len(numbers), dtype=np.bool_)
    np.not_equal(numbers[1:], numbers[:-1], out=is_other[1:])
    return is_other


def summed_hazard(rows: Components, clock: Floats) -> Floats:
    """Return each row's hazard summed up to the reading `clock` of its own clock."""
    summed = np.maximum(clock, 0.0)
    np.divide(summed, rows.median, out=summed)
    np.power(summed, rows.shape, out=summed)
    np.multiply(summed, rows.weight_of_hazard, out=summed)
    mixed = rows.mixtures
    if len(mixed):
        summed[mixed] = mixture_hazard(clock[mixed], rows.weights[mixed])
    return summed


def hazard_unseen(rows: Components, years: Floats | float) -> Floats:
    """Return, per work, the hazard since each place was last seen until `years` from now.

    Before a place was last seen nothing there is unseen.
    """
    return hazard_of_works(rows, hazard_of_rows_unseen(rows, years))


def hazard_of_rows_unseen(rows: Components, years: Floats | float) -> Floats:
    """Return the hazard of each row since its place was last seen until `years` from now."""
    return np.maximum(summed_hazard(rows, _clock(rows, years)) - rows.hazard_seen, 0.0)


def hazard_of_works(rows: Components, differences: Floats) -> Floats:
    """Return the hazard of each work from those of its rows, none below 0: the worst of each
    group counts, and the groups add.
    """
    if not len(differences):
        return np.zeros(rows.works)
    worst = np.maximum.reduceat(differences, rows.group_starts)
    sums = np.bincount(rows.work_of_group, weights=worst, minlength=rows.works)
    return np.asarray(sums, dtype=np.float64)


def hazard_ahead(rows: Components, years: float) -> Floats:
    """Return, per work, the hazard from now until `years` from now: new harm only."""
    now = np.zeros(rows.works)
    return _hazard_between(rows, now, now + years)


def chance(hazard: Floats) -> Floats:
    """Return the chance that belongs to a summed hazard."""
    return np.asarray(-np.expm1(-hazard))


def years_to_chance(rows: Components, allowed: Floats | float) -> Floats:
    """Return, per work, the years from now until the chance unseen reaches `allowed`.

    0 where it has been reached already, infinity where it is not within 10,000 years.
    """
    return years_to_chance_from(rows, allowed, back_years=np.zeros(rows.works))


def years_to_chance_from(
    rows: Components, allowed: Floats | float, *, back_years: Floats
) -> Floats:
    """Return, per work, the years from now at which the chance unseen reaches `allowed`.

    Negative where it was reached in the past, as far back as `back_years`, which
    is the time since the first of its clocks started or its places were seen: so
    a date that is past does not move with the day on which it is worked out.
    Bracketed, since unknown boards make the sum monotone but not convex.
    """
    target = np.broadcast_to(-np.log1p(-np.asarray(allowed, dtype=np.float64)), rows.works)
    low, high = _ends(rows, target)
    low = np.clip(low, -back_years, LONGEST_YEARS)
    high = np.clip(high, low, LONGEST_YEARS)
    return _first_at(hazard_of_rows_unseen, rows, target, low, high)


def at_years(rows: Components, years: Floats) -> Components:
    """Return the rows as their clocks will stand so many years from now, per work."""
    return replace(rows, clock_now=rows.clock_now + rows.rate_per_year * years[rows.work])


def unseen_shares(rows: Components, years: Floats) -> Floats:
    """Return each row's share of its work's hazard unseen at `years` from now, per work."""
    return leading_shares(rows, hazard_of_rows_unseen(rows, years))


def hazard_shares(rows: Components, years: float) -> Floats:
    """Return each row's share of its work's hazard from now until `years` from now.

    Of a group only the worst row has a share; the shares of a work add up to 1,
    or are all 0 where nothing can happen.
    """
    return leading_shares(rows, hazard_of_rows_ahead(rows, years))


def hazard_of_rows_ahead(rows: Components, years: float) -> Floats:
    """Return the hazard of each row from now until `years` from now."""
    clock = rows.clock_now + rows.rate_per_year * years
    return np.asarray(summed_hazard(rows, clock) - summed_hazard(rows, rows.clock_now))


def leading_shares(rows: Components, differences: Floats) -> Floats:
    """Return the share of each row that leads its group, 0 for the others."""
    if not len(differences):
        return np.zeros(0)
    worst = np.maximum.reduceat(differences, rows.group_starts)
    leads = np.flatnonzero(differences == worst[rows.group])
    # Of rows that are equal the first one leads.
    first = leads[begins(rows.group[leads])]
    share = np.zeros(len(differences))
    share[first] = differences[first]
    total = np.bincount(rows.work, weights=share, minlength=rows.works)[rows.work]
    return np.divide(share, total, out=np.zeros(len(share)), where=total > 0)


def leading_rows(rows: Components, differences: Floats) -> Indexes:
    """Return, per work, the row with the greatest share; -1 where nothing can happen."""
    leading = np.full(rows.works, -1, dtype=np.int64)
    if not len(differences):
        return leading
    most = np.full(rows.works, np.inf)
    most[rows.work[rows.work_starts]] = np.maximum.reduceat(differences, rows.work_starts)
    leads = np.flatnonzero((differences == most[rows.work]) & (differences > 0))
    first = leads[begins(rows.work[leads])]
    leading[rows.work[first]] = first
    return leading


def leading_rows_of_kinds(rows: Components, differences: Floats, kinds: Indexes) -> Indexes:
    """Return, per work, the row with the greatest share among the kind that has most in all.

    `kinds` numbers the rows from 0, as by their mechanism; -1 where nothing can happen.
    """
    shares = leading_shares(rows, differences)
    if not len(shares):
        return leading_rows(rows, shares)
    pairs = rows.work * (int(kinds.max()) + 1) + kinds
    in_all = np.bincount(pairs, weights=shares)[pairs]
    most = np.zeros(rows.works)
    np.maximum.at(most, rows.work, in_all)
    return leading_rows(rows, np.where(in_all == most[rows.work], shares, 0.0))


def with_medians(rows: Components, factor: float) -> Components:
    """Return the rows as if every median were `factor` times as long: for the range of a chance."""
    clocks = {
        name: getattr(rows, name) / factor for name in ("clock_seen", "clock_now", "rate_per_year")
    }
    return replace(rows, **clocks)


def only_rows(rows: Components, chosen: NDArray[np.bool_]) -> Components:
    """Return the chosen rows of the same works, with groups numbered anew."""
    return _picked(rows, np.flatnonzero(chosen), rows.work, rows.works)


def only_works(rows: Components, works: Indexes) -> Components:
    """Return the rows of these works alone, given in rising order and numbered anew."""
    number = np.full(rows.works, -1, dtype=np.int64)
    number[works] = np.arange(len(works))
    renumbered = number[rows.work]
    return _picked(rows, np.flatnonzero(renumbered >= 0), renumbered, len(works))


def _picked(rows: Components, at: Indexes, work: Indexes, works: int) -> Components:
    names = ("median", "shape", "theta", "clock_seen", "clock_now", "rate_per_year", "weights")
    kept = {name: getattr(rows, name).take(at, axis=0) for name in names}
    first = begins(rows.group.take(at))
    group = np.cumsum(first) - 1
    picked = Components(**kept, work=work.take(at), group=group, works=works)
    vars(picked)["group_starts"] = np.flatnonzero(first)
    # What was worked out of a row once holds wherever the row goes.
    if "hazard_seen" in vars(rows):
        vars(picked)["hazard_seen"] = rows.hazard_seen.take(at)
    return picked


def side_by_side(parts: Sequence[Components]) -> Components:
    """Return several sets of rows as one, the works of each after those of the one before.

    NumPy takes nearly as long for one work as for a hundred, so what is asked of the
    same works in several ways is asked at once.
    """
    names = ("median", "shape", "theta", "clock_seen", "clock_now", "rate_per_year", "weights")
    works = np.cumsum([0, *(part.works for part in parts)])
    groups = np.cumsum([0, *(len(part.group_starts) for part in parts)])
    joined = Components(
        **{name: np.concatenate([getattr(part, name) for part in parts]) for name in names},
        work=np.concatenate([p.work + first for p, first in zip(parts, works, strict=False)]),
        group=np.concatenate([p.group + first for p, first in zip(parts, groups, strict=False)]),
        works=int(works[-1]),
    )
    if all("hazard_seen" in vars(part) for part in parts):
        vars(joined)["hazard_seen"] = np.concatenate([part.hazard_seen for part in parts])
    return joined


def years_to_likely_harm(rows: Components, window_years: float, longest_years: float) -> Floats:
    """Return, per work, when the chance of new harm within the window first passes one half.

    0 where it does so now; infinity where it does not within `longest_years`.
    The hazard of a window only grows, unless a board is unknown or a material fails
    less and less: there it is bracketed on a grid of a tenth of a year.
    """
    passed = np.full(rows.works, np.inf)
    passed[_is_likely(rows, np.zeros(rows.works), window_years)] = 0.0
    waits = np.isinf(passed)
    turns = np.zeros(rows.works, dtype=np.bool_)
    turns[rows.work[rows.is_mixture | (rows.shape < 1)]] = True
    grows = np.flatnonzero(waits & ~turns)
    grid = np.flatnonzero(waits & turns)
    if len(grows):
        passed[grows] = _grows_likely(only_works(rows, grows), window_years, longest_years)
    if len(grid):
        passed[grid] = _likely_on_grid(only_works(rows, grid), window_years, longest_years)
    return passed


def _grows_likely(rows: Components, window_years: float, longest_years: float) -> Floats:
    def of_window(these: Components, years: Floats) -> Floats:
        return _rows_between(these, years, years + window_years)

    target = np.full(rows.works, _LN_2 + _HALF)
    return _first_at(
        of_window, rows, target, np.zeros(rows.works), np.full(rows.works, longest_years)
    )


def _likely_on_grid(rows: Components, window_years: float, longest_years: float) -> Floats:
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
    return hazard_of_works(rows, _rows_between(rows, start, end))


def _rows_between(rows: Components, start: Floats, end: Floats) -> Floats:
    later = summed_hazard(rows, _clock(rows, end))
    return np.asarray(later - summed_hazard(rows, _clock(rows, start)))


def _clock(rows: Components, years: Floats | float) -> Floats:
    ahead = years[rows.work] if isinstance(years, np.ndarray) and years.ndim else years
    return np.asarray(rows.clock_now + rows.rate_per_year * ahead)


def _ends(rows: Components, target: Floats) -> tuple[Floats, Floats]:
    """Return years between which the hazard unseen of each work reaches its target.

    It has done so once any row alone does, and not before some row reaches its part
    of it, were every group to bear the same. An unknown board is no worse than the
    worst it may be, and no better than the best.
    """
    low, high = np.full(rows.works, np.inf), np.full(rows.works, np.inf)
    if not len(rows.work):
        return low, high
    groups = np.bincount(rows.work_of_group, minlength=rows.works)
    part = target / np.maximum(groups, 1)
    works = rows.work[rows.work_starts]
    for years, its, median in (
        (low, part, MIXTURE_MEDIANS[0]),
        (high, target, MIXTURE_MEDIANS[-1]),
    ):
        reached = _reached_alone(rows, its[rows.work], float(median))
        years[works] = np.minimum.reduceat(reached, rows.work_starts)
    # Rounding must not put an end on the wrong side.
    low, high = (np.clip(end, -LONGEST_YEARS, LONGEST_YEARS) for end in (low, high))
    return low - _CLOSE_YEARS * (1 + np.abs(low)), high + _CLOSE_YEARS * (1 + np.abs(high))


def _reached_alone(rows: Components, target: Floats, median_of_mixture: float) -> Floats:
    """Return the years at which each row alone reaches a hazard unseen; infinite where never."""
    median = np.where(rows.is_mixture, median_of_mixture, rows.median)
    shape = np.where(rows.is_mixture, MIXTURE_SHAPE, rows.shape)
    clock = median * ((target + rows.hazard_seen) / rows.weight_of_hazard) ** (1 / shape)
    missing = clock - rows.clock_now
    stands = np.where(missing > 0, np.inf, -np.inf)
    # A clock that all but stands takes longer than a float can say.
    with np.errstate(over="ignore"):
        return np.divide(missing, rows.rate_per_year, out=stands, where=rows.rate_per_year > 0)


RowsAt = Callable[[Components, Floats], Floats]


def _first_at(
    hazard: RowsAt, rows: Components, target: Floats, low: Floats, high: Floats
) -> Floats:
    """Return, per work, the years at which its hazard, which never falls, reaches the target.

    `low` where it has by then, infinity where it has not at `high`. Regula falsi
    (Illinois), with a halving now and then, on the works that are still open alone, and
    on those of their rows that can lead their group between the ends.
    """
    aim = np.sqrt(target)
    at_low, at_high = hazard(rows, low), hazard(rows, high)
    low_gap, high_gap = (_root(rows, its) - aim for its in (at_low, at_high))
    found = np.where(low_gap >= 0, low, np.inf)
    is_open = (low_gap < 0) & (high_gap >= 0)
    of = np.flatnonzero(is_open)
    if not len(of):
        return found
    ends = [values[of] for values in (low, high, low_gap, high_gap, np.zeros(len(low)), aim)]
    worst = np.maximum.reduceat(at_low, rows.group_starts)
    can_lead = (at_high >= worst[rows.group]) & is_open[rows.work]
    rows = only_works(only_rows(rows, can_lead), of)
    for step in range(_MOST_STEPS):
        low, high, low_gap, high_gap, _, aim = ends
        is_open = high - low > _CLOSE_YEARS
        is_open &= np.minimum(np.abs(low_gap), np.abs(high_gap)) > _CLOSE_SHARE * aim
        if is_open.sum() < _SHARE_STILL_OPEN * len(of):
            found[of] = np.where(np.abs(low_gap) < np.abs(high_gap), low, high)
            kept = np.flatnonzero(is_open)
            if not len(kept):
                return found
            of, rows = of[kept], only_works(rows, kept)
            ends = [values[kept] for values in ends]
        ends = _closer(hazard, rows, ends, halve=step % _HALVE_EVERY == _HALVE_EVERY - 1)
    found[of] = ends[1]
    return found


def _root(rows: Components, hazards: Floats) -> Floats:
    # Most hazards grow by a power between 2 and 3: their roots by nearly a straight line.
    return np.sqrt(hazard_of_works(rows, hazards))


def _closer(hazard: RowsAt, rows: Components, ends: list[Floats], *, halve: bool) -> list[Floats]:
    low, high, low_gap, high_gap, side, aim = ends
    middle = (low + high) / 2 if halve else low - low_gap * (high - low) / (high_gap - low_gap)
    gap = _root(rows, hazard(rows, middle)) - aim
    above = gap >= 0
    # Illinois: an end that stands still twice counts half, so that both ends close in.
    return [
        np.where(above, low, middle),
        np.where(above, middle, high),
        np.where(above, np.where(side > 0, low_gap / 2, low_gap), gap),
        np.where(above, gap, np.where(side < 0, high_gap / 2, high_gap)),
        np.where(above, 1.0, -1.0),
        aim,
    ]
