"""What may a program send, and how are lists answered?

Every shape that comes in is an `In`: no unknown field, no NaN or infinity, texts cleaned
and bounded, whole numbers bounded. Lists are answered in pages of at most 200 with an
opaque cursor; errors as problem details.
"""

import base64
import binascii
import json
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Annotated, Any, Generic, TypeVar

from fastapi import Depends, Query
from pydantic import BaseModel, BeforeValidator, ConfigDict, Field, StringConstraints
from pydantic_core import PydanticCustomError

from api.typed_text import clean_text
from models.errors import BadValue
from models.rules.record_values import LONGEST_NAME, LONGEST_NOTE

LARGEST_WHOLE = 2**53 - 1
MOST_ITEMS, USUAL_ITEMS = 200, 50
LONGEST_LIST = 1000
LONGEST_CURSOR = 2000

Item = TypeVar("Item")
Row = TypeVar("Row")
CursorKey = tuple[str | int | None, ...]


class In(BaseModel):
    """The base of every shape that comes in."""

    model_config = ConfigDict(extra="forbid", allow_inf_nan=False, frozen=True)


class Out(BaseModel):
    """The base of every shape that goes out."""

    model_config = ConfigDict(frozen=True)


def _clean(given: object) -> object:
    # Cleaned before it is measured: composing may change a text's length.
    try:
        return clean_text(given) if isinstance(given, str) else given
    except BadValue as error:
        raise PydanticCustomError("unclean_text", "{why}", {"why": error.message}) from None


Name = Annotated[
    str, StringConstraints(min_length=1, max_length=LONGEST_NAME), BeforeValidator(_clean)
]
Note = Annotated[str, StringConstraints(max_length=LONGEST_NOTE), BeforeValidator(_clean)]
Id = Annotated[int, Field(ge=1, le=LARGEST_WHOLE, strict=True)]
Whole = Annotated[int, Field(ge=0, le=LARGEST_WHOLE, strict=True)]
Figure = Annotated[float, Field(ge=-1e9, le=1e9, allow_inf_nan=False)]
# Of a path: what is out of its bounds is not on record.
PathId = Annotated[int, Field(ge=1, le=LARGEST_WHOLE)]
QueryText = Annotated[str | None, BeforeValidator(_clean), Query(max_length=500)]


class Page(Out, Generic[Item]):
    """One page of a list; `next` is the cursor of the following one, null on the last."""

    items: list[Item]
    next: str | None


@dataclass(frozen=True)
class Paging:
    """How many rows a program wants, and after which key; a finder is asked for one more."""

    limit: int
    after: CursorKey | None

    @property
    def one_more(self) -> int:
        """How many rows to fetch, so as to know whether there are more."""
        return self.limit + 1

    def page(
        self, rows: Sequence[Row], key: Callable[[Row], CursorKey], out: Callable[[Row], Item]
    ) -> Page[Item]:
        """Return the page of `one_more` rows fetched."""
        shown = rows[: self.limit]
        more = cursor_of(key(shown[-1])) if len(rows) > self.limit else None
        return Page(items=[out(row) for row in shown], next=more)


def cursor_of(key: CursorKey) -> str:
    """Return the cursor that leads on after the row with this key."""
    return base64.urlsafe_b64encode(json.dumps(key).encode()).decode().rstrip("=")


def _after(cursor: str | None) -> CursorKey | None:
    if cursor is None:
        return None
    try:
        key = json.loads(base64.urlsafe_b64decode(cursor + "=" * (-len(cursor) % 4)))
    except (binascii.Error, ValueError):
        raise BadCursor() from None
    if not isinstance(key, list) or not all(_is_part_of_key(part) for part in key):
        raise BadCursor()
    return tuple(key)


def _is_part_of_key(part: object) -> bool:
    if isinstance(part, str):
        return part.isprintable()
    return part is None or (type(part) is int and abs(part) <= LARGEST_WHOLE)


class BadCursor(BadValue):
    """A cursor that no list of ours gave."""

    code = "bad_cursor"

    def __init__(self) -> None:
        super().__init__("No list gave this cursor; take it from `next`, or leave it out.")


def _paging(
    limit: Annotated[int, Query(ge=1, le=MOST_ITEMS)] = USUAL_ITEMS,
    cursor: Annotated[str | None, Query(max_length=LONGEST_CURSOR)] = None,
) -> Paging:
    return Paging(limit, _after(cursor))


PagingAsked = Annotated[Paging, Depends(_paging)]


class FaultOut(Out):
    """One wrong value: where it stands (JSON Pointer), what is wrong, what would be right."""

    pointer: str
    message: str
    right: str


class Problem(BaseModel):
    """Problem details (RFC 9457)."""

    model_config = ConfigDict(extra="allow")

    type: str = "about:blank"
    title: str
    status: int
    detail: str
    code: str
    errors: list[FaultOut] = []
    near: list[str] = []


PROBLEMS: dict[int | str, dict[str, Any]] = {
    "4XX": {
        "description": "Refused; `code` says why, `errors` where.",
        "model": Problem,
        "content": {
            "application/problem+json": {"schema": {"$ref": "#/components/schemas/Problem"}}
        },
    }
}
