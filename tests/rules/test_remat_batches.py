"""Remats that are done together: common practice, no source."""

from models.rules.remat_batches import TIMES, Batch, Batches, RematToBatch, batches, best_order


def test_works_of_one_board_one_frame_size_or_one_room_are_done_together() -> None:
    remats = [
        RematToBatch(work_id=1, board="rag", room="Stair", height_mm=290, width_mm=410),
        RematToBatch(work_id=2, board="rag", room="Study", height_mm=300, width_mm=401),
        RematToBatch(work_id=3, board="alpha", room="Stair", height_mm=800, width_mm=401),
        RematToBatch(work_id=4, board="rag", room="Stair"),
    ]
    assert batches(remats) == Batches(
        by_board=(Batch("rag", (1, 2, 4)),),
        by_frame_size=(Batch(f"sheets up to 300 {TIMES} 450 mm", (1, 2)),),
        by_room=(Batch("Stair", (1, 3, 4)),),
    )


def test_what_nobody_recorded_makes_no_batch() -> None:
    assert batches([RematToBatch(work_id=1), RematToBatch(work_id=2)]) == Batches((), (), ())


def test_works_are_done_board_by_board_and_in_a_room_the_larger_frames_first() -> None:
    remats = [
        RematToBatch(work_id=1, board="alpha", room="Stair", height_mm=900, width_mm=900),
        RematToBatch(work_id=2, board="rag", room="Study", height_mm=300, width_mm=400),
        RematToBatch(work_id=3, board="rag", room="Stair", height_mm=300, width_mm=400),
        RematToBatch(work_id=4, board="rag", room="Stair", height_mm=500, width_mm=400),
        RematToBatch(work_id=5),
    ]
    assert best_order(remats) == (4, 3, 2, 5, 1)
