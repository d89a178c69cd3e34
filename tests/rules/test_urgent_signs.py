import pytest

from models.rules.package_facts import FindingFacts, HoldFacts, LayerFacts, PackageFacts
from models.rules.urgent_signs import (
    FIRST_ACTS,
    SIGN_OF_QUESTION,
    may_be_opened,
    still_to_ask,
    stops,
    urgent_signs,
)
from models.vocabulary import LayerRole, StopQuestion, UrgentSign

TODAY = 20_000
WORK = LayerFacts(role=LayerRole.WORK)


def a_finding(sign: UrgentSign | None, *, day: int | None = TODAY - 10) -> FindingFacts:
    return FindingFacts(term="a finding", urgent_sign=sign, first_seen_day=day)


def signs(*findings: FindingFacts) -> list[UrgentSign]:
    return [urgent.sign for urgent in urgent_signs(findings, None, today=TODAY)]


def test_every_sign_has_a_first_act_and_a_caution() -> None:
    assert set(FIRST_ACTS) == set(UrgentSign)
    assert [sign for sign, act in FIRST_ACTS.items() if not (act.act and act.caution)] == []


def test_every_question_before_an_unframing_stands_for_a_sign() -> None:
    assert set(SIGN_OF_QUESTION) == set(StopQuestion)


def test_most_findings_can_wait() -> None:
    assert signs(a_finding(None)) == []


def test_a_sign_that_is_no_longer_there_does_not_press() -> None:
    gone = FindingFacts(
        term="slipped sheet", urgent_sign=UrgentSign.SLIPPED_SHEET, is_still_there=False
    )
    assert signs(gone) == []


def test_what_must_be_done_first_stands_first() -> None:
    tape, water, mould = UrgentSign.TACKY_TAPE, UrgentSign.WATER, UrgentSign.ACTIVE_MOULD
    assert signs(a_finding(tape), a_finding(water), a_finding(mould)) == [mould, water, tape]


# Days from the first sighting: common practice, no source.
@pytest.mark.parametrize(
    ("sign", "days"),
    [(UrgentSign.ACTIVE_MOULD, 0), (UrgentSign.WATER, 2), (UrgentSign.TACKY_TAPE, 30)],
)
def test_a_sign_counts_from_the_day_it_was_first_seen(sign: UrgentSign, days: int) -> None:
    (urgent,) = urgent_signs([a_finding(sign)], None, today=TODAY)
    assert (urgent.since_day, urgent.due_day) == (TODAY - 10, TODAY - 10 + days)


def test_a_sign_says_what_is_done_first() -> None:
    glass = FindingFacts(term="cracked glazing", urgent_sign=UrgentSign.BROKEN_GLASS)
    (urgent,) = urgent_signs([glass], None, today=0)
    assert urgent.sentence == (
        "Broken glass since 1 January 1970 (cracked glazing). Lay it flat, do not tilt it; tape the"
        " cracks only if nothing friable lies under. Wear gloves and eye protection."
    )


@pytest.mark.parametrize("sign", UrgentSign)
def test_a_package_stays_closed_unless_the_sign_lies_inside_it(sign: UrgentSign) -> None:
    inside = {UrgentSign.RECALLED_LAYER, UrgentSign.TACKY_TAPE}
    assert may_be_opened(urgent_signs([a_finding(sign)], None, today=TODAY)) is (sign in inside)


def test_a_recalled_layer_presses_only_where_it_touches() -> None:
    mat = LayerFacts(
        role=LayerRole.WINDOW_MAT, material="rag mat", recalled=True, recalled_day=TODAY - 3
    )
    top = LayerFacts(role=LayerRole.OVERMAT, material="top mat", recalled=True)
    tape = HoldFacts(grade="gummed tape hinges", recalled=True, recalled_day=TODAY - 1)
    package = PackageFacts(layers=(top, mat, WORK), holds=(tape,), mounted_day=TODAY - 900)
    pressing = urgent_signs([], package, today=TODAY)
    assert [(u.name, u.since_day) for u in pressing] == [
        ("rag mat", TODAY - 3),
        ("gummed tape hinges", TODAY - 1),
    ]


def test_one_yes_is_a_stop() -> None:
    answers = {question: False for question in StopQuestion} | {StopQuestion.GLASS_CRACKED: True}
    assert [(stop.question, stop.first_act) for stop in stops(answers)] == [
        (StopQuestion.GLASS_CRACKED, FIRST_ACTS[UrgentSign.BROKEN_GLASS])
    ]


def test_a_question_that_nobody_answered_is_not_a_no() -> None:
    asked = {StopQuestion.TOUCHES_GLASS: False}
    assert still_to_ask(asked) == (
        StopQuestion.LOOSE_OR_FLAKING,
        StopQuestion.GLASS_CRACKED,
        StopQuestion.MOULD_OR_INSECTS,
    )
