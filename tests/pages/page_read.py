"""A page as it is read."""

import re


def text_of(page: str) -> str:
    """Return the words of a page, without tags and with single spaces."""
    return " ".join(re.sub(r"<[^>]+>", " ", page).split())
