"""Which package is proposed: policy of the project and common practice, no source."""

import csv
from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest

from models.rules.calendar_days import day_number
from models.rules.default_figures import DefaultFigures, read_default_figures
from models.rules.package_facts import HoldFacts, LayerFacts, PackageFacts, WorkFacts
from models.rules.proposed_package import (
    SPACER_TO_BUY,
    Proposal,
    StockMaterial,
    Swap,
    proposals,
)
from models.vocabulary import (
    Freeing,
    LayerRole,
    PatResult,
    ProcessGroup,
    Surface,
)

TODAY = day_number(date(2026, 11, 25))
DEFAULTS = Path(__file__).resolve().parents[2] / "seed_data" / "risk_defaults.csv"

RAG = StockMaterial(
    name="Rag, 4-ply",
    kind="mat board",
    grade="cotton rag board, buffered",
    thickness_mm=1.5,
    buffered=True,
)
RAG_UNBUFFERED = replace(
    RAG, name="Rag, 4-ply, unbuffered", grade="cotton rag board, unbuffered", buffered=False
)
ALPHA = replace(RAG, name="Alpha, 4-ply", grade="alpha-cellulose board, buffered")
GROUNDWOOD_IN_STOCK = replace(RAG, name="Cheap board", grade="groundwood board", buffered=None)
FILM_CORNERS = StockMaterial(
    name="Corners of polyester film",
    kind="corner pocket",
    hold_grade="corner pockets or edge strips",
)
PAPER_CORNERS = replace(FILM_CORNERS, name="Corners of permanent paper")

GLASS = LayerFacts(role=LayerRole.GLAZING, material="Glass")
WORK = LayerFacts(role=LayerRole.WORK)
BAD_MAT = LayerFacts(role=LayerRole.WINDOW_MAT, grade="groundwood board", material="Grey mat")
GOOD_BOARD = LayerFacts(
    role=LayerRole.MOUNT_BOARD,
    grade="cotton rag board, buffered",
    material="Old rag board",
    thickness_mm=1.5,
)
BAD_BOARD = replace(GOOD_BOARD, grade="groundwood board", material="Grey board")
PASTE = HoldFacts(
    grade="paper hinges with starch or cellulose ether",
    adhesive_grade="starch paste",
    material="Wheat starch paste",
    count=2,
)
SPRAY = HoldFacts(grade="spray or rubber cement", material="Spray adhesive", covers_all=True)


def shipped() -> DefaultFigures:
    with DEFAULTS.open(newline="", encoding="utf-8") as file:
        return read_default_figures(csv.DictReader(file))


FIGURES = shipped()
PRINT = WorkFacts(width_mm=420, height_mm=300)


def proposed(
    *layers: LayerFacts,
    hold: HoldFacts = PASTE,
    work: WorkFacts = PRINT,
    stock: tuple[StockMaterial, ...] = (RAG, PAPER_CORNERS),
    mounted_day: int = TODAY - 5000,
    method: str = "",
    floats: bool = False,
) -> tuple[Proposal, ...]:
    recorded = PackageFacts(
        layers=layers, holds=(hold,), mounted_day=mounted_day, method=method, floats=floats
    )
    return proposals(
        recorded,
        work,
        stock,
        FIGURES,
        today=TODAY,
    )


def test_a_bad_window_is_changed_while_the_hinges_stay() -> None:
    with_hold, _ = proposed(GLASS, BAD_MAT, WORK, GOOD_BOARD)
    assert with_hold.swaps == (Swap(LayerRole.WINDOW_MAT, "Grey mat", "Rag, 4-ply"),)
    assert (with_hold.undone, with_hold.method) == ((), "")
    assert with_hold.package.holds == (PASTE,)
    assert with_hold.package.layers[0] is GLASS


def test_the_board_that_carries_the_hinges_goes_only_when_the_work_is_held_anew() -> None:
    with_hold, anew = proposed(GLASS, BAD_MAT, WORK, BAD_BOARD)
    assert [swap.role for swap in with_hold.swaps] == [LayerRole.WINDOW_MAT]
    assert [swap.role for swap in anew.swaps] == [LayerRole.WINDOW_MAT, LayerRole.MOUNT_BOARD]
    assert (anew.undone, anew.method) == ((Freeing.WATER,), "corner pockets")
    assert [hold.material for hold in anew.package.holds] == ["Corners of permanent paper"]
    assert anew.package.mounted_day == TODAY


def test_what_is_stuck_and_would_not_be_freed_stays_with_its_board() -> None:
    (only,) = proposed(GLASS, BAD_MAT, WORK, BAD_BOARD, hold=SPRAY)
    assert [swap.role for swap in only.swaps] == [LayerRole.WINDOW_MAT]
    assert only.kept_because == ("Spray adhesive stays: it would not be freed without harm",)
    assert only.undone == ()


def test_a_sheet_laid_down_on_a_lining_of_its_own_stays_on_it() -> None:
    lining = LayerFacts(role=LayerRole.LINING, material="Linen", belongs_to_work=True)
    all_over = replace(PASTE, covers_all=True, count=None)
    (only,) = proposed(GLASS, BAD_MAT, WORK, lining, hold=all_over)
    assert only.undone == ()
    assert only.kept_because == (
        "Wheat starch paste stays: what it is stuck to belongs to the work",
        "the lining belongs to the work",
    )


