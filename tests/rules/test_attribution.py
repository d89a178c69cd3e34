"""What probably caused a finding. Common practice, no source."""

from dataclasses import replace

import pytest

from models.rules.attribution import (
    FindingSeen,
    SuggestedCause,
    suggested_cause,
    suspected_mechanism,
)
from models.rules.package_components import Circumstances, ComponentRow, component_rows
from models.rules.package_facts import (
    ClimateFacts,
    HoldFacts,
    LayerFacts,
    PackageFacts,
    RemainFacts,
    SeenFacts,
    WorkFacts,
)
from models.vocabulary import Answer, CauseMount, Edge, LayerRole, Mechanism, Shown, Side
from seed_data.shipped import shipped_default_figures

ACID, ADHESIVE = Mechanism.ACID_MIGRATION, Mechanism.ADHESIVE_AGEING
TODAY, MOUNTED = 20_782, 14_730
BURN = FindingSeen(term="mat burn", suggests=ACID)
TAPE_STAIN = FindingSeen(term="tape stain", suggests=ADHESIVE)
RAG = LayerFacts(role=LayerRole.MOUNT_BOARD, grade="cotton rag board, buffered", material="Rag")


def rows_of(
    mat: str | None = "groundwood board",
    *,
    holds: tuple[HoldFacts, ...] = (),
    remains: tuple[RemainFacts, ...] = (),
) -> tuple[ComponentRow, ...]:
    """The rows of a work behind a window mat of this grade, on a rag board."""
    window = LayerFacts(role=LayerRole.WINDOW_MAT, grade=mat, material="Old mat")
    layers = (LayerFacts(role=LayerRole.WORK), RAG)
    package = PackageFacts(
        layers=layers if mat is None else (window, *layers),
        holds=holds,
        remains=remains,
        front=Answer.NONE if mat is None else Answer.THIS,
        behind=Answer.THIS,
        held=Answer.THIS if holds else Answer.NONE,
        mounted_day=MOUNTED,
    )
    return component_rows(
        Circumstances(
            package=package,
            work=WorkFacts(),
            climate=ClimateFacts(),
            seen=SeenFacts(),
            figures=shipped_default_figures(),
            experience={},
            today=TODAY,
        )
    )


def test_a_burn_that_follows_this_window_is_the_mats() -> None:
    assert suggested_cause(replace(BURN, follows_window_edge=True), rows_of()) == SuggestedCause(
        ACID,
        CauseMount.THIS,
        "Old mat",
        Shown.MARGINS,
        "Mat burn: probably acid migration. It follows the edge of this window: this mount. The"
        " likeliest source is Old mat.",
    )


@pytest.mark.parametrize(
    ("finding", "mat", "mount"),
    [
        (replace(BURN, is_new=True), "groundwood board", CauseMount.THIS),
        (replace(BURN, edge=Edge.LEFT), "groundwood board", CauseMount.EARLIER),
        (BURN, "groundwood board", CauseMount.CANNOT_TELL),
        (replace(BURN, is_new=True), None, CauseMount.EARLIER),
        (replace(BURN, side=Side.VERSO), "groundwood board", CauseMount.CANNOT_TELL),
    ],
)
def test_whose_mount_it_was(finding: FindingSeen, mat: str | None, mount: CauseMount) -> None:
    found = suggested_cause(finding, rows_of(mat))
    assert found is not None
    assert (found.mechanism, found.mount) == (ACID, mount)


def test_a_tape_stain_is_of_this_mount_where_tape_touches_and_is_new() -> None:
    tape = HoldFacts(
        grade="rubber pressure-sensitive tape",
        adhesive_grade="rubber pressure-sensitive",
        material="Masking tape",
    )
    found = suggested_cause(replace(TAPE_STAIN, is_new=True), rows_of(holds=(tape,)))
    assert found is not None
    assert (found.mount, found.layer, found.place) == (
        CauseMount.THIS,
        "Masking tape",
        Shown.UNDER_HINGES,
    )


def test_what_an_earlier_mount_left_goes_on_staining() -> None:
    stub = RemainFacts(what="stub", grade="rubber pressure-sensitive", since_day=10_000)
    found = suggested_cause(replace(TAPE_STAIN, is_new=True), rows_of(remains=(stub,)))
    assert found is not None
    assert (found.mount, found.layer) == (CauseMount.EARLIER, "stub of an earlier mount")


@pytest.mark.parametrize(
    ("term", "suggests", "follows", "mechanism"),
    [
        ("discolouration", None, True, ACID),
        ("discolouration", None, False, None),
        ("yellowing", Mechanism.OWN_AGEING, True, ACID),
        ("yellowing", Mechanism.OWN_AGEING, False, Mechanism.OWN_AGEING),
        ("light line", None, True, None),
        ("bevel brown", ACID, True, None),
        ("tear", None, False, None),
    ],
)
def test_the_word_and_the_edge_suggest_how_it_came(
    term: str, suggests: Mechanism | None, follows: bool, mechanism: Mechanism | None
) -> None:
    assert suspected_mechanism(term, suggests, follows_window_edge=follows) is mechanism


def test_a_word_that_suggests_nothing_suggests_nothing() -> None:
    assert suggested_cause(FindingSeen(term="tear", suggests=None), rows_of()) is None
