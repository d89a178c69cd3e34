from models.rules.allowed_chance import allowed_chance
from models.rules.policy import Policy
from models.vocabulary import Replaceability


def test_one_unframing_in_twenty_may_find_something_new_on_what_exists_once() -> None:
    # Policy of the project, no source.
    assert [allowed_chance(how, Policy()) for how in Replaceability] == [0.05, 0.10, 0.25]


def test_a_keeper_may_allow_more_or_less() -> None:
    strict = Policy(allowed_unique=0.01, allowed_small_edition=0.02, allowed_replaceable=0.03)
    assert [allowed_chance(how, strict) for how in Replaceability] == [0.01, 0.02, 0.03]
