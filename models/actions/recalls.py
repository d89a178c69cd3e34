"""Which material or lot was found bad, and which works does it touch?

A recall names a material or one lot of it, with a reason; while it stands, every
layer and hold of it counts as recalled, and the works it touches are listed and
pulled forward. It is lifted with a reason when it was called by mistake.
"""

from dataclasses import dataclass

from sqlmodel import Session, col, select

from models.actions.record_changes import key_of, lock, write
from models.actions.renewal import refresh_or_mark
from models.errors import NotFound, RuleBroken
from models.rules.permissions import Deed, require
from models.rules.record_values import a_name
from models.tables.material_uses import Target, keys_of_works_using, works_using
from models.tables.materials import Lot, Material, Recall
from models.tables.visible import Viewer
from models.tables.works import Work


@dataclass(frozen=True, kw_only=True)
class RecallOnRecord:
    """A recall as it is shown; days since 1970-01-01."""

    id: int
    material: str
    material_id: int
    lot: str | None
    lot_id: int | None
    called_on: int | None
    reason: str
    lifted_on: int | None
    lifted_reason: str


def recall_material(
    session: Session, viewer: Viewer, material_id: int, reason: str, *, today: int
) -> RecallOnRecord:
    """Recall a material in every lot of it. Raises NotFound, RuleBroken (`already_recalled`)."""
    require(viewer.role, Deed.RECALL)
    lock(session, Material, material_id, "material")
    return _call(session, viewer, Recall(material_id=material_id, reason=reason), today)


def recall_lot(
    session: Session, viewer: Viewer, lot_id: int, reason: str, *, today: int
) -> RecallOnRecord:
    """Recall one lot of a material. Raises NotFound, RuleBroken (`already_recalled`)."""
    require(viewer.role, Deed.RECALL)
    lock(session, Lot, lot_id, "lot")
    return _call(session, viewer, Recall(lot_id=lot_id, reason=reason), today)


def lift_recall(
    session: Session, viewer: Viewer, recall_id: int, reason: str, *, today: int
) -> RecallOnRecord:
    """Lift a recall, with a reason. Raises NotFound, RuleBroken (`already_lifted`)."""
    require(viewer.role, Deed.RECALL)
    recall = lock(session, Recall, recall_id, "recall")
    if recall.lifted_on is not None:
        raise RuleBroken("This recall has been lifted already.", "already_lifted")
    write(recall, {"lifted_on": today, "lifted_reason": a_name("reason")(reason)})
    return _judged_anew(session, viewer, recall, today)


def list_recalls(session: Session, viewer: Viewer, *, open_only: bool) -> list[RecallOnRecord]:
    """Return the recalls, newest first."""
    require(viewer.role, Deed.READ)
    found = list(session.exec(_NEWEST_OPEN if open_only else _NEWEST))
    return _shown(session, found) if found else []


_NEWEST = select(Recall).order_by(col(Recall.id).desc())
_NEWEST_OPEN = _NEWEST.where(col(Recall.lifted_on).is_(None))


def read_recall(session: Session, viewer: Viewer, recall_id: int) -> RecallOnRecord:
    """Return one recall. Raises NotFound."""
    require(viewer.role, Deed.READ)
    recall = session.get(Recall, recall_id)
    if recall is None:
        raise NotFound("recall", recall_id)
    return _shown(session, [recall])[0]


def works_touched(session: Session, viewer: Viewer, recall: RecallOnRecord) -> list[Work]:
    """Return the works that what was recalled still touches, as far as this person sees them."""
    target = Target(recall.material_id, recall.lot_id)
    return works_using(session, viewer, target)


def _call(session: Session, viewer: Viewer, recall: Recall, today: int) -> RecallOnRecord:
    recall.reason = a_name("reason")(recall.reason)
    recall.called_on = today
    if recall.lot_id is None:
        same = select(Recall).where(Recall.material_id == recall.material_id)
    else:
        same = select(Recall).where(Recall.lot_id == recall.lot_id)
    if session.exec(same.where(col(Recall.lifted_on).is_(None))).first() is not None:
        raise RuleBroken("This is recalled already; lift that recall first.", "already_recalled")
    session.add(recall)
    return _judged_anew(session, viewer, recall, today)


def _judged_anew(session: Session, viewer: Viewer, recall: Recall, today: int) -> RecallOnRecord:
    """Forecast anew every work that the recall touches, or did touch."""
    session.flush()
    shown = read_recall(session, viewer, key_of(recall))
    works = keys_of_works_using(session, viewer, Target(shown.material_id, shown.lot_id))
    refresh_or_mark(session, works, today=today)
    return shown


def _shown(session: Session, recalls: list[Recall]) -> list[RecallOnRecord]:
    lot_ids = {recall.lot_id for recall in recalls}
    lots = {lot.id: lot for lot in session.exec(select(Lot).where(col(Lot.id).in_(lot_ids)))}
    material_ids = {r.material_id for r in recalls} | {lot.material_id for lot in lots.values()}
    named = select(Material).where(col(Material.id).in_(material_ids))
    names = {material.id: material.name for material in session.exec(named)}
    return [_one_shown(recall, lots.get(recall.lot_id), names) for recall in recalls]


def _one_shown(recall: Recall, lot: Lot | None, names: dict[int | None, str]) -> RecallOnRecord:
    material_id = recall.material_id if lot is None else lot.material_id
    assert material_id is not None, "a recall names a material or a lot"
    return RecallOnRecord(
        id=key_of(recall),
        material=names[material_id],
        material_id=material_id,
        lot=None if lot is None else lot.number,
        lot_id=recall.lot_id,
        called_on=recall.called_on,
        reason=recall.reason,
        lifted_on=recall.lifted_on,
        lifted_reason=recall.lifted_reason,
    )
