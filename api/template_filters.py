"""How do figures and days read on a page?

Days as people write them, sizes in millimetres without needless digits, chances in words
and numbers.
"""

from collections.abc import Callable
from datetime import date

from api.static_files import static
from models.errors import Fault
from models.rules.calendar_days import day_date
from models.rules.record_values import size_mm

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
    "duration": duration,
    "sentence": sentence,
    "fault_said": fault_said,
    "static": static,
}
