"""What is to be expected of a work on record, and what of it is stored to search by?

Every forecast is worked out here from the records, live for the works that are
shown. What the database must search by (due days, advice, the weak layer) is
stored, by this file alone: anew for each work that a deed touches, in the same
transaction. Stored days are absolute and do not move with the calendar; chances
are of the day in `score_day`. `faults_of_stored` proves that what is stored is
what the rules say.
"""

from collections import deque
from collections.abc import Callable, Iterator, Mapping, Sequence
from functools import cache, partial
from threading import Lock
from types import MappingProxyType
from typing import Any

from sqlalchemy import Connection, Update, bindparam, delete, insert, update
from sqlalchemy import select as columns
from sqlalchemy import text as statement
from sqlmodel import Session, SQLModel, col, select

from models.actions.bulk_renewal import works_of_wrong_years
from models.actions.in_force import InForce, in_force
from models.actions.light_ledgers import take_down_day
from models.actions.place_climates import climate_at
from models.actions.remat_scores import faults_of_scores, store_scores
from models.actions.suggested_causes import suggested_causes
from models.actions.work_records import (
    WorkRecords,
    climates_before,
    load_records,
    package_now,
    places_seen_at,
    seen_facts,
    shows_at,
    work_facts,
)
from models.rules.attribution import SuggestedCause
from models.rules.package_facts import FindingFacts
from models.rules.packed_rows import FORM, KeptWork, as_of_day, is_same
from models.rules.postponement import PutOff
from models.rules.urgent_signs import Urgent, urgent_signs
from models.rules.work_forecast import WorkCase, WorkForecast, forecasts
from models.tables.case_rows import MountRow, SightingRow, VisitRow
from models.tables.component_rows import BETWEEN_NAMES, ComponentRows
from models.tables.forecasts import Forecast
from models.tables.kept_statements import WANTED, ask
from models.tables.visible import THE_HOUSE, visible_works
from models.tables.works import Work
from models.vocabulary import (
    GONE,
    SEEN_FROM_OUTSIDE,
    SEEN_WHEN_OPENED,
    CauseMount,
    Change,
    DueKind,
    Mechanism,
    Severity,
    Shown,
    UrgentSign,
    VisitKind,
)

# Works in one pass of NumPy and one round of statements.
BATCH = 500
# Chances that differ by less are the same: they are sums of rounded figures.
_SAME_CHANCE = 1e-9
_STORED = SQLModel.metadata.tables[str(Forecast.__tablename__)]
_KNOWN = columns(_STORED.c.work_id).where(_STORED.c.work_id.in_(WANTED))
_ROWS = SQLModel.metadata.tables[str(ComponentRows.__tablename__)]
_KEEP_ROWS = statement(
    "INSERT INTO component_rows (work_id, form, frame, packed_rows, names)"
    " VALUES (:work_id, :form, :frame, :packed_rows, :names)"
    " ON CONFLICT (work_id) DO UPDATE SET form = excluded.form, frame = excluded.frame,"
    " packed_rows = excluded.packed_rows, names = excluded.names"
)
# The last forecasts of single works, each beside all that it depends on: whoever opens a work
# goes on to its sheets, to what another package would do, to its unframing.
_last: deque[tuple[WorkCase, WorkForecast]] = deque(maxlen=32)
_lock = Lock()
NOTHING_SUGGESTED: Mapping[int, SuggestedCause] = MappingProxyType({})


def forecast_now(
    session: Session, records: WorkRecords, *, today: int, force: InForce | None = None
) -> WorkForecast:
    """Return the forecast of one work whose records are at hand."""
    return forecast_of(case_of(records, force or in_force(session), today=today))


def forecast_of(case: WorkCase) -> WorkForecast:
    """Return the forecast of one work, worked out unless it was one of the last."""
    with _lock:
        found = next((forecast for known, forecast in _last if known == case), None)
    if found is None:
        found = forecasts([case])[0]
        with _lock:
            _last.append((case, found))
    return found


def refresh_forecasts(session: Session, work_ids: Sequence[int], *, today: int) -> None:
    """Work out these works anew and store what the database searches by."""
    for start in range(0, len(work_ids), BATCH):
        _refresh_batch(session, list(work_ids[start : start + BATCH]), today=today)


def refreshed(
    session: Session, work_ids: Sequence[int], *, today: int
) -> dict[int, tuple[WorkRecords, WorkForecast]]:
    """Work out and store a few works as `refresh_forecasts` does, and return what was found."""
    return _refresh_batch(session, list(work_ids), today=today)


