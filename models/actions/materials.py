"""What are packages made of, on what does each figure rest, and where is it used?

What a label claims is kept as a claim; a grade is a row of the risk defaults.
Figures are never overwritten: a correction is a new edition, and a layer keeps
the edition that was known when it was fitted. A figure that changes loses what
the old one rested on, unless it is told anew.
"""

import json
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, fields
from datetime import date
from enum import StrEnum

from sqlmodel import Session, col, select

from models.actions.named_records import refuse_taken_name
from models.actions.record_changes import (
    flush_unless_taken,
    key_of,
    lock,
    merged,
    refuse_stale,
    write,
)
from models.actions.renewal import refresh_or_mark
from models.errors import BadValue, Fault, NotFound, RuleBroken, UnknownWord
from models.rules.calendar_days import day_date, day_number
from models.rules.default_figures import DefaultFigures
from models.rules.material_kinds import grade_of_kind
from models.rules.near_words import near_words
from models.rules.permissions import Deed, require
from models.rules.record_values import (
    Faults,
    Millimetres,
    a_line,
    a_name,
    a_note,
    between,
    exact_um,
    size_mm,
    yes_or_no,
)
from models.rules.search_words import words_of
from models.tables.material_uses import Target, Use, UseKey, keys_of_works_using, uses_page
from models.tables.materials import (
    FiguresRow,
    Material,
    MaterialFigures,
    MaterialRow,
    lots_in_use,
    materials,
    newest_figures,
    open_recalls,
)
from models.tables.visible import Viewer
from models.vocabulary import Freeing, Mechanism, PatResult

LONGEST_MATERIAL_NAME, LONGEST_KIND = 200, 50

# Lowest, highest, unit: reserve in percent CaCO3 by mass, kappa number of the pulp test.
LIMITS = {
    "ph": (0, 14, "pH"),
    "alkaline_reserve_percent": (0, 100, "%"),
    "kappa": (0, 200, "kappa"),
    "mass_g_per_m2": (0, 100_000, "g/m2"),
    "uv_block_percent": (0, 100, "%"),
}
SIZES = ("thickness", "sheet_height", "sheet_width")
# What a library is asked for where a material has no grade at all.
NOT_KNOWN = "not known"
_YES_OR_NO = {True: "yes", False: "no", None: None}


@dataclass(frozen=True, kw_only=True)
class MaterialTold:
    """A material as told, without its figures."""

    name: str
    kind: str
    claim: str = ""
    caution: str = ""
    note: str = ""


@dataclass(frozen=True, kw_only=True)
class FiguresTold:
    """What is known of a material; `basis` says of each figure what it rests on."""

    grade: str | None = None
    hold_grade: str | None = None
    frees_by: Freeing | None = None
    ph: float | None = None
    alkaline_reserve_percent: float | None = None
    kappa: float | None = None
    pat: PatResult = PatResult.NOT_TESTED
    pat_on: str | None = None
    buffered: bool | None = None
    barrier: bool = False
    thickness_mm: Millimetres | None = None
    mass_g_per_m2: float | None = None
    sheet_height_mm: Millimetres | None = None
    sheet_width_mm: Millimetres | None = None
    uv_block_percent: float | None = None
    basis: Mapping[str, str] | None = None


FIGURES = tuple(f.name for f in fields(FiguresTold) if f.name != "basis")


class LotState(StrEnum):
    """What is known of the stock of a material: no amounts are recorded, only what is in use."""

    IN_USE = "a lot is in use"
    NONE_IN_USE = "no lot is in use"


@dataclass(frozen=True, kw_only=True)
class MaterialOnRecord:
    """A material as it is shown, with its newest figures."""

    id: int
    version: int
    told: MaterialTold
    edition: int
    figures: FiguresTold
    is_recalled: bool
    # The number of the lot in use; of one material alone nobody asks for it.
    lot_in_use: str = ""

    @property
    def grades(self) -> tuple[str, ...]:
        """Return the grades it is of, as a layer and as a hold; `NOT_KNOWN` where nobody knows."""
        told = (self.figures.grade, self.figures.hold_grade)
        return tuple(grade for grade in told if grade) or (NOT_KNOWN,)

    @property
    def lot_state(self) -> LotState:
        """Say whether a lot of it is in use."""
        return LotState.IN_USE if self.lot_in_use else LotState.NONE_IN_USE


