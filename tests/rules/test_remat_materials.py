"""What must lie ready for remats: borders and hinge counts are defaults of this project."""

from models.rules.remat_materials import (
    HoldsNeeded,
    LayerSwap,
    MaterialNeeded,
    MaterialsNeeded,
    PiecesOfSize,
    RematToSupply,
    materials_needed,
    piece_mm,
    read_swap,
    written_swap,
)

RAG, BACK, SPACER = (
    LayerSwap("window mat", "rag board", "groundwood board"),
    LayerSwap("backing board", "rag board", "hardboard"),
    LayerSwap("spacer", "acrylic spacer", ""),
)


def test_a_swap_is_read_from_its_line() -> None:
    line = "window mat: cotton rag board, buffered instead of Board: grey"
    assert read_swap(line) == LayerSwap("window mat", "cotton rag board, buffered", "Board: grey")
    for swap in (RAG, SPACER):
        assert read_swap(written_swap(swap)) == swap


def test_a_piece_has_the_usual_borders_in_whole_centimetres() -> None:
    assert piece_mm(300, 401) == (460, 570)
    assert piece_mm(None, 401) is None


def test_boards_are_summed_by_material_and_size_and_holds_by_method() -> None:
    needed = materials_needed(
        [
            RematToSupply(
                number="A",
                swaps=(RAG, BACK),
                method="corner pockets",
                height_mm=340,
                width_mm=240,
            ),
            RematToSupply(
                number="B", swaps=(RAG,), method="corner pockets", height_mm=840, width_mm=840
            ),
            RematToSupply(number="C", swaps=(RAG,)),
            RematToSupply(
                number="D", swaps=(SPACER,), method="T-hinge", height_mm=340, width_mm=240
            ),
        ]
    )
    assert needed == MaterialsNeeded(
        sheets=(
            MaterialNeeded(
                material="rag board",
                roles=("window mat", "backing board"),
                pieces=(
                    PiecesOfSize((1000, 1000), 1, ("B",)),
                    PiecesOfSize((500, 400), 2, ("A",)),
                ),
                area_m2=1.4,
                length_m=0,
                unmeasured=("C",),
            ),
            MaterialNeeded(
                material="acrylic spacer",
                roles=("spacer",),
                pieces=(),
                area_m2=0,
                length_m=1.8,
                unmeasured=(),
            ),
        ),
        holds=(
            HoldsNeeded("T-hinge", ("D",), "2 hinges by the usual count"),
            HoldsNeeded("corner pockets", ("A", "B"), "8 pockets, one to a corner"),
        ),
    )


def test_hinges_of_unmeasured_sheets_are_not_guessed() -> None:
    (hinges,) = materials_needed([RematToSupply(number="E", method="T-hinge")]).holds
    assert hinges == HoldsNeeded("T-hinge", ("E",), "")


def test_a_swap_is_read_as_it_was_written() -> None:
    swap = LayerSwap("mount board", "cotton rag board, buffered", "Board: grey")
    assert read_swap(written_swap(swap)) == swap
