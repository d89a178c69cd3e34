"""Two tablets answer for the works of one walk."""

from models.rules.walk_answers import Fields, KeptAnswer, merged_answers, told_elsewhere

AS_BEFORE = {"was": ("as before",)}
NOT_FOUND = {"was": ("not found",)}
KEPT = {"41": KeptAnswer(AS_BEFORE, 2, "first"), "42": KeptAnswer(NOT_FOUND, 5, "second")}


def test_answers_of_different_works_stand_beside_each_other() -> None:
    after = merged_answers(KEPT, {"43": AS_BEFORE}, seen_version=0, hand="third", version=6)
    assert after.kept == {**KEPT, "43": KeptAnswer(AS_BEFORE, 6, "third")}
    assert after.contradicted == {}


def test_whoever_has_seen_an_answer_may_change_it_and_clear_it() -> None:
    told: dict[str, Fields] = {"41": NOT_FOUND, "42": {}}
    after = merged_answers(KEPT, told, seen_version=5, hand="third", version=6)
    assert after.kept == {
        "41": KeptAnswer(NOT_FOUND, 6, "third"),
        "42": KeptAnswer({}, 6, "third"),
    }


def test_what_was_answered_otherwise_since_is_shown_and_not_written_over() -> None:
    told = {"41": NOT_FOUND, "42": AS_BEFORE}
    after = merged_answers(KEPT, told, seen_version=2, hand="first", version=6)
    assert after.kept == {"41": KeptAnswer(NOT_FOUND, 6, "first"), "42": KEPT["42"]}
    assert after.contradicted == {"42": NOT_FOUND}


def test_a_page_without_an_answer_takes_none_away_that_it_has_not_seen() -> None:
    told: dict[str, Fields] = {"42": {}, "43": {}}
    after = merged_answers(KEPT, told, seen_version=2, hand="first", version=6)
    assert (after.kept, after.contradicted) == (KEPT, {})


def test_two_who_say_the_same_do_not_contradict_each_other() -> None:
    after = merged_answers(KEPT, {"42": NOT_FOUND}, seen_version=0, hand="first", version=6)
    assert (after.kept, after.contradicted) == (KEPT, {})


def test_a_page_whose_answer_was_lost_may_tell_the_same_again() -> None:
    told = {"42": AS_BEFORE}
    after = merged_answers(KEPT, told, seen_version=0, hand="second", version=6)
    assert after.kept["42"] == KeptAnswer(AS_BEFORE, 6, "second")


def test_a_page_is_told_what_others_have_answered_since_and_never_its_own() -> None:
    assert told_elsewhere(KEPT, seen_version=2, hand="first") == {"42": NOT_FOUND}
    assert told_elsewhere(KEPT, seen_version=2, hand="second") == {}
