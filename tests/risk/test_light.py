"""Does light add up to the published doses, and do the limits stand as published?"""

import numpy as np
import pytest

from models.errors import OutsideKnownRange
from models.risk.light import (
    LIGHT_CLASSES,
    cie_group,
    dose_lux_hours,
    fade_dose_lux_hours,
    is_uv_filtered,
)


def test_blue_wool_doses_are_those_of_the_canadian_table() -> None:
    # Michalski, CCI, Agent of deterioration: light, ultraviolet and infrared, table 3.
    filtered = [fade_dose_lux_hours(c, uv_filtered=True) / 1e6 for c in LIGHT_CLASSES]
    present = [fade_dose_lux_hours(c, uv_filtered=False) / 1e6 for c in LIGHT_CLASSES]
    assert filtered == [0.3, 1, 3, 10, 30, 100, 300, 1000]
    np.testing.assert_allclose(present, [0.22, 0.6, 1.5, 3.5, 8, 20, 50, 120], rtol=1e-12)


def test_ultraviolet_never_lets_a_colour_last_longer() -> None:
    for light_class in LIGHT_CLASSES:
        filtered = fade_dose_lux_hours(light_class, uv_filtered=True)
        assert filtered > fade_dose_lux_hours(light_class, uv_filtered=False)


def test_a_higher_class_always_bears_more() -> None:
    for uv_filtered in (True, False):
        doses = [fade_dose_lux_hours(c, uv_filtered=uv_filtered) for c in LIGHT_CLASSES]
        assert doses == sorted(set(doses))


@pytest.mark.parametrize(
    ("light_class", "lux", "lux_hours"),
    [
        *((c, 50, 15_000) for c in (1, 2, 3)),
        *((c, 50, 150_000) for c in (4, 5, 6)),
        *((c, 200, 600_000) for c in (7, 8)),
    ],
)
def test_the_limits_are_those_of_cie_157(light_class: int, lux: float, lux_hours: float) -> None:
    # CIE 157:2004; also CEN/TS 16163:2014.
    group = cie_group(light_class)
    assert (group.limit_lux, group.limit_lux_hours_a_year) == (lux, lux_hours)


@pytest.mark.parametrize("light_class", [0, 9, -1])
def test_there_are_eight_classes_and_no_more(light_class: int) -> None:
    with pytest.raises(OutsideKnownRange, match="outside 1 to 8"):
        fade_dose_lux_hours(light_class, uv_filtered=True)
    with pytest.raises(OutsideKnownRange, match="outside 1 to 8"):
        cie_group(light_class)


def test_doses_add_up_as_in_published_examples() -> None:
    # Worked examples of a published manual of collection care: hours a day, days, lux.
    assert dose_lux_hours(200, hours_per_day=5, days=5 * 52) == 260_000
    assert dose_lux_hours(50, hours_per_day=5, days=5 * 26) == 32_500
    assert dose_lux_hours(150, hours_per_day=6, days=11 * 6) == 59_400
    # Twelve weeks at 50 lux and eight hours are over the limit of the most sensitive group.
    assert dose_lux_hours(50, hours_per_day=8, days=12 * 7) == 33_600
    assert dose_lux_hours(50, hours_per_day=8, days=12 * 7) > 15_000


def test_a_short_bright_show_is_as_much_as_a_long_dim_one() -> None:
    # Reciprocity: three weeks at 100 lux, one at 300.
    dim = dose_lux_hours(100, hours_per_day=8, days=21)
    assert dim == dose_lux_hours(300, hours_per_day=8, days=7)


@pytest.mark.parametrize(
    ("lux", "years"),
    [
        (50, [2.0, 6.7, 20.0, 66.7, 200, 667]),
        (150, [0.67, 2.2, 6.7, 22.2, 66.7, 222]),
        (200, [0.5, 1.67, 5.0, 16.7, 50, 167]),
        (500, [0.2, 0.67, 2.0, 6.7, 20, 66.7]),
    ],
)
def test_years_to_one_fade_at_gallery_hours(lux: float, years: list[float]) -> None:
    # 3000 hours a year, ultraviolet filtered; computed from the published doses.
    per_year = dose_lux_hours(lux, hours_per_day=10, days=300)
    found = [fade_dose_lux_hours(c, uv_filtered=True) / float(per_year) for c in range(1, 7)]
    np.testing.assert_allclose(found, years, rtol=0.012)


def test_ultraviolet_is_filtered_by_the_glass_or_by_the_room() -> None:
    assert is_uv_filtered(uv_block_percent=97, uv_uw_per_lm=75)
    assert is_uv_filtered(uv_block_percent=None, uv_uw_per_lm=10)
    assert not is_uv_filtered(uv_block_percent=96.9, uv_uw_per_lm=10.1)
    assert not is_uv_filtered(uv_block_percent=None, uv_uw_per_lm=75)
