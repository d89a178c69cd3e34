"""Which words on record are near to one that is not?

Spelling alone decides: a letter wrong, left out or changed about, or a part of
a longer name. Numbers have no near misses; another number is another thing.
"""

from collections.abc import Iterable

from rapidfuzz import fuzz, process, utils

# A default of this project: below it a person sees no likeness.
LEAST_LIKENESS = 70.0
MOST_NAMED = 3


def near_words(word: str, known: Iterable[str], *, most: int = MOST_NAMED) -> tuple[str, ...]:
    """Return the nearest known words, nearest first; none for what has no letter in it."""
    if not any(character.isalpha() for character in word):
        return ()
    found = process.extract(
        word,
        list(known),
        scorer=fuzz.WRatio,
        processor=utils.default_process,
        score_cutoff=LEAST_LIKENESS,
        limit=most,
    )
    return tuple(name for name, _likeness, _place in found)


def same_but_for_case(word: str, known: Iterable[str]) -> str | None:
    """Return the known word that differs in capitals and blanks alone; None if not exactly one."""
    wanted = _plain(word)
    same = [name for name in known if _plain(name) == wanted]
    return same[0] if len(same) == 1 else None


def _plain(word: str) -> str:
    return " ".join(word.casefold().split())
