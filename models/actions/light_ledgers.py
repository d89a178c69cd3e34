"""How much light has each work had, what may this year still bring, and which must come down?

The stays of a work say where it was, the places how bright it is there, the packages
what glazing was in front of it. Where a logger read the light of a place, that stands;
elsewhere what somebody said of the place, or the default of this project. A ledger is
worked out when it is asked for; only the day by which a work is to be taken down is
stored, with its forecast.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from sqlmodel import Session

from models.actions.in_force import InForce, in_force
from models.actions.place_climates import light_record_at
from models.actions.work_records import WorkRecords, load_records
from models.risk.light import UV_LOW_UW_PER_LM
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
from models.tables.light import (
    Alike,
    hanging_counts,
    hanging_rows,
    numbers_of,
    recent_stay_rows,
    works_alike,
    works_hanging,
)
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
    """One page of the works that must come down, soonest first; `count` is how many in all."""

    works: tuple[WorkInLight, ...]
    count: int


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
    force = in_force(session)
    asked = _Asked(session, THE_HOUSE, force, _lit_places(force), today)
    rows = works_hanging(session, works, since=asked.new_year)
    rows = [row for row in rows if row.place_id in asked.lights]
    days = dict.fromkeys(works)
    known: dict[Alike, int | None] = {}
    for row in rows:
        alike = Alike(row.place_id, row.light_class, row.process_group, row.uv_block_percent)
        if alike not in known:
            here = LightStay(asked.new_year, today + 1, asked.lights[alike.place_id])
            known[alike] = _ledger_this_year(alike, (here,), asked).take_down_on
        days[row.work_id] = known[alike]
    changed = [row.work_id for row in rows if row.is_changed]
    for key, records in load_records(session, THE_HOUSE, changed).items() if changed else ():
        days[key] = take_down_day(records, force, today=today)
    return days


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
    """Return the works on show whose budget runs out, soonest first; least left before."""
    require(viewer.role, Deed.READ)
    force = in_force(session)
    session.flush()
    asked = _Asked(session, viewer, force, _lit_places(force), today)
    batches = sorted([*_alike(asked), *_moved(asked)], key=lambda batch: batch.order)
    few = _of_page(asked, batches, start, start + limit)
    named = numbers_of(session, viewer, [work_id for work_id, _ in few])
    works = tuple(
        WorkInLight(
            work_id=work_id,
            number=named[work_id][0],
            title=named[work_id][1],
            place=force.tree.path(batch.alike.place_id),
            light_class=batch.ledger.sensitivity.light_class,
            is_class_assumed=batch.ledger.sensitivity.is_assumed,
            take_down_on=batch.ledger.take_down_on or today,
            left_lux_hours=batch.ledger.left_lux_hours,
            budget_lux_hours=batch.ledger.budget.lux_hours,
        )
        for work_id, batch in few
        if work_id in named
    )
    return LightList(works, sum(batch.count for batch in batches))


@dataclass(frozen=True)
class _Asked:
    """What a list is worked out from."""

    session: Session
    viewer: Viewer
    force: InForce
    lights: Mapping[int, PlaceLight]
    today: int

    @property
    def new_year(self) -> int:
        return day_number(day_date(self.today).replace(month=1, day=1))

    @property
    def with_uv(self) -> list[int]:
        return [key for key, place in self.lights.items() if place.uv_uw_per_lm > UV_LOW_UW_PER_LM]


@dataclass(frozen=True)
class _Batch:
    """Works with one ledger of this year: so many that hang alike, or one that was moved."""

    alike: Alike
    count: int
    ledger: LightLedger
    work_id: int | None = None

    @property
    def order(self) -> tuple[int, float, int, str]:
        """Return what puts it in its turn: the day, the share left, then whatever holds still."""
        share = self.ledger.left_lux_hours / self.ledger.budget.lux_hours
        return self.ledger.take_down_on or 0, share, self.work_id or 0, str(self.alike)


def _alike(asked: _Asked) -> Iterator[_Batch]:
    """Give the works that hang where they hung before this year, if they must come down."""
    counts = hanging_counts(
        asked.session,
        asked.viewer,
        asked.lights,
        with_uv=asked.with_uv,
        before=asked.new_year,
    )
    for alike, count in counts:
        here = LightStay(asked.new_year, asked.today + 1, asked.lights[alike.place_id])
        ledger = _ledger_this_year(alike, (here,), asked)
        if ledger.take_down_on is not None:
            yield _Batch(alike, count, ledger)


def _moved(asked: _Asked) -> Iterator[_Batch]:
    """Give the works that came to where they are this year, if they must come down."""
    rows = hanging_rows(
        asked.session,
        asked.viewer,
        asked.lights,
        with_uv=asked.with_uv,
        since=asked.new_year,
    )
    since = recent_stay_rows(asked.session, asked.viewer, since=asked.new_year) if rows else []
    stays = _by_work(since)
    known: dict[tuple[object, ...], LightLedger] = {}
    for row in rows:
        alike = Alike(row.place_id, row.light_class, row.process_group, row.uv_block_percent)
        own = stays[row.work_id]
        lasted = _stays(own, asked.force, recorded_on=row.recorded_on, today=asked.today)
        # Where each stay was, and from when to when: all that its light depends on.
        spans = ((s.first_day, s.end_day) for s in lasted)
        key = (alike, *(stay.place_id for stay in own), *spans)
        if key not in known:
            known[key] = _ledger_this_year(alike, lasted, asked)
        if known[key].take_down_on is not None:
            yield _Batch(alike, 1, known[key], row.work_id)


def _of_page(
    asked: _Asked, batches: Sequence[_Batch], start: int, end: int
) -> list[tuple[int, _Batch]]:
    """Return the works from one to another place in the list, each with its batch."""
    passed = 0
    shown: list[tuple[_Batch, int, int]] = []
    for batch in batches:
        first, last = max(start - passed, 0), min(end - passed, batch.count)
        if first < last:
            shown.append((batch, first, last - first))
        passed += batch.count
    named = _named(asked, [one for one in shown if one[0].work_id is None])
    return [
        (work_id, batch)
        for batch, _, _ in shown
        for work_id in (named[batch.alike] if batch.work_id is None else [batch.work_id])
    ]


def _named(asked: _Asked, shown: Sequence[tuple[_Batch, int, int]]) -> dict[Alike, list[int]]:
    """Return the works of batches: those shown whole in one statement, the first and last apart."""
    whole = [(batch.alike, 0, count) for batch, _, count in shown if count == batch.count]
    parts = [(batch.alike, first, n) for batch, first, n in shown if n < batch.count]
    named: dict[Alike, list[int]] = {}
    for those in filter(None, [whole, *([part] for part in parts)]):
        found = works_alike(
            asked.session,
            asked.viewer,
            [alike for alike, _, _ in those],
            with_uv=asked.with_uv,
            before=asked.new_year,
            start=those[0][1],
            limit=sum(count for _, _, count in those),
        )
        for work_id, alike in found:
            named.setdefault(alike, []).append(work_id)
    return named


def _lit_places(force: InForce) -> dict[int, PlaceLight]:
    """Return the light of every place that has any."""
    keys = (force.tree.find(path) for path in force.tree.paths())
    found = {key: light_of_place(force, key) for key in keys if key is not None}
    return {
        key: place
        for key, place in found.items()
        if place.told_lux_hours_a_day > 0 or place.record is not None
    }


def _ledger_this_year(alike: Alike, stays: Sequence[LightStay], asked: _Asked) -> LightLedger:
    """Return the ledger from the first day of the year on, by the glazing of today."""
    glazing = GlazedFor(_EVER, asked.today + 1, alike.uv_block_percent)
    return light_ledger(
        sensitivity_of(alike.light_class, alike.process_group or ""),
        stays,
        glazed=(glazing,),
        today=asked.today,
        by_fade_alone=bool(asked.force.policy.light_by_fade_alone),
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


def _by_work(rows: Iterable[StayRow]) -> dict[int, tuple[StayRow, ...]]:
    grouped: dict[int, list[StayRow]] = {}
    for row in rows:
        grouped.setdefault(row.work_id, []).append(row)
    return {work_id: tuple(those) for work_id, those in grouped.items()}
