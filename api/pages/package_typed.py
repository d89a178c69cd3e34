"""What does somebody tell of a package: found, taken apart, changed, built anew?

Layers are told in rows with an order; a row without a role is left out. Each row of
the old package *stays*, is swapped or taken out: a piece that goes into the new package
as it is keeps the day from which its clock runs. Where the work stays on its mount, the
same rows tell which layers were changed around it. A hold that still holds is never
passed over in silence.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace

from api.pages.form_answers import edtf
from api.pages.row_reader import RowReader
from models.actions.work_records import WorkRecords
from models.rules.record_values import a_name
from models.rules.visit_as_told import (
    DismountTold,
    HoldFreedTold,
    HoldTold,
    LayerFittedTold,
    LayerRemovedTold,
    LayerTold,
    MountTold,
)
from models.tables.case_rows import HoldRow, LayerRow
from models.vocabulary import Answer, FreedBy, Kept, KnownBy, LayerRole, Outcome

BUILT, USUAL, CHANGED = "built", "usual", "changed"
NO_NEW_MOUNT = "none"
STAYS, OUT, SWAPPED = "stays", "out", "swapped"
MOST_HOLDS = 1000
# A remain is named by what it is and this; longer belongs into the summary.
LONGEST_RESIDUE = 150
NOT_KNOWN = "XXXX"
# What the rows of a form hold before anybody typed.
BEFOREHAND = ("role", "order")
_OF_HOLD = ("material", "grade", "position", "count")


def layers_now(records: WorkRecords) -> list[LayerRow]:
    """Return the layers that are in the package of a work now, with the work among them."""
    mount = records.current_mount
    rows = () if mount is None else records.layers[mount.package_id]
    return [row for row in rows if not row.ended]


def holds_now(records: WorkRecords) -> list[HoldRow]:
    """Return the holds that still hold a work."""
    mount = records.current_mount
    rows = () if mount is None else records.holds[mount.id]
    return [row for row in rows if row.outcome in (None, Outcome.TRIED_AND_LEFT)]


def found_typed(reader: RowReader, records: WorkRecords) -> MountTold | None:
    """Return the package the work was found in; only where none is on record."""
    told = reader.is_ticked("found/done") or reader.has_any("found", besides=BEFOREHAND)
    if records.current_mount is not None or not told:
        return None
    holds = _hold_rows(reader, "found/holds")
    return MountTold(
        method=reader.text("found/method"),
        layers=_layer_rows(reader, "found/layers", []),
        in_front=reader.word("found/in_front", Answer),
        behind=reader.word("found/behind", Answer),
        holds=tuple(replace(hold, ref=ref_of(at)) for at, hold in holds),
        held=reader.word("found/held", Answer),
        mounted_on=reader.answers.read("found/mounted_on", edtf),
    )


def dismount_typed(
    reader: RowReader, records: WorkRecords, found: MountTold | None
) -> DismountTold | None:
    """Return how the work came out, hold by hold; one way for all where no hold is on record.

    What became of a hold is asked and never taken for granted.
    """
    of_found = [] if found is None else [at for at, _ in _hold_rows(reader, "found/holds")]
    freed = [(at, f"ref:{ref_of(at)}") for at in of_found]
    told = reader.is_ticked("dismount/done") or reader.has_any("dismount")
    if not told and not any(_came_off(reader, at) for at in of_found):
        return None
    of_mount: list[tuple[str, int | str]] = [(f"dismount/{h.id}", h.id) for h in holds_now(records)]
    holds = [*freed, *of_mount]
    ways = _ways(reader, holds)
    freed_by, outcome = (None, Outcome.FREED) if holds else _way_off(reader, "dismount")
    _refuse_without_tick(reader, {outcome, *(way.outcome for way in ways)})
    return DismountTold(
        holds=tuple(ways),
        freed_by=freed_by,
        outcome=outcome,
        residue=reader.line("dismount/residue", LONGEST_RESIDUE),
        harm=reader.note("dismount/harm"),
        reason=reader.note("dismount/reason"),
    )


def _refuse_without_tick(reader: RowReader, outcomes: set[Outcome]) -> None:
    """Note a fault where it is told how the work came off, and not that it did.

    What was tried and left did not come off: nothing needs to be ticked.
    """
    told = reader.has_any("dismount", besides=("done",))
    if told and not reader.is_ticked("dismount/done") and Outcome.TRIED_AND_LEFT not in outcomes:
        message = "How the work came off is told, but not that it did."
        reader.wrong("dismount/done", message, "Tick it, or blank what is told of it below.")


def _ways(reader: RowReader, holds: Iterable[tuple[str, int | str]]) -> list[HoldFreedTold]:
    told: list[HoldFreedTold] = []
    for at, hold in holds:
        if not _came_off(reader, at):
            right = "Choose what became of it, also when it was left."
            reader.wrong(f"{at}/outcome", "How this hold came off is not said.", right)
            continue
        reader.told_at(f"/dismount/holds/{len(told)}", at)
        reader.told_at(f"/dismount/holds/{len(told)}", f"{at}/outcome", "hold")
        freed_by, outcome = _way_off(reader, at)
        residue = reader.line(f"{at}/residue", LONGEST_RESIDUE)
        told.append(HoldFreedTold(hold=hold, freed_by=freed_by, outcome=outcome, residue=residue))
    return told


def _way_off(reader: RowReader, at: str) -> tuple[FreedBy | None, Outcome]:
    """Return by what a hold came off and what became of it; what is not said is asked."""
    freed_by = reader.word(f"{at}/freed_by", FreedBy)
    outcome = reader.word(f"{at}/outcome", Outcome)
    if reader.text(f"{at}/outcome") is None:
        right = "Choose it, also when it came off whole or was left."
        reader.wrong(f"{at}/outcome", "What became of the hold is not said.", right)
    if outcome is Outcome.FREED and reader.text(f"{at}/freed_by") is None:
        message = "It is said to be freed, and not by what."
        reader.wrong(f"{at}/freed_by", message, "Choose by what.")
    return freed_by, outcome or Outcome.FREED


def _came_off(reader: RowReader, at: str) -> bool:
    return any(reader.text(f"{at}/{name}") for name in ("freed_by", "outcome", "residue"))


def layers_removed_typed(reader: RowReader, records: WorkRecords) -> tuple[LayerRemovedTold, ...]:
    """Return the layers taken out of the package, replaced or not.

    Of a package that came apart, those of which is told how they were or where they went.
    """
    told: list[LayerRemovedTold] = []
    rows = _rows_of_old(reader, layers_now(records))
    for layer in layers_now(records):
        at, row = f"layer/{layer.id}", rows.get(layer.id, "")
        if _goes(reader, at, row):
            reader.told_at(f"/layers_removed/{len(told)}", f"{at}/act", "layer")
            removed = LayerRemovedTold(
                layer=layer.id,
                condition=reader.note(f"{at}/condition"),
                kept=reader.word(f"{at}/kept", Kept),
            )
            told.append(removed)
    return tuple(told)


def _goes(reader: RowReader, at: str, row: str) -> bool:
    if reader.form[f"{at}/act"] in (OUT, SWAPPED):
        return True
    how = reader.form["mount/how"]
    if how == CHANGED:
        return _act(reader, row) in (OUT, SWAPPED)
    is_told = any(reader.text(f"{at}/{name}") for name in ("condition", "kept"))
    return is_told and (how == USUAL or (how == BUILT and _act(reader, row) != STAYS))


def _rows_of_old(reader: RowReader, old: Iterable[LayerRow]) -> dict[int, str]:
    """Return which row of the new package began as which layer of the old."""
    ids = {str(layer.id): layer.id for layer in old}
    named = {reader.form[f"{at}/from"]: at for at in reader.rows("mount/layers")}
    return {ids[name]: at for name, at in named.items() if name in ids}


def _act(reader: RowReader, row: str) -> str:
    """Return what becomes of a layer: what was typed over it counts, whatever is ticked."""
    return reader.form[f"{row}/act"] if row else ""


def layers_fitted_typed(reader: RowReader, records: WorkRecords) -> tuple[LayerFittedTold, ...]:
    """Return the layers put in: each in the place of another, and one more."""
    told: list[LayerFittedTold] = []
    for layer in layers_now(records):
        at = f"layer/{layer.id}"
        if reader.form[f"{at}/act"] == SWAPPED:
            reader.told_at(f"/layers_fitted/{len(told)}", at)
            reader.told_at(f"/layers_fitted/{len(told)}", f"{at}/act", "replaces")
            layer_in = _new_layer(reader, at, layer.role)
            told.append(LayerFittedTold(layer=layer_in, replaces=layer.id))
    if reader.form["mount/how"] == CHANGED:
        told += _fitted_in_rows(reader, layers_now(records), len(told))
    role = reader.word("added/role", LayerRole)
    if role is not None:
        reader.told_at(f"/layers_fitted/{len(told)}", "added")
        before = reader.whole("added/before", 1, 2**31 - 1, "number of a layer")
        told.append(LayerFittedTold(layer=_new_layer(reader, "added", role), before=before))
    return tuple(told)


def _fitted_in_rows(
    reader: RowReader, old: Sequence[LayerRow], already: int
) -> list[LayerFittedTold]:
    """Return what the rows of the package put in around a work that stays on its mount."""
    told: list[LayerFittedTold] = []
    by_name = {str(layer.id): layer for layer in old}
    for at, following in _with_the_next_old(reader, by_name):
        role = reader.word(f"{at}/role", LayerRole)
        piece = by_name.get(reader.form[f"{at}/from"])
        is_new = piece is None and role not in (None, LayerRole.WORK)
        if role is None or not (is_new or _act(reader, at) == SWAPPED):
            continue
        reader.told_at(f"/layers_fitted/{already + len(told)}", at)
        layer = replace(_layer_row(reader, at, role, []), ref=ref_of(at))
        fitted = LayerFittedTold(layer=layer, replaces=None if piece is None else piece.id)
        told.append(fitted if piece is not None else replace(fitted, before=following))
    return told


def _with_the_next_old(
    reader: RowReader, old: Mapping[str, LayerRow]
) -> Iterator[tuple[str, int | None]]:
    """Give each row in its order, with the first layer behind it that is in the package now."""
    following: int | None = None
    rows: list[tuple[str, int | None]] = []
    for _, at in sorted(_in_order(reader, "mount/layers"), reverse=True):
        rows.append((at, following))
        named = reader.form[f"{at}/from"]
        following = old[named].id if named in old else following
    return reversed(rows)


def _in_order(reader: RowReader, of: str) -> Iterator[tuple[float, str]]:
    """Give the rows with their order; rows of the same order stay as they stand."""
    for index, at in enumerate(reader.rows(of), start=1):
        order = reader.figure(f"{at}/order")
        yield (float(index) if order is None else order), at


def _new_layer(reader: RowReader, at: str, role: LayerRole) -> LayerTold:
    material, lot = reader.text(f"{at}/material"), reader.text(f"{at}/lot")
    return LayerTold(role=role, material=material, lot=lot)


def mount_typed(reader: RowReader, records: WorkRecords) -> MountTold | None:
    """Return the new mount: a usual build of the house, or built row by row."""
    how = reader.form["mount/how"]
    if how == NO_NEW_MOUNT:
        _refuse_unsaid_mount(reader)
    if how == USUAL:
        name = reader.answers.needed("mount/house_package", a_name("house package"), "")
        return MountTold(house_package=name)
    if how == CHANGED and reader.is_ticked("dismount/done"):
        message = "It came off its mount, and is said to stay on it."
        right = "Say that it is mounted anew, or in no new mount; or untick that it came off."
        reader.wrong("mount/how", message, right)
    if how != BUILT:
        return None
    return MountTold(
        method=reader.text("mount/method"),
        layers=_layer_rows(reader, "mount/layers", layers_now(records)),
        in_front=reader.word("mount/in_front", Answer),
        behind=reader.word("mount/behind", Answer),
        holds=tuple(hold for _, hold in _hold_rows(reader, "mount/holds")),
        held=reader.word("mount/held", Answer),
    )


def _refuse_unsaid_mount(reader: RowReader) -> None:
    """Note a fault where layers are changed in the rows, and not how the work was closed."""
    rows = reader.rows("mount/layers")
    if any(_act(reader, at) in (OUT, SWAPPED) for at in rows):
        message = "Layers are changed, but not how the work was closed."
        right = "Say whether it stays on its mount or is mounted anew; or let the layers stay."
        reader.wrong("mount/how", message, right)


def _layer_rows(reader: RowReader, of: str, old: list[LayerRow]) -> tuple[LayerTold, ...]:
    """Return the layers front to back; rows of the same order stay as they stand."""
    told: list[tuple[float, str, LayerTold]] = []
    for order, at in _in_order(reader, of):
        role = reader.word(f"{at}/role", LayerRole)
        if role is not None and _act(reader, at) != OUT:
            told.append((order, at, _layer_row(reader, at, role, old)))
    told.sort(key=lambda row: row[0])
    for index, (_, at, _) in enumerate(told):
        reader.told_at(f"/{of}/{index}", at)
    return tuple(layer for _, _, layer in told)


def _layer_row(reader: RowReader, at: str, role: LayerRole, old: list[LayerRow]) -> LayerTold:
    if role is LayerRole.WORK:
        return LayerTold(role=role)
    if _act(reader, at) == SWAPPED and reader.text(f"{at}/material") is None:
        message = "It is changed, and not for what."
        reader.wrong(f"{at}/material", message, "Choose a material, or let the layer stay.")
    told = LayerTold(
        role=role,
        material=reader.text(f"{at}/material"),
        grade=reader.text(f"{at}/grade"),
        lot=reader.text(f"{at}/lot"),
        known_by=reader.word(f"{at}/known_by", KnownBy),
    )
    same = _same_piece(reader, at, old)
    if same is None:
        return told
    return replace(
        told,
        # Left blank where a change was begun and taken back: it is still the piece that it was.
        material=told.material or same.material,
        lot=told.lot or same.lot,
        grade=told.grade or same.grade,
        # Its clock goes on: a piece is not new because it was put in again.
        fitted_on=same.fitted_edtf or NOT_KNOWN,
        belongs_to_work=same.belongs_to_work,
        covers_all=same.covers_all,
        side=same.side,
        distance=same.distance,
    )


def _same_piece(reader: RowReader, at: str, old: list[LayerRow]) -> LayerRow | None:
    """Return the layer of the old package that this row puts in again; None for a new piece."""
    named = reader.text(f"{at}/from")
    piece = next((row for row in old if str(row.id) == named), None)
    stays = reader.is_ticked(f"{at}/same") or _act(reader, at) == STAYS
    if piece is None or not stays or _act(reader, at) == SWAPPED:
        return None
    return piece if reader.text(f"{at}/material") in (None, piece.material) else None


def _hold_rows(reader: RowReader, of: str) -> list[tuple[str, HoldTold]]:
    """Return the holds that are told, each with the name of its row."""
    told: list[tuple[str, HoldTold]] = []
    for at in reader.rows(of):
        if any(reader.text(f"{at}/{name}") for name in _OF_HOLD):
            reader.told_at(f"/{of}/{len(told)}", at)
            told.append((at, _hold_row(reader, at)))
    return told


def _hold_row(reader: RowReader, at: str) -> HoldTold:
    return HoldTold(
        material=reader.text(f"{at}/material"),
        grade=reader.text(f"{at}/grade"),
        position=reader.line(f"{at}/position"),
        count=reader.whole(f"{at}/count", 1, MOST_HOLDS, "count"),
        clearance_mm=reader.length(f"{at}/clearance_mm"),
        known_by=reader.word(f"{at}/known_by", KnownBy),
    )


def ref_of(at: str) -> str:
    """Return by what name the record is told a row, so that it can be found again in it."""
    return at.replace("/", ".")