def works_to_recompute(session: Session) -> Iterator[list[int]]:
    """Give the numbers of all works in batches."""
    last = 0
    while True:
        found = columns(col(Work.id)).where(visible_works(THE_HOUSE), col(Work.id) > last)
        ids = list(session.execute(found.order_by(col(Work.id)).limit(BATCH)).scalars())
        if not ids:
            return
        yield [key for key in ids if key is not None]
        last = ids[-1] or 0


def faults_of_stored(session: Session, work_ids: Sequence[int]) -> list[str]:
    """Return a line for each work whose stored forecast is not what the rules say.

    Each is worked out at the day on which it was stored.
    """
    stored = {
        row.work_id: row
        for row in session.exec(select(Forecast).where(col(Forecast.work_id).in_(work_ids)))
    }
    records = load_records(session, THE_HOUSE, work_ids)
    force = in_force(session)
    kept = [(its, stored[key]) for key, its in records.items() if key in stored]
    missing = [its.work.number for key, its in records.items() if key not in stored]
    cases = {its.work.id: case_of(its, force, today=row.score_day or 0) for its, row in kept}
    anew = forecasts(list(cases.values())) if kept else []
    faulty_scores = faults_of_scores(session, cases)
    faulty_rows = _faults_of_rows(session, {its.work.id: its for its, _ in kept}, force)
    faults = [f"{number}: no forecast is stored." for number in missing]
    for (its, row), forecast in zip(kept, anew, strict=True):
        values = stored_values(its.work.id, forecast, score_day=row.score_day or 0)
        values["take_down_on"] = take_down_day(its, force, today=row.score_day or 0)
        differing = [name for name, value in values.items() if _differs(getattr(row, name), value)]
        differing += faulty_scores.get(its.work.id, [])
        differing += faulty_rows.get(its.work.id, [])
        if differing:
            faults.append(f"{its.work.number}: stored {', '.join(differing)} differ.")
    return faults


def _faults_of_rows(
    session: Session, records: Mapping[int, WorkRecords], force: InForce
) -> dict[int, list[str]]:
    """Return, per work, what of its kept rows is not what the records say.

    They are worked out anew at the day of their own clocks.
    """
    found = session.connection().execute(
        columns(_ROWS).where(_ROWS.c.work_id.in_(WANTED)), {"wanted": list(records)}
    )
    kept = {row.work_id: row for row in found if row.form == FORM}
    faults = {key: ["kept rows (there are none)"] for key in records if key not in kept}
    cases = [case_of(records[key], force, today=as_of_day(row.frame)) for key, row in kept.items()]
    for (key, row), forecast in zip(kept.items(), forecasts(cases), strict=True):
        anew = forecast.kept
        names = tuple(row.names.split(BETWEEN_NAMES))
        if not is_same(KeptWork(row.frame, row.packed_rows, names), anew):
            faults[key] = ["kept rows"]
    connection = session.connection()
    for key in works_of_wrong_years(
        connection, force.figures, force.policy, force.experience, list(records)
    ):
        faults.setdefault(key, []).append("kept years")
    return faults


def case_of(records: WorkRecords, force: InForce, *, today: int) -> WorkCase:
    """Return all that the forecast of a work depends on."""
    climate_of = partial(climate_at, force.tree, force.climates)
    climate = climate_of(records.work.place_id)
    unframed = _last_unframing(records)
    return WorkCase(
        work=work_facts(records),
        figures=force.figures,
        policy=force.policy,
        experience=force.experience,
        today=today,
        package=package_now(records, force.policy),
        climate=climate,
        past=climates_before(records, climate_of),
        seen=seen_facts(records),
        findings=finding_facts(
            records,
            suggested_causes(records, figures=force.figures, climate=climate, today=today),
        ),
        last_look_day=_last_day(records, lambda visit: _saw_any(visit, SEEN_FROM_OUTSIDE)),
        last_unframing_day=None if unframed is None else unframed.on_first,
        last_box_check_day=_last_day(records, lambda visit: visit.kind is VisitKind.BOX_CHECK),
        was_ever_examined=_was_ever_examined(records),
        clear_at_last_unframing=_clear_at(records, unframed),
        is_unchanged_since=_is_unchanged_since(records, unframed),
        advised_on=records.work.advised_on,
        not_advised_on=records.work.score_day if records.work.advised_on is None else None,
        put_off=put_off_of(records),
    )


def put_off_of(records: WorkRecords) -> dict[DueKind, PutOff]:
    """Return what was put off and nobody has done since."""
    return {
        row.kind: PutOff(
            until_day=row.until_on,
            made_day=row.made_on,
            reason=row.reason,
            is_levelled=row.is_levelled,
        )
        for row in records.put_off
        if _last_done(records, row.kind) <= row.after_visit_no
    }


