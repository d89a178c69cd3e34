"""Photographs against their materials: ISO 18916 as the trade reports it, advice as contested."""

from datetime import date

import pytest

from models.rules.calendar_days import day_number
from models.rules.distance_from_work import PlacedLayer
from models.rules.material_fitness import (
    ALKALI_ADVICE,
    PHOTOGRAPHS,
    Weight,
    is_photograph,
    remarks_on_hold,
    remarks_on_layer,
)
from models.rules.package_facts import HoldFacts, LayerFacts
from models.vocabulary import Distance, LayerRole, LayerSide, PatResult, ProcessGroup

TODAY = day_number(date(2026, 11, 25))
SILVER = ProcessGroup.SILVER_PHOTOGRAPH


def a_board(
    distance: Distance = Distance.TOUCHES,
    pat: PatResult = PatResult.PASSED,
    pat_day: int | None = TODAY,
    buffered: bool | None = None,
) -> PlacedLayer:
    layer = LayerFacts(
        role=LayerRole.MOUNT_BOARD,
        key=7,
        material="rag board",
        pat=pat,
        pat_day=pat_day,
        buffered=buffered,
    )
    return PlacedLayer(layer, LayerSide.BEHIND, distance)


def said(board: PlacedLayer, process: str = SILVER) -> list[tuple[Weight, str]]:
    return [(r.weight, r.sentence) for r in remarks_on_layer(board, process, today=TODAY)]


def test_silver_and_dye_are_photographs_and_ink_is_none() -> None:
    assert [is_photograph(p) for p in (SILVER, ProcessGroup.DYE_PHOTOGRAPH)] == [True, True]
    assert [is_photograph(p) for p in (ProcessGroup.INKJET, "")] == [False, False]


@pytest.mark.parametrize("process", sorted(PHOTOGRAPHS))
@pytest.mark.parametrize("distance", [Distance.TOUCHES, Distance.FACES])
def test_a_failed_test_is_a_fault_where_it_touches_or_faces(
    process: ProcessGroup, distance: Distance
) -> None:
    failed = a_board(distance, PatResult.FAILED)
    faults = [what for weight, what in said(failed, process) if weight is Weight.FAULT]
    assert faults == [
        f"Rag board: failed the Photographic Activity Test and {distance} a photograph."
    ]


def test_what_lies_apart_or_holds_no_photograph_needs_no_test() -> None:
    assert said(a_board(Distance.APART, PatResult.FAILED)) == []
    assert said(a_board(pat=PatResult.FAILED), ProcessGroup.NONE) == []


def test_a_board_never_tested_is_advice_only_where_it_touches() -> None:
    assert said(a_board(pat=PatResult.NOT_TESTED)) == [
        (Weight.ADVICE, "Rag board: touches a photograph without a Photographic Activity Test.")
    ]
    assert said(a_board(Distance.FACES, PatResult.NOT_TESTED)) == []


@pytest.mark.parametrize(
    ("tested", "note"),
    [
        (date(2025, 11, 25), []),
        (
            date(2025, 11, 24),
            [
                "Rag board: passed the Photographic Activity Test on 24 November 2025,"
                " more than a year ago."
            ],
        ),
    ],
)
def test_a_test_older_than_a_year_is_said(tested: date, note: list[str]) -> None:
    found = said(a_board(pat_day=day_number(tested)))
    assert found == [(Weight.NOTE, sentence) for sentence in note]


def test_a_test_of_an_unknown_day_is_said() -> None:
    assert [weight for weight, _ in said(a_board(pat_day=None))] == [Weight.NOTE]


@pytest.mark.parametrize("process", ALKALI_ADVICE)
def test_buffered_board_against_a_contested_process_is_advice_with_its_reason(
    process: ProcessGroup,
) -> None:
    advice = [
        what for weight, what in said(a_board(buffered=True), process) if weight is Weight.ADVICE
    ]
    assert len(advice) == 1
    assert ALKALI_ADVICE[process] in advice[0]


def test_buffered_board_that_does_not_touch_or_is_not_contested_is_not_spoken_of() -> None:
    facing = a_board(Distance.FACES, buffered=True)
    assert said(facing, ProcessGroup.CYANOTYPE) == []
    assert said(a_board(buffered=True), SILVER) == []


def test_a_hold_always_touches() -> None:
    tape = HoldFacts(grade="gummed tape hinges", pat=PatResult.FAILED, key=3)
    (fault,) = remarks_on_hold(tape, SILVER, today=TODAY)
    assert (fault.weight, fault.key, fault.sentence) == (
        Weight.FAULT,
        3,
        "Gummed tape hinges: failed the Photographic Activity Test and touches a photograph.",
    )
