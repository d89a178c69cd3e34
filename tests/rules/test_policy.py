"""What a keeper may set, and what stands there else."""

import pytest

from models.errors import BadValue
from models.rules.policy import Policy, own_figure, policy_from
from models.vocabulary import UNKNOWN_BOARD, Mechanism
from seed_data.shipped import shipped_default_figures

ACID, GROUNDWOOD = Mechanism.ACID_MIGRATION, "groundwood board"


def test_what_nobody_set_is_the_default() -> None:
    assert policy_from({}) == Policy()
    assert policy_from({"allowed_unique": 0.02}) == Policy(allowed_unique=0.02)


def test_each_setting_that_cannot_be_is_named_with_its_range() -> None:
    with pytest.raises(BadValue) as refused:
        policy_from({"allowed_unique": 1.5, "box_check_months": 2.5, "colour": 3})
    assert [(fault.pointer, fault.right.split(":")[0]) for fault in refused.value.faults] == [
        ("/allowed_unique", "From 0.001 to 0.9 of 1, so 0.05 is 5 %."),
        ("/box_check_months", "A whole number from 1 to 120 calendar months."),
        ("/colour", "One of"),
    ]


def test_a_keepers_figure_keeps_what_it_says_nothing_of() -> None:
    shipped = shipped_default_figures().figure(ACID, GROUNDWOOD)
    own = own_figure(shipped, median=9, basis="our own mounts")
    assert (own.median, own.shape, own.severity) == (9, shipped.shape, shipped.severity)
    assert (own.basis, own.clock, own.unit) == ("our own mounts", shipped.clock, shipped.unit)


def test_without_a_figure_a_basis_changes_nothing() -> None:
    shipped = shipped_default_figures().figure(ACID, GROUNDWOOD)
    assert own_figure(shipped, basis="set back") == shipped


def test_unknown_board_is_a_mixture_and_has_a_severity_alone() -> None:
    mixture = shipped_default_figures().figure(ACID, UNKNOWN_BOARD)
    assert own_figure(mixture, severity=0.5).severity == 0.5
    with pytest.raises(BadValue, match="no median of its own"):
        own_figure(mixture, median=20)


def test_each_figure_out_of_its_range_is_refused() -> None:
    shipped = shipped_default_figures().figure(ACID, GROUNDWOOD)
    with pytest.raises(BadValue) as refused:
        own_figure(shipped, median=0, shape=40, severity=1.2)
    faults = refused.value.faults
    assert [fault.pointer for fault in faults] == ["/median", "/shape", "/severity"]
