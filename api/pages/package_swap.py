"""What does a package become while its layers are swapped at the bench, and for what may they be?

One request answers with everything that changes when a layer changes: the drawing, the
verdict, how the work is freed, both dates and the chance, each beside what it is now. The
visit is told to the record, read, and dropped again: what is shown is what would be
recorded. Nothing is stored.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from fastapi import APIRouter, Request
from fastapi.responses import Response
from sqlmodel import Session

from api.dependencies import ReadSession, SignedIn, Today, TrialSession, requires
from api.forms import Typed
from api.pages.forecast_shown import ChanceShown, ForecastShown, forecast_shown
from api.pages.form_answers import Refusal
from api.pages.package_drawing import DrawnPart, PackageDrawing, package_drawing, part_key
from api.pages.package_shown import PackageShown, package_shown
from api.pages.path_ids import PathId
from api.pages.visit_typed import VisitRead, read_package
from api.pages.work_page import WorkShown, records_of, work_shown
from api.routes import Route
from api.template_filters import MONTHS, fault_said
from api.templating import show
from models.actions.in_force import in_force
from models.actions.library import library
from models.actions.visits import TriedVisit, try_visit
from models.actions.work_records import WorkRecords, package_now, work_facts
from models.errors import BadValue
from models.rules.calendar_days import day_date, day_number
from models.rules.default_figures import DefaultFigures
from models.rules.distance_from_work import PlacedLayer, place_layers
from models.rules.fit_choices import FitChoice, LibraryMaterial, choices_for_hold, choices_for_layer
from models.rules.inspection_schedule import shown_day
from models.rules.package_verdict import HOLD, REMAINS, LayerVerdict, PackageVerdict
from models.rules.permissions import Deed
from models.rules.three_questions import NOT_RECORDED, with_blanks_filled
from models.rules.work_forecast import WorkForecast
from models.tables.visible import Viewer
from models.vocabulary import Verdict

router = APIRouter(route_class=Route)

TRIED = "tried"
DUE_NOW = "today"
NO_DAY = "no day is set"


@dataclass(frozen=True)
class DateBeside:
    """One next date as it would be, beside what it is now, each by its month.

    `is_a_month` when it would have one, and is neither due today nor without a day.
    """

    name: str
    then: str
    now: str
    is_later: bool
    is_a_month: bool


@dataclass(frozen=True)
class Tried:
    """What the package told in the form would do; nothing of it is stored."""

    forecast: ForecastShown
    package: PackageShown
    freeing_now: str
    verdict_now: str
    dates: tuple[DateBeside, ...]
    chance: ChanceShown
    chance_now: ChanceShown
    cure: str


@dataclass(frozen=True)
class TriedPage:
    """What templates/visits/tried.html is given: the part of a page that is swapped.

    `faults` say in sentences why there is nothing to show.
    """

    tried: Tried | None
    faults: tuple[str, ...] = ()


@dataclass(frozen=True)
class LayerChoices:
    """What one layer, or the hold, may be changed for; `layer` is its number on record."""

    layer: int
    role: str
    now: str
    choices: tuple[FitChoice, ...]


@dataclass(frozen=True)
class FitMaterialsPage:
    """What templates/visits/fit_materials.html is given."""

    work: WorkShown
    layers: tuple[LayerChoices, ...]


@router.post("/works/{work_id:int}/package-tried", dependencies=[requires(Deed.RECORD_VISIT)])
def package_swapped(
    request: Request,
    session: TrialSession,
    viewer: SignedIn,
    today: Today,
    work_id: PathId,
    form: Typed,
) -> Response:
    """Show what the package in the form would do, as a part of the page; nothing is stored."""
    records = records_of(session, viewer, work_id)
    try:
        read = read_package(form, records)
        tried = tried_package(session, viewer, records, read, today=day_number(today))
    except Refusal as error:
        told = error.faults if isinstance(error, BadValue) else ()
        faults = tuple(fault_said(one) for one in told)
        page = TriedPage(None, faults or (error.message,))
        # To the page that asked this was a question: its answer is no error.
        return show(request, "visits/tried.html", page)
    return show(request, "visits/tried.html", TriedPage(tried))


@router.get("/works/{work_id:int}/fit-materials", dependencies=[requires(Deed.RECORD_VISIT)])
def fit_materials(
    request: Request, session: ReadSession, viewer: SignedIn, today: Today, work_id: PathId
) -> Response:
    """Show for what each layer of a work may be changed, the fittest first."""
    records = records_of(session, viewer, work_id)
    shelf = _Shelf(library(session), in_force(session).figures)
    layers = _choices(records, shelf, today=day_number(today))
    page = FitMaterialsPage(work_shown(records), tuple(layers))
    return show(request, "visits/fit_materials.html", page)


def tried_package(
    session: Session, viewer: Viewer, records: WorkRecords, read: VisitRead, *, today: int
) -> Tried:
    """Return what a package would do. The session holds it until it is dropped.

    Raises what recording the visit would raise.
    """
    tried = try_visit(session, viewer, records, read.told, today=today)
    now, then = tried.now, tried.then
    rows = _rows(read, tried.records, tried.refs)
    package = package_shown(tried.records, then.verdict, name=TRIED, rows=rows)
    shown, shown_now = forecast_shown(then, today=today), forecast_shown(now, today=today)
    return Tried(
        forecast=shown,
        package=package,
        freeing_now=now.verdict.freeing,
        verdict_now=now.verdict.verdict,
        dates=tuple(_dates(now, then, today)),
        chance=shown.new_in_five_years,
        chance_now=shown_now.new_in_five_years,
        cure=_cure(session, tried, package.drawing.weakest, today=today),
    )


def _rows(read: VisitRead, records: WorkRecords, refs: Mapping[str, int]) -> dict[str, str]:
    """Return in which row of the form each layer and hold of the package was told.

    A layer that stays in its package is found by its own number.
    """
    mount, told = records.current_mount, read.told.mount
    if mount is None:
        return {}
    layers = [row for row in records.layers[mount.package_id] if not row.ended]
    if told is None:
        fitted = {key: ref.replace(".", "/") for ref, key in refs.items()}
        return {part_key(r.role, r.id): fitted.get(r.id, f"layer/{r.id}") for r in layers}
    keys = [part_key(row.role, row.id) for row in layers]
    holds = [part_key(HOLD, row.id) for row in records.holds[mount.id]]
    return {
        **{key: read.fields.get(f"/mount/layers/{i}", "") for i, key in enumerate(keys)},
        **{key: read.fields.get(f"/mount/holds/{i}", "") for i, key in enumerate(holds)},
    }


def rows_of_old(records: WorkRecords) -> dict[str, str]:
    """Return by which fields of the form each layer and hold of the package now is told of."""
    mount = records.current_mount
    if mount is None:
        return {}
    layers = {part_key(r.role, r.id): f"layer/{r.id}" for r in records.layers[mount.package_id]}
    holds = {part_key(HOLD, row.id): f"dismount/{row.id}" for row in records.holds[mount.id]}
    return {**layers, **holds}


def old_package(records: WorkRecords, verdict: PackageVerdict) -> PackageDrawing:
    """Return the drawing of the package now, each part leading to its fields."""
    return package_drawing(package_now(records), verdict, name="old", rows=rows_of_old(records))


def _dates(now: WorkForecast, then: WorkForecast, today: int) -> Iterator[DateBeside]:
    named = (
        ("Look again", now.look.on, then.look.on),
        # By the package alone, or swapping layers would move nothing while a remat is advised.
        ("Unframe again", now.unframing.on, then.unframing.on),
        (_cure_named(now, then), now.remat.on, then.remat.on),
        ("Check the box", now.box_check.on, then.box_check.on),
    )
    for name, before, after in named:
        if before is not None or after is not None:
            yield _beside(name, before, after, today)


def _cure_named(now: WorkForecast, then: WorkForecast) -> str:
    """Return what is advised instead of looking again, as the name of its date."""
    return str(then.advice or now.advice or "").capitalize()


def _beside(name: str, before: int | None, after: int | None, today: int) -> DateBeside:
    far = 10**9
    is_later = (after or far) > max(before or far, today)
    is_a_month = after is not None and after > today
    return DateBeside(name, _month(after, today), _month(before, today), is_later, is_a_month)


def _month(on: int | None, today: int) -> str:
    if on is None:
        return NO_DAY
    if on <= today:
        return DUE_NOW
    day = day_date(shown_day(on, today) or on)
    return f"{MONTHS[day.month - 1]} {day.year}"


def _cure(session: Session, tried: TriedVisit, weakest: DrawnPart | None, *, today: int) -> str:
    """Return in a sentence what would make the weakest link sound; empty where nothing is weak."""
    if weakest is None or weakest.judged is None:
        return ""
    if weakest.judged.role == REMAINS:
        return "What an earlier mount left goes only by treatment: note it for a conservator."
    shelf = _Shelf(library(session, weakest.judged.role), tried.force.figures)
    choices = _for_one(weakest.judged, tried.records, shelf, today=today)
    sound = next((one for one in choices if one.verdict is Verdict.SOUND), None)
    if sound is None:
        return "Nothing in the library would be sound in its place."
    lot = f", lot {sound.lot} in use" if sound.lot else ""
    return f"Sound in its place: {sound.name}{lot}."


@dataclass(frozen=True)
class _Shelf:
    """What can be chosen from, and by which typical times it is judged."""

    library: Sequence[LibraryMaterial]
    figures: DefaultFigures


def _for_one(
    judged: LayerVerdict, records: WorkRecords, shelf: _Shelf, *, today: int
) -> tuple[FitChoice, ...]:
    """Return what a layer or hold may be changed for."""
    if judged.role == HOLD:
        work = work_facts(records)
        return choices_for_hold(shelf.library, work, shelf.figures, today=today)
    placed = place_layers(with_blanks_filled(package_now(records)))
    of = (p for p in placed if (p.layer.key, p.layer.role) == (judged.key, judged.role))
    return next((_for_layer(p, records, shelf, today=today) for p in of), ())


def _for_layer(
    placed: PlacedLayer, records: WorkRecords, shelf: _Shelf, *, today: int
) -> tuple[FitChoice, ...]:
    package, work = package_now(records), work_facts(records)
    return choices_for_layer(placed, package, shelf.library, work, shelf.figures, today=today)


def _choices(records: WorkRecords, shelf: _Shelf, *, today: int) -> Iterator[LayerChoices]:
    """Give what each layer may be changed for, front to back, and what may hold the work."""
    for placed in place_layers(with_blanks_filled(package_now(records))):
        layer = placed.layer
        if isinstance(layer.key, int):
            found = _for_layer(placed, records, shelf, today=today)
            now = layer.material or layer.grade or NOT_RECORDED
            yield LayerChoices(layer.key, layer.role, now, found)
    work = work_facts(records)
    holds = choices_for_hold(shelf.library, work, shelf.figures, today=today)
    yield LayerChoices(0, HOLD, "", holds)
