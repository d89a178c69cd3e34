"""By which words is a work found?

Accents, case and punctuation do not matter: "Église" is found by "eglise", and
the number "GQ 1994.12" by "gq", "1994.12" or "gq1994.12". A word is searched by
its beginning, as a range and not by a pattern, so that a plain index serves.
"""

import re
import unicodedata
from functools import lru_cache

# Letters that Unicode does not take apart into a base letter and an accent.
_LETTERS = str.maketrans(
    {"ß": "ss", "ø": "o", "ł": "l", "æ": "ae", "œ": "oe", "đ": "d", "ð": "d", "þ": "th"}
)
_WORD = re.compile(r"[^\W_]+(?:\.[^\W_]+)*")
# Zeros after a point are figures of it.
_ZEROS_BEFORE = re.compile(r"(?<![\d.])0+(?=\d)")
LONGEST_WORD = 100


def plain(text: str) -> str:
    """Return the text without accents and case."""
    # Taken apart before and after: a sign such as ℠ comes apart into capitals.
    apart = unicodedata.normalize("NFKD", unicodedata.normalize("NFKD", text).casefold())
    kept = "".join(letter for letter in apart if not unicodedata.combining(letter))
    return kept.translate(_LETTERS)


# The library has the same names each time somebody looks for one.
@lru_cache(maxsize=8192)
def words_of(text: str) -> tuple[str, ...]:
    """Return the words of a text as they are searched, in order, once each."""
    found = (word[:LONGEST_WORD].rstrip(".") for word in _WORD.findall(plain(text)))
    return tuple(dict.fromkeys(found))


def words_of_work(number: str, title: str, maker: str) -> list[str]:
    """Return every word under which a work is found; its number also as one word.

    A number is found without the zeros before its figures too: "H 014" by "h14".
    """
    of_number = {number_run_together(number), *words_of(number)}
    without_zeros = {_ZEROS_BEFORE.sub("", word) for word in of_number}
    return sorted({*of_number, *without_zeros, *words_of(title), *words_of(maker)})


def number_run_together(number: str) -> str:
    """Return the number as one word, under which its work is found."""
    return re.sub(r"\s", "", plain(number))[:LONGEST_WORD]


def is_same_number(one: str, other: str) -> bool:
    """Say whether capitals and blanks alone tell two numbers apart.

    A blank between two figures tells more: "1 12" is not "11 2".
    """
    return _told_apart(one) == _told_apart(other)


def _told_apart(number: str) -> str:
    kept = re.sub(r"(?<=\d)\s+(?=\d)", "|", number.strip())
    return re.sub(r"\s", "", kept.casefold())


def prefix_range(word: str) -> tuple[str, str]:
    """Return the bounds (from, up to but not including) of all words that begin so."""
    return word, word[:-1] + chr(ord(word[-1]) + 1)
