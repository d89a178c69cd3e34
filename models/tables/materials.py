"""What are packages made of: materials and their figures, lots, recalls, usual builds?

Figures are never overwritten: each correction is a new edition, and a layer
points to the edition that was known when it was fitted. Forecasts read the newest.
"""

from typing import NamedTuple

from sqlalchemy import CheckConstraint, Index
from sqlalchemy import select as columns
from sqlalchemy import text as sql
from sqlmodel import Session, col, select

from models.tables.base import (
    Record,
    day,
    edtf,
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
from models.vocabulary import Freeing, PatResult


class Material(Record, table=True):
    """A board, paper, tape, paste, film or glazing; what its label claims is kept as a claim."""

    __tablename__ = "material"
    __table_args__ = strict(Index("uq_material_name", "name", unique=True))

    id: int | None = key()
    name: str = text("name", longest=200)
    kind: str = text("kind", longest=50)
    claim: str = note("claim")
    caution: str = note("caution")
    note: str = note()
    version: int = version()


class MaterialFigures(Record, table=True):
    """One edition of what is known of a material.

    Reserve in percent CaCO3 by mass, kappa as in the pulp test, UV in percent
    blocked, sizes in micrometres. `basis` is JSON text: figure → what it rests on.
    """

    __tablename__ = "material_figures"
    __table_args__ = strict(
        Index("uq_material_figures_material_id_edition", "material_id", "edition", unique=True)
    )

    id: int | None = key()
    material_id: int = link("material.id", index=False)
    edition: int = whole("edition", 1, 10_000, default=1)
    grade: str | None = text("grade", longest=100, nullable=True)
    hold_grade: str | None = text("hold_grade", longest=100, nullable=True)
    frees_by: Freeing | None = word("frees_by", Freeing, nullable=True)
    ph: float | None = number("ph", 0, 14)
    alkaline_reserve_percent: float | None = number("alkaline_reserve_percent", 0, 100)
    kappa: float | None = number("kappa", 0, 200)
    pat: PatResult = word("pat", PatResult, default=PatResult.NOT_TESTED)
    pat_on: int | None = day("pat_on")
    buffered: str | None = text("buffered", longest=3, nullable=True)
    barrier: bool = flag()
    thickness_um: int | None = size_um("thickness_um")
    mass_g_per_m2: float | None = number("mass_g_per_m2", 0, 100_000)
    sheet_height_um: int | None = size_um("sheet_height_um")
    sheet_width_um: int | None = size_um("sheet_width_um")
    uv_block_percent: float | None = number("uv_block_percent", 0, 100)
    basis: str = note("basis")


class Lot(Record, table=True):
    """One delivery of a material; at most one lot of a material is the lot in use."""

    __tablename__ = "lot"
    __table_args__ = strict(
        Index("uq_lot_material_id_number", "material_id", "number", unique=True),
        Index(
            "uq_lot_in_use_material_id",
            "material_id",
            unique=True,
            sqlite_where=sql("in_use = 1"),
            postgresql_where=sql("in_use"),
        ),
    )

    id: int | None = key()
    material_id: int = link("material.id", index=False)
    number: str = text("number", longest=100)
    received_edtf: str | None = edtf("received_edtf", nullable=True)
    received_first: int | None = day("received_first")
    received_last: int | None = day("received_last")
    in_use: bool = flag()
    note: str = note()
    version: int = version()


class Recall(Record, table=True):
    """A material or one lot of it found bad; it may be lifted again, with a reason."""

    __tablename__ = "recall"
    __table_args__ = strict(
        CheckConstraint("(material_id IS NULL) <> (lot_id IS NULL)", name="one_target"),
        CheckConstraint("lifted_on IS NULL OR lifted_on >= called_on", name="order"),
    )

    id: int | None = key()
    material_id: int | None = link("material.id", nullable=True)
    lot_id: int | None = link("lot.id", nullable=True)
    called_on: int | None = day("called_on")
    reason: str = text("reason")
    lifted_on: int | None = day("lifted_on")
    lifted_reason: str = note("lifted_reason")


class HousePackage(Record, table=True):
    """A usual build of the house, in editions; `build` is JSON text in the shape of a mount."""

    __tablename__ = "house_package"
    __table_args__ = strict(
        Index("uq_house_package_name_edition", "name", "edition", unique=True),
        Index(
            "uq_house_package_current_name",
            "name",
            unique=True,
            sqlite_where=sql("ended = 0"),
            postgresql_where=sql("NOT ended"),
        ),
    )

    id: int | None = key()
    name: str = text("name", longest=100)
    edition: int = whole("edition", 1, 10_000, default=1)
    build: str = note("build")
    ended: bool = flag()


class MaterialRow(NamedTuple):
    """A material as the library shows it; what is known of it stands in its figures."""

    id: int
    version: int
    name: str
    kind: str
    claim: str
    caution: str
    note: str


def materials(session: Session) -> list[MaterialRow]:
    """Return every material, by name: as plain columns, for the whole library at once."""
    session.flush()
    return [MaterialRow._make(row) for row in session.connection().execute(_MATERIALS)]


_MATERIALS = columns(*(getattr(Material, name) for name in MaterialRow._fields)).order_by(
    col(Material.name)
)


def find_material_by_name(session: Session, name: str) -> Material | None:
    """Return the material of exactly this name."""
    return session.exec(select(Material).where(Material.name == name)).first()


class FiguresRow(NamedTuple):
    """An edition of figures as plain columns, as `MaterialFigures` has them."""

    material_id: int
    edition: int
    grade: str | None
    hold_grade: str | None
    frees_by: Freeing | None
    ph: float | None
    alkaline_reserve_percent: float | None
    kappa: float | None
    pat: PatResult
    pat_on: int | None
    buffered: str | None
    barrier: bool
    thickness_um: int | None
    mass_g_per_m2: float | None
    sheet_height_um: int | None
    sheet_width_um: int | None
    uv_block_percent: float | None
    basis: str


def newest_figures(session: Session) -> dict[int, FiguresRow]:
    """Return the newest edition of every material's figures, by material."""
    session.flush()
    editions = map(FiguresRow._make, session.connection().execute(_EDITIONS))
    return {figures.material_id: figures for figures in editions}


_EDITIONS = columns(*(getattr(MaterialFigures, name) for name in FiguresRow._fields)).order_by(
    col(MaterialFigures.edition)
)


def find_lot(session: Session, material_id: int, lot_number: str) -> Lot | None:
    """Return the lot of this number among the lots of a material."""
    return session.exec(
        select(Lot).where(Lot.material_id == material_id, Lot.number == lot_number)
    ).first()


def lots_in_use(session: Session) -> dict[int, Lot]:
    """Return the lot in use of each material that has one, by material."""
    return {lot.material_id: lot for lot in session.exec(select(Lot).where(col(Lot.in_use)))}


def open_recalls(session: Session) -> list[Recall]:
    """Return the recalls that nobody has lifted, oldest first."""
    return list(session.exec(_OPEN_RECALLS))


_OPEN_RECALLS = (
    select(Recall)
    .where(col(Recall.lifted_on).is_(None))
    .order_by(col(Recall.called_on), col(Recall.id))
)


def find_house_package(session: Session, name: str) -> HousePackage | None:
    """Return the current edition of a usual build."""
    current = select(HousePackage).where(HousePackage.name == name, ~col(HousePackage.ended))
    return session.exec(current).first()