def test_a_layer_that_belongs_to_the_work_is_never_proposed_away() -> None:
    its_own = replace(BAD_MAT, belongs_to_work=True)
    for one in proposed(GLASS, its_own, WORK, GOOD_BOARD):
        assert one.swaps == ()
        assert one.kept_because == ("the window mat belongs to the work",)


@pytest.mark.parametrize(
    ("mat", "mounted_on", "method"),
    [
        (replace(BAD_MAT, fitted_first_day=day_number(date(1880, 1, 1))), 1980, ""),
        (replace(BAD_MAT, material="Wash-line mat"), 1980, ""),
        (replace(BAD_MAT, material="Mat of a collector"), 1980, ""),
        (BAD_MAT, 1895, ""),
        (BAD_MAT, 1980, "its own mount"),
    ],
)
def test_what_may_be_historic_is_asked_about_before_it_goes(
    mat: LayerFacts, mounted_on: int, method: str
) -> None:
    mounted_day = day_number(date(mounted_on, 1, 1))
    found = proposed(GLASS, mat, WORK, GOOD_BOARD, mounted_day=mounted_day, method=method)
    assert found[0].ask_before == ("the window mat may be of its time",)


def test_a_mat_of_our_own_time_goes_unasked() -> None:
    assert proposed(GLASS, BAD_MAT, WORK, GOOD_BOARD)[0].ask_before == ()


def test_the_board_that_stays_harmless_longest_is_taken_from_stock() -> None:
    stock = (GROUNDWOOD_IN_STOCK, ALPHA, RAG)
    assert proposed(GLASS, BAD_MAT, WORK, GOOD_BOARD, stock=stock)[0].board == "Rag, 4-ply"


def test_with_nothing_fit_in_stock_the_grade_to_buy_is_named() -> None:
    stock = (GROUNDWOOD_IN_STOCK,)
    found = proposed(GLASS, BAD_MAT, WORK, GOOD_BOARD, stock=stock)[0]
    assert found.board == "cotton rag board, buffered"


@pytest.mark.parametrize("process", [ProcessGroup.CYANOTYPE, ProcessGroup.ALBUMEN])
def test_the_contested_advice_on_buffered_board_is_respected(process: ProcessGroup) -> None:
    work = WorkFacts(process_group=process)
    stock = (RAG, RAG_UNBUFFERED)
    found = proposed(GLASS, BAD_MAT, WORK, GOOD_BOARD, work=work, stock=stock)[0]
    assert found.board == "Rag, 4-ply, unbuffered"
    nothing = proposed(GLASS, BAD_MAT, WORK, GOOD_BOARD, work=work, stock=())[0]
    assert nothing.board == "cotton rag board, unbuffered"


def test_a_photograph_takes_the_board_that_passed_its_test_and_never_one_that_failed() -> None:
    work = WorkFacts(process_group=ProcessGroup.SILVER_PHOTOGRAPH)
    passed = replace(ALPHA, pat=PatResult.PASSED)
    failed = replace(RAG, name="Failed rag", pat=PatResult.FAILED)
    found = proposed(GLASS, BAD_MAT, WORK, GOOD_BOARD, work=work, stock=(RAG, failed, passed))[0]
    assert found.board == "Alpha, 4-ply"
    only_failed = proposed(GLASS, BAD_MAT, WORK, GOOD_BOARD, work=work, stock=(failed,))[0]
    assert only_failed.board == "cotton rag board, buffered"


def test_no_film_comes_near_a_friable_surface() -> None:
    work = WorkFacts(surface=Surface.FRIABLE)
    stock = (RAG, FILM_CORNERS, PAPER_CORNERS)
    _, anew = proposed(GLASS, BAD_MAT, WORK, BAD_BOARD, work=work, stock=stock)
    assert [hold.material for hold in anew.package.holds] == ["Corners of permanent paper"]


def test_a_float_is_hinged_anew_and_a_large_sheet_held_by_its_edges() -> None:
    floating = proposed(GLASS, BAD_MAT, WORK, BAD_BOARD, floats=True)[1]
    assert (floating.method, floating.package.holds[0].grade) == (
        "hinged float",
        "paper hinges with starch or cellulose ether",
    )
    large = WorkFacts(width_mm=900, height_mm=600)
    assert proposed(GLASS, BAD_MAT, WORK, BAD_BOARD, work=large)[1].method == "edge strips"


def test_glazing_that_nothing_keeps_off_the_work_gets_a_spacer() -> None:
    against, _ = proposed(GLASS, WORK, GOOD_BOARD)
    assert Swap(LayerRole.SPACER, "", SPACER_TO_BUY.name) in against.swaps
    assert [layer.role for layer in against.package.layers][:2] == [
        LayerRole.GLAZING,
        LayerRole.SPACER,
    ]
    kept_off = proposed(GLASS, BAD_MAT, WORK, GOOD_BOARD)[0]
    assert LayerRole.SPACER not in [swap.role for swap in kept_off.swaps]


def test_an_unknown_front_is_replaced_by_a_board_that_is_known() -> None:
    with_hold, _ = proposed(WORK, GOOD_BOARD)
    assert [swap.old for swap in with_hold.swaps] == ["not recorded"]
    _, anew = proposals(PackageFacts(layers=(WORK,)), WorkFacts(), (RAG,), FIGURES, today=TODAY)
    assert [swap.old for swap in anew.swaps] == ["not recorded", "not recorded"]
    assert anew.undone == (Freeing.SOLVENT_OR_HEAT,)
