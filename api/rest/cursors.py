"""Was this cursor given by this list?

A cursor carries the key of the last row that was shown. One that another list
gave has a key of another kind and is refused, before a database sees it.
"""

from collections.abc import Sequence

from api.rest.shapes import BadCursor, Item, Page, Paging, cursor_of


def after_text(paging: Paging) -> str | None:
    """Return the text that a list goes on after. Raises BadCursor for another list's."""
    match paging.after:
        case None:
            return None
        case (str() as text,):
            return text
        case _:
            raise BadCursor()


def after_number(paging: Paging) -> int | None:
    """Return the number that a list goes on after. Raises BadCursor for another list's."""
    match paging.after:
        case None:
            return None
        case (int() as number,):
            return number
        case _:
            raise BadCursor()


def after_use(paging: Paging) -> tuple[str, str, int] | None:
    """Return the use that a list goes on after. Raises BadCursor for another list's."""
    match paging.after:
        case None:
            return None
        case (str() as work_number, str() as kind, int() as row_id):
            return work_number, kind, row_id
        case _:
            raise BadCursor()


def page_of(items: Sequence[Item], next_key: tuple[str | int, ...] | None) -> Page[Item]:
    """Return a page whose finder said where it goes on."""
    return Page(items=list(items), next=None if next_key is None else cursor_of(next_key))
