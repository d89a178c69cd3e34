"""By what can its place, its glazing, its frame and its own nature harm a work?

Rows that no single layer answers for: accidents and moves, mould and foxing in
damp air, dust and insects where no seal is on record, sticking to the glazing, a
sheet without room to move, an inkjet print glazed before it was dry, silver and
dyes in moving air, paper that browns of itself, a face mount. All but a damp
clock start at the mounting.

An accident is counted by the years in places of each use, in years of the present
one, and every move counts as much as one in a hundred (hazard -ln 0.99). A plan
without glazing or frame hangs nowhere yet: of its surroundings only mould counts,
which a damp place brings to every package.

Of a damp clock two readings lead: the highest since its place was last seen, and
the one from which it now goes on.
"""

from collections.abc import Iterator, Sequence
from dataclasses import replace
from math import log

from models.rules.component_row import Circumstances, ComponentRow, clock_row, theta
from models.rules.distance_from_work import PlacedLayer
from models.rules.frame_seal import has_frame, is_framed, seal_of
from models.rules.glazing_contact import GRADE_OF_SURFACE, can_touch_glazing
from models.rules.package_facts import PackageFacts
from models.rules.place_clock import (
    damp_reading,
    dampest_rh_percent,
    is_ever_damp,
    moves,
    rate_ahead,
    years_by_use,
)
from models.rules.sheet_room import GRADE as CANNOT_MOVE
from models.rules.sheet_room import what_restrains
from models.rules.work_nature import (
    FACE_MOUNT,
    FOGGING,
    FOXING,
    OWN_AGEING,
    TARNISH,
    can_fox,
    fogs_glazing,
    is_face_mounted,
    tarnishes,
)
from models.vocabulary import Mechanism, PlaceUse, Shown

ACCIDENT_GRADE = {
    PlaceUse.DISPLAY: "on display",
    PlaceUse.TRANSIT: "on display",
    PlaceUse.STORAGE: "in storage",
    PlaceUse.BOX: "in storage",
}
# The chance of an accident at a move. Default of this project (judgement).
MOVE_CHANCE = 0.01
MOULD = "by damp clock"
SEALED, UNSEALED = "sealed package", "unsealed package"
THE_PLACE, THE_WORK = "the place", "the work itself"

_MOVE_HAZARD = -log(1 - MOVE_CHANCE)
_LN_2 = log(2)


def exposure_rows(
    case: Circumstances, package: PackageFacts, placed: Sequence[PlacedLayer]
) -> Iterator[ComponentRow]:
    """Give the rows of surroundings, glazing, frame and the work's nature, in no order.

    `placed` are the layers of the package with their sides and distances.
    """
    yield from _damp_rows(case, package, Mechanism.MOULD, MOULD, Shown.BACK_OF_FRAME)
    yield from _contact_rows(case, package, placed)
    if not (package.is_recorded or is_framed(package)):
        return
    yield _accident_row(case, package)
    if can_fox(case.work):
        yield from _damp_rows(case, package, Mechanism.FOXING, FOXING, Shown.FRONT)
    yield from _air_rows(case, package)
    yield from _nature_rows(case, package)


def _contact_rows(
    case: Circumstances, package: PackageFacts, placed: Sequence[PlacedLayer]
) -> Iterator[ComponentRow]:
    if can_touch_glazing(placed, package.method):
        yield _at_front(
            case,
            package,
            Mechanism.STICKING,
            GRADE_OF_SURFACE[case.work.surface],
            name="glazing",
            because="no mat and no spacer keep the work off the glazing",
        )
    begun = case.today if package.mounted_day is None else package.mounted_day
    dampest = dampest_rh_percent(case.past, case.climate, begun, case.today)
    restraint = what_restrains(package, case.work, dampest)
    if restraint is not None:
        row = _at_front(
            case,
            package,
            Mechanism.RESTRAINT,
            CANNOT_MOVE,
            name=restraint.name,
            because=restraint.because,
        )
        yield replace(row, key=restraint.key)
    if fogs_glazing(case.work, package):
        yield _at_front(
            case,
            package,
            Mechanism.FOGGING,
            FOGGING,
            name="glazing",
            because="it was glazed within 14 days of printing, as far as the dates tell",
        )


