from datetime import date

import pytest

from models.rules.calendar_days import day_number
from models.rules.framing_date import framed_when
from models.rules.package_facts import LayerFacts, PackageFacts
from models.vocabulary import FramedWhen, LayerRole

MAT = LayerFacts(role=LayerRole.WINDOW_MAT, grade="unknown board")


def day(year: int, month: int = 1, on: int = 1) -> int:
    return day_number(date(year, month, on))


@pytest.mark.parametrize(
    ("mounted", "framed"),
    [
        (day(1979, 12, 31), FramedWhen.BEFORE_1980),
        (day(1980), FramedWhen.FROM_1980_TO_2000),
        (day(2000, 12, 31), FramedWhen.FROM_1980_TO_2000),
        (day(2001), FramedWhen.AFTER_2000),
        (None, FramedWhen.NO_IDEA),
    ],
)
def test_the_mounting_says_when_a_package_was_framed(
    mounted: int | None, framed: FramedWhen
) -> None:
    assert framed_when(MAT, PackageFacts(mounted_day=mounted)) is framed


def test_a_layer_that_was_fitted_later_has_its_own_date() -> None:
    new_mat = LayerFacts(role=LayerRole.WINDOW_MAT, fitted_first_day=day(2010))
    assert framed_when(new_mat, PackageFacts(mounted_day=day(1960))) is FramedWhen.AFTER_2000


def test_a_date_that_is_only_assumed_is_no_idea() -> None:
    assumed = PackageFacts(mounted_day=day(2006), mounted_is_assumed=True)
    assert framed_when(MAT, assumed) is FramedWhen.NO_IDEA


def test_a_half_known_date_that_reaches_over_two_spans_is_no_idea() -> None:
    seventies = PackageFacts(mounted_day=day(1970), mounted_last_day=day(1979, 12, 31))
    about_1980 = PackageFacts(mounted_day=day(1975), mounted_last_day=day(1985))
    assert framed_when(MAT, seventies) is FramedWhen.BEFORE_1980
    assert framed_when(MAT, about_1980) is FramedWhen.NO_IDEA
