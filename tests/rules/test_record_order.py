import pytest

from models.errors import Contradiction, RuleBroken
from models.rules.half_known_dates import read_date
from models.rules.record_order import (
    refuse_before_it_was_made,
    refuse_begun_after,
    refuse_contradictions,
    refuse_end_before_start,
    refuse_future,
    refuse_overlap,
    refuse_second_current,
    refuse_seeing_through,
)
from models.rules.visit_as_told import MountTold, VisitTold, places_seen
from models.vocabulary import LayerRole, Shown, VisitKind

TODAY = read_date("2026-11-25").first_day or 0


def code_of(error: pytest.ExceptionInfo[RuleBroken] | pytest.ExceptionInfo[Contradiction]) -> str:
    return error.value.code


def test_a_visit_tomorrow_is_refused() -> None:
    with pytest.raises(RuleBroken, match="26 November 2026 has not come yet") as error:
        refuse_future(read_date("2026-11-26"), TODAY)
    assert code_of(error) == "in_the_future"


@pytest.mark.parametrize("on", ["2026-11-25", "2026-11", "2026", "202X", "1990/..", "XXXX"])
def test_a_date_that_may_have_come_is_taken(on: str) -> None:
    refuse_future(read_date(on), TODAY)


def test_a_mount_cannot_end_before_it_began() -> None:
    with pytest.raises(RuleBroken, match="cannot have ended 1984: it began 1985"):
        refuse_end_before_start("mount", read_date("1985"), read_date("1984"))


def test_half_known_dates_are_refused_only_when_certain() -> None:
    refuse_end_before_start("mount", read_date("198X"), read_date("1984"))
    refuse_end_before_start("mount", None, read_date("1984"))
    refuse_overlap("layer", read_date("1985~"), read_date("1985"))
    refuse_overlap("layer", None, read_date("1985"))


def test_two_layers_cannot_lie_in_one_place() -> None:
    with pytest.raises(RuleBroken, match="two cannot lie in one place"):
        refuse_overlap("layer", read_date("1990"), read_date("1985"))


def test_a_second_current_mount_is_refused_by_name() -> None:
    refuse_second_current("mount", has_current=False)
    with pytest.raises(RuleBroken) as error:
        refuse_second_current("mount", has_current=True)
    assert code_of(error) == "two_current_mounts"


@pytest.mark.parametrize(
    ("kind", "closed", "opens", "stopped", "code"),
    [
        (VisitKind.UNFRAMING, True, True, False, "contradiction"),
        (VisitKind.LOOK, True, False, False, "contradiction"),
        (VisitKind.UNFRAMING, False, True, True, "contradiction"),
        (VisitKind.UNFRAMING, True, False, True, "contradiction"),
        (VisitKind.LOOK, False, True, False, "needs_unframing"),
        (VisitKind.BOX_CHECK, False, True, False, "needs_unframing"),
    ],
)
def test_a_visit_cannot_contradict_itself(
    kind: VisitKind, closed: bool, opens: bool, stopped: bool, code: str
) -> None:
    with pytest.raises(Contradiction) as error:
        refuse_contradictions(
            kind, closed_as_it_was=closed, opens_package=opens, is_stopped=stopped
        )
    assert code_of(error) == code


def test_a_stop_and_an_unframing_closed_as_it_was_are_taken() -> None:
    for closed, stopped in ((True, False), (False, True)):
        refuse_contradictions(
            VisitKind.UNFRAMING, closed_as_it_was=closed, opens_package=False, is_stopped=stopped
        )


def seen(told: VisitTold, *, removed: set[LayerRole], every_hold_freed: bool) -> set[Shown]:
    return set(places_seen(told, removed=frozenset(removed), every_hold_freed=every_hold_freed))


def test_only_front_and_back_are_ticked_beforehand() -> None:
    told = VisitTold(on="2026", kind=VisitKind.UNFRAMING)
    both = {Shown.FRONT, Shown.BACK_OF_FRAME}
    assert seen(told, removed=set(), every_hold_freed=False) == both
    lifted = seen(told, removed={LayerRole.WINDOW_MAT}, every_hold_freed=False)
    assert lifted == both | {Shown.MARGINS}
    assert seen(told, removed=set(), every_hold_freed=True) == set(Shown)


def test_what_was_closed_again_as_it_was_saw_nothing() -> None:
    closed = VisitTold(
        on="2026",
        kind=VisitKind.UNFRAMING,
        closed_as_it_was=True,
        seen=frozenset({Shown.MARGINS}),
    )
    box = VisitTold(on="2026", kind=VisitKind.BOX_CHECK, seen=frozenset({Shown.FRONT}))
    assert seen(closed, removed=set(), every_hold_freed=False) == set()
    assert seen(box, removed=set(), every_hold_freed=False) == {Shown.FRONT}


def test_a_visit_that_mounts_changes_the_package() -> None:
    assert VisitTold(on="2026", kind=VisitKind.UNFRAMING, mount=MountTold()).changes_package()
    assert not VisitTold(on="2026", kind=VisitKind.LOOK).changes_package()


def test_nobody_sees_the_margins_through_the_glazing() -> None:
    with pytest.raises(Contradiction, match="cannot see margins or verso") as error:
        refuse_seeing_through(VisitKind.LOOK, {Shown.FRONT, Shown.MARGINS, Shown.VERSO})
    assert code_of(error) == "cannot_be_seen"
    refuse_seeing_through(VisitKind.UNFRAMING, set(Shown))
    refuse_seeing_through(VisitKind.BOX_CHECK, {Shown.FRONT})


def test_nobody_examines_a_work_before_it_was_made() -> None:
    with pytest.raises(RuleBroken) as error:
        refuse_before_it_was_made(read_date("1890"), read_date("1911"))
    assert code_of(error) == "before_it_was_made"
    refuse_before_it_was_made(read_date("1911"), read_date("1911~"))
    refuse_before_it_was_made(read_date("1890"), None)


def test_what_was_found_had_begun_by_then() -> None:
    with pytest.raises(Contradiction) as error:
        refuse_begun_after("/found/mounted_on", read_date("2027"), read_date("2026-11-24"))
    assert code_of(error) == "begun_after_the_visit"
    refuse_begun_after("/found/mounted_on", read_date("2026"), read_date("2026-11-24"))
