"""What do the house's own mounts say beside the default figures, and is it used?

Every mount on record, past or present, is asked what it says of the grades in it;
from all of them together each mechanism and grade gets its factor. That is done at a
renewal, never inside a visit, since a factor changes every work of its grade. What is
not shown is not used: a factor under five mounts is kept and counted, and every
forecast rests on the default figure alone. A keeper may switch own evidence off, all
of it or of one grade; that too counts from the next renewal on.
"""

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from heapq import nsmallest
from typing import Any

from sqlalchemy import delete, insert
from sqlmodel import Session, SQLModel, select

from models.actions.forecasts import works_to_recompute
from models.actions.in_force import InForce, in_force
from models.actions.mounts_seen import Witness, witnesses
from models.actions.record_changes import flush_unless_taken, refuse_stale
from models.actions.work_records import load_records
from models.errors import Stale, UnknownWord
from models.risk.experience import MOST_OF_ONE_MOUNT, ExperienceFactor, experience_factors
from models.rules.default_figures import DefaultFigure, DefaultFigures
from models.rules.near_words import near_words
from models.rules.permissions import Deed, require
from models.rules.record_values import Faults, a_name
from models.tables import own_evidence as tables
from models.tables.own_evidence import (
    EVERYTHING,
    ExperienceMount,
    ExperienceSwitch,
    all_factors,
    all_switches,
    factors_in_use,
    mounts_that_spoke,
    scope_of,
)
from models.tables.visible import THE_HOUSE, Viewer
from models.vocabulary import UNKNOWN_GRADES, Found, Mechanism, Shown

# Mounts that are kept of one grade to be named on the page; the factor counts all.
MOST_NAMED = 200

Grade = tuple[Mechanism, str]
Said = Mapping[Grade, Sequence[Witness]]
_MOUNTS = SQLModel.metadata.tables[str(ExperienceMount.__tablename__)]
_HARM = frozenset({Found.HARMED, Found.HARMED_AT_UNKNOWN_AGE})


@dataclass(frozen=True)
class SwitchState:
    """Whether own evidence of one scope is switched off, and why; version 0: never touched."""

    scope: str
    is_off: bool
    reason: str
    version: int


@dataclass(frozen=True, kw_only=True)
class GradeEvidence:
    """One mechanism and grade: the default, what own mounts say, and what is used.

    `typical` is the default figure in `unit`, `typical_now` the one by which
    forecasts are worked out. Under five mounts there is a count and no factor.
    """

    mechanism: Mechanism
    grade: str
    unit: str
    typical: float
    typical_now: float
    mounts: int
    harmed: int
    expected: float
    factor: float | None
    low: float | None
    high: float | None
    in_use: bool
    computed_on: int | None
    switch: SwitchState


@dataclass(frozen=True)
class OwnEvidence:
    """The evidence of each grade that any mount speaks of, and the switch for all of it."""

    grades: tuple[GradeEvidence, ...]
    switch: SwitchState


@dataclass(frozen=True)
class MountNamed:
    """A mount that spoke, by its work; `hazard` is that of the default figure."""

    work_id: int
    number: str
    title: str
    place: Shown
    found: Found
    hazard: float


def what_mounts_say(session: Session, between: Callable[[], object] | None = None) -> Said:
    """Ask every mount on record; it only reads, and takes minutes with very many works.

    `between` is called after every few hundred works, for whoever must show to be alive.
    """
    found: dict[Grade, list[Witness]] = {}
    for some in _witnesses_of_some(session, in_force(session)):
        for one in some:
            if one.seen.grade not in UNKNOWN_GRADES:
                found.setdefault((one.seen.mechanism, one.seen.grade), []).append(one)
        if between is not None:
            between()
    return found


def renew_experience(session: Session, today: int, said: Said | None = None) -> bool:
    """Work out every factor anew; say whether any in use has changed.

    `said` is what the mounts said a moment ago, so that nobody who writes waits while
    they are asked. Whoever renews must then work out all forecasts anew.
    """
    before = factors_in_use(session)
    said = what_mounts_say(session) if said is None else said
    seen = (one.seen for those in said.values() for one in those)
    factors = experience_factors(seen, in_force(session).policy.prior_mounts)
    _store_factors(session, factors, today=today)
    session.connection().execute(delete(_MOUNTS))
    rows = [_stored(one) for those in said.values() for one in _that_say_most(those)]
    if rows:
        session.connection().execute(insert(_MOUNTS), rows)
    return factors_in_use(session) != before


def own_evidence(session: Session) -> OwnEvidence:
    """Return what own mounts say of each grade, in the order of the default figures."""
    switches = all_switches(session)
    stored = {(row.mechanism, row.grade): row for row in all_factors(session)}
    grades = [
        _evidence(figure, stored[of], _state(switches, scope_of(*of)))
        for figure in _known_figures(in_force(session).figures).values()
        if (of := (figure.mechanism, figure.grade)) in stored
    ]
    return OwnEvidence(tuple(grades), _state(switches, EVERYTHING))


def grade_evidence(session: Session, scope: str) -> GradeEvidence:
    """Return what own mounts say of one "mechanism/grade". Raises UnknownWord."""
    figure = _figure_of(in_force(session).figures, scope)
    stored = {scope_of(row.mechanism, row.grade): row for row in all_factors(session)}
    nothing = tables.ExperienceFactor(
        mechanism=figure.mechanism,
        grade=figure.grade,
        factor=1.0,
        low=1.0,
        high=1.0,
        mounts=0,
        harmed=0,
        expected=0.0,
    )
    return _evidence(figure, stored.get(scope, nothing), _state(all_switches(session), scope))


