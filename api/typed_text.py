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
    text = unicodedata.normalize("NFC", given.replace("\r\n", "\n"))
    if not _FORBIDDEN.isdisjoint(text):
        raise BadValue("There is a control character in this text; take it out.")
    if any("\ud800" <= character <= "\udfff" for character in text):
        raise BadValue("There is half a character in this text; take it out.")
    return text
