"""How much light has each work had, what may this year still bring, and which must come down?

The stays of a work say where it was, the places how bright it is there, the packages
what glazing was in front of it. Where a logger read the light of a place, that stands;
elsewhere what somebody said of the place, or the default of this project. A ledger is
worked out when it is asked for; only the day by which a work is to be taken down is
stored, with its forecast.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from sqlmodel import Session

from models.actions.in_force import InForce, in_force
from models.actions.place_climates import light_record_at
from models.actions.work_records import WorkRecords, load_whereabouts
from models.rules.calendar_days import day_date, day_number
from models.rules.light_ledger import (
    GlazedFor,
    LightLedger,
    LightStay,
    PlaceLight,
    light_ledger,
    place_light,
    sensitivity_of,
)
from models.rules.permissions import Deed, require
from models.tables.case_rows import LayerRow, MountRow, StayRow, stay_rows
from models.tables.light import Alike, WorkToTakeDown, works_hanging, works_to_take_down
from models.tables.visible import THE_HOUSE, Viewer
from models.vocabulary import LayerRole, PlaceUse

# Further back than any stay: the glazing of a mount whose beginning nobody knows.
_EVER = -1_000_000


@dataclass(frozen=True, kw_only=True)
class WorkInLight:
    """A work on show with what is left of its year; lux hours."""

    work_id: int
    number: str
    title: str
    place: str
    light_class: int
    is_class_assumed: bool
    take_down_on: int
    left_lux_hours: float
    budget_lux_hours: float


@dataclass(frozen=True)
class LightList:
    """One page of the works that must come down, soonest first; `count` is how many in all.

    `is_counted_out` unless there are more than one counts while somebody waits.
    """

    works: tuple[WorkInLight, ...]
    count: int
    is_counted_out: bool
    goes_on: bool


def ledger_of(session: Session, viewer: Viewer, records: WorkRecords, *, today: int) -> LightLedger:
    """Return the light ledger of a work whose records are at hand."""
    stays = records.stays or tuple(stay_rows(session, viewer, [records.work.id]))
    return work_ledger(records, stays, in_force(session), today=today)


def take_down_day(records: WorkRecords, force: InForce, *, today: int) -> int | None:
    """Return the day by which a work is to be taken down for its light; None where never."""
    stays = records.stays or _only_stay(records)
    return work_ledger(records, stays, force, today=today).take_down_on


def take_down_days(session: Session, works: Sequence[int], *, today: int) -> dict[int, int | None]:
    """Return the same of many works, as fast as they hang alike; the records of few are read."""
    found = _ledgers_now(session, works, today=today)
    return {key: found[key][1].take_down_on if key in found else None for key in works}


def _ledgers_now(
    session: Session, works: Sequence[int], *, today: int
) -> dict[int, tuple[int, LightLedger]]:
    """Return the place and the ledger of this year of those of these works that have light."""
    force = in_force(session)
    lights = _lit_places(force)
    new_year = day_number(day_date(today).replace(month=1, day=1))
    rows = works_hanging(session, works, since=new_year)
    rows = [row for row in rows if row.place_id in lights]
    known: dict[Alike, LightLedger] = {}
    found = {}
    for row in rows:
        alike = Alike(row.place_id, row.light_class, row.process_group, row.uv_block_percent)
        if alike not in known:
            here = LightStay(new_year, today + 1, lights[alike.place_id])
            known[alike] = _ledger_this_year(alike, here, force, today)
        found[row.work_id] = (row.place_id, known[alike])
    changed = {row.work_id: row.place_id for row in rows if row.is_changed}
    of_changed = load_whereabouts(session, THE_HOUSE, list(changed)) if changed else {}
    for key, records in of_changed.items():
        ledger = work_ledger(records, records.stays, force, today=today)
        found[key] = (changed[key], ledger)
    return found


def _only_stay(records: WorkRecords) -> tuple[StayRow, ...]:
    """Return the stay of a work that was never anywhere else."""
    work = records.work
    if work.place_id is None:
        return ()
    since = (None, work.place_since_first, work.place_since_last)
    return (StayRow(work.id, work.place_id, *since, False, None, None, None),)


def work_ledger(
    records: WorkRecords, stays: Sequence[StayRow], force: InForce, *, today: int
) -> LightLedger:
    """Return the light ledger of a work from its records and its stays, oldest first."""
    work = records.work
    light_class = work.light_class or work.technique_light_class
    return light_ledger(
        sensitivity_of(light_class, work.process_group or ""),
        _stays(stays, force, recorded_on=work.recorded_on, today=today),
        glazed=_glazed(records, today),
        today=today,
        by_fade_alone=bool(force.policy.light_by_fade_alone),
    )


def light_of_place(force: InForce, place_id: int | None) -> PlaceLight:
    """Return the light of a place, as read or as said there or around it."""
    place = force.tree.effective(place_id)
    said_by = place.said_by["lux"]
    record = light_record_at(force.tree, force.climates, place_id)
    if record is not None and record.place != place_id and place.use is PlaceUse.BOX:
        # The light of the room does not come into a closed box.
        record = None
    itself = (said_by == place_id and said_by is not None) or record is not None
    return place_light(
        use=place.use,
        lux=place.lux,
        hours_per_day=place.hours_per_day,
        days_per_year=place.days_per_year,
        uv_uw_per_lm=place.uv_uw_per_lm,
        is_said=said_by is not None,
        is_said_by_itself=itself,
        record=record,
    )


def works_in_light(
    session: Session, viewer: Viewer, *, today: int, limit: int, start: int = 0
) -> LightList:
    """Return the works on show whose budget runs out, soonest first; least left before.

    Which these are, and their order, is as it was stored with their forecasts; what is left
    of the year of those on the page is worked out.
    """
    require(viewer.role, Deed.READ)
    session.flush()
    # One more than shown says whether there are more.
    found = works_to_take_down(session, viewer, limit=limit + 1, start=start)
    shown = found.works[:limit]
    tree = in_force(session).tree
    ledgers = _ledgers_now(session, [work.work_id for work in shown], today=today)
    works = [
        _in_light(work, tree.path(ledgers[work.work_id][0]), ledgers[work.work_id][1], today)
        for work in shown
        if work.work_id in ledgers
    ]
    return LightList(
        works=tuple(sorted(works, key=_urgency)),
        count=found.counted,
        is_counted_out=found.is_counted_out,
        goes_on=len(found.works) > limit,
    )


def _in_light(work: WorkToTakeDown, place: str, ledger: LightLedger, today: int) -> WorkInLight:
    return WorkInLight(
        work_id=work.work_id,
        number=work.number,
        title=work.title,
        place=place,
        light_class=ledger.sensitivity.light_class,
        is_class_assumed=ledger.sensitivity.is_assumed,
        take_down_on=ledger.take_down_on or today,
        left_lux_hours=ledger.left_lux_hours,
        budget_lux_hours=ledger.budget.lux_hours,
    )


def _urgency(work: WorkInLight) -> tuple[int, float, int]:
    return work.take_down_on, work.left_lux_hours / work.budget_lux_hours, work.work_id


def _lit_places(force: InForce) -> dict[int, PlaceLight]:
    """Return the light of every place that has any."""
    keys = (force.tree.find(path) for path in force.tree.paths())
    found = {key: light_of_place(force, key) for key in keys if key is not None}
    return {
        key: place
        for key, place in found.items()
        if place.told_lux_hours_a_day > 0 or place.record is not None
    }


def _ledger_this_year(alike: Alike, here: LightStay, force: InForce, today: int) -> LightLedger:
    """Return the ledger from the first day of the year on, by the glazing of today."""
    glazing = GlazedFor(_EVER, today + 1, alike.uv_block_percent)
    return light_ledger(
        sensitivity_of(alike.light_class, alike.process_group or ""),
        (here,),
        glazed=(glazing,),
        today=today,
        by_fade_alone=bool(force.policy.light_by_fade_alone),
    )


def _stays(
    stays: Sequence[StayRow], force: InForce, *, recorded_on: int | None, today: int
) -> tuple[LightStay, ...]:
    """Return where a work was from when to when, oldest first.

    Half-known days count from the first day they allow, and end where the next stay
    begins; of a first stay that nobody dated, from the day of the record.
    """
    begun: list[int] = []
    for stay in stays:
        before = begun[-1] if begun else recorded_on
        begun.append(_first_known(stay.since_first, before, today))
    nexts = [*begun[1:], today + 1][: len(begun)]
    return tuple(
        LightStay(start, min(following, _end(stay, today)), light_of_place(force, stay.place_id))
        for stay, start, following in zip(stays, begun, nexts, strict=True)
    )


def _first_known(day: int | None, otherwise: int | None, today: int) -> int:
    if day is not None:
        return day
    return today if otherwise is None else otherwise


def _end(stay: StayRow, today: int) -> int:
    if not stay.ended:
        return today + 1
    return today if stay.ended_last is None else min(stay.ended_last, today)


def _glazed(records: WorkRecords, today: int) -> tuple[GlazedFor, ...]:
    """Return from when to when the work was behind which glazing, the latest first."""
    spans = []
    for mount in records.mounts:
        begun, over = _span(mount, today)
        for layer in records.layers[mount.package_id]:
            if layer.role is LayerRole.GLAZING:
                first = max(begun, _known(layer.fitted_first, _EVER))
                end = min(over, _removed(layer, today))
                spans.append(GlazedFor(first, end, layer.uv_block_percent))
    return tuple(sorted(spans, key=lambda span: span.first_day, reverse=True))


def _span(mount: MountRow, today: int) -> tuple[int, int]:
    over = _known(mount.dismounted_first, today) if mount.ended else today + 1
    return _known(mount.mounted_last, _EVER), over


def _removed(layer: LayerRow, today: int) -> int:
    return _known(layer.removed_first, today) if layer.ended else today + 1


def _known(day: int | None, otherwise: int) -> int:
    return otherwise if day is None else day
