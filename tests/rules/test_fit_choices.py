"""For what a layer may be swapped: the fit first, what is at hand before what is not."""

from models.rules.distance_from_work import PlacedLayer
from models.rules.fit_choices import (
    FitChoice,
    LibraryMaterial,
    choices_for_hold,
    choices_for_layer,
)
from models.rules.package_facts import LayerFacts, PackageFacts, WorkFacts
from models.rules.proposed_package import StockMaterial
from models.vocabulary import Distance, LayerRole, LayerSide, PatResult, ProcessGroup, Verdict
from seed_data.shipped import shipped_default_figures

TODAY = 20_000
FIGURES = shipped_default_figures()
RAG = StockMaterial(name="Rag", kind="mat board", grade="cotton rag board, buffered")
ALPHA = StockMaterial(name="Alpha", kind="mat board", grade="alpha-cellulose board, buffered")
GROUNDWOOD = StockMaterial(name="Groundwood", kind="mat board", grade="groundwood board")
NOTHING_KNOWN = StockMaterial(name="Anything", kind="mat board", grade="unknown board")
GLASS = StockMaterial(name="Glass", kind="glazing")
LIBRARY = [LibraryMaterial(one) for one in (GROUNDWOOD, NOTHING_KNOWN, ALPHA, RAG, GLASS)]
MAT = PlacedLayer(LayerFacts(role=LayerRole.WINDOW_MAT), LayerSide.FRONT, Distance.TOUCHES)


def for_the_mat(
    library: list[LibraryMaterial], work: WorkFacts | None = None
) -> tuple[FitChoice, ...]:
    of = work or WorkFacts()
    return choices_for_layer(MAT, PackageFacts(), library, of, FIGURES, today=TODAY)


def test_sound_boards_come_first_the_longest_lasting_before_the_others_and_unfit_ones_last() -> (
    None
):
    assert [(one.name, one.verdict) for one in for_the_mat(LIBRARY)] == [
        ("Rag", Verdict.SOUND),
        ("Alpha", Verdict.SOUND),
        ("Anything", Verdict.DOUBTFUL),
        ("Groundwood", Verdict.HARMFUL),
    ]


def test_of_sound_boards_the_lot_in_use_comes_first_and_is_named() -> None:
    first = for_the_mat([*LIBRARY, LibraryMaterial(ALPHA, lot="L-7")])[0]
    assert (first.name, first.lot) == ("Alpha", "L-7")


def test_what_was_recalled_is_not_offered() -> None:
    assert for_the_mat([LibraryMaterial(RAG, lot="L-1", is_recalled=True)]) == ()


def test_a_board_that_failed_the_activity_test_is_harmful_to_a_photograph_and_says_so() -> None:
    failed = StockMaterial(name="Dyed", kind="mat board", grade=RAG.grade, pat=PatResult.FAILED)
    photograph = WorkFacts(process_group=ProcessGroup.SILVER_PHOTOGRAPH)
    (one,) = for_the_mat([LibraryMaterial(failed)], photograph)
    assert one.verdict is Verdict.HARMFUL
    assert "failed the Photographic Activity Test" in one.why


def test_buffered_board_stands_behind_unbuffered_against_a_cyanotype() -> None:
    buffered = StockMaterial(name="A", kind="mat board", grade=RAG.grade, buffered=True)
    unbuffered = StockMaterial(
        name="B", kind="mat board", grade="cotton rag board, unbuffered", buffered=False
    )
    both = [LibraryMaterial(buffered), LibraryMaterial(unbuffered)]
    found = for_the_mat(both, WorkFacts(process_group=ProcessGroup.CYANOTYPE))
    assert [one.name for one in found] == ["B", "A"]


def test_what_holds_without_adhesive_comes_before_paste_and_tape_last() -> None:
    pockets = StockMaterial(
        name="Pockets", kind="corner pocket", hold_grade="corner pockets or edge strips"
    )
    paste = StockMaterial(
        name="Paste",
        kind="paste",
        grade="starch paste",
        hold_grade="paper hinges with starch or cellulose ether",
    )
    tape = StockMaterial(
        name="Tape",
        kind="tape",
        grade="rubber pressure-sensitive",
        hold_grade="rubber pressure-sensitive tape",
    )
    shelf = [LibraryMaterial(one) for one in (tape, paste, pockets, GLASS)]
    found = choices_for_hold(shelf, WorkFacts(), FIGURES, today=TODAY)
    assert [one.name for one in found] == ["Pockets", "Paste", "Tape"]
    assert found[-1].verdict is Verdict.HARMFUL
