"""Which number can stand in the path of a page? What is out of bounds is not on record."""

from typing import Annotated

from fastapi import Path

LARGEST = 2**31 - 1

PathId = Annotated[int, Path(ge=1, le=LARGEST)]
