"""By which words is a work found?

Accents, case and punctuation do not matter: "Église" is found by "eglise", and
the number "GQ 1994.12" by "gq", "1994.12" or "gq1994.12". A word is searched by
its beginning, as a range and not by a pattern, so that a plain index serves.
Near misses are offered for words alone: a number that is almost right is wrong.
"""

import re
import unicodedata
from collections.abc import Iterable

from rapidfuzz import fuzz, process

# Letters that Unicode does not take apart into a base letter and an accent.
_LETTERS = str.maketrans(
    {"ß": "ss", "ø": "o", "ł": "l", "æ": "ae", "œ": "oe", "đ": "d", "ð": "d", "þ": "th"}
)
_WORD = re.compile(r"[^\W_]+(?:\.[^\W_]+)*")
LONGEST_WORD = 100
# Share of letters alike (0 to 100) from which a near miss is offered. Default of this project.
NEAR_ENOUGH = 75


def plain(text: str) -> str:
    """Return the text without accents and case."""
    apart = unicodedata.normalize("NFKD", text.casefold().translate(_LETTERS))
    return "".join(letter for letter in apart if not unicodedata.combining(letter))


def words_of(text: str) -> list[str]:
    """Return the words of a text as they are searched, in order, once each."""
    return list(dict.fromkeys(word[:LONGEST_WORD] for word in _WORD.findall(plain(text))))


def words_of_work(number: str, title: str, maker: str) -> list[str]:
    """Return every word under which a work is found; its number also as one word."""
    whole = re.sub(r"\s", "", plain(number))[:LONGEST_WORD]
    return sorted({whole, *words_of(number), *words_of(title), *words_of(maker)})


def prefix_range(word: str) -> tuple[str, str]:
    """Return the bounds (from, up to but not including) of all words that begin so."""
    return word, word[:-1] + chr(ord(word[-1]) + 1)


def near_misses(word: str, known: Iterable[str], *, most: int = 5) -> list[str]:
    """Return known words that look like this one, the likest first; none for numbers."""
    if any(letter.isdigit() for letter in word):
        return []
    letters = [other for other in known if not any(c.isdigit() for c in other)]
    found = process.extract(plain(word), letters, scorer=fuzz.ratio, processor=plain, limit=most)
    return [other for other, score, _ in found if score >= NEAR_ENOUGH]
