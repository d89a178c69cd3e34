"""What may a text be that somebody typed?

Composed the same way however it was typed (Unicode NFC), with tabs and line ends but
without other control characters, and never half a character. Line ends are one LF.
"""

import unicodedata

from models.errors import BadValue

ALLOWED_CONTROLS = "\t\n"
_FORBIDDEN = frozenset(map(chr, range(32))) - frozenset(ALLOWED_CONTROLS)


def clean_text(given: str) -> str:
    """Return the text as it is kept. Raises BadValue for characters that cannot be."""
    text = _composed(given)
    if not _FORBIDDEN.isdisjoint(text):
        raise BadValue("There is a control character in this text; take it out.")
    if any(map(_is_half, text)):
        raise BadValue("There is half a character in this text; take it out.")
    return text


def without_forbidden(given: str) -> str:
    """Return the text without what cannot be kept, to be shown again beside the fault."""
    return "".join(c for c in _composed(given) if c not in _FORBIDDEN and not _is_half(c))


def _composed(given: str) -> str:
    return unicodedata.normalize("NFC", given.replace("\r\n", "\n"))


def _is_half(character: str) -> bool:
    return "\ud800" <= character <= "\udfff"
