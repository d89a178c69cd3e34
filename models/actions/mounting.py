"""How is a work put into a package, made now, found, or known only from its traces?

A new package takes its layers front to back with the work among them; where
nobody says where the work lies, the roles decide. A second work goes into the
package of the first as it is. Only one mount of a work can be current: one that
is found although another is on record must be over, and stands before it.
"""

from collections.abc import Sequence

from sqlmodel import col, select

from models.actions.bench import Bench
from models.actions.dismounting import keep_traces
from models.actions.in_force import in_force
from models.actions.record_changes import date_columns, key_of, write
from models.actions.visit_words import HoldMeant, LayerMeant, MountMeant
from models.actions.work_records import assumed_mounting_day
from models.errors import BadValue, Contradiction
from models.rules.distance_from_work import is_beside, side_by_role
from models.rules.half_known_dates import HalfKnownDate
from models.rules.record_order import (
    refuse_begun_after,
    refuse_end_before_start,
    refuse_second_current,
)
from models.rules.visit_as_told import LayerTold
from models.tables.mounts import Hold, Layer, Mount, Package
from models.tables.visible import visible_works
from models.tables.works import Work
from models.vocabulary import Answer, KnownBy, LayerRole, LayerSide

# Room between two positions, so that a layer can be put between them later.
POSITION_STEP = 1000


def make_mount(bench: Bench, meant: MountMeant) -> Mount:
    """Mount the work at this visit: into a new package, or into that of another work."""
    if meant.mounted is not None or meant.dismounted is not None or meant.told.inferred:
        raise BadValue.at(
            "/mount", "A mount made at this visit begins with it.", "say it under found"
        )
    refuse_second_current("mount", has_current=bench.mount is not None)
    package_id = _package_for(bench, "/mount", meant)
    if package_id is None:
        package_id = _new_package(bench, meant)
        _fit_all(bench, meant.layers, package_id)
    else:
        # A mount undone at this visit is over before another is current: never two at once.
        bench.session.flush()
    mount = _mount(bench, meant, package_id, mounted=bench.on, number=bench.next_mount_no())
    mount.reason = mount.reason or bench.visit.reason
    mount.mounted_by_id = bench.visit.by_id
    mount.mounted_visit_id = bench.visit_id
    mount.by_unknown_hand = bench.visit.by_unknown_hand
    _add_holds(bench, mount, meant.holds)
    bench.mount = mount
    return mount


def record_found(bench: Bench, meant: MountMeant) -> Mount:
    """Record the package a work was found in, or an earlier one inferred from its traces."""
    is_over = meant.told.inferred or meant.dismounted is not None
    if not is_over:
        refuse_second_current("mount", has_current=bench.mount is not None)
    refuse_begun_after("/found/mounted_on", meant.mounted, bench.on)
    refuse_begun_after("/found/dismounted_on", meant.dismounted, bench.on)
    if meant.dismounted is not None:
        refuse_end_before_start("mount", meant.mounted, meant.dismounted)
    package_id = _package_for(bench, "/found", meant)
    if package_id is None:
        package_id = _new_package(bench, meant)
        layers = [
            (layer, _layer(layer, package_id, index * POSITION_STEP, layer.fitted or meant.mounted))
            for index, layer in enumerate(with_the_work(meant.layers), start=1)
        ]
        _add_layers(bench, layers)
    number = _number_before_current(bench) if is_over else bench.next_mount_no()
    mount = _mount(bench, meant, package_id, mounted=meant.mounted, number=number)
    mount.inferred = meant.told.inferred
    mount.found_visit_id = bench.visit_id
    if is_over:
        mount.ended = True
        write(mount, date_columns("dismounted", meant.dismounted))
    elif meant.mounted is None:
        policy = in_force(bench.session).policy
        assumed = assumed_mounting_day(bench.records, policy, bench.on.first_day)
        mount.mounted_first = mount.mounted_last = assumed
        mount.mounted_assumed = True
    holds = _add_holds(bench, mount, meant.holds)
    # Traces name their holds, and the work may come out of what was found at this visit.
    bench.session.flush()
    if meant.told.inferred:
        keep_traces(bench, mount, holds)
    if not is_over:
        bench.mount = mount
    return mount


def fit_layer(bench: Bench, meant: LayerMeant, package_id: int, position: int) -> None:
    """Put a layer into a package at this visit."""
    _add_layers(bench, [(meant, _fitted(bench, meant, package_id, position))])


def _fit_all(bench: Bench, layers: Sequence[LayerMeant], package_id: int) -> None:
    """Put all layers of a new package into it at this visit, front to back."""
    _add_layers(
        bench,
        [
            (layer, _fitted(bench, layer, package_id, index * POSITION_STEP))
            for index, layer in enumerate(with_the_work(layers), start=1)
        ],
    )


def _fitted(bench: Bench, meant: LayerMeant, package_id: int, position: int) -> Layer:
    layer = _layer(meant, package_id, position, meant.fitted or bench.on)
    # Who fits a layer has seen it.
    layer.known_by = meant.told.known_by or KnownBy.SEEN
    layer.fitted_visit_id = bench.visit_id
    return layer


def _answer_of(is_listed: bool) -> Answer:
    return Answer.THIS if is_listed else Answer.UNKNOWN


