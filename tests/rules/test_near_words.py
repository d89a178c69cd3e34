"""A word that is not on record is answered with those that look like it."""

from models.rules.near_words import is_slip_of_the_pen, near_words, same_but_for_case

BOARDS = ["Cotton rag mat board, 4-ply, buffered", "Groundwood mat board", "Corrugated board"]


def test_a_letter_wrong_or_a_part_of_the_name_leads_to_it() -> None:
    assert near_words("cotton rag mat bord 4 ply", BOARDS)[0] == BOARDS[0]
    assert near_words("groundwod", BOARDS) == ("Groundwood mat board",)


def test_what_shares_more_words_comes_first_and_a_single_letter_never() -> None:
    known = ["mat", "bord", "Board", "B", "Cotton gloves", BOARDS[0], "Cotton rag, pulp"]
    assert near_words("Cotton rag mat bord", known)[0] == BOARDS[0]
    assert near_words("bo", ["b", "o", "bo x"]) == ("bo x",)


def test_what_looks_like_nothing_on_record_has_no_near_word() -> None:
    assert near_words("qzx", BOARDS) == ()


def test_a_number_has_no_near_misses() -> None:
    assert near_words("1994", ["1995", "1994.1"]) == ()


def test_capitals_and_blanks_do_not_make_another_name() -> None:
    assert same_but_for_case("  groundwood  MAT board", BOARDS) == "Groundwood mat board"


def test_of_two_names_that_differ_in_capitals_alone_none_is_guessed() -> None:
    assert same_but_for_case("ochre house", ["Ochre House", "Ochre house"]) is None


def test_a_letter_left_out_is_a_slip_of_the_pen_and_another_word_is_none() -> None:
    assert is_slip_of_the_pen("cynotype", "cyanotype")
    assert is_slip_of_the_pen("tirn", "tern")
    assert not is_slip_of_the_pen("nowhere", "not")
