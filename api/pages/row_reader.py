"""How is a form with rows read, some of them blank?

A row bears a number, `new/0/term`; one that was left blank tells nothing. What is
told stands elsewhere in the record, `/report/sightings/2/term`; so each part keeps
the field it was typed into, and a refusal from the record finds its field again.
"""

from collections.abc import Iterable
from enum import StrEnum
from typing import TypeVar

from api.forms import TypedForm
from api.pages.form_answers import Answers, length, number, one_of, whole
from models.errors import BadValue
from models.rules.record_values import a_line, a_note, whole_between

Word = TypeVar("Word", bound=StrEnum)

# Digits of the number of a row: no form of ours has a thousand.
LONGEST_NUMBER = 3


class RowReader:
    """Reads one form; `fields` leads from a place in the record to a field."""

    def __init__(self, form: TypedForm) -> None:
        self.form = form
        self.answers = Answers(form)
        self.fields: dict[str, str] = {}

    def told_at(self, place: str, name: str, *parts: str) -> None:
        """Keep that a part of the record, or these parts of it, were typed into a field."""
        for at in [f"{place}/{part}" for part in parts] or [place]:
            self.fields[at] = name

    def text(self, name: str) -> str | None:
        """Return what was typed, None for a blank field."""
        return self.answers.if_typed(name)

    def word(self, name: str, kind: type[Word]) -> Word | None:
        """Return a word of a closed list, None for a blank field."""
        return self.answers.read(name, one_of(kind))

    def note(self, name: str) -> str:
        """Return a text that may be long."""
        return self.answers.read(name, a_note) or ""

    def line(self, name: str, longest: int = 500) -> str:
        """Return a short text."""
        return self.answers.read(name, a_line("text", longest)) or ""

    def figure(self, name: str) -> float | None:
        """Return a number."""
        return self.answers.read(name, number)

    def length(self, name: str) -> float | None:
        """Return a length in mm, typed in mm or in inches."""
        return self.answers.read(name, length)

    def whole(self, name: str, lowest: int, highest: int, what: str) -> int | None:
        """Return a whole number in its range."""
        check = whole_between(lowest, highest, what)
        return self.answers.read(name, lambda text: check(whole(text)))

    def is_ticked(self, name: str) -> bool:
        """Say whether a box is ticked."""
        return bool(self.form[name])

    def ids(self, name: str, place: str) -> tuple[int, ...]:
        """Return the numbers of the records that are ticked."""
        told: list[int] = []
        for text in filter(None, self.form.all(name)):
            self.told_at(f"{place}/{len(told)}", name)
            if (found := self.answers.faults.read(f"/{name}", whole, text)) is not None:
                told.append(found)
        return tuple(told)

    def rows(self, of: str) -> list[str]:
        """Return the names of the rows below a name, in the order of their numbers."""
        begin = f"{of}/"
        beginnings = {
            name.removeprefix(begin).partition("/")[0]
            for name in self.form.fields
            if name.startswith(begin)
        }
        numbers = [row for row in beginnings if row.isdecimal() and len(row) <= LONGEST_NUMBER]
        return [f"{of}/{row}" for row in sorted(numbers, key=int)]

    def has_any(self, of: str, *, besides: Iterable[str] = ()) -> bool:
        """Say whether anything stands below a name, besides fields that are filled beforehand."""
        endings = tuple(f"/{name}" for name in besides)
        return any(
            value.strip()
            for name, values in self.form.fields.items()
            if name.startswith(f"{of}/") and not name.endswith(endings)
            for value in values
        )

    def wrong(self, name: str, message: str, right: str) -> None:
        """Keep that a field is wrong, and what would be right."""
        self.answers.faults.note(f"/{name}", BadValue.at("", message, right))