@dataclass(frozen=True, kw_only=True)
class MaterialsAsked:
    """What the library is narrowed to, and the name it goes on after."""

    q: str = ""
    kind: str | None = None
    grade: str | None = None
    lot: LotState | None = None
    limit: int = 50
    after: str | None = None


@dataclass(frozen=True, kw_only=True)
class _Library:
    figures: Mapping[int, MaterialFigures | FiguresRow]
    recalled: frozenset[int] = field(default_factory=frozenset)
    lots: Mapping[int, str] = field(default_factory=dict)


def add_material(
    session: Session,
    viewer: Viewer,
    told: MaterialTold,
    figures: FiguresTold,
    *,
    defaults: DefaultFigures,
) -> MaterialOnRecord:
    """Add a material with the first edition of its figures.

    Raises BadValue, UnknownWord (`unknown_grade`), RuleBroken (`name_taken`).
    """
    require(viewer.role, Deed.KEEP_MATERIALS)
    faults = Faults()
    columns = _columns(faults, told)
    known = _figure_columns(faults, figures, defaults, within="/figures")
    faults.refuse()
    refuse_taken_name(session, Material, told.name.strip(), kind="material")
    material = Material(name="", kind="")
    write(material, columns)
    session.add(material)
    _flush(session, material)
    _add_edition(session, key_of(material), 1, _graded(material.kind, known))
    return read_material(session, viewer, key_of(material))


def change_material(
    session: Session,
    viewer: Viewer,
    material_id: int,
    changes: Mapping[str, object],
    *,
    based_on: int,
    today: int,
) -> MaterialOnRecord:
    """Change the name, kind, claim, caution or note of a material; not its figures.

    Works that are in it name it, in their forecasts too.
    Raises NotFound, Stale, BadValue, RuleBroken (`name_taken`).
    """
    require(viewer.role, Deed.KEEP_MATERIALS)
    material = lock(session, Material, material_id, "material")
    kept = read_material(session, viewer, material_id)
    refuse_stale(material, based_on, theirs=kept)
    faults = Faults()
    columns = _columns(faults, merged(kept.told, changes))
    faults.refuse()
    write(material, columns)
    refuse_taken_name(session, Material, material.name, kind="material", besides=material_id)
    _flush(session, material)
    if (material.name, material.kind) != (kept.told.name, kept.told.kind):
        works = keys_of_works_using(session, viewer, Target(material_id))
        refresh_or_mark(session, works, today=today)
    return read_material(session, viewer, material_id)


def correct_figures(
    session: Session,
    viewer: Viewer,
    material_id: int,
    changes: Mapping[str, object],
    *,
    defaults: DefaultFigures,
    today: int,
) -> MaterialOnRecord:
    """Add an edition that differs from the newest in these figures, and in nothing else.

    Raises NotFound, BadValue, UnknownWord (`unknown_grade`).
    """
    require(viewer.role, Deed.KEEP_MATERIALS)
    lock(session, Material, material_id, "material")
    kept = read_material(session, viewer, material_id)
    told = merged(kept.figures, {**changes, "basis": _basis_after(kept.figures, changes)})
    faults = Faults()
    columns = _figure_columns(faults, told, defaults)
    faults.refuse()
    kind = session.get_one(Material, material_id).kind
    _add_edition(session, material_id, kept.edition + 1, _graded(kind, columns))
    works = keys_of_works_using(session, viewer, Target(material_id))
    refresh_or_mark(session, works, today=today)
    return read_material(session, viewer, material_id)


def read_material(session: Session, viewer: Viewer, material_id: int) -> MaterialOnRecord:
    """Return one material with its newest figures. Raises NotFound."""
    require(viewer.role, Deed.READ)
    material = session.get(Material, material_id)
    if material is None:
        raise NotFound("material", material_id)
    newest = select(MaterialFigures).where(MaterialFigures.material_id == material_id)
    figures = session.exec(newest.order_by(col(MaterialFigures.edition).desc())).first()
    known = {} if figures is None else {material_id: figures}
    return _shown(material, _Library(figures=known, recalled=_recalled(session)))


def list_editions(
    session: Session, viewer: Viewer, material_id: int
) -> list[tuple[int, FiguresTold]]:
    """Return every edition of the figures of a material, oldest first. Raises NotFound."""
    require(viewer.role, Deed.READ)
    if session.get(Material, material_id) is None:
        raise NotFound("material", material_id)
    editions = select(MaterialFigures).where(MaterialFigures.material_id == material_id)
    rows = session.exec(editions.order_by(col(MaterialFigures.edition)))
    return [(row.edition, figures_as_told(row)) for row in rows]


