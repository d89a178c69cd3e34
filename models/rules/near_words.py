"""Which words on record are near to one that is not?

Spelling alone decides: a letter wrong, left out or changed about, or a part of
a longer name. A name that shares more words with what was typed comes first.
Numbers have no near misses; another number is another thing.
"""

from collections.abc import Iterable

from rapidfuzz import fuzz, process, utils

# Defaults of this project: below them a person sees no likeness, in a whole name and in a word.
LEAST_LIKENESS = 70.0
LEAST_LIKENESS_OF_WORDS = 80.0
# Of a word that is taken for another without asking: one letter of four may be wrong.
LEAST_LIKENESS_OF_SLIP = 75.0
MOST_NAMED = 3
# So many of the most alike are compared word by word.
MOST_COMPARED = 100
# A single letter is near to every word that holds it.
SHORTEST_NAMED = 2


def near_words(word: str, known: Iterable[str], *, most: int = MOST_NAMED) -> tuple[str, ...]:
    """Return the nearest known words, nearest first; none for what has no letter in it."""
    if not any(character.isalpha() for character in word):
        return ()
    found = process.extract(
        word,
        [name for name in known if len(name.strip()) >= SHORTEST_NAMED],
        scorer=fuzz.WRatio,
        processor=utils.default_process,
        score_cutoff=LEAST_LIKENESS,
        limit=MOST_COMPARED,
    )
    # Sorting keeps the order of likeness among names that share as many words.
    nearest = sorted(found, key=lambda one: -_words_shared(word, one[0]))
    return tuple(name for name, _likeness, _place in nearest[:most])


def is_slip_of_the_pen(word: str, meant: str) -> bool:
    """Say whether one whole word is so like another that it may be taken for it unasked."""
    return fuzz.ratio(word, meant, processor=utils.default_process) >= LEAST_LIKENESS_OF_SLIP


def _words_shared(word: str, name: str) -> int:
    of_name = utils.default_process(name).split()
    return sum(
        process.extractOne(part, of_name, scorer=fuzz.ratio, score_cutoff=LEAST_LIKENESS_OF_WORDS)
        is not None
        for part in utils.default_process(word).split()
    )


def same_but_for_case(word: str, known: Iterable[str]) -> str | None:
    """Return the known word that differs in capitals and blanks alone; None if not exactly one."""
    wanted = plain_name(word)
    same = [name for name in known if plain_name(name) == wanted]
    return same[0] if len(same) == 1 else None


def plain_name(word: str) -> str:
    """Return a name without capitals and with single blanks."""
    return " ".join(word.casefold().split())
