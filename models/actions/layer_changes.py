"""Which layers were taken out of a package and which put in, at one visit?

A glazing, a window mat or a backing is changed while the work stays on its
hinges. A layer that is replaced gives its place to the new one; a layer put
before another goes between; one of which nobody says where goes where its role
belongs. What was unknown in front or behind is known once the layer next to the
work is one that somebody has put there.
"""

from collections.abc import Sequence

from sqlalchemy import bindparam
from sqlmodel import col, func, select

from models.actions.bench import Bench
from models.actions.mounting import POSITION_STEP, fit_layer
from models.actions.record_changes import date_columns, date_kept, write
from models.actions.visit_words import LayerMeant
from models.errors import RuleBroken
from models.rules.distance_from_work import is_beside, side_by_role
from models.rules.record_order import refuse_end_before_start
from models.rules.visit_as_told import LayerFittedTold, LayerRemovedTold
from models.tables.mounts import Layer, Package
from models.vocabulary import Answer, LayerRole, LayerSide

# While places are dealt out anew every layer stands beyond any place in use.
_ASIDE = 900_000
_IN_FRONT_OF_ALL = frozenset({LayerRole.GLAZING, LayerRole.FRAME})
# Glass, spacers and an outer back do not say what else lies between them and the work.
_SAYS_NOTHING = frozenset({LayerRole.GLAZING, LayerRole.SPACER, LayerRole.BACKING})


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
    if told:
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
            position = _place_of_role(bench, package_id, fitted.layer.role)
        fit_layer(bench, layer, package_id, position)
    if told and bench.mount is not None:
        _answer_what_is_known_now(bench, bench.mount.package_id)
    return frozenset(replaced)


def _place_of_role(bench: Bench, package_id: int, role: LayerRole) -> int:
    """Return a place in front of all for glazing, before the work for a mat, else behind all."""
    layers = _current(bench, package_id)
    if not layers or side_by_role(role) is LayerSide.BEHIND:
        return _place_behind_all(bench, package_id)
    work = next((layer for layer in layers if layer.role is LayerRole.WORK), layers[0])
    return _place_before(bench, layers[0] if role in _IN_FRONT_OF_ALL else work)


def _answer_what_is_known_now(bench: Bench, package_id: int) -> None:
    package = bench.session.get_one(Package, package_id)
    layers = _current(bench, package_id)
    work = next((at for at, layer in enumerate(layers) if layer.role is LayerRole.WORK), None)
    if work is None:
        return
    if package.in_front is Answer.UNKNOWN and _tells(bench, layers[:work][::-1]):
        package.in_front = Answer.THIS
    if package.behind is Answer.UNKNOWN and _tells(bench, layers[work + 1 :]):
        package.behind = Answer.THIS


def _tells(bench: Bench, outward: Sequence[Layer]) -> bool:
    """Say whether the layer next to the work was put there at this visit, and is no glass."""
    nearest = next((layer for layer in outward if not is_beside(layer.role)), None)
    return (
        nearest is not None
        and nearest.fitted_visit_id == bench.visit_id
        and nearest.role not in _SAYS_NOTHING
    )


def _current(bench: Bench, package_id: int) -> list[Layer]:
    bench.session.flush()
    return list(bench.session.exec(_IN_PACKAGE, params={"package_id": package_id}))


_IN_PACKAGE = (
    select(Layer)
    .where(
        Layer.package_id == bindparam("package_id"),
        ~col(Layer.ended),
        col(Layer.withdrawn_reason).is_(None),
    )
    .order_by(col(Layer.position))
)


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
