"""What has become of a finding between two visits: common practice, no source."""

from collections.abc import Sequence

import pytest

from models.rules.two_visits import Became, SeenThen, compared
from models.vocabulary import Change, Severity

SLIGHT = SeenThen(0, Change.NEW, Severity.SLIGHT, 8.0)


def at(
    visit: int, change: Change, severity: Severity | None = None, mm: float | None = None
) -> SeenThen:
    return SeenThen(visit, change, severity, mm)


@pytest.mark.parametrize(
    ("later", "became"),
    [
        ([], Became.NOT_SEEN),
        ([at(1, Change.NOT_SEEN)], Became.NOT_SEEN),
        ([at(1, Change.UNCHANGED, Severity.SLIGHT, 8.0)], Became.UNCHANGED),
        ([at(1, Change.GROWN)], Became.GROWN),
        ([at(1, Change.UNCHANGED, Severity.MODERATE)], Became.GROWN),
        ([at(1, Change.UNCHANGED, Severity.SLIGHT, 10.0)], Became.GROWN),
        # Grown at a visit in between, and as it was ever since.
        ([at(1, Change.GROWN, Severity.SLIGHT, 8.0), at(2, Change.UNCHANGED)], Became.GROWN),
        ([at(1, Change.TREATED)], Became.TREATED),
        ([at(2, Change.NO_LONGER_VISIBLE)], Became.NO_LONGER_VISIBLE),
        # After the later visit: not of this comparison.
        ([at(3, Change.TREATED)], Became.NOT_SEEN),
    ],
)
def test_what_has_become_of_a_stain(later: Sequence[SeenThen], became: Became) -> None:
    found = compared([SLIGHT, *later], 0, 2)
    assert found is not None
    assert (found.became, found.before) == (became, SLIGHT)


def test_a_stain_found_at_the_later_visit_is_new_and_one_found_after_it_is_not_told() -> None:
    found = compared([at(2, Change.FOUND_AGE_UNKNOWN, Severity.SLIGHT)], 0, 2)
    assert found is not None
    assert (found.became, found.before) == (Became.NEW, None)
    assert compared([at(3, Change.NEW)], 0, 2) is None


def test_what_was_gone_and_is_back_is_new_and_what_stays_gone_is_not_told() -> None:
    gone = [SLIGHT, at(1, Change.TREATED)]
    back = compared([*gone, at(2, Change.GROWN, Severity.SLIGHT)], 1, 2)
    assert back is not None
    assert back.became is Became.NEW
    assert compared(gone, 1, 2) is None


def test_by_how_much_it_reaches_further() -> None:
    found = compared([SLIGHT, at(1, Change.GROWN, Severity.MODERATE, 12.0)], 0, 1)
    assert found is not None
    assert found.grown_mm == 4.0
    unmeasured = compared([SLIGHT, at(1, Change.GROWN)], 0, 1)
    assert unmeasured is not None
    assert unmeasured.grown_mm is None
