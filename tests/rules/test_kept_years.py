"""Years that a search found hold while all that they rest on is as it was."""

import numpy as np
import pytest

from models.rules.kept_years import (
    HELD_NIGHTS,
    are_same,
    hold,
    number_of,
    pack_years,
    searched,
    unpack_years,
)
from models.rules.package_components import Experience
from models.rules.packed_rows import figure_columns
from models.rules.policy import Policy
from models.rules.work_dates import Searched
from models.vocabulary import Mechanism
from seed_data.shipped import shipped_default_figures

FIGURES = shipped_default_figures()
GROUNDWOOD = (Mechanism.ACID_MIGRATION, "groundwood board")
FOUND = Searched(
    opened=np.array([1.5, np.inf]),
    others=np.array([2.5, np.inf]),
    package=np.array([3.5, -0.25]),
    look=np.array([4.5, 10.0]),
)


def number(policy: Policy | None = None, experience: Experience | None = None) -> int:
    return number_of(figure_columns(FIGURES, experience or {}), policy or Policy())


def test_years_found_hold_under_the_same_figures_and_allowed_chances() -> None:
    assert number() == number(Policy(look_latest_display_months=6), {})


@pytest.mark.parametrize(
    "other",
    [
        number(Policy(allowed_unique=0.01)),
        number(Policy(allowed_small_edition=0.02)),
        number(Policy(allowed_replaceable=0.5)),
        number(experience={GROUNDWOOD: 0.999}),
        0,
    ],
)
def test_years_found_hold_under_no_other_figures_or_allowed_chances(other: int) -> None:
    kept = pack_years(FOUND, number())
    assert not hold(kept, other, np.array([1, 2]), 0).any()


def test_every_figure_counts() -> None:
    columns = figure_columns(FIGURES, {})
    known = int(np.flatnonzero(~np.isnan(columns.median))[0])
    columns.theta[known] = 2.0
    changed = number_of(columns, Policy())
    assert changed != number()


def test_each_work_is_searched_anew_once_in_thirty_nights() -> None:
    kept = np.repeat(pack_years(FOUND, number())[:1], 90)
    works = np.arange(1, 91)
    nights = [hold(kept, number(), works, night) for night in range(HELD_NIGHTS)]
    assert (np.sum(~np.array(nights), axis=0) == 1).all()
    assert [int((~held).sum()) for held in nights] == [3] * HELD_NIGHTS


def test_years_are_read_as_they_were_kept_and_none_where_nothing_is() -> None:
    kept = pack_years(FOUND, number())
    one, other = (kept[at : at + 1].tobytes() for at in (0, 1))
    read = unpack_years([one, None, other])
    assert hold(read, number(), np.array([1, 1, 1]), 0).tolist() == [True, False, True]
    again = searched(read[[0, 2]])
    assert [again.opened.tolist(), again.package.tolist()] == [[1.5, np.inf], [3.5, -0.25]]
    assert [again.others.tolist(), again.look.tolist()] == [[2.5, np.inf], [4.5, 10.0]]


def test_searches_that_differ_by_seconds_found_the_same() -> None:
    kept = pack_years(FOUND, number())
    seconds, hours = kept.copy(), kept.copy()
    seconds["look"] += 1e-7
    hours["look"][1] += 1e-3
    assert are_same(kept, seconds).tolist() == [True, True]
    assert are_same(kept, hours).tolist() == [True, False]