def _last_done(records: WorkRecords, kind: DueKind) -> int:
    """Return the number of the last visit that did what is due by this kind; 0 for none."""
    mount = records.current_mount
    made_by = None if mount is None else mount.mounted_visit_id
    does: dict[DueKind, Callable[[VisitRow], bool]] = {
        DueKind.LOOK: lambda visit: _saw_any(visit, SEEN_FROM_OUTSIDE),
        DueKind.UNFRAMING: lambda visit: _saw_any(visit, SEEN_WHEN_OPENED),
        DueKind.BOX_CHECK: lambda visit: visit.kind is VisitKind.BOX_CHECK,
        DueKind.REMAT: lambda visit: visit.id == made_by,
    }
    done = [v.visit_no for v in records.visits if not v.stop_why and does[kind](v)]
    return max(done, default=0)


def sign_that_closes(records: WorkRecords, *, today: int) -> Urgent | None:
    """Return the first sign that keeps the package closed, None where it may be opened."""
    signs = urgent_signs(finding_facts(records), package_now(records), today=today)
    return next((sign for sign in signs if sign.first_act.closes_unframing), None)


def finding_facts(
    records: WorkRecords, suggested: Mapping[int, SuggestedCause] = NOTHING_SUGGESTED
) -> tuple[FindingFacts, ...]:
    """Return the findings of a work as they were last seen.

    Where nobody has said the cause, the one that is suggested stands in its place: a
    stain does not wait until somebody confirmed it.
    """
    first: dict[int, SightingRow] = {}
    last: dict[int, SightingRow] = {}
    for row in records.sightings:
        first.setdefault(row.finding_id, row)
        # What nobody saw this time is as it was.
        if row.change is not Change.NOT_SEEN or row.finding_id not in last:
            last[row.finding_id] = row
    mount = records.current_mount
    return tuple(
        FindingFacts(
            term=row.term,
            severity=row.severity or Severity.SLIGHT,
            shows_at=_place_of(row, suggested.get(row.finding_id)),
            mechanism=_mechanism_of(row, suggested.get(row.finding_id)),
            is_of_this_mount=mount is not None
            and _is_of(mount, row, suggested.get(row.finding_id)),
            is_grown=row.change is Change.GROWN,
            is_still_there=row.change not in GONE,
            first_seen_day=first[row.finding_id].on_first,
            urgent_sign=UrgentSign(row.urgent_sign) if row.urgent_sign else None,
        )
        for row in last.values()
    )


def _mechanism_of(row: SightingRow, suggested: SuggestedCause | None) -> Mechanism | None:
    return row.cause_mechanism if suggested is None else suggested.mechanism


def _place_of(row: SightingRow, suggested: SuggestedCause | None) -> Shown:
    return shows_at(row) if suggested is None else suggested.place


def _is_of(mount: MountRow, row: SightingRow, suggested: SuggestedCause | None) -> bool:
    if suggested is not None:
        return suggested.mount is CauseMount.THIS
    return row.cause_mount is CauseMount.THIS and row.cause_mount_id == mount.id


def stored_values(work_id: int, forecast: WorkForecast, *, score_day: int) -> dict[str, Any]:
    """Return the columns that are stored of a forecast."""
    urgent = forecast.urgent[0] if forecast.urgent else None
    return {
        "work_id": work_id,
        "score_day": score_day,
        "due_on": forecast.due_on,
        "due_kind": forecast.due_kind,
        "unframing_on": forecast.unframing.on,
        "look_on": forecast.look.on,
        "box_check_on": forecast.box_check.on,
        "remat_by": forecast.remat_by,
        "advised_on": forecast.advised_on,
        "advice": forecast.advice,
        "urgent_sign": "" if urgent is None else urgent.sign.value,
        "urgent_since": None if urgent is None else urgent.since_day,
        "first_survey": forecast.first_survey,
        "chance_unseen": forecast.chance_unseen_now.chance,
        "chance_new_5y": forecast.chance_new_5y.chance,
        "weak_layer": forecast.weak_layer,
        "verdict": forecast.verdict.verdict,
        "freeing": forecast.verdict.freeing,
    }


def _refresh_batch(
    session: Session, work_ids: list[int], *, today: int
) -> dict[int, tuple[WorkRecords, WorkForecast]]:
    records = load_records(session, THE_HOUSE, work_ids)
    force = in_force(session)
    cases = {key: case_of(its, force, today=today) for key, its in records.items()}
    found = dict(zip(records, forecasts(list(cases.values())), strict=True))
    rows = [
        stored_values(work_id, forecast, score_day=today) for work_id, forecast in found.items()
    ]
    for row in rows:
        # They were found in the rows that are kept until now.
        row["kept_years"] = None
        row["take_down_on"] = take_down_day(records[row["work_id"]], force, today=today)
    connection = session.connection()
    _store(session, rows)
    gone = [key for key in work_ids if key not in found]
    if gone:
        connection.execute(delete(_STORED).where(_STORED.c.work_id.in_(gone)))
        connection.execute(delete(_ROWS).where(_ROWS.c.work_id.in_(gone)))
    _keep_rows(connection, found)
    store_scores(session, cases, [found[key].rows for key in cases], gone=gone)
    return {work_id: (records[work_id], found[work_id]) for work_id in found}