def list_materials(
    session: Session, viewer: Viewer, asked: MaterialsAsked
) -> tuple[list[MaterialOnRecord], str | None]:
    """Return a page of the library by name, and the name to go on after, if there are more."""
    wanted = [one for one in whole_library(session, viewer) if is_asked(one, asked)]
    return page_of_library(wanted, asked)


def whole_library(session: Session, viewer: Viewer) -> list[MaterialOnRecord]:
    """Return every material, by name. Four statements."""
    require(viewer.role, Deed.READ)
    library = _Library(
        figures=newest_figures(session),
        recalled=_recalled(session),
        lots={key: lot.number for key, lot in lots_in_use(session).items()},
    )
    shown = [_shown(material, library) for material in materials(session)]
    # Sorted here, for the two databases sort names by different alphabets.
    return sorted(shown, key=lambda one: one.told.name)


def is_asked(material: MaterialOnRecord, asked: MaterialsAsked) -> bool:
    """Say whether a material answers to what the library is narrowed to."""
    if asked.kind is not None and material.told.kind != asked.kind:
        return False
    if asked.grade is not None and asked.grade not in material.grades:
        return False
    if asked.lot is not None and material.lot_state is not asked.lot:
        return False
    words = words_of(material.told.name)
    return all(any(w.startswith(q) for w in words) for q in words_of(asked.q))


def page_of_library(
    wanted: Sequence[MaterialOnRecord], asked: MaterialsAsked
) -> tuple[list[MaterialOnRecord], str | None]:
    """Return the page of these that is asked for, and the name it goes on after."""
    rest = [one for one in wanted if asked.after is None or one.told.name > asked.after]
    shown = rest[: asked.limit]
    return shown, shown[-1].told.name if len(rest) > asked.limit else None


def uses_of_material(
    session: Session,
    viewer: Viewer,
    material_id: int,
    *,
    limit: int = 50,
    after: UseKey | None = None,
) -> tuple[list[Use], UseKey | None]:
    """Return a page of the uses of a material on visible works, and where it goes on.

    Raises NotFound.
    """
    require(viewer.role, Deed.READ)
    if session.get(Material, material_id) is None:
        raise NotFound("material", material_id)
    return page_of_uses(session, viewer, Target(material_id), limit=limit, after=after)


def page_of_uses(
    session: Session, viewer: Viewer, target: Target, *, limit: int, after: UseKey | None
) -> tuple[list[Use], UseKey | None]:
    """Return a page of the uses of a material or a lot, and where it goes on."""
    rows = uses_page(session, viewer, target, limit=limit + 1, after=after)
    shown = rows[:limit]
    if len(rows) <= limit:
        return shown, None
    last = shown[-1]
    return shown, (last.work_number, last.kind, last.row_id)


def figures_as_told(row: MaterialFigures | FiguresRow) -> FiguresTold:
    """Return an edition of figures as somebody would tell it."""
    return FiguresTold(
        grade=row.grade,
        hold_grade=row.hold_grade,
        frees_by=row.frees_by,
        ph=row.ph,
        alkaline_reserve_percent=row.alkaline_reserve_percent,
        kappa=row.kappa,
        pat=row.pat,
        pat_on=None if row.pat_on is None else day_date(row.pat_on).isoformat(),
        buffered=yes_or_no(row.buffered),
        barrier=row.barrier,
        thickness_mm=size_mm(row.thickness_um),
        mass_g_per_m2=row.mass_g_per_m2,
        sheet_height_mm=size_mm(row.sheet_height_um),
        sheet_width_mm=size_mm(row.sheet_width_um),
        uv_block_percent=row.uv_block_percent,
        basis=json.loads(row.basis) if row.basis else {},
    )


def _columns(faults: Faults, told: MaterialTold) -> dict[str, object]:
    return {
        "name": faults.read("/name", a_name("name", LONGEST_MATERIAL_NAME), told.name),
        "kind": faults.read("/kind", a_name("kind", LONGEST_KIND), told.kind),
        "claim": faults.read("/claim", a_line("claim"), told.claim),
        "caution": faults.read("/caution", a_note, told.caution),
        "note": faults.read("/note", a_note, told.note),
    }


