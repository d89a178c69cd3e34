"""How does a half-known date stand on a page?

As people say it: "about 2005", "20 November 2026"; empty where nobody said one.
"""

from models.rules.half_known_dates import in_words, read_date


def date_said(edtf: str | None) -> str:
    """Return a date in words; empty for none."""
    return "" if edtf is None else in_words(read_date(edtf))


def span_said(begun: str | None, over: str | None, *, ended: bool, begin: str = "since") -> str:
    """Return from when to when something lasted: "since about 2005", "2005 to 20 May 2011"."""
    start, end = date_said(begun), date_said(over)
    if not ended:
        return f"{begin} {start}" if start else f"{begin} a day nobody recorded"
    return f"{start or 'a day nobody recorded'} to {end or 'a day nobody recorded'}"
