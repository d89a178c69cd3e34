import pytest

from models.rules.finding_place import where_it_shows
from models.vocabulary import Mechanism, Shown, Side


@pytest.mark.parametrize(
    ("side", "mechanism", "follows_window_edge", "place"),
    [
        (Side.RECTO, Mechanism.ACID_MIGRATION, True, Shown.MARGINS),
        (Side.RECTO, Mechanism.ACID_MIGRATION, False, Shown.MARGINS),
        (Side.RECTO, None, True, Shown.MARGINS),
        (Side.VERSO, Mechanism.ACID_MIGRATION, False, Shown.VERSO),
        (Side.VERSO, None, False, Shown.VERSO),
        (Side.RECTO, Mechanism.ADHESIVE_AGEING, False, Shown.UNDER_HINGES),
        (Side.VERSO, Mechanism.ADHESIVE_AGEING, False, Shown.UNDER_HINGES),
        (Side.RECTO, None, False, Shown.FRONT),
        (Side.RECTO, Mechanism.ACCIDENT, False, Shown.FRONT),
    ],
)
def test_a_finding_shows_where_its_cause_acts(
    side: Side, mechanism: Mechanism | None, follows_window_edge: bool, place: Shown
) -> None:
    assert where_it_shows(side, mechanism, follows_window_edge=follows_window_edge) is place
