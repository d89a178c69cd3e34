"""Labels of a drawing stand apart, the one that matters most where it would stand best."""

from itertools import combinations

from hypothesis import given
from hypothesis import strategies as st

from api.pages.label_places import Label, leader, places_apart

WIDTH, HEIGHT = 400.0, 300.0


def boxes_meet(labels: list[Label]) -> bool:
    places = places_apart(labels, width=WIDTH, height=HEIGHT)
    boxes = [
        label.box(*place) for label, place in zip(labels, places, strict=True) if place is not None
    ]
    return any(one.meets(other) for one, other in combinations(boxes, 2))


def test_a_label_alone_stands_where_it_stands_best_and_needs_no_leader() -> None:
    label = Label("1", 20, 100, 80)
    assert places_apart([label], width=WIDTH, height=HEIGHT) == [(100, 80)]
    assert leader(label, (100, 80)) == ""


def test_the_second_of_two_on_one_spot_moves_down_until_it_is_clear() -> None:
    first, second = Label("1", 20, 100, 80), Label("1, 20 May 2019", 16, 100, 80)
    (_, place) = places_apart([first, second], width=WIDTH, height=HEIGHT)
    assert place is not None
    # Half of 20, half of 16, and the air of both: 22.32; 8.8 are a step.
    assert place == (100, 80 + 3 * 8.8)
    assert leader(second, place) == "M100.0 80.0L100.0 96.5"


def test_at_the_edge_of_a_drawing_a_label_is_held_within_it() -> None:
    (place,) = places_apart([Label("12, 20 May 2019", 16, 398, 2)], width=WIDTH, height=HEIGHT)
    assert place is not None
    box = Label("12, 20 May 2019", 16, 398, 2).box(*place)
    assert (round(box.right, 9), round(box.top, 9)) == (WIDTH, 0)


def test_what_finds_no_room_is_left_out_and_what_comes_first_stays() -> None:
    crowd = [Label(f"{number}", 30, 200, 150) for number in range(1, 200)]
    places = places_apart(crowd, width=WIDTH, height=HEIGHT)
    assert places[0] == (200, 150)
    assert places[-1] is None
    assert places_apart([Label("x" * 100, 30, 0, 0)], width=WIDTH, height=HEIGHT) == [None]


@given(
    st.lists(
        st.builds(
            Label,
            st.sampled_from(["1", "12", "3, 20 May 2019"]),
            st.sampled_from([15.0, 25.0]),
            st.floats(0, WIDTH),
            st.floats(0, HEIGHT),
        ),
        max_size=25,
    )
)
def test_no_label_ever_lies_upon_another(labels: list[Label]) -> None:
    assert not boxes_meet(labels)