def _store(session: Session, rows: Sequence[dict[str, Any]]) -> None:
    """Store these forecasts in place of those before them.

    Of one work, which is what a visit asks for, the change itself tells whether there was one.
    """
    connection = session.connection()
    if len(rows) == 1:
        if not _write_anew(connection, rows):
            connection.execute(insert(_STORED), rows)
        return
    known = set(ask(session, _KNOWN, [row["work_id"] for row in rows]).scalars())
    changed = [row for row in rows if row["work_id"] in known]
    new = [row for row in rows if row["work_id"] not in known]
    if changed:
        _write_anew(connection, changed)
    if new:
        connection.execute(insert(_STORED), new)


def _write_anew(connection: Connection, rows: Sequence[dict[str, Any]]) -> int:
    """Write over the forecasts of these works; return how many there were."""
    told = [
        {"this_work" if name == "work_id" else name: value for name, value in row.items()}
        for row in rows
    ]
    return connection.execute(_anew(tuple(told[0])), told).rowcount


def _keep_rows(connection: Connection, found: Mapping[int, WorkForecast]) -> None:
    """Keep what the dates of these works can be worked out anew from."""
    if found:
        told = [kept_values(work_id, forecast.kept) for work_id, forecast in found.items()]
        connection.execute(_KEEP_ROWS, told)


def kept_values(work_id: int, kept: KeptWork) -> dict[str, Any]:
    """Return the columns of the rows that are kept of a work."""
    return {
        "work_id": work_id,
        "form": FORM,
        "frame": kept.frame,
        "packed_rows": kept.rows,
        "names": BETWEEN_NAMES.join(kept.names),
    }


@cache
def _anew(names: tuple[str, ...]) -> Update:
    values: dict[str, Any] = {name: bindparam(name) for name in names if name != "this_work"}
    return update(_STORED).where(_STORED.c.work_id == bindparam("this_work")).values(values)


def _last_day(records: WorkRecords, is_one: Callable[[VisitRow], bool]) -> int | None:
    days = [visit.on_first for visit in records.visits if is_one(visit) and not visit.stop_why]
    return max((day for day in days if day is not None), default=None)


def _saw_any(visit: VisitRow, places: tuple[Shown, ...]) -> bool:
    return any(place in places for place in places_seen_at(visit))


def _last_unframing(records: WorkRecords) -> VisitRow | None:
    """Return the last visit that really saw something inside; closed as it was saw nothing."""
    opened = [
        visit
        for visit in records.visits
        if visit.on_first is not None and not visit.stop_why and _saw_any(visit, SEEN_WHEN_OPENED)
    ]
    return max(opened, key=lambda visit: (visit.on_first or 0, visit.visit_no), default=None)


def _was_ever_examined(records: WorkRecords) -> bool:
    return any(
        places_seen_at(visit) or visit.kind is VisitKind.BOX_CHECK for visit in records.visits
    ) or any(mount.mounted_visit_id is not None for mount in records.mounts)


def _clear_at(records: WorkRecords, unframed: VisitRow | None) -> frozenset[Shown]:
    """Return the places that were seen at the last unframing and bore no harm by then."""
    if unframed is None:
        return frozenset()
    until = unframed.on_first or 0
    there = {
        row.finding_id: row
        for row in records.sightings
        if (row.on_first or 0) <= until and row.change is not Change.NOT_SEEN
    }
    spoiled = {shows_at(row) for row in there.values() if row.change not in GONE}
    return frozenset(places_seen_at(unframed)) - spoiled


def _is_unchanged_since(records: WorkRecords, unframed: VisitRow | None) -> bool:
    """Say whether the work has certainly stayed in its package and place since then.

    A day that nobody knows may have been later. A layer of unknown age is as old
    as its mount, and a first place as old as the record.
    """
    mount = records.current_mount
    if unframed is None or unframed.on_first is None or mount is None:
        return False
    layers = records.layers[mount.package_id]
    days = [mount.mounted_last, *(layer.removed_last for layer in layers if layer.ended)]
    days += [layer.fitted_last for layer in layers if layer.fitted_first is not None]
    if records.work.has_moved:
        days.append(records.work.place_since_last)
    return all(day is not None and day <= unframed.on_first for day in days)


def _differs(stored: object, anew: object) -> bool:
    if isinstance(stored, float) and isinstance(anew, float):
        return abs(stored - anew) > _SAME_CHANCE
    return stored != anew
