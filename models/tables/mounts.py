"""How are works held, in what package, and what did earlier mounts leave on them?

Order is `mount_no` and `position`, never a date: people know dates by halves.
A missing end date can mean both "still there" and "gone, nobody knows when"; so
`ended` is said apart.
"""

from sqlalchemy import CheckConstraint, Index
from sqlalchemy import text as sql

from models.tables.base import (
    LONGEST_NOTE,
    Record,
    day,
    edtf,
    flag,
    key,
    link,
    note,
    size_um,
    strict,
    text,
    version,
    whole,
    word,
)
from models.vocabulary import (
    Answer,
    Distance,
    FreedBy,
    Freeing,
    Kept,
    KnownBy,
    LayerRole,
    LayerSide,
    Outcome,
)

# 40 windows, each with its sizes, its place and what it shows.
LONGEST_WINDOWS = 12_000
CURRENT_SQLITE = sql("ended = 0 AND withdrawn_reason IS NULL")
CURRENT_POSTGRESQL = sql("NOT ended AND withdrawn_reason IS NULL")


class Package(Record, table=True):
    """The assembly that holds one work or several; says what is in front and behind."""

    __tablename__ = "package"

    id: int | None = key()
    in_front: Answer = word("in_front", Answer, default=Answer.UNKNOWN)
    behind: Answer = word("behind", Answer, default=Answer.UNKNOWN)
    note: str = note()
    version: int = version()


class Layer(Record, table=True):
    """One layer of a package, with the days it was fitted and removed; the work is one of them.

    `windows`: of a mat, as models/rules/mat_windows.py keeps them; None where nobody said.
    """

    __tablename__ = "layer"
    __table_args__ = strict(
        Index("ix_layer_package_id_position", "package_id", "position"),
        Index(
            "uq_layer_current_package_id_position",
            "package_id",
            "position",
            unique=True,
            sqlite_where=CURRENT_SQLITE,
            postgresql_where=CURRENT_POSTGRESQL,
        ),
        CheckConstraint("ended OR removed_edtf IS NULL", name="ended"),
    )

    id: int | None = key()
    package_id: int = link("package.id", index=False)
    position: int = whole("position", 0, 1_000_000, nullable=False, default=0)
    role: LayerRole = word("role", LayerRole)
    side: LayerSide | None = word("side", LayerSide, nullable=True)
    distance: Distance | None = word("distance", Distance, nullable=True)
    material_id: int | None = link("material.id", nullable=True)
    figures_id: int | None = link("material_figures.id", nullable=True)
    lot_id: int | None = link("lot.id", nullable=True)
    grade: str | None = text("grade", longest=100, nullable=True)
    known_by: KnownBy | None = word("known_by", KnownBy, nullable=True)
    covers_all: bool = flag()
    fitted_edtf: str | None = edtf("fitted_edtf", nullable=True)
    fitted_first: int | None = day("fitted_first")
    fitted_last: int | None = day("fitted_last")
    fitted_visit_id: int | None = link("visit.id", nullable=True)
    ended: bool = flag()
    removed_edtf: str | None = edtf("removed_edtf", nullable=True)
    removed_first: int | None = day("removed_first")
    removed_last: int | None = day("removed_last")
    removed_visit_id: int | None = link("visit.id", nullable=True)
    condition: str = note("condition")
    kept: Kept | None = word("kept", Kept, nullable=True)
    belongs_to_work: bool = flag()
    windows: str | None = text("windows", longest=LONGEST_WINDOWS, nullable=True)
    note: str = note()
    withdrawn_reason: str | None = text("withdrawn_reason", nullable=True)
    version: int = version()