def _figure_columns(
    faults: Faults, told: FiguresTold, defaults: DefaultFigures, *, within: str = ""
) -> dict[str, object]:
    layer = (
        *defaults.grades(Mechanism.ACID_MIGRATION),
        *defaults.grades(Mechanism.ADHESIVE_AGEING),
    )
    hold = defaults.grades(Mechanism.HOLD_FAILURE)
    columns: dict[str, object] = {
        "grade": faults.read_if_given(f"{within}/grade", _one_of(layer), told.grade),
        "hold_grade": faults.read_if_given(f"{within}/hold_grade", _one_of(hold), told.hold_grade),
        "frees_by": told.frees_by,
        "pat": told.pat,
        "pat_on": faults.read_if_given(f"{within}/pat_on", _a_day, told.pat_on),
        "buffered": _YES_OR_NO[told.buffered],
        "barrier": told.barrier,
        "basis": faults.read(f"{within}/basis", _a_basis, told.basis or {}),
    }
    for name, (lowest, highest, unit) in LIMITS.items():
        check = between(lowest, highest, unit)
        columns[name] = faults.read_if_given(f"{within}/{name}", check, getattr(told, name))
    for name in SIZES:
        mm = getattr(told, f"{name}_mm")
        columns[f"{name}_um"] = faults.read_if_given(f"{within}/{name}_mm", exact_um, mm)
    return columns


def _graded(kind: str, columns: dict[str, object]) -> dict[str, object]:
    """Return the figures with what stands in for a grade that nobody knows."""
    grade, hold_grade = columns["grade"], columns["hold_grade"]
    stands = grade_of_kind(
        kind,
        grade=None if grade is None else str(grade),
        hold_grade=None if hold_grade is None else str(hold_grade),
        is_barrier=bool(columns["barrier"]),
    )
    return {**columns, "grade": stands}


def _one_of(grades: tuple[str, ...]) -> Callable[[str], str]:
    """Return a check that a grade is a row of the risk defaults."""

    def check(grade: str) -> str:
        if grade not in grades:
            raise UnknownWord("grade", grade, near_words(grade, grades))
        return grade

    return check


def _a_day(text: str) -> int:
    try:
        return day_number(date.fromisoformat(text))
    except ValueError:
        raise BadValue(f"{text!r} is not a day; write 2026-11-20.") from None


def _a_basis(basis: Mapping[str, str]) -> str:
    strange = [name for name in basis if name not in FIGURES]
    if strange:
        faults = [Fault(f"/{name}", f"There is no figure called {name!r}.") for name in strange]
        raise BadValue(faults[0].message, faults)
    text = json.dumps(dict(basis), sort_keys=True, ensure_ascii=False) if basis else ""
    return a_note(text)


def _basis_after(kept: FiguresTold, changes: Mapping[str, object]) -> dict[str, str]:
    changed = {name for name in changes if name in FIGURES}
    still = {name: on for name, on in (kept.basis or {}).items() if name not in changed}
    told = changes.get("basis")
    return {**still, **told} if isinstance(told, Mapping) else still


def _add_edition(
    session: Session, material_id: int, edition: int, columns: Mapping[str, object]
) -> None:
    row = MaterialFigures(material_id=material_id, edition=edition)
    write(row, columns)
    session.add(row)
    session.flush()


def _flush(session: Session, material: Material) -> None:
    taken = RuleBroken(f"The material {material.name!r} is on record already.", "name_taken")
    flush_unless_taken(session, "uq_material_name", taken)


def _recalled(session: Session) -> frozenset[int]:
    found = (recall.material_id for recall in open_recalls(session))
    return frozenset(key for key in found if key is not None)


def _shown(material: Material | MaterialRow, library: _Library) -> MaterialOnRecord:
    key = material.id if isinstance(material, MaterialRow) else key_of(material)
    figures = library.figures.get(key)
    return MaterialOnRecord(
        id=key,
        version=material.version,
        told=MaterialTold(
            name=material.name,
            kind=material.kind,
            claim=material.claim,
            caution=material.caution,
            note=material.note,
        ),
        edition=0 if figures is None else figures.edition,
        figures=FiguresTold() if figures is None else figures_as_told(figures),
        is_recalled=key in library.recalled,
        lot_in_use=library.lots.get(key, ""),
    )
