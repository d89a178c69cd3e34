"""What does a record of climate and light say over a span of time, in a few figures and a drawing?

Rates are averaged by time, never temperature and humidity first; the band is the 7th to the
93rd percentile of the readings, between which six readings of seven lie. For the drawing
readings are thinned to the lowest and the highest of each of at most 240 equal parts of the
span, so that no peak is lost; a hole of more than six hours stays a hole.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np
from numpy.typing import NDArray

from models.risk.damp import progress
from models.risk.dew_point import dew_point_c
from models.risk.preservation_index import preservation_index_years
from models.rules.climate_days import (
    DAY_S,
    LONGEST_HOLE_S,
    climate_rates,
    integrals_by_day,
)

Floats = NDArray[np.float64]
Seconds = NDArray[np.int64]

MOST_PARTS = 240
# EN 15757 takes these percentiles for a band that is safe because it is usual.
BAND_PERCENTILES = (7.0, 93.0)


@dataclass(frozen=True)
class Spread:
    """How a figure was spread: lowest, 7th percentile, mean over time, 93rd percentile, highest."""

    lowest: float
    band_low: float
    mean: float
    band_high: float
    highest: float


@dataclass(frozen=True, kw_only=True)
class ClimateFigures:
    """The climate of the time that was read. Rates are against 20 degC and 50 %."""

    readings: int
    read_days: float
    temperature_c: Spread
    rh_percent: Spread
    dew_point_c: Spread
    paper_rate: float
    adhesive_rate: float
    index_years: float
    lowest_index_years: float
    damp_now: float
    damp_peak: float
    damp_hours: float


@dataclass(frozen=True, kw_only=True)
class LightFigures:
    """The light of the time that was read: dose in lux hours, hours of any light, UV mean."""

    readings: int
    read_days: float
    lux_hours: float
    highest_lux: float
    lit_hours: float
    uv_uw_per_lm: float | None


@dataclass(frozen=True)
class Part:
    """One part of the drawing: its middle in UTC seconds, the lowest and highest of two figures.

    `after_hole` says that the line begins anew here.
    """

    second: int
    lows: tuple[float, float]
    highs: tuple[float, float]
    after_hole: bool


@dataclass(frozen=True, kw_only=True)
class MonthRow:
    """One month of the record."""

    year: int
    month: int
    read_days: float
    temperature_c: tuple[float, float] | None
    rh_percent: tuple[float, float] | None
    paper_rate: float | None
    index_years: float | None
    damp: float | None
    lux_hours: float | None


def climate_figures(seconds: Seconds, figures: Floats) -> ClimateFigures | None:
    """Return the figures of readings of degC and % RH; None where no moment has both."""
    both = ~np.isnan(figures).any(axis=1)
    seconds, (temperature, humidity) = seconds[both], figures[both].T
    if len(seconds) == 0:
        return None
    rates = _all_rates(temperature, humidity)
    days = integrals_by_day(seconds, rates)
    read_days = float(days.read_s.sum()) / DAY_S
    means = days.integrals.sum(axis=0) / read_days
    damp = progress(_day_by_day(days.days, days.integrals[:, 2]))
    dew = dew_point_c(temperature, humidity)
    return ClimateFigures(
        readings=len(seconds),
        read_days=read_days,
        temperature_c=_spread(temperature, means[4]),
        rh_percent=_spread(humidity, means[5]),
        dew_point_c=_spread(dew, means[7]),
        paper_rate=float(means[0]),
        adhesive_rate=float(means[1]),
        index_years=float(1 / means[6]),
        lowest_index_years=float(1 / rates[:, 6].max()),
        damp_now=float(damp[-1]),
        damp_peak=float(damp.max()),
        damp_hours=float(means[8] * read_days * 24),
    )


def _all_rates(temperature: Floats, humidity: Floats) -> Floats:
    """Return paper, adhesives, damp, damp from 60 %, degC, % RH, 1/index, dew point, is damp."""
    more = (
        temperature,
        humidity,
        1 / preservation_index_years(temperature, humidity),
        dew_point_c(temperature, humidity),
        (humidity >= 65).astype(np.float64),
    )
    return np.column_stack([climate_rates(temperature, humidity), *more])


def _spread(values: Floats, mean: float) -> Spread:
    low, high = np.percentile(values, BAND_PERCENTILES)
    return Spread(float(values.min()), float(low), float(mean), float(high), float(values.max()))


def _day_by_day(days: Seconds, per_day: Floats) -> Floats:
    """Return one value for each day from the first to the last; a day not read moves nothing."""
    every = np.zeros(int(days[-1] - days[0]) + 1)
    every[days - days[0]] = per_day
    return every


def light_figures(seconds: Seconds, figures: Floats) -> LightFigures | None:
    """Return the figures of readings of lux and microwatts of UV per lumen; None for none."""
    is_read = ~np.isnan(figures[:, 0])
    seconds, (lux, uv) = seconds[is_read], figures[is_read].T
    if len(seconds) == 0:
        return None
    rates = np.column_stack([lux * 24, (lux >= 1) * 24.0])
    days = integrals_by_day(seconds, rates)
    weighed = lux[~np.isnan(uv)]
    has_uv = len(weighed) and weighed.sum() > 0
    return LightFigures(
        readings=len(seconds),
        read_days=float(days.read_s.sum()) / DAY_S,
        lux_hours=float(days.integrals[:, 0].sum()),
        highest_lux=float(lux.max()),
        lit_hours=float(days.integrals[:, 1].sum()),
        uv_uw_per_lm=float(np.nansum(lux * uv) / weighed.sum()) if has_uv else None,
    )


def thinned(seconds: Seconds, figures: Floats, first: int, last: int) -> tuple[Part, ...]:
    """Return the parts of the drawing from one UTC second to another."""
    both = ~np.isnan(figures).any(axis=1)
    seconds, figures = seconds[both], figures[both]
    if len(seconds) == 0:
        return ()
    width = max(1, -(-(last - first + 1) // MOST_PARTS))
    which = (seconds - first) // width
    starts = np.flatnonzero(np.append(True, np.diff(which) > 0))
    lows = np.minimum.reduceat(figures, starts, axis=0)
    highs = np.maximum.reduceat(figures, starts, axis=0)
    hole = np.append(True, np.diff(seconds) > LONGEST_HOLE_S)
    after_hole = np.logical_or.reduceat(hole, starts)
    middles = first + which[starts] * width + width // 2
    return tuple(
        Part(int(second), (float(low[0]), float(low[1])), (float(high[0]), float(high[1])), bool(h))
        for second, low, high, h in zip(middles, lows, highs, after_hole, strict=True)
    )


def months(
    climate: tuple[Seconds, Floats], light: tuple[Seconds, Floats], first_day: int, last_day: int
) -> tuple[MonthRow, ...]:
    """Return a row for each month of a span of days in which anything was read."""
    rows = (
        _month(climate, light, start, end) for start, end in _months_between(first_day, last_day)
    )
    return tuple(row for row in rows if row is not None)


def _months_between(first_day: int, last_day: int) -> Iterator[tuple[date, date]]:
    epoch = date(1970, 1, 1)
    start, last = epoch + timedelta(days=first_day), epoch + timedelta(days=last_day)
    while start <= last:
        year, month = start.year + start.month // 12, start.month % 12 + 1
        after = min(date(year, month, 1), last + timedelta(days=1))
        yield start, after
        start = after


def _month(
    climate: tuple[Seconds, Floats], light: tuple[Seconds, Floats], start: date, end: date
) -> MonthRow | None:
    air = climate_figures(*_within(climate, start, end))
    lit = light_figures(*_within(light, start, end))
    if air is None and lit is None:
        return None
    return MonthRow(
        year=start.year,
        month=start.month,
        read_days=air.read_days if air else lit.read_days if lit else 0.0,
        temperature_c=(air.temperature_c.lowest, air.temperature_c.highest) if air else None,
        rh_percent=(air.rh_percent.lowest, air.rh_percent.highest) if air else None,
        paper_rate=air.paper_rate if air else None,
        index_years=air.index_years if air else None,
        damp=air.damp_peak if air else None,
        lux_hours=lit.lux_hours if lit else None,
    )


def _within(series: tuple[Seconds, Floats], start: date, end: date) -> tuple[Seconds, Floats]:
    epoch = date(1970, 1, 1)
    bounds = np.array([(start - epoch).days, (end - epoch).days]) * DAY_S
    first, last = np.searchsorted(series[0], bounds)
    return series[0][first:last], series[1][first:last]