class Mount(Record, table=True):
    """How and from when to when one work was held in a package."""

    __tablename__ = "mount"
    __table_args__ = strict(
        Index("uq_mount_work_id_mount_no", "work_id", "mount_no", unique=True),
        Index(
            "uq_mount_current_work_id",
            "work_id",
            unique=True,
            sqlite_where=CURRENT_SQLITE,
            postgresql_where=CURRENT_POSTGRESQL,
        ),
        CheckConstraint("ended OR dismounted_edtf IS NULL", name="ended"),
    )

    id: int | None = key()
    work_id: int = link("work.id", index=False)
    package_id: int = link("package.id")
    mount_no: int = whole("mount_no", 1, 100_000, nullable=False, default=1)
    method_id: int | None = link("mount_method.id", nullable=True)
    held: Answer = word("held", Answer, default=Answer.UNKNOWN)
    reason: str = note("reason")
    mounted_edtf: str | None = edtf("mounted_edtf", nullable=True)
    mounted_first: int | None = day("mounted_first")
    mounted_last: int | None = day("mounted_last")
    mounted_assumed: bool = flag()
    mounted_by_id: int | None = link("person.id", nullable=True)
    mounted_visit_id: int | None = link("visit.id", nullable=True)
    found_visit_id: int | None = link("visit.id", nullable=True)
    ended: bool = flag()
    dismounted_edtf: str | None = edtf("dismounted_edtf", nullable=True)
    dismounted_first: int | None = day("dismounted_first")
    dismounted_last: int | None = day("dismounted_last")
    dismounted_by_id: int | None = link("person.id", nullable=True)
    dismounted_visit_id: int | None = link("visit.id", nullable=True)
    dismount_reason: str = note("dismount_reason")
    harm_at_dismount: str = note("harm_at_dismount")
    inferred: bool = flag()
    by_unknown_hand: bool = flag()
    note: str = note()
    withdrawn_reason: str | None = text("withdrawn_reason", nullable=True)
    version: int = version()


class Hold(Record, table=True):
    """Hinges, pockets, strips or an adhesive of a mount, and how they came off."""

    __tablename__ = "hold"
    __table_args__ = strict(Index("uq_hold_mount_id_hold_no", "mount_id", "hold_no", unique=True))

    id: int | None = key()
    mount_id: int = link("mount.id", index=False)
    hold_no: int = whole("hold_no", 1, 10_000, nullable=False, default=1)
    material_id: int | None = link("material.id", nullable=True)
    figures_id: int | None = link("material_figures.id", nullable=True)
    lot_id: int | None = link("lot.id", nullable=True)
    grade: str = text("grade", longest=100)
    adhesive_grade: str | None = text("adhesive_grade", longest=100, nullable=True)
    known_by: KnownBy | None = word("known_by", KnownBy, nullable=True)
    position: str = note("position")
    hold_count: int | None = whole("hold_count", 1, 1000)
    clearance_um: int | None = size_um("clearance_um", lowest=0)
    covers_all: bool = flag()
    since_edtf: str | None = edtf("since_edtf", nullable=True)
    since_first: int | None = day("since_first")
    since_last: int | None = day("since_last")
    freed_by: FreedBy | None = word("freed_by", FreedBy, nullable=True)
    outcome: Outcome | None = word("outcome", Outcome, nullable=True)
    residue: str = note("residue")
    # At which visit it came off, or was tried and left.
    outcome_visit_id: int | None = link("visit.id", nullable=True)
    note: str = note()
    withdrawn_reason: str | None = text("withdrawn_reason", nullable=True)
    version: int = version()


class Remain(Record, table=True):
    """A stub, tape or residue left on a work: it goes on acting until a treatment removes it."""

    __tablename__ = "remain"
    __table_args__ = strict(
        Index(
            "ix_remain_current_work_id",
            "work_id",
            sqlite_where=CURRENT_SQLITE,
            postgresql_where=CURRENT_POSTGRESQL,
        ),
    )

    id: int | None = key()
    work_id: int = link("work.id")
    hold_id: int | None = link("hold.id", nullable=True)
    what: str = text("what", longest=LONGEST_NOTE)
    grade: str | None = text("grade", longest=100, nullable=True)
    frees_by: Freeing | None = word("frees_by", Freeing, nullable=True)
    covers_all: bool = flag()
    since_edtf: str | None = edtf("since_edtf", nullable=True)
    since_first: int | None = day("since_first")
    since_last: int | None = day("since_last")
    left_visit_id: int | None = link("visit.id", nullable=True)
    ended: bool = flag()
    removed_visit_id: int | None = link("visit.id", nullable=True)
    withdrawn_reason: str | None = text("withdrawn_reason", nullable=True)
    version: int = version()
