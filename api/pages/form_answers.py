"""What do the texts of a form mean, and beside which field does a refusal stand?

People type dates in words or in EDTF, numbers with a point or a comma, and leave
blank what they do not know. A field bears the name that its fault points at, so
that `/image/left_mm` finds the field `image/left_mm`. What belongs to no field
of the form stands above it.
"""

import re
from collections.abc import Callable, Collection, Iterable, Mapping
from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction
from typing import TypeVar

from api.forms import TypedForm
from models.errors import BadValue, Fault, HingebookError, RuleBroken
from models.rules.half_known_dates import from_words, in_words, read_date
from models.rules.record_values import Faults, Millimetres

REFUSED = 422
_MM_PER_INCH = Fraction(254, 10)
STALE = 409
# What a form does not answer by itself: the page of refusals does.
Refusal = (BadValue, RuleBroken)

Word = TypeVar("Word", bound=StrEnum)
Value = TypeVar("Value")


def edtf(text: str) -> str:
    """Return a date typed in words or in EDTF as EDTF. Raises BadValue."""
    return from_words(text).edtf


def date_to_type(on_record: str | None) -> str:
    """Return a date on record as it would be typed: in words, where they mean the same."""
    if on_record is None:
        return ""
    said = in_words(read_date(on_record))
    try:
        return said if edtf(said) == on_record else on_record
    except BadValue:
        return on_record


def figure_to_type(figure: Millimetres | None) -> str:
    """Return a figure on record as it would be typed: without digits that say nothing."""
    return "" if figure is None else f"{float(figure):.6f}".rstrip("0").rstrip(".")


def number(text: str) -> float:
    """Return a number typed with a point or a comma. Raises BadValue."""
    try:
        found = float(text.replace(",", "."))
    except ValueError:
        right = "Write digits, such as 12.5, or leave it blank."
        raise BadValue(f"{text!r} is not a number.", [Fault("", "Not a number.", right)]) from None
    if abs(found) > 1e9 or found != found:
        raise BadValue(f"{text!r} is no figure that could be right.")
    return found


# 1/2", 0.5 in, 16 9/16 in: decimal inches, or whole ones and a fraction, with either sign.
_INCHES = re.compile(
    r"(?:(?P<decimal>\d{1,5}(?:[.,]\d{1,6})?)|"
    r"(?:(?P<whole>\d{1,5})[ -]+)?(?P<part>\d{1,4}/\d{1,4}))"
    r"\s*(?:\"|\u2033|\u201d|''|in\.?|inch|inches)",
    re.IGNORECASE,
)


def length(text: str) -> float:
    """Return mm of a length typed in mm or in inches, these to the nearest 0.001 mm.

    Raises BadValue.
    """
    typed = text.strip()
    try:
        found = _INCHES.fullmatch(typed)
        if found is not None:
            decimal = found["decimal"]
            inches = Fraction(decimal.replace(",", ".")) if decimal else Fraction(found["part"])
            return float(round((inches + int(found["whole"] or 0)) * _MM_PER_INCH, 3))
        return number(typed.removesuffix("mm").rstrip())
    except (BadValue, ZeroDivisionError):
        right = (
            "Write mm, such as 12.5, or inches, such as 1/2 in or 16 9/16 in; or leave it blank."
        )
        fault = Fault("", "Not a length.", right)
        raise BadValue(f"{text!r} is not a length.", [fault]) from None


def whole(text: str) -> int:
    """Return a whole number. Raises BadValue."""
    found = number(text)
    if found != int(found):
        raise BadValue(f"{text!r} is not a whole number.")
    return int(found)


def one_of(kind: type[Word]) -> Callable[[str], Word]:
    """Return a reader of a word of a closed list."""

    def read(text: str) -> Word:
        try:
            return kind(text)
        except ValueError:
            raise BadValue(f"{text!r} is none of {', '.join(kind)}.") from None

    return read


@dataclass(frozen=True)
class Difference:
    """A field in which what is on record now is not what was typed: both, as typed there."""

    name: str
    label: str
    on_record: str
    typed: str


