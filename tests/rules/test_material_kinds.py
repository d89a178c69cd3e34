import pytest

from models.errors import BadValue
from models.rules.fit_choices import KINDS
from models.rules.material_kinds import CAN_BE, grade_of_kind, refuse_what_it_cannot_be
from models.vocabulary import LayerRole
from seed_data.shipped import read_materials


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


@pytest.mark.parametrize(
    ("role", "kind"),
    [
        (LayerRole.GLAZING, "mat board"),
        (LayerRole.GLAZING, "Paste"),
        (LayerRole.WINDOW_MAT, "glazing"),
        (LayerRole.BACKING, "corner pocket"),
        (LayerRole.FRAME, "paper"),
        (LayerRole.SEALING_TAPE, "mat board"),
    ],
)
def test_what_cannot_be_there_is_refused_and_what_could_is_said(role: LayerRole, kind: str) -> None:
    with pytest.raises(BadValue, match=f"that cannot be the {role}") as refused:
        refuse_what_it_cannot_be(role, kind, "This one")
    assert all(one in refused.value.faults[0].right for one in CAN_BE[role])


@pytest.mark.parametrize(
    ("role", "kind"),
    [
        # As found in old packages (common practice, no source): two panes of glass, newspaper,
        # strips of board as spacers, tape around the glass in place of a frame.
        (LayerRole.BACKING, "glazing"),
        (LayerRole.BACKING, "paper"),
        (LayerRole.SPACER, "mat board"),
        (LayerRole.FRAME, "tape"),
        (LayerRole.GLAZING, "a shelf of our own"),
    ],
)
def test_what_is_odd_can_be_told(role: LayerRole, kind: str) -> None:
    refuse_what_it_cannot_be(role, kind, "This one")


def test_whatever_is_offered_can_be_there() -> None:
    assert all(set(kinds) <= CAN_BE[role] for role, kinds in KINDS.items())


def test_every_shipped_material_can_be_somewhere_or_holds_the_work() -> None:
    kinds = {one.kind for one in read_materials()}
    assert kinds - frozenset().union(*CAN_BE.values()) == {"corner pocket", "edge strip"}
