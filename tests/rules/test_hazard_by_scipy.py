"""Rows of whole packages against the Weibull survival function of SciPy 1.17.

A mechanism of shape b whose typical time is the median M survives as
weibull_min(c=b, scale=M / ln(2)**(1/b)); what was seen clear conditions it.
"""

from math import log

import numpy as np
import pytest
from scipy.stats import weibull_min

from models.risk.hazard import chance, hazard_unseen
from models.rules.calendar_days import add_years
from models.rules.package_components import ComponentRow, as_arrays
from models.rules.package_facts import ClimateFacts, HoldFacts, SeenFacts, WorkFacts
from models.vocabulary import Mechanism, PlaceUse, ProcessGroup, Shown, Surface
from tests.rules.exposed_work import BACK, FRAMED, GLASS, SEALED, TODAY, WORK, package, rows_of

YEARS = np.array([0.0, 0.5, 1.0, 5.0, 20.0])
CELLAR = ClimateFacts(use=PlaceUse.STORAGE, temperature_c=14, rh_percent=72)
WARM = ClimateFacts(temperature_c=25, rh_percent=60)
SILVER = WorkFacts(process_group=ProcessGroup.SILVER_PHOTOGRAPH, surface=Surface.GELATIN)
HINGES = HoldFacts(grade="gummed tape hinges", count=2)


def survival(row: ComponentRow, clock: float) -> float:
    scale = row.median / log(2) ** (1 / row.shape)
    return float(weibull_min.sf(clock, row.shape, scale=scale))


def unseen_by_scipy(row: ComponentRow, years: float) -> float:
    seen, then = row.clock_seen, row.clock_now + row.rate_per_year * years
    return 1 - survival(row, then) / survival(row, seen)


PACKAGES = {
    "glass on a gelatin print": rows_of(package(GLASS, WORK, BACK, years=3), work=SILVER),
    "a photograph without a seal, warm": rows_of(
        package(*FRAMED, years=12), work=SILVER, climate=WARM
    ),
    "gummed hinges in a cellar": rows_of(package(*SEALED, hold=HINGES, years=0.2), climate=CELLAR),
    "taped all round, seen last year": rows_of(
        package(*FRAMED, years=8, method="taped all round"),
        seen=SeenFacts(days=dict.fromkeys(Shown, add_years(TODAY, -1))),
    ),
}


@pytest.mark.parametrize("name", PACKAGES)
def test_each_row_alone_is_a_weibull_clock(name: str) -> None:
    for row in PACKAGES[name]:
        arrays = as_arrays([[row]])
        ours = [float(chance(hazard_unseen(arrays, years))[0]) for years in YEARS]
        theirs = [unseen_by_scipy(row, years) for years in YEARS]
        np.testing.assert_allclose(ours, theirs, rtol=1e-9, atol=1e-12)


@pytest.mark.parametrize("name", PACKAGES)
def test_what_survives_a_package_survives_every_way_to_harm(name: str) -> None:
    rows = PACKAGES[name]
    for years in YEARS:
        worst: dict[tuple[Mechanism, Shown], float] = {}
        for row in rows:
            place = row.mechanism, row.shown
            worst[place] = min(worst.get(place, 1.0), 1 - unseen_by_scipy(row, years))
        ours = float(chance(hazard_unseen(as_arrays([rows]), float(years)))[0])
        assert ours == pytest.approx(1 - float(np.prod(list(worst.values()))), rel=1e-9)
