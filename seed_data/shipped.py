"""What does every installation know from its first day, as it stands in the CSV files?

Read only: nothing here knows a database. Each file becomes a tuple of plain
rows whose fields are its columns; the type of a field says what a cell may
hold. An empty cell is something nobody knows, never zero. A cell that cannot be
right is refused with its file, its row as a spreadsheet counts it, and its column.
"""

import csv
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, fields
from enum import StrEnum
from functools import cache
from pathlib import Path
from types import UnionType
from typing import Literal, TypeVar, get_args, get_origin, get_type_hints

from models.errors import BadValue
from models.rules.default_figures import DefaultFigures, read_default_figures
from models.vocabulary import (
    FreedBy,
    Freeing,
    Mechanism,
    PatResult,
    ProcessGroup,
    Surface,
    UrgentSign,
)

HERE = Path(__file__).resolve().parent

# What a figure may rest on; each basis begins with one of these.
BASES = ("published source", "common practice, no source", "default of this project")

# Lowest and highest that a cell may say. Percent by mass of CaCO3, kappa number of
# the pulp test, millimetres, grams per square metre, percent of ultraviolet blocked.
RANGES: dict[str, tuple[float, float]] = {
    "ph": (0, 14),
    "alkaline_reserve_percent": (0, 100),
    "kappa": (0, 200),
    "thickness_mm": (0.001, 20_000),
    "mass_g_per_m2": (0, 100_000),
    "sheet_height_mm": (0.001, 20_000),
    "sheet_width_mm": (0.001, 20_000),
    "uv_block_percent": (0, 100),
    "light_class": (1, 8),
    "aat_id": (300_000_000, 399_999_999),
}

YesNo = Literal["yes", "no", ""]
Row = TypeVar("Row")
Cells = Mapping[str, str]


@dataclass(frozen=True, kw_only=True)
class ShippedMaterial:
    """A row of `materials.csv`: a material and the first edition of its figures."""

    name: str
    kind: str
    claim: str
    grade: str
    hold_grade: str
    frees_by: Freeing | None
    ph: float | None
    alkaline_reserve_percent: float | None
    kappa: float | None
    pat: PatResult
    buffered: YesNo
    barrier: bool
    thickness_mm: float | None
    mass_g_per_m2: float | None
    sheet_height_mm: float | None
    sheet_width_mm: float | None
    uv_block_percent: float | None
    basis: str
    caution: str
    note: str


@dataclass(frozen=True, kw_only=True)
class ShippedFindingTerm:
    """A row of `finding_terms.csv`."""

    term: str
    definition: str
    usual_cause: str
    suggests_mechanism: Mechanism | None
    shows_through_glazing: Literal["yes", "no", "part"]
    urgency: Literal["none", "watch", "soon", "does not wait"]
    urgent_sign: UrgentSign | None
    applies_to: Literal["paper", "photograph", "both"]
    aat_id: int | None
    caution: str


@dataclass(frozen=True, kw_only=True)
class ShippedTechnique:
    """A row of `techniques.csv`."""

    name: str
    technique_group: Literal[
        "print",
        "drawing",
        "painting on paper",
        "document",
        "photograph",
        "digital print",
        "not known",
    ]
    light_class: int | None
    light_basis: str
    surface: Surface
    process_group: ProcessGroup
    buffer_advice: Literal[
        "buffered is good", "either", "contested, unbuffered is cautious", "unbuffered"
    ]
    groundwood_support: bool
    note: str


@dataclass(frozen=True, kw_only=True)
class ShippedMountMethod:
    """A row of `mount_methods.csv`."""

    name: str
    definition: str
    needs_adhesive: Literal["yes", "no", "either"]
    default_hold_grade: str
    frees_by: Freeing
    floats: bool
    covers_all: bool
    hazard: str
    caution: str


@dataclass(frozen=True, kw_only=True)
class ShippedTreatmentTerm:
    """A row of `treatment_terms.csv`."""

    term: str
    definition: str
    removes_remains: bool
    asked_before: FreedBy | None
    caution: str


def read_materials(folder: Path = HERE) -> tuple[ShippedMaterial, ...]:
    """Return the materials. Raises BadValue for a cell, a grade or a basis that cannot be right."""
    rows = _read(folder / "materials.csv", ShippedMaterial)
    known = shipped_default_figures()
    layers = {
        *known.grades(Mechanism.ACID_MIGRATION),
        *known.grades(Mechanism.ADHESIVE_AGEING),
        "",
    }
    for row, material in enumerate(rows, start=2):
        where = f"materials.csv, row {row}"
        if material.grade not in layers:
            raise BadValue(f"{where}, column grade: {material.grade!r} is no row of the defaults.")
        _refuse_unknown_hold(material.hold_grade, f"{where}, column hold_grade")
        _refuse_baseless(material, f"{where}, column basis")
    return rows


def read_finding_terms(folder: Path = HERE) -> tuple[ShippedFindingTerm, ...]:
    """Return the words for damage. Raises BadValue for a cell that cannot be right."""
    return _read(folder / "finding_terms.csv", ShippedFindingTerm)


def read_techniques(folder: Path = HERE) -> tuple[ShippedTechnique, ...]:
    """Return the techniques. Raises BadValue for a cell that cannot be right."""
    return _read(folder / "techniques.csv", ShippedTechnique)


def read_mount_methods(folder: Path = HERE) -> tuple[ShippedMountMethod, ...]:
    """Return the ways to hold a work. Raises BadValue for a cell or grade that cannot be right."""
    rows = _read(folder / "mount_methods.csv", ShippedMountMethod)
    for row, method in enumerate(rows, start=2):
        where = f"mount_methods.csv, row {row}, column default_hold_grade"
        _refuse_unknown_hold(method.default_hold_grade, where)
    return rows