def _sides(layers: Sequence[LayerMeant]) -> list[LayerSide | None]:
    """Return the side of each layer: as the work among them says, else as its role does."""
    roles = [layer.told.role for layer in layers]
    if LayerRole.WORK not in roles:
        return [None if is_beside(role) else side_by_role(role) for role in roles]
    work = roles.index(LayerRole.WORK)
    return [
        None
        if is_beside(role) or at == work
        else LayerSide.FRONT
        if at < work
        else LayerSide.BEHIND
        for at, role in enumerate(roles)
    ]


def with_the_work(layers: Sequence[LayerMeant]) -> list[LayerMeant]:
    """Return the layers front to back with the work among them; roles decide where it lies."""
    if any(layer.told.role is LayerRole.WORK for layer in layers):
        return list(layers)
    sides = [layer.told.side or side_by_role(layer.told.role) for layer in layers]
    told = list(zip(layers, sides, strict=True))
    front = [layer for layer, side in told if side is LayerSide.FRONT]
    behind = [layer for layer, side in told if side is LayerSide.BEHIND]
    return [*front, _THE_WORK, *behind]


_THE_WORK = LayerMeant(
    told=LayerTold(role=LayerRole.WORK, known_by=KnownBy.SEEN),
    material_id=None,
    figures_id=None,
    lot_id=None,
    grade=None,
    windows=None,
    fitted=None,
)


def _package_for(bench: Bench, at: str, meant: MountMeant) -> int | None:
    """Return the package named, None for a new one."""
    named = meant.told.package
    if named is None:
        return None
    if meant.told.layers or meant.told.house_package is not None:
        raise Contradiction(
            f"{at}/package",
            "A work goes into the package of another as it is.",
            "Name the package or its layers, not both.",
        )
    own = {mount.package_id for mount in bench.records.mounts}
    if isinstance(named, int) and (named in own or _holds_a_visible_work(bench, named)):
        bench.touched_packages.add(named)
        return named
    raise BadValue.at(
        f"{at}/package", f"There is no package {named!r} here.", "one that holds a work"
    )


def _holds_a_visible_work(bench: Bench, package_id: int) -> bool:
    holding = select(Mount.id).join(Work, col(Work.id) == Mount.work_id)
    holding = holding.where(visible_works(bench.viewer), Mount.package_id == package_id)
    holding = holding.where(~col(Mount.ended), col(Mount.withdrawn_reason).is_(None))
    return bench.session.exec(holding).first() is not None


def _new_package(bench: Bench, meant: MountMeant) -> int:
    told = meant.told
    sides = [
        layer.told.side or side
        for layer, side in zip(meant.layers, _sides(meant.layers), strict=True)
    ]
    package = Package(
        in_front=told.in_front or _answer_of(LayerSide.FRONT in sides),
        behind=told.behind or _answer_of(LayerSide.BEHIND in sides),
    )
    bench.session.add(package)
    bench.session.flush()
    bench.touched_packages.add(key_of(package))
    bench.made_packages.add(key_of(package))
    return key_of(package)


def _layer(
    meant: LayerMeant, package_id: int, position: int, fitted: HalfKnownDate | None
) -> Layer:
    told = meant.told
    layer = Layer(
        package_id=package_id,
        position=position,
        role=told.role,
        side=told.side,
        distance=told.distance,
        material_id=meant.material_id,
        figures_id=meant.figures_id,
        lot_id=meant.lot_id,
        grade=meant.grade,
        known_by=told.known_by,
        covers_all=told.covers_all,
        belongs_to_work=told.belongs_to_work,
        windows=meant.windows,
        note=told.note,
    )
    write(layer, date_columns("fitted", fitted))
    return layer


def _add_layers(bench: Bench, layers: Sequence[tuple[LayerMeant, Layer]]) -> None:
    bench.session.add_all(layer for _, layer in layers)
    for meant, layer in layers:
        bench.name(meant.told.ref, layer)


def _mount(
    bench: Bench, meant: MountMeant, package_id: int, *, mounted: HalfKnownDate | None, number: int
) -> Mount:
    mount = Mount(
        work_id=bench.work_id,
        package_id=package_id,
        mount_no=number,
        method_id=meant.method_id,
        held=meant.held,
        reason=meant.told.reason,
        note=meant.told.note,
    )
    write(mount, date_columns("mounted", mounted))
    return mount


def _add_holds(bench: Bench, mount: Mount, holds: Sequence[HoldMeant]) -> list[Hold]:
    bench.session.add(mount)
    bench.session.flush()
    made = [(meant, _hold(mount, meant, number)) for number, meant in enumerate(holds, start=1)]
    bench.session.add_all(hold for _, hold in made)
    for meant, hold in made:
        bench.name(meant.told.ref, hold)
    return [hold for _, hold in made]


def _hold(mount: Mount, meant: HoldMeant, number: int) -> Hold:
    told = meant.told
    hold = Hold(
        mount_id=key_of(mount),
        hold_no=number,
        material_id=meant.material_id,
        figures_id=meant.figures_id,
        lot_id=meant.lot_id,
        grade=meant.grade,
        adhesive_grade=meant.adhesive_grade,
        known_by=told.known_by or (KnownBy.SEEN if mount.mounted_visit_id else None),
        position=told.position,
        hold_count=told.count,
        clearance_um=meant.clearance_um,
        covers_all=told.covers_all,
        note=told.note,
    )
    write(hold, date_columns("since", meant.since))
    return hold


def _number_before_current(bench: Bench) -> int:
    """Return a free number before the current mount, which moves up by one."""
    if bench.mount is None:
        return bench.next_mount_no()
    free = bench.mount.mount_no
    bench.mount.mount_no = bench.next_mount_no()
    bench.session.flush()
    return free
