"""How figures read for whoever chose inches beside millimetres."""

import pytest

from api.pages.form_answers import length
from api.template_filters import inches, with_inches
from models.errors import BadValue


@pytest.mark.parametrize(
    ("mm", "said"),
    # An inch is 25.4 mm exactly (international yard and pound agreement, 1959).
    [(25.4, "1"), (12.7, "1/2"), (420, "16 9/16"), (594, "23 3/8"), (1.6, "1/16"), (0.5, "0")],
)
def test_millimetres_are_said_in_inches_to_the_nearest_sixteenth(mm: float, said: str) -> None:
    assert inches(mm) == said


def test_inches_stand_beside_every_length_of_a_text() -> None:
    assert with_inches("420 \N{MULTIPLICATION SIGN} 594 mm, 6.35 mm in") == (
        "420 \N{MULTIPLICATION SIGN} 594 mm (16 9/16 \N{MULTIPLICATION SIGN} 23 3/8 in),"
        " 6.35 mm in (1/4 in)"
    )
    assert with_inches("left edge, 6.35 mm in, 6.35 mm in from it") == (
        "left edge, 6.35 mm in (1/4 in), 6.35 mm (1/4 in) in from it"
    )


def test_what_is_no_length_stays_as_it_is() -> None:
    assert with_inches("12 mmol, 40 minutes, H 007") == "12 mmol, 40 minutes, H 007"


def test_a_length_under_a_millimetre_is_said_in_millimetres_alone() -> None:
    assert with_inches("0.4 mm thick, 1 mm apart") == "0.4 mm thick, 1 mm (1/16 in) apart"


@pytest.mark.parametrize(
    ("typed", "mm"),
    [
        ("12,5", 12.5),
        ("12.5 mm", 12.5),
        ('1/2"', 12.7),
        ("0.5 in", 12.7),
        ("16 9/16 in", 420.688),
        ("2-1/4 inches", 57.15),
        ("1\N{DOUBLE PRIME}", 25.4),
    ],
)
def test_a_length_is_typed_in_mm_or_in_inches(typed: str, mm: float) -> None:
    assert length(typed) == mm


@pytest.mark.parametrize("typed", ["1/0 in", "9/16", "1/2 1/2 in", "in", "half an inch", "nan"])
def test_what_is_no_length_is_refused(typed: str) -> None:
    with pytest.raises(BadValue, match="is not a length"):
        length(typed)
