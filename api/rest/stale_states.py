"""How does a program see what somebody quicker left?

A stale change is refused with the stored state beside the reason, in the same
shape in which the record is read.
"""

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Any

from pydantic import BaseModel

from models.errors import Stale


@contextmanager
def shown_when_stale(out: Callable[[Any], BaseModel]) -> Iterator[None]:
    """Put the stored state into the shape that `out` gives it."""
    try:
        yield
    except Stale as stale:
        theirs = None if stale.theirs is None else out(stale.theirs).model_dump(mode="json")
        raise Stale(stale.message, theirs=theirs) from None
