"""Can this value stand in a record exactly as it was given?

Sizes are given in millimetres and kept in whole micrometres: what is not exact
to 0.001 mm is refused, never rounded. Names are never empty. All that is wrong
is gathered, so that a person hears it at once and not one by one.
"""

from collections.abc import Callable
from decimal import Decimal, InvalidOperation
from typing import TypeVar

from models.errors import BadValue, Fault
from models.vocabulary import MICROMETRES_PER_MM

# What people type. Longer is a slip, or a note in the wrong place.
LONGEST_NAME = 500
LONGEST_NOTE = 20_000
# What has no unit: its name goes before the figure.
NAMED_BEFORE = {
    "pH": "A pH",
    "kappa": "A kappa number",
    "L*": "An L*",
    "a*": "An a*",
    "b*": "A b*",
}
# A sheet of more than 20 m is a slip of the pen.
LARGEST_MM = 20_000

# A size as it comes from a form, a file or a program.
Millimetres = Decimal | float | int | str

Given = TypeVar("Given")
Kept = TypeVar("Kept")


def exact_um(mm: Millimetres, *, lowest_um: int = 1) -> int:
    """Return whole micrometres. Raises BadValue for what is not exact to 0.001 mm."""
    try:
        micrometres = Decimal(str(mm)) * MICROMETRES_PER_MM
    except InvalidOperation:
        raise BadValue(f"{mm!r} is not a size in mm.") from None
    if not micrometres.is_finite() or not (
        lowest_um <= micrometres <= LARGEST_MM * MICROMETRES_PER_MM
    ):
        raise BadValue(f"{mm} mm is not between {_mm(lowest_um):g} and {LARGEST_MM} mm.")
    if micrometres != micrometres.to_integral_value():
        raise BadValue(f"{mm} mm is finer than 0.001 mm, the finest that is kept.")
    return int(micrometres)


def offset_um(mm: Millimetres) -> int:
    """Return whole micrometres of a distance that may be nothing at all."""
    return exact_um(mm, lowest_um=0)


def size_mm(um: int | None) -> float | None:
    """Return a kept size in mm; the shortest figure that reads back as the same micrometres."""
    return None if um is None else _mm(um)


def _mm(um: int) -> float:
    return um / MICROMETRES_PER_MM


def a_name(what: str, longest: int = LONGEST_NAME) -> Callable[[str], str]:
    """Return a check for a text that must be there, without blanks around it."""

    def check(given: str) -> str:
        name = given.strip()
        if not name:
            raise BadValue(f"The {what} is missing.")
        if len(name) > longest:
            raise BadValue(f"The {what} has {len(name)} characters; at most {longest} fit.")
        return name

    return check


def a_line(what: str, longest: int = LONGEST_NAME) -> Callable[[str], str]:
    """Return a check for a short text that may be empty, without blanks around it."""

    def check(given: str) -> str:
        line = given.strip()
        if len(line) > longest:
            raise BadValue(f"The {what} has {len(line)} characters; at most {longest} fit.")
        return line

    return check


def on_one_line(what: str, longest: int = LONGEST_NAME) -> Callable[[str], str]:
    """Return a check for a name on one line; runs of blanks in it become one."""

    def check(given: str) -> str:
        if len(given.strip().splitlines()) > 1:
            message = f"The {what} is on one line."
            raise BadValue.at("", message, "Take the line breaks out.")
        return a_name(what, longest)(" ".join(given.split()))

    return check


def a_note(given: str) -> str:
    """Return a text that may be empty. Raises BadValue when it is longer than a note."""
    if len(given) > LONGEST_NOTE:
        raise BadValue(f"The text has {len(given)} characters; at most {LONGEST_NOTE} fit.")
    return given


def between(lowest: float, highest: float, unit: str) -> Callable[[float], float]:
    """Return a check for a number in its range, in the unit named."""

    def check(given: float) -> float:
        # Written so that a missing number (NaN) is refused too.
        if not lowest <= given <= highest:
            name = NAMED_BEFORE.get(unit)
            if name is not None:
                raise BadValue(f"{name} of {given:g} is not between {lowest:g} and {highest:g}.")
            raise BadValue(f"{given:g} {unit} is not between {lowest:g} and {highest:g} {unit}.")
        return given

    return check


def whole_between(lowest: int, highest: int, what: str) -> Callable[[int], int]:
    """Return a check for a whole number in its range."""

    def check(given: int) -> int:
        if not lowest <= given <= highest:
            raise BadValue(f"The {what} is {given}; it runs from {lowest} to {highest}.")
        return given

    return check


class Faults:
    """Gathers what is wrong with the values of one record."""

    def __init__(self) -> None:
        self._errors: list[BadValue] = []

    def read(self, pointer: str, check: Callable[[Given], Kept], given: Given) -> Kept | None:
        """Return the value as it is kept; None, with the fault noted, when it cannot be."""
        try:
            return check(given)
        except BadValue as error:
            self.note(pointer, error)
            return None

    def read_if_given(
        self, pointer: str, check: Callable[[Given], Kept], given: Given | None
    ) -> Kept | None:
        """Return None for what was not given, else as `read`."""
        return None if given is None else self.read(pointer, check, given)

    def note(self, pointer: str, error: BadValue) -> None:
        """Keep an error, with the place in the record where it stands."""
        found = error.faults or (Fault("", error.message),)
        error.faults = tuple(Fault(pointer + f.pointer, f.message, f.right) for f in found)
        self._errors.append(error)

    def are_any(self) -> bool:
        """Say whether anything was wrong so far."""
        return bool(self._errors)

    def refuse(self) -> None:
        """Raise what was gathered; a single fault keeps its own kind."""
        if len(self._errors) == 1:
            raise self._errors[0]
        if self._errors:
            faults = [fault for error in self._errors for fault in error.faults]
            raise BadValue(f"{len(faults)} values cannot be right.", faults)


def yes_or_no(kept: str | None) -> bool | None:
    """Return what is kept as "yes" or "no"; None where nobody knows."""
    return {"yes": True, "no": False}.get(kept or "")
