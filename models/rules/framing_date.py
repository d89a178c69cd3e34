"""When was a package of unknown board framed?

What an unknown board may be depends on the years in which it was sold: before
1980, 1980 to 2000, or after 2000. A date that is only assumed, or whose first
and last day fall into different spans, is no idea.
"""

from datetime import date

from models.rules.calendar_days import day_number
from models.rules.package_facts import LayerFacts, PackageFacts
from models.vocabulary import FramedWhen

_FROM_1980 = day_number(date(1980, 1, 1))
_FROM_2001 = day_number(date(2001, 1, 1))


def framed_when(layer: LayerFacts, package: PackageFacts) -> FramedWhen:
    """Return the span in which this layer was fitted: its own date, else that of the mount."""
    if layer.fitted_first_day is not None:
        return _span(layer.fitted_first_day)
    if package.mounted_day is None or package.mounted_is_assumed:
        return FramedWhen.NO_IDEA
    first = _span(package.mounted_day)
    last = first if package.mounted_last_day is None else _span(package.mounted_last_day)
    return first if first is last else FramedWhen.NO_IDEA


def _span(day: int) -> FramedWhen:
    if day < _FROM_1980:
        return FramedWhen.BEFORE_1980
    return FramedWhen.FROM_1980_TO_2000 if day < _FROM_2001 else FramedWhen.AFTER_2000
