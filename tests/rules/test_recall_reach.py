from models.rules.package_facts import HoldFacts, LayerFacts, PackageFacts
from models.rules.recall_reach import Reach, comes_nearer, recall_reach, turns_doubtful
from models.vocabulary import LayerRole, Verdict

TODAY = 20_000
FRAMED = PackageFacts(
    layers=(
        LayerFacts(role=LayerRole.WINDOW_MAT, key=1),
        LayerFacts(role=LayerRole.WORK, key=2),
        LayerFacts(role=LayerRole.MOUNT_BOARD, key=3),
        LayerFacts(role=LayerRole.BACKING, key=4, recalled=True),
    ),
    holds=(HoldFacts(grade="gummed tape hinges", key=1),),
)


def reach(layers: set[int], holds: set[int], *, on_work: bool = True) -> Reach:
    return recall_reach(FRAMED, layers, holds, is_on_work=on_work, today=TODAY)


def test_a_recall_comes_as_near_to_a_work_as_what_is_recalled_lies_to_it() -> None:
    assert reach({1}, set()) is Reach.TOUCHES
    assert reach(set(), {1}) is Reach.TOUCHES
    # What was recalled before by itself is no matter of this recall.
    assert reach({4}, set()) is Reach.IN_PACKAGE
    assert reach({99}, {99}) is Reach.ON_WORK
    assert reach({99}, set(), on_work=False) is Reach.FORMERLY
    assert recall_reach(None, {1}, set(), is_on_work=True, today=TODAY) is Reach.ON_WORK


def test_only_what_touches_a_work_brings_its_date_nearer_and_never_one_that_is_past() -> None:
    assert comes_nearer(Reach.TOUCHES, TODAY + 1, today=TODAY)
    assert comes_nearer(Reach.TOUCHES, None, today=TODAY)
    assert not comes_nearer(Reach.TOUCHES, TODAY, today=TODAY)
    assert not comes_nearer(Reach.IN_PACKAGE, TODAY + 1, today=TODAY)


def test_a_sound_package_is_sound_no_longer_while_something_in_it_is_recalled() -> None:
    told = {one: turns_doubtful(one, Verdict.SOUND) for one in Reach}
    assert [one for one, turned in told.items() if turned] == [Reach.TOUCHES, Reach.IN_PACKAGE]
    assert not turns_doubtful(Reach.TOUCHES, Verdict.HARMFUL)
