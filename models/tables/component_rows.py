"""What is kept of each work so that its dates can be worked out anew without its records?

Rows and a frame as `models.rules.packed_rows` lays them out, packed: a night reads
those of every work, a visit writes those of its own, and nobody searches in them.
"""

from sqlalchemy import CheckConstraint, Column, ForeignKey, LargeBinary, Text
from sqlmodel import Field

from models.tables.base import LONG_INTEGER, Derived, strict, whole

# Between the names of the layers: no text that people write can hold it.
BETWEEN_NAMES = "\x1f"
LONGEST_NAMES = 200_000


class ComponentRows(Derived, table=True):
    """The rows of one work. `form` says how they are packed."""

    __tablename__ = "component_rows"
    __table_args__ = strict()

    work_id: int = Field(
        sa_column=Column(LONG_INTEGER, ForeignKey("work.id"), primary_key=True, autoincrement=False)
    )
    form: int = whole("form", 1, 1_000_000, nullable=False)
    frame: bytes = Field(sa_column=Column(LargeBinary, nullable=False))
    packed_rows: bytes = Field(sa_column=Column(LargeBinary, nullable=False))
    names: str = Field(
        sa_column=Column(
            Text,
            CheckConstraint(f"length(names) <= {LONGEST_NAMES}", name="names"),
            nullable=False,
        )
    )
