"""How do figures and days read on a page?

Days as people write them, sizes in millimetres without needless digits, chances in words
and numbers.
"""

import re
from collections.abc import Callable
from datetime import date
from fractions import Fraction

from jinja2 import pass_context
from jinja2.runtime import Context

from api.static_files import static
from models.errors import Fault
from models.rules.calendar_days import day_date
from models.rules.record_values import size_mm
from models.vocabulary import Lengths

# A dash and a multiplication sign, by name: they look like other characters.
DASH, TIMES = "\N{EN DASH}", "\N{MULTIPLICATION SIGN}"
MONTHS = (
    "January February March April May June July August September October November December"
).split()
MINUTES_PER_HOUR = 60


def day(value: date | int) -> str:
    """Return `24 February 2027`; a number counts days from 1970-01-01."""
    shown = day_date(value) if isinstance(value, int) else value
    return f"{shown.day} {MONTHS[shown.month - 1]} {shown.year}"


def mm(um: int | None) -> str:
    """Return micrometres as millimetres, without digits that say nothing; a dash for none."""
    return DASH if um is None else f"{size_mm(um):.3f}".rstrip("0").rstrip(".")


def height_by_width(height_um: int | None, width_um: int | None) -> str:
    """Return height by width in mm, height first; empty when neither was measured."""
    if height_um is None and width_um is None:
        return ""
    return f"{mm(height_um)} {TIMES} {mm(width_um)} mm"


def duration(minutes: int) -> str:
    """Return `1 h 20 min`."""
    hours, rest = divmod(minutes, MINUTES_PER_HOUR)
    parts = [f"{hours} h"] * bool(hours) + [f"{rest} min"] * bool(rest or not hours)
    return " ".join(parts)


SIXTEENTHS = 16
MM_PER_INCH = 25.4
# The sign for a currency that is not said (U+00A4).
ANY_CURRENCY = "\u00a4"
# Below it a length is said in mm alone: a sixteenth of an inch is 1.6 mm.
SHORTEST_IN_INCHES_MM = 1.0
# "15 mm in" is said of what reaches so far in: inches come after it, not between.
_IN_MM = re.compile(rf"(\d+(?:\.\d+)?)(?: {TIMES} (\d+(?:\.\d+)?))? mm\b(?: in(?=[,.;)<]|\s*$))?")


@pass_context
def lengths(context: Context, text: str) -> str:
    """Return a text in which inches stand beside millimetres, for whoever chose so."""
    return with_inches(text) if context["frame"].lengths == Lengths.BOTH else text


@pass_context
def inches_beside(context: Context, figure: str) -> str:
    """Return the inches behind a figure whose label says mm, empty but for whoever chose so."""
    return lengths(context, f"{figure} mm").removeprefix(f"{figure} mm")


def with_inches(text: str) -> str:
    """Return a text in which inches, as a ruler has them, follow every length of 1 mm and more."""
    return _IN_MM.sub(_and_inches, text)


def _and_inches(found: re.Match[str]) -> str:
    millimetres = [float(mm) for mm in found.groups() if mm is not None]
    if max(millimetres) < SHORTEST_IN_INCHES_MM:
        return found.group()
    said = f" {TIMES} ".join(map(inches, millimetres))
    return f"{found.group()} ({said} in)"


def money_said(amount: float) -> str:
    """Return an amount in whole units, with the sign that stands for any currency."""
    return f"{amount:,.0f} {ANY_CURRENCY}"


@pass_context
def money(context: Context, said: str | float) -> str:
    """Return an amount, or a text with amounts, in the currency of the house."""
    text = said if isinstance(said, str) else money_said(said)
    code: str = context["frame"].currency
    return text.replace(ANY_CURRENCY, code)


def inches(mm: float) -> str:
    """Return millimetres as inches to the nearest sixteenth: `16 9/16`."""
    whole, rest = divmod(round(mm / MM_PER_INCH * SIXTEENTHS), SIXTEENTHS)
    if rest == 0:
        return str(whole)
    part = Fraction(rest, SIXTEENTHS)
    return f"{whole} {part}" if whole else str(part)


def sentence(text: str) -> str:
    """Return a text as a sentence: a capital at its beginning, a full stop at its end."""
    said = text.strip()
    end = "" if not said or said.endswith((".", "?", "!", ":")) else "."
    return f"{said[:1].upper()}{said[1:]}{end}"


def fault_said(fault: Fault) -> str:
    """Return what is wrong and what would be right, each as a sentence."""
    return " ".join(filter(None, map(sentence, (fault.message, fault.right))))


FILTERS: dict[str, Callable[..., str]] = {
    "day": day,
    "money": money,
    "duration": duration,
    "sentence": sentence,
    "fault_said": fault_said,
    "static": static,
    "lengths": lengths,
    "inches_beside": inches_beside,
}
