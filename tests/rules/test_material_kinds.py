import pytest

from models.rules.material_kinds import grade_of_kind


@pytest.mark.parametrize(
    ("kind", "grade", "is_barrier", "found"),
    [
        ("mat board", None, False, "unknown board"),
        ("Paper", None, False, "unknown board"),
        ("something new", None, False, "unknown board"),
        ("tape", None, False, "unknown adhesive"),
        ("glazing", None, False, None),
        ("film", None, False, None),
        ("backing board", None, True, None),
        ("mat board", "cotton rag board, buffered", False, "cotton rag board, buffered"),
    ],
)
def test_what_a_label_claims_never_makes_a_board_sound(
    kind: str, grade: str | None, found: str | None, *, is_barrier: bool
) -> None:
    told = grade_of_kind(kind, grade=grade, hold_grade=None, is_barrier=is_barrier)
    assert told == found


def test_a_tape_whose_grade_as_a_hold_is_known_implies_its_adhesive() -> None:
    held = grade_of_kind("tape", grade=None, hold_grade="gummed tape hinges", is_barrier=False)
    assert held is None
