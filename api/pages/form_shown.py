"""How does a form come back with all that was typed into it, and what is wrong beside it?"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from api.pages.row_reader import LONGEST_NUMBER
from models.errors import Fault


@dataclass(frozen=True)
class FormShown:
    """The values of a form's fields; `beforehand` is what stood in them before anybody typed."""

    values: Mapping[str, Sequence[str]]
    faults: tuple[Fault, ...] = ()
    beforehand: Mapping[str, Sequence[str]] = field(default_factory=dict)

    def value(self, name: str) -> str:
        """Return what stands in a field."""
        return next(iter(self.values.get(name, ())), "")

    def has(self, name: str, value: str) -> bool:
        """Say whether a choice is chosen or a box ticked."""
        return value in self.values.get(name, ())

    def faults_of(self, name: str) -> tuple[Fault, ...]:
        """Return what is wrong with a field."""
        return tuple(fault for fault in self.faults if fault.pointer == f"/{name}")

    def is_touched(self, *beginnings: str) -> bool:
        """Say whether a part of the form was filled in or is wrong, and so must be seen."""

        def belongs(name: str) -> bool:
            return any(name == begin or name.startswith(f"{begin}/") for begin in beginnings)

        wrong = any(belongs(fault.pointer.removeprefix("/")) for fault in self.faults)
        return wrong or any(
            list(self.values.get(name, ())) != list(self.beforehand.get(name, ()))
            for name in {*self.values, *self.beforehand}
            if belongs(name) and any((*self.values.get(name, ()), *self.beforehand.get(name, ())))
        )

    def rows(self, of: str, least: int) -> range:
        """Return the numbers of the rows below a name: all that were typed, and never fewer."""
        begin = f"{of}/"
        rows = [
            int(row)
            for name in self.values
            if name.startswith(begin)
            and (row := name.removeprefix(begin).partition("/")[0]).isdecimal()
            and len(row) <= LONGEST_NUMBER
        ]
        return range(max([least, *(row + 1 for row in rows)]))