def differences(
    labels: Mapping[str, str], typed: Mapping[str, str], now: Mapping[str, str]
) -> tuple[Difference, ...]:
    """Return where somebody who was quicker left something else than was typed."""
    return tuple(
        Difference(name, label, now[name], typed[name])
        for name, label in labels.items()
        if now[name] != typed[name].strip()
    )


# Fields that people call otherwise than forms do; the others bear their own name.
CALLED = {
    "on": "day",
    "until": "day until which it waits",
    "left": "way it was left",
    "where": "place where it was found",
    "term": "treatment",
    "L": "L* of the reading",
    "a": "a* of the reading",
    "b": "b* of the reading",
}


def field_said(name: str) -> str:
    """Return how people call a field, by the last part of its name."""
    last = name.rpartition("/")[2]
    return CALLED.get(last, last.replace("_", " "))


class Answers:
    """Reads the fields of one form and gathers what is wrong with them."""

    def __init__(self, form: TypedForm) -> None:
        self.form = form
        self.faults = Faults()

    def text(self, name: str) -> str:
        """Return what was typed, without blanks around it."""
        return self.form[name].strip()

    def if_typed(self, name: str) -> str | None:
        """Return what was typed, None for a blank field."""
        return self.text(name) or None

    def read(self, name: str, reader: Callable[[str], Value]) -> Value | None:
        """Return what the text means; None for a blank field, or with the fault noted."""
        return self.faults.read_if_given(f"/{name}", reader, self.if_typed(name))

    def needed(self, name: str, reader: Callable[[str], Value], missing: Value) -> Value:
        """Return what the text of a field means that must not be blank."""
        if self.if_typed(name) is None:
            message = f"The {field_said(name)} is missing."
            blank = BadValue.at("", message, "Fill it in.")
            self.faults.note(f"/{name}", blank)
        found = self.read(name, reader)
        return missing if found is None else found

    def wrong(self) -> BadValue | None:
        """Return everything that is wrong; None for a form without fault."""
        try:
            self.refuse()
        except BadValue as error:
            return error
        return None

    def refuse(self) -> None:
        """Raise BadValue with everything that is wrong."""
        if self.form.faults:
            self.faults.note("", BadValue(self.form.faults[0].message, self.form.faults))
        self.faults.refuse()


def faults_beside(
    error: HingebookError, fields: Collection[str], codes: Mapping[str, str] | None = None
) -> tuple[Fault, ...]:
    """Return the faults of a refusal, each at a field of the form or at none.

    `codes` names the field of a broken rule: `{"number_taken": "number"}`.
    """
    if isinstance(error, BadValue) and error.faults:
        return tuple(_beside(fault, fields) for fault in error.faults)
    field = (codes or {}).get(error.code)
    return (Fault("" if field is None else f"/{field}", error.message),)


def with_faults_of_record(
    texts: BadValue | None, error: HingebookError, fields: Collection[str], codes: Mapping[str, str]
) -> tuple[Fault, ...]:
    """Return what is wrong with the texts of a form and with the record they tell, at once.

    A text that cannot be read is missing in the record: that is not said twice.
    """
    unread = () if texts is None else faults_beside(texts, fields)
    named = {fault.pointer for fault in unread}
    of_record = () if error is texts else faults_beside(error, fields, codes)
    return (*unread, *(fault for fault in of_record if fault.pointer not in named))


def _beside(fault: Fault, fields: Collection[str]) -> Fault:
    name = fault.pointer.removeprefix("/")
    return fault if name in fields else Fault("", fault.message, fault.right)


def typed_in(form: TypedForm, fields: Iterable[str]) -> dict[str, str]:
    """Return what was typed into these fields, to be shown again."""
    return {name: form[name] for name in fields}


def version_in(form: TypedForm) -> int:
    """Return the version that a change is based on; 0, which is never current, for none."""
    text = form["version"]
    return int(text) if text.isascii() and text.isdigit() and len(text) < 10 else 0


def keys_in(form: TypedForm, name: str) -> list[int]:
    """Return the record numbers that were ticked; what is none is left out."""
    return [int(text) for text in form.all(name) if is_key(text)]


def is_key(text: str) -> bool:
    """Say whether a text can be the number of a record."""
    return text.isascii() and text.isdigit() and 0 < len(text) < 10
