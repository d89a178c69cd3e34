"""Which deliveries of a material are there, and which one is being used up?

At most one lot of a material is the lot in use: it fills house packages. Taking
another into use puts the first away.
"""

from collections.abc import Mapping
from dataclasses import dataclass

from sqlmodel import Session, col, select

from models.actions.record_changes import (
    date_columns,
    flush_unless_taken,
    key_of,
    lock,
    merged,
    refuse_stale,
    write,
)
from models.errors import NotFound, RuleBroken
from models.rules.half_known_dates import HalfKnownDate, read_date
from models.rules.permissions import Deed, require
from models.rules.record_order import refuse_future
from models.rules.record_values import Faults, a_name, a_note
from models.tables.materials import Lot, Material, open_recalls
from models.tables.visible import Viewer

LONGEST_LOT_NUMBER = 100


@dataclass(frozen=True, kw_only=True)
class LotTold:
    """A lot as told; `received` in EDTF."""

    number: str
    received: str | None = None
    in_use: bool = False
    note: str = ""


@dataclass(frozen=True, kw_only=True)
class LotOnRecord:
    """A lot as it is shown; recalled also when its whole material is."""

    id: int
    version: int
    material_id: int
    told: LotTold
    is_recalled: bool


def add_lot(
    session: Session, viewer: Viewer, material_id: int, told: LotTold, *, today: int
) -> LotOnRecord:
    """Add a delivery of a material. Raises NotFound, BadValue, RuleBroken (`number_taken`)."""
    require(viewer.role, Deed.KEEP_LOTS)
    lock(session, Material, material_id, "material")
    lot = Lot(material_id=material_id, number="")
    columns = _columns(told, today)
    if told.in_use:
        _put_away_the_lot_in_use(session, material_id)
    write(lot, columns)
    session.add(lot)
    _flush(session, lot)
    return _shown(session, [lot])[0]


def change_lot(
    session: Session,
    viewer: Viewer,
    lot_id: int,
    changes: Mapping[str, object],
    *,
    based_on: int,
    today: int,
) -> LotOnRecord:
    """Correct a lot, or take it into use. Raises NotFound, Stale, BadValue, RuleBroken."""
    require(viewer.role, Deed.KEEP_LOTS)
    lot = _lock_with_material(session, lot_id)
    (kept,) = _shown(session, [lot])
    refuse_stale(lot, based_on, theirs=kept)
    columns = _columns(merged(kept.told, changes), today)
    if columns["in_use"] and not lot.in_use:
        _put_away_the_lot_in_use(session, lot.material_id)
    write(lot, columns)
    _flush(session, lot)
    return _shown(session, [lot])[0]


def use_lot(session: Session, viewer: Viewer, lot_id: int) -> LotOnRecord:
    """Take a lot into use; the one that was in use is put away.

    Raises NotFound, RuleBroken (`recalled`).
    """
    require(viewer.role, Deed.KEEP_LOTS)
    lot = _lock_with_material(session, lot_id)
    if _shown(session, [lot])[0].is_recalled:
        raise RuleBroken("This lot was recalled; take another into use.", "recalled")
    if not lot.in_use:
        _put_away_the_lot_in_use(session, lot.material_id)
        write(lot, {"in_use": True})
        session.flush()
    return _shown(session, [lot])[0]


def list_lots(session: Session, viewer: Viewer, material_id: int) -> list[LotOnRecord]:
    """Return the lots of a material: the one in use first, then the newest by record."""
    require(viewer.role, Deed.READ)
    if session.get(Material, material_id) is None:
        raise NotFound("material", material_id)
    lots = session.exec(select(Lot).where(Lot.material_id == material_id)).all()
    return _shown(session, sorted(lots, key=lambda lot: (not lot.in_use, -key_of(lot))))


def read_lot(session: Session, viewer: Viewer, lot_id: int) -> LotOnRecord:
    """Return one lot. Raises NotFound."""
    require(viewer.role, Deed.READ)
    lot = session.get(Lot, lot_id)
    if lot is None:
        raise NotFound("lot", lot_id)
    return _shown(session, [lot])[0]


def _columns(told: LotTold, today: int) -> dict[str, object]:
    def a_past_day(text: str) -> HalfKnownDate:
        received = read_date(text)
        refuse_future(received, today, "delivery")
        return received

    faults = Faults()
    received = faults.read_if_given("/received", a_past_day, told.received)
    columns: dict[str, object] = {
        "number": faults.read("/number", a_name("number", LONGEST_LOT_NUMBER), told.number),
        "in_use": told.in_use,
        "note": faults.read("/note", a_note, told.note),
        **date_columns("received", received),
    }
    faults.refuse()
    return columns


def _lock_with_material(session: Session, lot_id: int) -> Lot:
    """Return the lot, held with its material: always in this order, so that nobody waits twice."""
    found = session.get(Lot, lot_id)
    if found is None:
        raise NotFound("lot", lot_id)
    lock(session, Material, found.material_id, "material")
    return lock(session, Lot, lot_id, "lot")


def _put_away_the_lot_in_use(session: Session, material_id: int) -> None:
    in_use = select(Lot).where(Lot.material_id == material_id, col(Lot.in_use))
    for lot in session.exec(in_use):
        write(lot, {"in_use": False})
    # Written before the other is taken into use: never two at once.
    session.flush()


def _flush(session: Session, lot: Lot) -> None:
    taken = RuleBroken(f"There is a lot {lot.number!r} of this material already.", "number_taken")
    flush_unless_taken(session, "uq_lot_material_id_number", taken)


def _shown(session: Session, lots: list[Lot]) -> list[LotOnRecord]:
    recalls = open_recalls(session)
    lots_called = {recall.lot_id for recall in recalls}
    materials_called = {recall.material_id for recall in recalls}
    return [
        LotOnRecord(
            id=key_of(lot),
            version=lot.version,
            material_id=lot.material_id,
            told=LotTold(
                number=lot.number, received=lot.received_edtf, in_use=lot.in_use, note=lot.note
            ),
            is_recalled=lot.id in lots_called or lot.material_id in materials_called,
        )
        for lot in lots
    ]
