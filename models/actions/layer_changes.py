"""Which layers were taken out of a package and which put in, at one visit?

A glazing, a window mat or a backing is changed while the work stays on its
hinges. A layer that is replaced gives its place to the new one; a layer put
before another goes between; one of which nobody says where goes to the back.
"""

from collections.abc import Sequence

from sqlmodel import col, func, select

from models.actions.bench import Bench
from models.actions.mounting import POSITION_STEP, fit_layer
from models.actions.record_changes import date_columns, date_kept, write
from models.actions.visit_words import LayerMeant
from models.errors import RuleBroken
from models.rules.record_order import refuse_end_before_start
from models.rules.visit_as_told import LayerFittedTold, LayerRemovedTold
from models.tables.mounts import Layer
from models.vocabulary import LayerRole

# While places are dealt out anew every layer stands beyond any place in use.
_ASIDE = 900_000


def remove_layers(bench: Bench, told: Sequence[LayerRemovedTold]) -> frozenset[LayerRole]:
    """Take layers out of the package of the work; return what they were there for."""
    roles = set()
    for index, removed in enumerate(told):
        layer = bench.layer(removed.layer, f"/layers_removed/{index}/layer")
        if layer.role is LayerRole.WORK:
            raise RuleBroken(
                "The work itself is dismounted, not removed as a layer.", "work_is_no_layer"
            )
        take_out(bench, layer)
        layer.condition, layer.kept = removed.condition, removed.kept
        layer.note = removed.note or layer.note
        roles.add(layer.role)
    bench.session.flush()
    return frozenset(roles)


def take_out(bench: Bench, layer: Layer) -> None:
    """End a layer at this visit. Raises RuleBroken when it was certainly fitted later."""
    refuse_end_before_start("layer", date_kept(layer, "fitted"), bench.on)
    layer.ended = True
    write(layer, date_columns("removed", bench.on))
    layer.removed_visit_id = bench.visit_id
    bench.touched_packages.add(layer.package_id)


def fit_layers(
    bench: Bench, told: Sequence[LayerFittedTold], meant: Sequence[LayerMeant]
) -> frozenset[LayerRole]:
    """Put layers into the package of the work; return the roles of those they replaced."""
    replaced = set()
    for index, (fitted, layer) in enumerate(zip(told, meant, strict=True)):
        at = f"/layers_fitted/{index}"
        if bench.mount is None:
            raise RuleBroken(
                "This work is in no package on record, so no layer can be fitted into one;"
                " record the mount first.",
                "no_package",
            )
        if fitted.layer.role is LayerRole.WORK:
            raise RuleBroken("The work itself is mounted, not fitted.", "work_is_no_layer")
        package_id = bench.mount.package_id
        bench.touched_packages.add(package_id)
        if fitted.replaces is not None:
            old = _replaced(bench, fitted, at)
            replaced.add(old.role)
            position = old.position
        elif fitted.before is not None:
            position = _place_before(bench, bench.layer(fitted.before, f"{at}/before"))
        else:
            position = _place_behind_all(bench, package_id)
        fit_layer(bench, layer, package_id, position)
    return frozenset(replaced)


def _replaced(bench: Bench, fitted: LayerFittedTold, at: str) -> Layer:
    assert fitted.replaces is not None, "only asked of a layer that replaces another"
    old = bench.taken_out(fitted.replaces, f"{at}/replaces")
    if old.role is LayerRole.WORK:
        raise RuleBroken("The work itself cannot be replaced as a layer.", "work_is_no_layer")
    if not old.ended:
        take_out(bench, old)
        bench.session.flush()
    return old


def _place_before(bench: Bench, next_layer: Layer) -> int:
    package_id = next_layer.package_id
    if _free_before(bench, next_layer) is None:
        _deal_places_anew(bench, package_id)
    place = _free_before(bench, next_layer)
    assert place is not None, "places that were dealt out anew have room between them"
    return place


def _free_before(bench: Bench, next_layer: Layer) -> int | None:
    """Return the middle between a layer and the one before it, None where there is no room."""
    before = select(func.max(Layer.position)).where(
        Layer.package_id == next_layer.package_id,
        col(Layer.position) < next_layer.position,
    )
    lower = bench.session.exec(before).one() or 0
    middle = (lower + next_layer.position) // 2
    return middle if lower < middle < next_layer.position else None


def _place_behind_all(bench: Bench, package_id: int) -> int:
    last = select(func.max(Layer.position)).where(Layer.package_id == package_id)
    place = (bench.session.exec(last).one() or 0) + POSITION_STEP
    if place >= _ASIDE:
        _deal_places_anew(bench, package_id)
        place = (bench.session.exec(last).one() or 0) + POSITION_STEP
    return place


def _deal_places_anew(bench: Bench, package_id: int) -> None:
    every = select(Layer).where(Layer.package_id == package_id)
    layers = bench.session.exec(every.order_by(col(Layer.position), col(Layer.id))).all()
    for index, layer in enumerate(layers):
        layer.position = _ASIDE + index
    # No two current layers may stand in one place, not even for a moment.
    bench.session.flush()
    for index, layer in enumerate(layers, start=1):
        layer.position = index * POSITION_STEP
    bench.session.flush()