def read_treatment_terms(folder: Path = HERE) -> tuple[ShippedTreatmentTerm, ...]:
    """Return the words for treatments. Raises BadValue for a cell that cannot be right."""
    return _read(folder / "treatment_terms.csv", ShippedTreatmentTerm)


@cache
def shipped_default_figures() -> DefaultFigures:
    """Return the typical times to harm as they ship, whatever a keeper changed since."""
    with (HERE / "risk_defaults.csv").open(encoding="utf-8", newline="") as lines:
        return read_default_figures(csv.DictReader(lines))


def basis_by_figure(basis: str) -> dict[str, str]:
    """Return what each figure rests on, from `figure, figure: basis; figure: basis`."""
    told: dict[str, str] = {}
    for part in filter(None, (part.strip() for part in basis.split(";"))):
        figures, _, rests_on = part.partition(":")
        told |= {figure.strip(): rests_on.strip() for figure in figures.split(",")}
    return told


def figures_told(material: ShippedMaterial) -> tuple[str, ...]:
    """Return the figures that claim something and so need a basis."""
    names = [f.name for f in fields(material)]
    first, last = names.index("grade"), names.index("uv_block_percent")
    return tuple(name for name in names[first : last + 1] if _is_told(getattr(material, name)))


def _is_told(value: object) -> bool:
    """Say whether a figure claims something; a reserve of 0 does."""
    return value is not None and value is not False and value not in ("", PatResult.NOT_TESTED)


def _refuse_unknown_hold(grade: str, where: str) -> None:
    if grade and grade not in shipped_default_figures().grades(Mechanism.HOLD_FAILURE):
        raise BadValue(f"{where}: {grade!r} is no row of the defaults.")


def _refuse_baseless(material: ShippedMaterial, where: str) -> None:
    told = basis_by_figure(material.basis)
    figures = set(figures_told(material))
    if missing := sorted(figures - set(told)):
        raise BadValue(f"{where}: {', '.join(missing)} without a basis.")
    if idle := sorted(set(told) - figures):
        raise BadValue(f"{where}: a basis for {', '.join(idle)}, of which nothing is told.")
    for figure, rests_on in told.items():
        if not rests_on.startswith(BASES):
            raise BadValue(f"{where}: {figure} must rest on one of: {'; '.join(BASES)}.")


def _read(file: Path, kind: type[Row]) -> tuple[Row, ...]:
    """Return the rows of a file as this kind; its columns are the fields, in any order."""
    wanted = get_type_hints(kind)
    with file.open(encoding="utf-8", newline="") as lines:
        reader = csv.DictReader(lines, restval=None)
        _refuse_other_columns(file.name, reader.fieldnames or (), wanted)
        rows = tuple(kind(**cells) for cells in _cells(file.name, reader, wanted))
    _refuse_twins(file.name, rows, next(iter(wanted)))
    return rows


def _refuse_other_columns(file: str, there: Iterable[str], wanted: Mapping[str, object]) -> None:
    if missing := sorted(set(wanted) - set(there)):
        raise BadValue(f"{file}, row 1: the column {missing[0]} is missing.")
    if strange := sorted(set(there) - set(wanted)):
        raise BadValue(f"{file}, row 1: there is no column {strange[0]}.")


def _cells(
    file: str, rows: Iterable[dict[str, str]], wanted: Mapping[str, object]
) -> Iterator[dict[str, object]]:
    for row, cells in enumerate(rows, start=2):
        if len(cells) != len(wanted) or None in cells.values():
            raise BadValue(f"{file}, row {row}: it needs {len(wanted)} cells, as row 1 has.")
        yield {
            column: _value(column, cells[column].strip(), kind, f"{file}, row {row}")
            for column, kind in wanted.items()
        }


def _refuse_twins(file: str, rows: Iterable[object], column: str) -> None:
    first_seen: dict[str, int] = {}
    for row, shipped in enumerate(rows, start=2):
        name = str(getattr(shipped, column))
        before = first_seen.setdefault(name.casefold(), row)
        if before != row:
            raise BadValue(f"{file}, row {row}, column {column}: {name!r} is in row {before} too.")
        if not name:
            raise BadValue(f"{file}, row {row}, column {column}: the name is missing.")


def _value(column: str, cell: str, kind: object, where: str) -> object:
    """Return the cell as its type. Raises BadValue with what would be right."""
    kinds = get_args(kind) if isinstance(kind, UnionType) else (kind,)
    if not cell and type(None) in kinds:
        return None
    try:
        return _as_kind(column, cell, kinds[0])
    except ValueError as error:
        raise BadValue(f"{where}, column {column}: {cell!r} is {error}.") from None


def _as_kind(column: str, cell: str, kind: object) -> object:
    if kind is bool:
        return _one_of(cell, ("yes", "no")) == "yes"
    if get_origin(kind) is Literal:
        return _one_of(cell, get_args(kind))
    if isinstance(kind, type) and issubclass(kind, StrEnum):
        return kind(_one_of(cell, tuple(kind)))
    if kind is float or kind is int:
        return _number(column, cell, whole=kind is int)
    return cell


def _one_of(cell: str, words: tuple[str, ...]) -> str:
    if cell not in words:
        raise ValueError(f"none of: {', '.join(word or '(empty)' for word in words)}")
    return cell


def _number(column: str, cell: str, *, whole: bool) -> float | int:
    lowest, highest = RANGES[column]
    try:
        number = int(cell) if whole else float(cell)
    except ValueError:
        raise ValueError("no whole number" if whole else "no number") from None
    if not lowest <= number <= highest:
        raise ValueError(f"not between {lowest:g} and {highest:g}")
    return number