def _air_rows(case: Circumstances, package: PackageFacts) -> Iterator[ComponentRow]:
    seal, in_box = seal_of(package), case.climate.use is PlaceUse.BOX
    if has_frame(package) and not in_box:
        fitted = None if seal is None else seal.fitted_first_day
        begun = [day for day in (package.mounted_day, fitted) if day is not None]
        yield clock_row(
            case,
            Mechanism.INSECTS_AND_DUST,
            UNSEALED if seal is None else SEALED,
            name="frame" if seal is None else seal.material or seal.role.value,
            key=None if seal is None else seal.key,
            shown=Shown.FRONT,
            start=max(begun, default=None),
            because="no seal on record" if seal is None else "seals open with the years",
        )
    if tarnishes(case.work) and seal is None and not in_box:
        yield _at_front(
            case,
            package,
            Mechanism.TARNISH_OR_OZONE,
            TARNISH,
            name=THE_WORK,
            because="air reaches silver or dyes: no seal on record",
        )


def _nature_rows(case: Circumstances, package: PackageFacts) -> Iterator[ComponentRow]:
    if case.work.groundwood_support:
        made = case.work.made_first_day
        row = clock_row(
            case,
            Mechanism.OWN_AGEING,
            OWN_AGEING,
            name=THE_WORK,
            shown=Shown.FRONT,
            start=package.mounted_day if made is None else made,
            because="groundwood paper browns of itself; no package helps",
        )
        yield replace(row, is_of_package=False)
    if is_face_mounted(case.work, package):
        yield _at_front(
            case,
            package,
            Mechanism.FACE_MOUNT,
            FACE_MOUNT,
            name=THE_WORK,
            because="it is stuck to acrylic sheet; no new package helps",
        )


def _at_front(
    case: Circumstances,
    package: PackageFacts,
    mechanism: Mechanism,
    grade: str,
    *,
    name: str,
    because: str,
) -> ComponentRow:
    return clock_row(
        case,
        mechanism,
        grade,
        name=name,
        shown=Shown.FRONT,
        start=package.mounted_day,
        because=because,
    )


def _damp_rows(
    case: Circumstances, package: PackageFacts, mechanism: Mechanism, grade: str, shown: Shown
) -> Iterator[ComponentRow]:
    figure = case.figures.figure(mechanism, grade)
    if not is_ever_damp(figure.clock, case.past, case.climate):
        return
    begun = case.today if package.mounted_day is None else package.mounted_day
    reading = damp_reading(
        figure.clock,
        case.past,
        case.climate,
        begun=begun,
        until=case.today,
        seen=case.seen.day_of_damp(mechanism, shown),
        clean=case.seen.clean_of_mould_day(),
    )
    rate = rate_ahead(figure.clock, case.climate)
    if not (rate or reading.peak):
        return
    median, shape = case.figures.median_and_shape(mechanism, grade)
    row = ComponentRow(
        mechanism=mechanism,
        grade=grade,
        name=THE_PLACE,
        key=None,
        shown=shown,
        median=median,
        shape=shape,
        theta=theta(case, mechanism, grade),
        severity=figure.severity,
        rate_per_year=rate,
        clock_seen=reading.seen,
        clock_now=reading.now,
        weights=(0.0, 0.0, 0.0),
        begun_day=begun,
        because=_why_damp(case, rate),
    )
    yield row
    if reading.peak > reading.now:
        yield replace(row, rate_per_year=0.0, clock_now=reading.peak)


def _why_damp(case: Circumstances, rate: float) -> str:
    here = f"{case.climate.temperature_c:g} °C and {case.climate.rh_percent:g} %"
    return f"its place is damp: {here}" if rate else "a place before was damp"


def _accident_row(case: Circumstances, package: PackageFacts) -> ComponentRow:
    grade = ACCIDENT_GRADE[case.climate.use]
    begun = case.today if package.mounted_day is None else package.mounted_day
    seen = case.seen.day_for(Mechanism.ACCIDENT, Shown.FRONT)
    row = clock_row(case, Mechanism.ACCIDENT, grade, name=THE_PLACE, shown=Shown.FRONT, start=begun)
    if not case.past:
        return replace(row, because=f"it is {grade}")
    moved = moves(case.past, begun if seen is None else max(begun, seen), case.today)
    return replace(
        row,
        clock_seen=0.0 if seen is None else _accident_years(case, grade, begun, seen),
        clock_now=_accident_years(case, grade, begun, case.today),
        because=f"it is {grade}{_MOVED.get(moved, f', and was moved {moved} times')}",
    )


_MOVED = {0: "", 1: ", and was moved once"}


def _accident_years(case: Circumstances, grade: str, begun: int, until: int) -> float:
    """Return years in the present use that are as dangerous as the years and moves there were."""
    median, _ = case.figures.median_and_shape(Mechanism.ACCIDENT, grade)
    there = years_by_use(case.past, case.climate, begun, until)
    years = sum(
        of_use * median / case.figures.median_and_shape(Mechanism.ACCIDENT, ACCIDENT_GRADE[use])[0]
        for use, of_use in there.items()
    )
    return years + moves(case.past, begun, until) * _MOVE_HAZARD / _LN_2 * median
