from models.rules.allowed_chance import ALLOWED_CHANCE, allowed_chance
from models.vocabulary import Replaceability


def test_every_replaceability_has_its_allowed_chance() -> None:
    assert set(ALLOWED_CHANCE) == set(Replaceability)


def test_one_unframing_in_twenty_may_find_something_new_on_what_exists_once() -> None:
    # Policy of the project, no source.
    assert [allowed_chance(how) for how in Replaceability] == [0.05, 0.10, 0.25]
