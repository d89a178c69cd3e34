"""How is a mount, a layer or a hold put right that was recorded wrongly?

A record is taken back into the words in which it was told, changed there, and
looked up anew: the same words are refused as when it was told the first time.
The old value stays in the change log. What was recorded and never was is
withdrawn with a reason. What a visit did is put right with the visit.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TypeVar

from sqlmodel import Session, col, select

from models.actions.record_changes import (
    count_up,
    date_columns,
    date_kept,
    merged,
    refuse_stale,
    withdraw,
    write,
)
from models.actions.renewal import refresh_or_mark
from models.actions.visit_words import hold_meant, layer_meant, mount_meant
from models.errors import BadValue, NotFound, RuleBroken
from models.rules.mat_windows import read_windows, windows_text
from models.rules.permissions import Deed, require
from models.rules.record_order import refuse_end_before_start
from models.rules.record_values import a_name, size_mm
from models.rules.visit_as_told import HoldTold, LayerTold, MountTold, WindowTold
from models.tables.case_rows import works_in_packages
from models.tables.materials import Lot, Material
from models.tables.mounts import Hold, Layer, Mount, Package
from models.tables.register import get_work_to_change
from models.tables.terms import MountMethod
from models.tables.visible import Viewer, visible_works
from models.tables.works import Work
from models.vocabulary import Answer, LayerRole
from seed_data.shipped import shipped_default_figures

Row = TypeVar("Row", Layer, Hold, Mount)


@dataclass(frozen=True, kw_only=True)
class MountValues:
    """What of a mount can be put right; its layers and holds are records of their own."""

    method: str | None = None
    in_front: Answer = Answer.UNKNOWN
    behind: Answer = Answer.UNKNOWN
    held: Answer = Answer.UNKNOWN
    mounted_on: str | None = None
    dismounted_on: str | None = None
    harm_at_dismount: str = ""
    reason: str = ""
    note: str = ""


def correct_layer(
    session: Session,
    viewer: Viewer,
    layer_id: int,
    changes: Mapping[str, object],
    *,
    based_on: int,
    today: int,
) -> int:
    """Put a layer right and return its new version; `changes` is a merge patch of LayerTold.

    Raises NotFound, NotAllowed, Stale, BadValue, UnknownWord, RuleBroken.
    """
    require(viewer.role, Deed.CORRECT_CLOSED_VISIT)
    layer = _layer(session, viewer, layer_id)
    told = _layer_as_told(session, layer)
    refuse_stale(layer, based_on, theirs=told)
    wanted = merged(told, changes)
    if (wanted.role is LayerRole.WORK) is not (layer.role is LayerRole.WORK):
        raise RuleBroken("The work itself is no layer of another kind.", "work_is_no_layer")
    meant = layer_meant(session, wanted, shipped_default_figures())
    if (end := date_kept(layer, "removed")) is not None:
        refuse_end_before_start("layer", meant.fitted, end)
    write(
        layer,
        {
            "role": wanted.role,
            "side": wanted.side,
            "distance": wanted.distance,
            "known_by": wanted.known_by,
            "covers_all": wanted.covers_all,
            "belongs_to_work": wanted.belongs_to_work,
            "windows": meant.windows,
            "note": wanted.note,
            "grade": meant.grade,
            "lot_id": meant.lot_id,
            **date_columns("fitted", meant.fitted),
        },
    )
    _write_material(layer, meant.material_id, meant.figures_id)
    _refresh(session, viewer, [layer.package_id], today=today)
    return layer.version


def tell_windows(
    session: Session,
    viewer: Viewer,
    layer_id: int,
    windows: Sequence[WindowTold],
    *,
    based_on: int,
) -> int:
    """Tell the windows of a mat, whoever works at the bench, and return its new version.

    No judgement rests on them. Raises NotFound, NotAllowed, Stale, BadValue, RuleBroken.
    """
    require(viewer.role, Deed.RECORD_VISIT)
    layer = _layer(session, viewer, layer_id)
    refuse_stale(layer, based_on, theirs=read_windows(layer.windows))
    write(layer, {"windows": windows_text(layer.role, windows)})
    session.flush()
    return layer.version


def correct_hold(
    session: Session,
    viewer: Viewer,
    hold_id: int,
    changes: Mapping[str, object],
    *,
    based_on: int,
    today: int,
) -> int:
    """Put a hold right and return its new version; `changes` is a merge patch of HoldTold.

    Raises NotFound, NotAllowed, Stale, BadValue, UnknownWord.
    """
    require(viewer.role, Deed.CORRECT_CLOSED_VISIT)
    hold, mount = _hold(session, viewer, hold_id)
    told = _hold_as_told(session, hold)
    refuse_stale(hold, based_on, theirs=told)
    wanted = merged(told, changes)
    # A grade that came from the material goes with it unless somebody says it anew.
    if "material" in changes:
        own = {name: None for name in ("grade", "adhesive_grade") if name not in changes}
        wanted = merged(wanted, own)
    meant = hold_meant(session, wanted, shipped_default_figures())
    write(
        hold,
        {
            "grade": meant.grade,
            "adhesive_grade": meant.adhesive_grade,
            "lot_id": meant.lot_id,
            "known_by": wanted.known_by,
            "position": wanted.position,
            "hold_count": wanted.count,
            "clearance_um": meant.clearance_um,
            "covers_all": wanted.covers_all,
            "note": wanted.note,
            **date_columns("since", meant.since),
        },
    )
    _write_material(hold, meant.material_id, meant.figures_id)
    _refresh(session, viewer, [mount.package_id], today=today)
    return hold.version


def correct_mount(
    session: Session,
    viewer: Viewer,
    mount_id: int,
    changes: Mapping[str, object],
    *,
    based_on: int,
    today: int,
) -> int:
    """Put a mount right and return its new version; `changes` is a merge patch of MountValues.

    The days of a mount that was made or undone at a visit are put right with that
    visit. Raises NotFound, NotAllowed, Stale, BadValue, UnknownWord, RuleBroken.
    """
    require(viewer.role, Deed.CORRECT_CLOSED_VISIT)
    mount = _mount(session, viewer, mount_id)
    package = session.get_one(Package, mount.package_id)
    values = _mount_values(session, mount, package)
    refuse_stale(mount, based_on, theirs=values)
    wanted = merged(values, changes)
    _refuse_days_of_visits(mount, values, wanted)
    told = MountTold(
        method=wanted.method, mounted_on=wanted.mounted_on, dismounted_on=wanted.dismounted_on
    )
    meant = mount_meant(session, told, shipped_default_figures())
    if meant.dismounted is not None:
        refuse_end_before_start("mount", meant.mounted, meant.dismounted)
    write(
        mount,
        {
            "method_id": meant.method_id,
            "held": wanted.held,
            "harm_at_dismount": wanted.harm_at_dismount,
            "reason": wanted.reason,
            "note": wanted.note,
        },
    )
    if wanted.mounted_on != values.mounted_on:
        write(mount, {"mounted_assumed": False, **date_columns("mounted", meant.mounted)})
    if wanted.dismounted_on != values.dismounted_on:
        write(mount, date_columns("dismounted", meant.dismounted))
    write(package, {"in_front": wanted.in_front, "behind": wanted.behind})
    _refresh(session, viewer, [mount.package_id], today=today)
    return mount.version


def withdraw_layer(
    session: Session, viewer: Viewer, layer_id: int, reason: str, *, today: int
) -> None:
    """Take back a layer that never was. Raises NotFound, NotAllowed, RuleBroken, BadValue."""
    require(viewer.role, Deed.WITHDRAW)
    layer = _layer(session, viewer, layer_id)
    if layer.role is LayerRole.WORK:
        raise RuleBroken("The work itself cannot be taken out of its package.", "work_is_no_layer")
    withdraw(layer, reason)
    _refresh(session, viewer, [layer.package_id], today=today)


def withdraw_hold(
    session: Session, viewer: Viewer, hold_id: int, reason: str, *, today: int
) -> None:
    """Take back a hold that never was. Raises NotFound, NotAllowed, RuleBroken, BadValue."""
    require(viewer.role, Deed.WITHDRAW)
    hold, mount = _hold(session, viewer, hold_id)
    withdraw(hold, reason)
    _refresh(session, viewer, [mount.package_id], today=today)


def withdraw_mount(
    session: Session, viewer: Viewer, mount_id: int, reason: str, *, today: int
) -> None:
    """Take back a mount that was found or inferred and never was, with its holds.

    Raises NotFound, NotAllowed, BadValue, RuleBroken for one made or undone at a visit.
    """
    require(viewer.role, Deed.WITHDRAW)
    mount = _mount(session, viewer, mount_id)
    if mount.mounted_visit_id is not None or mount.dismounted_visit_id is not None:
        raise RuleBroken(
            "This mount was made or undone at a visit; withdraw that visit instead.",
            "withdraw_the_visit",
        )
    a_name("reason")(reason)
    for hold in session.exec(select(Hold).where(Hold.mount_id == mount_id)):
        hold.withdrawn_reason = hold.withdrawn_reason or reason
    withdraw(mount, reason)
    _refresh(session, viewer, [mount.package_id], today=today, also=[mount.work_id])


def _refresh(
    session: Session,
    viewer: Viewer,
    package_ids: list[int],
    *,
    today: int,
    also: list[int] | None = None,
) -> None:
    session.flush()
    works = {work for _, work in works_in_packages(session, package_ids)} | set(also or ())
    for work_id in sorted(works):
        count_up(session.get_one(Work, work_id))
    session.flush()
    refresh_or_mark(session, sorted(works), today=today)


def _layer(session: Session, viewer: Viewer, layer_id: int) -> Layer:
    found = select(Layer, Mount.work_id).join(Mount, col(Mount.package_id) == Layer.package_id)
    found = found.join(Work, col(Work.id) == Mount.work_id)
    row = session.exec(found.where(visible_works(viewer), Layer.id == layer_id)).first()
    if row is None:
        raise NotFound("layer", layer_id)
    return _held(session, viewer, row[0], row[1])


def _hold(session: Session, viewer: Viewer, hold_id: int) -> tuple[Hold, Mount]:
    found = select(Hold, Mount).join(Mount).join(Work, col(Work.id) == Mount.work_id)
    row = session.exec(found.where(visible_works(viewer), Hold.id == hold_id)).first()
    if row is None:
        raise NotFound("hold", hold_id)
    return _held(session, viewer, row[0], row[1].work_id), row[1]


def _mount(session: Session, viewer: Viewer, mount_id: int) -> Mount:
    found = select(Mount).join(Work, col(Work.id) == Mount.work_id)
    mount = session.exec(found.where(visible_works(viewer), Mount.id == mount_id)).first()
    if mount is None:
        raise NotFound("mount", mount_id)
    return _held(session, viewer, mount, mount.work_id)


def _held(session: Session, viewer: Viewer, row: Row, work_id: int) -> Row:
    get_work_to_change(session, viewer, work_id)
    session.refresh(row, with_for_update=True)
    if row.withdrawn_reason is not None:
        raise RuleBroken("This record was withdrawn; record it anew.", "already_withdrawn")
    return row


def _layer_as_told(session: Session, layer: Layer) -> LayerTold:
    return LayerTold(
        role=layer.role,
        material=_material_name(session, layer.material_id),
        grade=layer.grade,
        lot=_number_of(session, layer.lot_id),
        side=layer.side,
        distance=layer.distance,
        known_by=layer.known_by,
        fitted_on=layer.fitted_edtf,
        covers_all=layer.covers_all,
        belongs_to_work=layer.belongs_to_work,
        windows=read_windows(layer.windows),
        note=layer.note,
    )


def _hold_as_told(session: Session, hold: Hold) -> HoldTold:
    return HoldTold(
        material=_material_name(session, hold.material_id),
        grade=hold.grade,
        adhesive_grade=hold.adhesive_grade,
        lot=_number_of(session, hold.lot_id),
        position=hold.position,
        count=hold.hold_count,
        clearance_mm=size_mm(hold.clearance_um),
        known_by=hold.known_by,
        since=hold.since_edtf,
        covers_all=hold.covers_all,
        note=hold.note,
    )


def _mount_values(session: Session, mount: Mount, package: Package) -> MountValues:
    return MountValues(
        method=_method_name(session, mount.method_id),
        in_front=package.in_front,
        behind=package.behind,
        held=mount.held,
        mounted_on=mount.mounted_edtf,
        dismounted_on=mount.dismounted_edtf,
        harm_at_dismount=mount.harm_at_dismount,
        reason=mount.reason,
        note=mount.note,
    )


def _refuse_days_of_visits(mount: Mount, old: MountValues, new: MountValues) -> None:
    told = (
        ("mounted_on", mount.mounted_visit_id, old.mounted_on, new.mounted_on),
        ("dismounted_on", mount.dismounted_visit_id, old.dismounted_on, new.dismounted_on),
    )
    for name, visit_id, before, after in told:
        if before != after and visit_id is not None:
            message = f"This day is that of visit {visit_id}; put the visit right instead."
            raise BadValue.at(f"/{name}", message, "the day as it is")
    if new.dismounted_on is not None and not mount.ended:
        message = "A mount ends at a visit: record the dismount there."
        raise BadValue.at("/dismounted_on", message, "nothing")


def _write_material(row: Layer | Hold, material_id: int | None, figures_id: int | None) -> None:
    # The figures as they were known at the fitting stay with a material that stays.
    if row.material_id != material_id:
        write(row, {"material_id": material_id, "figures_id": figures_id})


def _material_name(session: Session, key: int | None) -> str | None:
    return None if key is None else session.get_one(Material, key).name


def _method_name(session: Session, key: int | None) -> str | None:
    return None if key is None else session.get_one(MountMethod, key).name


def _number_of(session: Session, lot_id: int | None) -> str | None:
    return None if lot_id is None else session.get_one(Lot, lot_id).number
