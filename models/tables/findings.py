"""What damage is there on a work, where, and what was it seen to be at each visit?

A finding keeps its identity from visit to visit; a sighting is dated by its visit.
"""

from sqlalchemy import CheckConstraint, Index

from models.tables.base import (
    Record,
    flag,
    key,
    link,
    note,
    number,
    size_um,
    strict,
    text,
    version,
    whole,
    word,
)
from models.vocabulary import CauseMount, Change, Edge, Mechanism, Severity, Side


class Finding(Record, table=True):
    """One damage: its term, its side, and its reach along an edge or its region on the sheet."""

    __tablename__ = "finding"
    __table_args__ = strict(
        Index("uq_finding_work_id_finding_no", "work_id", "finding_no", unique=True),
        CheckConstraint("(edge IS NULL) = (reach_um IS NULL)", name="reach_whole"),
        CheckConstraint(
            "(region_left_um IS NULL) = (region_top_um IS NULL)"
            " AND (region_left_um IS NULL) = (region_width_um IS NULL)"
            " AND (region_left_um IS NULL) = (region_height_um IS NULL)",
            name="region_whole",
        ),
    )

    id: int | None = key()
    work_id: int = link("work.id", index=False)
    finding_no: int = whole("finding_no", 1, 100_000, nullable=False, default=1)
    term_id: int = link("finding_term.id")
    side: Side = word("side", Side, default=Side.RECTO)
    edge: Edge | None = word("edge", Edge, nullable=True)
    reach_um: int | None = size_um("reach_um", lowest=0)
    follows_window_edge: bool = flag()
    region_left_um: int | None = size_um("region_left_um", lowest=0)
    region_top_um: int | None = size_um("region_top_um", lowest=0)
    region_width_um: int | None = size_um("region_width_um")
    region_height_um: int | None = size_um("region_height_um")
    cause_mechanism: Mechanism | None = word("cause_mechanism", Mechanism, nullable=True)
    cause_mount: CauseMount | None = word("cause_mount", CauseMount, nullable=True)
    cause_mount_id: int | None = link("mount.id", nullable=True)
    withdrawn_reason: str | None = text("withdrawn_reason", nullable=True)
    version: int = version()


class Sighting(Record, table=True):
    """What a finding was seen to be at one visit; extent in percent of the sheet."""

    __tablename__ = "sighting"
    __table_args__ = strict(
        Index("uq_sighting_finding_id_visit_id", "finding_id", "visit_id", unique=True)
    )

    id: int | None = key()
    finding_id: int = link("finding.id", index=False)
    visit_id: int = link("visit.id")
    severity: Severity | None = word("severity", Severity, nullable=True)
    change: Change = word("change", Change)
    extent_percent: float | None = number("extent_percent", 0, 100)
    reach_um: int | None = size_um("reach_um", lowest=0)
    note: str = note()
    withdrawn_reason: str | None = text("withdrawn_reason", nullable=True)
    version: int = version()


class ColourReading(Record, table=True):
    """An instrument reading of one spot in CIE L*a*b*; the spot `clean paper` is the reference."""

    __tablename__ = "colour_reading"

    id: int | None = key()
    sighting_id: int = link("sighting.id")
    spot: str = text("spot", longest=100)
    lab_l: float = number("lab_l", 0, 100, nullable=False)
    lab_a: float = number("lab_a", -200, 200, nullable=False)
    lab_b: float = number("lab_b", -200, 200, nullable=False)
