"""What was typed into a form?

Everything a person typed is kept as it was typed, so that a form that is refused comes back
with all of it. Characters that no text may hold are taken out and named as faults.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Annotated

from fastapi import Depends, Request
from starlette.datastructures import UploadFile

from api.routes import FORM_TOKEN_FIELD, REPEAT_KEY_FIELD
from api.typed_text import clean_text, without_forbidden
from models.errors import BadValue, Fault

OURS = (FORM_TOKEN_FIELD, REPEAT_KEY_FIELD)


@dataclass(frozen=True)
class TypedForm:
    """The fields of a form, each with all its values in order; and the key to send it again."""

    fields: Mapping[str, Sequence[str]]
    files: Mapping[str, Sequence[UploadFile]]
    faults: tuple[Fault, ...]
    repeat_key: str = ""

    def __getitem__(self, name: str) -> str:
        """Return what was typed into a field, empty if there is no such field."""
        return next(iter(self.fields.get(name, ())), "")

    def all(self, name: str) -> Sequence[str]:
        """Return every value of a field that may stand several times, such as ticks."""
        return self.fields.get(name, ())

    def require_clean(self) -> None:
        """Raise BadValue when a text holds what no text may hold."""
        if self.faults:
            raise BadValue(self.faults[0].message, self.faults)


async def _typed_form(request: Request) -> TypedForm:
    # Read before already, within the limits, by api.routes.
    form = await request.form()
    fields: dict[str, list[str]] = {}
    files: dict[str, list[UploadFile]] = {}
    faults: list[Fault] = []
    for name, value in form.multi_items():
        if isinstance(value, UploadFile):
            files.setdefault(name, []).append(value)
        elif name not in OURS:
            kept, fault = _kept(name, value)
            fields.setdefault(name, []).append(kept)
            faults += fault
    key = form.get(REPEAT_KEY_FIELD)
    return TypedForm(fields, files, tuple(faults), key if isinstance(key, str) else "")


def _kept(name: str, value: str) -> tuple[str, list[Fault]]:
    try:
        return clean_text(value), []
    except BadValue as error:
        return without_forbidden(value), [Fault(f"/{name}", error.message)]


Typed = Annotated[TypedForm, Depends(_typed_form)]
