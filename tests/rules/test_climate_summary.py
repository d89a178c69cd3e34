"""The figures of a record, against a steady room and a day worked out by hand."""

from dataclasses import replace

import numpy as np
import pytest

from models.rules.climate_days import DAY_S
from models.rules.climate_summary import (
    MOST_PARTS,
    ClimateFigures,
    LightFigures,
    MonthRow,
    Spread,
    climate_figures,
    light_figures,
    months,
    thinned,
)

HOUR = 3600
NONE = (np.empty(0, np.int64), np.empty((0, 2)))


def hours(count: int, *figures: float) -> tuple[np.ndarray, np.ndarray]:
    return np.arange(count) * HOUR, np.tile(np.array(figures, float), (count, 1))


def test_a_steady_room_at_the_reference_climate() -> None:
    found = climate_figures(*hours(25, 20, 50))
    assert found is not None
    steady = [Spread(v, v, v, v, v) for v in (20, 50, found.dew_point_c.mean)]
    assert found.dew_point_c.mean == pytest.approx(9.261, abs=5e-4)
    assert [found.paper_rate, found.adhesive_rate] == pytest.approx([1, 1])
    # The Preservation Index of 20 degC and 50 % in form A.
    assert found.index_years == pytest.approx(44.62, abs=0.005)
    assert replace(found, paper_rate=1, adhesive_rate=1, index_years=1, lowest_index_years=1) == (
        ClimateFigures(
            readings=25,
            read_days=pytest.approx(24.5 / 24),  # type: ignore[arg-type]
            temperature_c=_about(steady[0]),
            rh_percent=_about(steady[1]),
            dew_point_c=_about(steady[2]),
            paper_rate=1,
            adhesive_rate=1,
            index_years=1,
            lowest_index_years=1,
            damp_now=0,
            damp_peak=0,
            damp_hours=0,
        )
    )


def _about(one: Spread) -> Spread:
    return Spread(*(pytest.approx(value) for value in vars(one).values()))  # type: ignore[arg-type]


def test_the_mean_index_is_weighted_by_time_and_by_rate() -> None:
    seconds, figures = hours(49, 20, 50)
    figures[24:] = (25, 50)
    found = climate_figures(seconds, figures)
    assert found is not None
    # Half the time at 44.62 years, half at 24.28: their harmonic mean.
    assert found.index_years == pytest.approx(2 / (1 / 44.62 + 1 / 24.28), rel=0.01)
    assert found.lowest_index_years == pytest.approx(24.28, abs=0.005)


def test_six_readings_of_seven_lie_in_the_band() -> None:
    seconds = np.arange(101) * HOUR
    figures = np.column_stack([np.linspace(10, 20, 101), np.full(101, 50.0)])
    found = climate_figures(seconds, figures)
    assert found is not None
    told = found.temperature_c
    assert (told.lowest, told.band_low, told.band_high, told.highest) == pytest.approx(
        (10, 10.7, 19.3, 20)
    )


def test_damp_hours_and_progress_are_those_of_the_damp_clock() -> None:
    found = climate_figures(*hours(10 * 24 + 1, 25, 80))
    assert found is not None
    # Ten days to growth at 80 %; the edges stand for half an hour.
    assert found.damp_now == pytest.approx(1, abs=0.01)
    assert found.damp_hours == pytest.approx(240.5)


def test_light_adds_up() -> None:
    assert light_figures(*hours(9, 200, 40)) == LightFigures(
        readings=9,
        read_days=pytest.approx(8.5 / 24),  # type: ignore[arg-type]
        lux_hours=pytest.approx(1700),  # type: ignore[arg-type]
        highest_lux=200,
        lit_hours=pytest.approx(8.5),  # type: ignore[arg-type]
        uv_uw_per_lm=40,
    )


def test_nothing_read_has_no_figures() -> None:
    assert climate_figures(*NONE) is None
    assert light_figures(*NONE) is None
    assert thinned(*NONE, 0, DAY_S) == ()


def test_a_drawing_keeps_every_peak_and_every_hole() -> None:
    seconds = np.arange(0, 365 * DAY_S, 300)
    rng = np.random.default_rng(11)
    figures = np.column_stack([rng.normal(20, 1, len(seconds)), rng.normal(50, 2, len(seconds))])
    figures[777] = (35, 12)
    is_read = (seconds < 100 * DAY_S) | (seconds > 130 * DAY_S)
    parts = thinned(seconds[is_read], figures[is_read], 0, 365 * DAY_S)
    assert len(parts) <= MOST_PARTS
    assert max(part.highs[0] for part in parts) == 35
    assert min(part.lows[1] for part in parts) == 12
    assert [part.second // DAY_S for part in parts if part.after_hole] == [0, 130]


def test_months_are_those_in_which_something_was_read() -> None:
    # 1970: January whole, February not, the first day of March.
    seconds, figures = hours(31 * 24, 20, 50)
    march = np.arange(59 * DAY_S, 60 * DAY_S, HOUR)
    climate = (
        np.concatenate([seconds, march]),
        np.concatenate([figures, np.tile([10.0, 60.0], (len(march), 1))]),
    )
    rows = months(climate, NONE, 0, 80)
    assert [(row.year, row.month) for row in rows] == [(1970, 1), (1970, 3)]
    assert rows[1] == MonthRow(
        year=1970,
        month=3,
        read_days=pytest.approx(23.5 / 24),  # type: ignore[arg-type]
        temperature_c=(10, 10),
        rh_percent=(60, 60),
        paper_rate=rows[1].paper_rate,
        index_years=rows[1].index_years,
        damp=0,
        lux_hours=None,
    )
