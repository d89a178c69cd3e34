"""How does the package that holds a work now stand on its page?

Front to back with the work among its layers, each with its material, how anybody
knows it, how near it lies, since when, and the verdict with its reason; then what
holds the work, then what earlier mounts left on it.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from functools import cached_property, partial

from api.pages.dates_said import date_said
from api.pages.package_drawing import PackageDrawing, package_drawing
from api.template_filters import day, mm
from models.actions.grade_decisions import likelier_grades
from models.actions.work_records import WorkRecords, package_now
from models.rules.board_ladder import LikelierGrade
from models.rules.distance_from_work import PlacedLayer, place_layers
from models.rules.mat_windows import HAS_WINDOWS, read_windows, windows_said
from models.rules.package_facts import Key
from models.rules.package_verdict import HOLD, REMAINS, LayerVerdict, PackageVerdict
from models.rules.three_questions import NOT_RECORDED, with_blanks_filled
from models.tables.case_rows import HoldRow, LayerRow, MountRow
from models.vocabulary import Answer, LayerSide

THE_WORK = "the work"


@dataclass(frozen=True)
class PartShown:
    """A layer, a hold or a remain; the work itself has no verdict.

    `likelier` says what its bench tests make of an unknown board, `decided` what was made.
    `windows` says what is told of the windows of a mat, None of what has none.
    """

    role: str
    material: str
    grade: str = ""
    lot: str = ""
    known_by: str = ""
    distance: str = ""
    since: str = ""
    verdict: str = ""
    why: str = ""
    remarks: tuple[str, ...] = ()
    belongs_to_work: bool = False
    is_recalled: bool = False
    note: str = ""
    layer_id: int = 0
    likelier: str = ""
    likelier_grade: str = ""
    decided: str = ""
    windows: str | None = None


@dataclass(frozen=True)
class PackageShown:
    """The package now; `mount` is None for a work that is in none on record."""

    method: str
    since: str
    by: str
    is_on_record: bool
    layers: tuple[PartShown, ...]
    holds: tuple[PartShown, ...]
    held: str
    remains: tuple[PartShown, ...]
    draw: Callable[[], PackageDrawing]

    @cached_property
    def drawing(self) -> PackageDrawing:
        """The drawing; a sheet of words alone never asks for it."""
        return self.draw()


def package_shown(
    records: WorkRecords,
    verdict: PackageVerdict,
    *,
    name: str = "package-now",
    rows: Mapping[str, str] | None = None,
) -> PackageShown:
    """Return the package as a page shows it; `name` begins the ids of its drawing.

    `rows` are the rows of a form that tell of its parts, as `package_drawing` takes them.
    """
    mount = records.current_mount
    return PackageShown(
        method=(mount.method if mount is not None else None) or "",
        since=_since(mount),
        by=_by(mount),
        is_on_record=mount is not None,
        layers=_layers(records, verdict),
        holds=_holds(records, verdict),
        held=Answer.UNKNOWN if mount is None else mount.held,
        remains=_remains(records, verdict),
        draw=partial(package_drawing, package_now(records), verdict, name=name, rows=rows),
    )


def _since(mount: MountRow | None) -> str:
    if mount is None:
        return ""
    return "a day nobody recorded" if mount.mounted_assumed else date_said(mount.mounted_edtf)


def _by(mount: MountRow | None) -> str:
    if mount is None:
        return ""
    return "an unknown hand" if mount.by_unknown_hand else mount.mounted_by or ""


def _layers(records: WorkRecords, verdict: PackageVerdict) -> tuple[PartShown, ...]:
    mount = records.current_mount
    rows: dict[Key, LayerRow] = (
        {} if mount is None else {row.id: row for row in records.layers[mount.package_id]}
    )
    placed = place_layers(with_blanks_filled(package_now(records)))
    judged = [j for j in verdict.layers if j.role not in (HOLD, REMAINS)]
    likelier = likelier_grades(records)
    shown = [
        (p.side, _with_tests(_layer(p, j, rows), p.layer.key, likelier, records))
        for p, j in zip(placed, judged, strict=True)
    ]
    front = [part for side, part in shown if side is LayerSide.FRONT]
    behind = [part for side, part in shown if side is LayerSide.BEHIND]
    return (*front, PartShown(role=THE_WORK, material=""), *behind)


def _layer(placed: PlacedLayer, judged: LayerVerdict, rows: dict[Key, LayerRow]) -> PartShown:
    layer = placed.layer
    row = rows.get(layer.key)
    return PartShown(
        role=layer.role,
        material=layer.material or ("" if layer.grade else NOT_RECORDED),
        grade=layer.grade or "",
        lot=(row.lot if row is not None else None) or "",
        known_by=layer.known_by or "",
        distance=placed.distance,
        since="" if row is None else date_said(row.fitted_edtf),
        verdict=judged.verdict,
        why=judged.why,
        remarks=tuple(remark.sentence for remark in judged.remarks),
        belongs_to_work=layer.belongs_to_work,
        is_recalled=layer.recalled,
        note="" if row is None else row.note,
        layer_id=0 if row is None else row.id,
        windows=_windows(row),
    )


def _windows(row: LayerRow | None) -> str | None:
    if row is None or row.role not in HAS_WINDOWS:
        return None
    return windows_said(read_windows(row.windows))


def _with_tests(
    part: PartShown, key: Key, likelier: dict[Key, LikelierGrade], records: WorkRecords
) -> PartShown:
    """Return the part with what its tests make of it, or what somebody made of it by them."""
    if not isinstance(key, int):
        return part
    tests = records.tests.get(key, ())
    if tests and (last := tests[-1]).decided_grade is not None:
        by = f" by {last.decided_by}" if last.decided_by else ""
        on = "" if last.decided_on is None else f" on {day(last.decided_on)}"
        before = last.grade_before or "nobody's word"
        decided = f"Taken as {last.decided_grade} by its tests{on}{by}; before: {before}."
        return replace(part, layer_id=key, decided=decided)
    if (found := likelier.get(key)) is None:
        return part
    return replace(part, layer_id=key, likelier=found.sentence, likelier_grade=found.grade)


def _holds(records: WorkRecords, verdict: PackageVerdict) -> tuple[PartShown, ...]:
    mount = records.current_mount
    rows: dict[Key, HoldRow] = (
        {} if mount is None else {row.id: row for row in records.holds[mount.id]}
    )
    return tuple(_hold(j, rows.get(j.key)) for j in verdict.layers if j.role == HOLD)


def _hold(judged: LayerVerdict, row: HoldRow | None) -> PartShown:
    return PartShown(
        role=HOLD if row is None else hold_said(row),
        material=judged.name,
        grade="" if row is None else row.grade,
        lot=(row.lot if row is not None else None) or "",
        known_by=(row.known_by if row is not None else None) or "",
        since="" if row is None else date_said(row.since_edtf),
        verdict=judged.verdict,
        why=judged.why,
        remarks=tuple(remark.sentence for remark in judged.remarks),
        is_recalled=row is not None and row.recalled_on is not None,
        note="" if row is None else row.note,
    )


def hold_said(row: HoldRow) -> str:
    """Return how many, where and with what room: "2, top, 3 mm clearance"."""
    room = "" if row.clearance_um is None else f"{mm(row.clearance_um)} mm clearance"
    count = "" if row.hold_count is None else str(row.hold_count)
    return ", ".join(part for part in (count, row.position, room) if part) or HOLD


def _remains(records: WorkRecords, verdict: PackageVerdict) -> tuple[PartShown, ...]:
    since = {row.id: date_said(row.since_edtf) for row in records.remains}
    return tuple(
        PartShown(
            role=REMAINS,
            material=judged.name,
            since=since.get(judged.key, "") if isinstance(judged.key, int) else "",
            verdict=judged.verdict,
            why=judged.why,
        )
        for judged in verdict.layers
        if judged.role == REMAINS
    )
