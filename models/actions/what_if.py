"""What would become of a work if its package, its hold or its place were another?

The work is judged twice by the same rules: as it is, and with the layers swapped
for materials of the library, one put in front or behind, the hold renewed, or the
place changed. What is fitted is taken to be fitted today, and a work that is held
anew to be mounted today. Nothing is stored.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

from sqlmodel import Session, col, select

from models.actions.forecasts import case_of, forecast_of
from models.actions.in_force import InForce, in_force
from models.actions.named_records import material_named
from models.actions.place_climates import climate_at
from models.actions.places import place_seen_at
from models.actions.record_changes import key_of
from models.actions.stock_materials import figures_told
from models.actions.work_records import WorkRecords, load_records
from models.errors import BadValue, NotFound
from models.rules.default_figures import DefaultFigures
from models.rules.hinge_count import HINGES, usual_hinge_count
from models.rules.material_for_role import refuse_impossible_layer
from models.rules.package_facts import HoldFacts, LayerFacts, PackageFacts, WorkFacts
from models.rules.permissions import Deed, require
from models.rules.record_values import Faults
from models.rules.work_forecast import WorkCase, WorkForecast, package_on_record
from models.tables.materials import Material, MaterialFigures
from models.tables.visible import Viewer
from models.vocabulary import (
    Answer,
    KnownBy,
    LayerRole,
    LayerSide,
    Mechanism,
    PatResult,
)

# What is written instead of a material for a layer that is to go.
TAKEN_OUT = "taken out"
POCKETS = 4


@dataclass(frozen=True, kw_only=True)
class WhatIf:
    """What is to be another, in the names of the library; blank is as it is.

    `layers` go by the number of the layer on record. `front` and `behind` are put in
    next to the work, the spacer behind the glazing.
    """

    layers: Mapping[int, str] = field(default_factory=dict)
    front: str = ""
    behind: str = ""
    spacer: str = ""
    hold: str = ""
    place: str = ""


@dataclass(frozen=True)
class WhatIfJudged:
    """The work as it is and as it would be, each with its package."""

    records: WorkRecords
    package: PackageFacts
    planned: PackageFacts
    place: str
    as_it_is: WorkForecast
    as_it_would_be: WorkForecast


def judge_what_if(
    session: Session, viewer: Viewer, work_id: int, asked: WhatIf, *, today: int
) -> WhatIfJudged:
    """Return both forecasts. Raises NotFound, and BadValue with every name not on record."""
    require(viewer.role, Deed.READ)
    records = load_records(session, viewer, [work_id]).get(work_id)
    if records is None:
        raise NotFound("work", work_id)
    force = in_force(session)
    case = case_of(records, force, today=today)
    package = package_on_record(case)
    planned, place_id = _read(session, viewer, force, case, package, asked)
    changed = _changed(case, force, package, planned, place_id)
    as_it_is, as_it_would_be = forecast_of(case), forecast_of(changed)
    at = records.work.place_id if place_id is None else place_id
    place = "" if at is None else force.tree.path(at)
    return WhatIfJudged(records, package, planned, place, as_it_is, as_it_would_be)


def _read(
    session: Session,
    viewer: Viewer,
    force: InForce,
    case: WorkCase,
    package: PackageFacts,
    asked: WhatIf,
) -> tuple[PackageFacts, int | None]:
    faults = Faults()
    found: dict[str, tuple[Material, MaterialFigures]] = {}

    def material(
        pointer: str, name: str, role: LayerRole | None = None
    ) -> tuple[Material, MaterialFigures] | None:
        meant = found.get(name) or faults.read(pointer, lambda g: _material(session, g), name)
        if meant is None:
            return None
        found[name] = meant
        of, its = meant
        sticks = its.grade in case.figures.grades(Mechanism.ADHESIVE_AGEING)
        faults.read_if_given(
            pointer, lambda r: refuse_impossible_layer(r, of.name, of.kind, sticks=sticks), role
        )
        return meant

    layers = list(package.layers)
    for number, name in asked.layers.items():
        index = next((i for i, layer in enumerate(layers) if layer.key == number), None)
        if index is None or not name:
            continue
        if name == TAKEN_OUT:
            del layers[index]
        elif (meant := material(f"/layer_{number}", name, layers[index].role)) is not None:
            layers[index] = _swapped(layers[index], *meant, today=case.today)
    planned = replace(package, layers=tuple(layers))
    if asked.spacer and (meant := material("/spacer", asked.spacer, LayerRole.SPACER)) is not None:
        planned = _with_spacer(planned, meant, today=case.today)
    for side, name, role in (
        ("front", asked.front, LayerRole.WINDOW_MAT),
        ("behind", asked.behind, LayerRole.MOUNT_BOARD),
    ):
        if name and (meant := material(f"/{side}", name, role)) is not None:
            planned = _beside(planned, role, meant, today=case.today)
    if asked.hold and (meant := material("/hold", asked.hold)) is not None:
        hold = faults.read(
            "/hold", lambda _: _hold(*meant, work=case.work, figures_of=case.figures), asked.hold
        )
        planned = planned if hold is None else _held_anew(planned, hold, today=case.today)
    place_id = faults.read_if_given(
        "/place",
        lambda path: place_seen_at(session, viewer, force.tree, path),
        asked.place or None,
    )
    faults.refuse()
    return planned, place_id


def _changed(
    case: WorkCase,
    force: InForce,
    package: PackageFacts,
    planned: PackageFacts,
    place_id: int | None,
) -> WorkCase:
    if planned == package and place_id is None:
        return case
    changed = replace(case, package=planned, is_unchanged_since=False)
    if place_id is None:
        return changed
    # It has been where it was until today.
    past = (*case.past, (case.today, case.climate))
    climate = climate_at(force.tree, force.climates, place_id)
    return replace(changed, climate=climate, past=past)


def _material(session: Session, name: str) -> tuple[Material, MaterialFigures]:
    material = material_named(session, name)
    newest = (
        select(MaterialFigures)
        .where(MaterialFigures.material_id == key_of(material))
        .order_by(col(MaterialFigures.edition).desc())
    )
    figures = session.exec(newest).first()
    return material, figures or MaterialFigures(material_id=key_of(material))


def _swapped(
    old: LayerFacts, material: Material, figures: MaterialFigures, *, today: int
) -> LayerFacts:
    return LayerFacts(
        role=old.role,
        key=old.key,
        side=old.side,
        distance=old.distance,
        grade=figures.grade,
        material=material.name,
        known_by=KnownBy.SEEN,
        fitted_first_day=today,
        covers_all=old.covers_all,
        **figures_told(figures),
    )


def _with_spacer(
    package: PackageFacts, meant: tuple[Material, MaterialFigures], *, today: int
) -> PackageFacts:
    empty = LayerFacts(role=LayerRole.SPACER, side=LayerSide.FRONT)
    spacer = _swapped(empty, *meant, today=today)
    roles = [layer.role for layer in package.layers]
    at = roles.index(LayerRole.GLAZING) + 1 if LayerRole.GLAZING in roles else 0
    return replace(package, layers=(*package.layers[:at], spacer, *package.layers[at:]))


def _beside(
    package: PackageFacts,
    role: LayerRole,
    meant: tuple[Material, MaterialFigures],
    *,
    today: int,
) -> PackageFacts:
    """Return the package with a layer next to the work, and its question answered."""
    in_front = role is LayerRole.WINDOW_MAT
    side = LayerSide.FRONT if in_front else LayerSide.BEHIND
    layer = _swapped(LayerFacts(role=role, side=side), *meant, today=today)
    layers = _with_the_work(package.layers)
    at = [one.role for one in layers].index(LayerRole.WORK) + (0 if in_front else 1)
    placed = (*layers[:at], layer, *layers[at:])
    if in_front:
        return replace(package, layers=placed, front=Answer.THIS)
    return replace(package, layers=placed, behind=Answer.THIS)


def _with_the_work(layers: Sequence[LayerFacts]) -> tuple[LayerFacts, ...]:
    if any(layer.role is LayerRole.WORK for layer in layers):
        return tuple(layers)
    return (*layers, LayerFacts(role=LayerRole.WORK))


def _hold(
    material: Material, figures: MaterialFigures, *, work: WorkFacts, figures_of: DefaultFigures
) -> HoldFacts:
    if figures.hold_grade is None:
        message = f"{material.name} holds nothing by its figures."
        raise BadValue.at("", message, "Name pockets, strips, a paste or a tape.")
    adhesives = figures_of.grades(Mechanism.ADHESIVE_AGEING)
    is_hinge = figures.hold_grade in HINGES
    count = POCKETS
    if is_hinge:
        count = usual_hinge_count(work.width_mm) if work.width_mm is not None else 2
    return HoldFacts(
        grade=figures.hold_grade,
        adhesive_grade=figures.grade if figures.grade in adhesives else None,
        material=material.name,
        frees_by=figures.frees_by,
        count=count,
        pat=figures.pat or PatResult.NOT_TESTED,
        pat_day=figures.pat_on,
    )


def _held_anew(package: PackageFacts, hold: HoldFacts, *, today: int) -> PackageFacts:
    return replace(
        package,
        holds=(hold,),
        held=Answer.THIS,
        method="",
        mounted_day=today,
        mounted_last_day=today,
        mounted_is_assumed=False,
    )
