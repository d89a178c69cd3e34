import pytest

from models.rules.distance_from_work import place_layers
from models.rules.package_facts import LayerFacts, PackageFacts
from models.vocabulary import Distance, KnownBy, LayerRole, LayerSide

RAG = "cotton rag board, buffered"
WORK = LayerFacts(role=LayerRole.WORK)
GLASS = LayerFacts(role=LayerRole.GLAZING, material="glass")
MAT = LayerFacts(role=LayerRole.WINDOW_MAT, grade="groundwood board")
BACKING = LayerFacts(role=LayerRole.BACKING, grade="corrugated or brown kraft board")


def distances(*layers: LayerFacts, floats: bool = False) -> list[tuple[LayerRole, Distance]]:
    placed = place_layers(PackageFacts(layers=layers, floats=floats))
    return [(p.layer.role, p.distance) for p in placed]


def test_the_top_mat_of_a_double_mat_faces_the_work() -> None:
    top = LayerFacts(role=LayerRole.OVERMAT)
    assert distances(GLASS, top, MAT, WORK) == [
        (LayerRole.GLAZING, Distance.FACES),
        (LayerRole.OVERMAT, Distance.FACES),
        (LayerRole.WINDOW_MAT, Distance.TOUCHES),
    ]


@pytest.mark.parametrize(
    ("thickness_mm", "known_by", "behind_it"),
    [
        (1.5, KnownBy.SEEN, Distance.APART),
        (0.8, KnownBy.SEEN, Distance.FACES),
        (None, KnownBy.SEEN, Distance.FACES),
        (1.5, KnownBy.TOLD, Distance.FACES),
        (1.5, KnownBy.GUESSED, Distance.FACES),
    ],
)
def test_only_a_sound_board_of_four_ply_that_is_really_known_is_a_barrier(
    thickness_mm: float | None, known_by: KnownBy, behind_it: Distance
) -> None:
    board = LayerFacts(
        role=LayerRole.MOUNT_BOARD, grade=RAG, thickness_mm=thickness_mm, known_by=known_by
    )
    assert distances(WORK, board, BACKING) == [
        (LayerRole.MOUNT_BOARD, Distance.TOUCHES),
        (LayerRole.BACKING, behind_it),
    ]


def test_polyester_film_behind_the_work_is_a_barrier() -> None:
    film = LayerFacts(role=LayerRole.BARRIER, is_barrier=True)
    assert distances(WORK, film, BACKING)[1] == (LayerRole.BACKING, Distance.APART)


def test_tape_from_mat_to_board_does_not_touch_the_work() -> None:
    tape = LayerFacts(role=LayerRole.MAT_TO_BOARD_TAPE)
    assert distances(MAT, WORK, tape, BACKING) == [
        (LayerRole.WINDOW_MAT, Distance.TOUCHES),
        (LayerRole.MAT_TO_BOARD_TAPE, Distance.APART),
        (LayerRole.BACKING, Distance.TOUCHES),
    ]


def test_the_window_mat_of_a_float_faces() -> None:
    assert distances(MAT, WORK, floats=True) == [(LayerRole.WINDOW_MAT, Distance.FACES)]


def test_an_adhesive_hides_nothing_from_the_work() -> None:
    paste = LayerFacts(role=LayerRole.ADHESIVE, grade="starch paste")
    assert distances(WORK, paste, BACKING)[1] == (LayerRole.BACKING, Distance.TOUCHES)


def test_a_spacer_faces_even_when_it_is_the_first_layer() -> None:
    spacer = LayerFacts(role=LayerRole.SPACER)
    assert distances(GLASS, spacer, WORK)[1] == (LayerRole.SPACER, Distance.FACES)


def test_a_person_may_overrule_distance_and_side() -> None:
    loose = LayerFacts(role=LayerRole.BACKING, distance=Distance.APART, side=LayerSide.FRONT)
    (placed,) = place_layers(PackageFacts(layers=(WORK, loose)))
    assert (placed.side, placed.distance) == (LayerSide.FRONT, Distance.APART)


def test_where_the_work_is_not_listed_the_role_decides_the_side() -> None:
    placed = place_layers(PackageFacts(layers=(MAT, BACKING)))
    assert [p.side for p in placed] == [LayerSide.FRONT, LayerSide.BEHIND]
