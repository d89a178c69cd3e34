"""What can be told of the windows of a mat."""

import pytest

from models.errors import BadValue
from models.rules.mat_windows import (
    MOST_WINDOWS,
    read_windows,
    window_count,
    windows_said,
    windows_text,
)
from models.rules.visit_as_told import WindowTold
from models.vocabulary import LayerRole

MAT = LayerRole.WINDOW_MAT
PRINT = WindowTold(height_mm=210, width_mm=148.5, left_mm=60, top_mm=50, shows="the print")
TITLE = WindowTold(height_mm=20, width_mm=80)


def refused(*windows: WindowTold, role: LayerRole = MAT) -> list[tuple[str, str]]:
    with pytest.raises(BadValue) as caught:
        windows_text(role, windows)
    return [(fault.pointer, fault.message) for fault in caught.value.faults]


def test_windows_read_back_as_they_were_told_and_say_so() -> None:
    windows = (PRINT, TITLE, WindowTold())
    text = windows_text(MAT, windows)
    assert read_windows(text) == windows
    assert window_count(text) == 3
    assert windows_said(windows) == (
        "3 windows: 210 \N{MULTIPLICATION SIGN} 148.5 mm, 60 mm from the left, 50 from the top,"
        " the print; 20 \N{MULTIPLICATION SIGN} 80 mm"
    )


def test_how_many_there_are_can_be_told_without_a_size() -> None:
    assert windows_said(read_windows(windows_text(MAT, [WindowTold()] * 2))) == "2 windows"


def test_a_mat_of_which_nothing_is_told_says_nothing() -> None:
    assert (windows_text(MAT, ()), windows_said(()), window_count(None)) == (None, "", 0)


def test_a_glazing_has_no_windows_and_no_mat_has_very_many() -> None:
    message = "A glazing has no windows."
    assert refused(TITLE, role=LayerRole.GLAZING) == [("", message)]
    assert refused(*[WindowTold()] * (MOST_WINDOWS + 1)) == [("", "41 windows in one mat.")]


def test_half_a_size_half_a_place_and_a_size_of_nothing_are_refused_where_they_stand() -> None:
    halves = WindowTold(height_mm=20, left_mm=10), WindowTold(height_mm=0, width_mm=5)
    assert [at for at, _ in refused(*halves)] == ["/0/width_mm", "/0/top_mm", "/1/height_mm"]


def test_two_windows_with_no_bar_between_them_are_refused() -> None:
    beside = WindowTold(height_mm=210, width_mm=100, left_mm=208.4, top_mm=50)
    assert refused(PRINT, beside) == [("/1/left_mm", "Windows 1 and 2 would overlap.")]
    below = WindowTold(height_mm=20, width_mm=100, left_mm=60, top_mm=270)
    assert windows_text(MAT, (PRINT, below)) is not None