def mounts_named(
    session: Session, viewer: Viewer, mechanism: Mechanism, grade: str
) -> tuple[MountNamed, ...]:
    """Return the mounts that spoke of a grade, of works this person may see; harm first."""
    return tuple(
        MountNamed(row.work_id, number, title, row.place, row.found, row.hazard)
        for row, number, title in mounts_that_spoke(session, viewer, mechanism, grade)
    )


def switch_own_evidence(
    session: Session, viewer: Viewer, scope: str, *, is_off: bool, reason: str, based_on: int
) -> SwitchState:
    """Switch own evidence off or on, of everything or of "mechanism/grade", for a reason.

    It counts from the next renewal on. `based_on` is 0 for a switch that nobody has
    touched. Raises NotAllowed, UnknownWord, BadValue without a reason, Stale.
    """
    require(viewer.role, Deed.SWITCH_OWN_EVIDENCE)
    if scope != EVERYTHING:
        _figure_of(in_force(session).figures, scope)
    faults = Faults()
    why = faults.read("/reason", a_name("reason"), reason)
    faults.refuse()
    assert why is not None, "a fault was refused"
    found = select(ExperienceSwitch).where(ExperienceSwitch.scope == scope).with_for_update()
    switch = session.exec(found).first() or ExperienceSwitch(scope=scope, reason="", version=0)
    theirs = _state({scope: switch}, scope)
    refuse_stale(switch, based_on, theirs=theirs)
    switch.version = switch.version or 1
    switch.is_off, switch.reason = is_off, why
    session.add(switch)
    taken = Stale("Somebody switched this at the same time; look at what is there.", theirs=theirs)
    flush_unless_taken(session, "uq_experience_switch_scope", taken)
    return _state({scope: switch}, scope)


def _witnesses_of_some(session: Session, force: InForce) -> Iterator[list[Witness]]:
    for work_ids in works_to_recompute(session):
        records = load_records(session, THE_HOUSE, work_ids).values()
        yield [one for its in records for one in witnesses(its, force)]


def _store_factors(session: Session, factors: dict[Grade, ExperienceFactor], *, today: int) -> None:
    switches = all_switches(session)
    stored = {(row.mechanism, row.grade): row for row in all_factors(session)}
    for of, row in stored.items():
        if of not in factors:
            session.delete(row)
    for of, factor in factors.items():
        is_off = _state(switches, EVERYTHING).is_off or _state(switches, scope_of(*of)).is_off
        _store_factor(
            session, of, stored.get(of), factor, in_use=factor.is_shown and not is_off, today=today
        )
    session.flush()


def _store_factor(
    session: Session,
    of: Grade,
    row: tables.ExperienceFactor | None,
    factor: ExperienceFactor,
    *,
    in_use: bool,
    today: int,
) -> None:
    mechanism, grade = of
    values: dict[str, Any] = {
        "factor": factor.factor,
        "low": factor.low,
        "high": factor.high,
        "mounts": factor.mounts,
        "harmed": factor.harmed,
        "expected": factor.expected,
        "in_use": in_use,
    }
    if row is None:
        row = tables.ExperienceFactor(mechanism=mechanism, grade=grade, version=0, **values)
        session.add(row)
    elif all(getattr(row, name) == value for name, value in values.items()):
        return
    for name, value in {**values, "version": row.version + 1, "computed_on": today}.items():
        setattr(row, name, value)


def _that_say_most(those: Iterable[Witness]) -> list[Witness]:
    return nsmallest(MOST_NAMED, those, key=lambda w: (w.seen.found not in _HARM, -w.seen.hazard))


def _stored(one: Witness) -> dict[str, object]:
    return {
        "work_id": one.work_id,
        "mount_id": one.mount_id,
        "mechanism": one.seen.mechanism,
        "grade": one.seen.grade,
        "place": one.place,
        "hazard": min(one.seen.hazard, MOST_OF_ONE_MOUNT),
        "found": one.seen.found,
    }


def _evidence(
    figure: DefaultFigure, row: tables.ExperienceFactor, switch: SwitchState
) -> GradeEvidence:
    assert figure.median is not None, "an unknown grade has no evidence"
    assert figure.shape is not None, "an unknown grade has no evidence"
    factor = ExperienceFactor(row.factor, row.low, row.high, row.mounts, row.harmed, row.expected)
    is_shown = factor.is_shown
    used = row.factor if row.in_use else 1.0
    return GradeEvidence(
        mechanism=row.mechanism,
        grade=row.grade,
        unit=figure.unit,
        typical=figure.median,
        # The time at which a hazard so many times as high reaches ln 2.
        typical_now=figure.median / used ** (1 / figure.shape),
        mounts=row.mounts,
        harmed=row.harmed,
        expected=row.expected,
        factor=row.factor if is_shown else None,
        low=row.low if is_shown else None,
        high=row.high if is_shown else None,
        in_use=row.in_use,
        computed_on=row.computed_on,
        switch=switch,
    )


def _state(switches: dict[str, ExperienceSwitch], scope: str) -> SwitchState:
    switch = switches.get(scope)
    if switch is None:
        return SwitchState(scope, is_off=False, reason="", version=0)
    return SwitchState(scope, switch.is_off, switch.reason, switch.version)


def _figure_of(figures: DefaultFigures, scope: str) -> DefaultFigure:
    known = _known_figures(figures)
    if scope not in known:
        raise UnknownWord("grade", scope, near_words(scope, known), "/scope")
    return known[scope]


def _known_figures(figures: DefaultFigures) -> dict[str, DefaultFigure]:
    """Return the figures that own mounts can speak of, by "mechanism/grade"."""
    return {
        scope_of(mechanism, grade): figures.figure(mechanism, grade)
        for mechanism in Mechanism
        for grade in figures.grades(mechanism)
        if grade not in UNKNOWN_GRADES
    }
