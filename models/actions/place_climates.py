"""Which measured record holds in a place, if any?

That of the nearest place outward which has one. In one place the record goes before what
somebody said of its climate; but what a nearer place says goes before a record farther
out: a cabinet that is said to be dry is not as damp as its room.
"""

from collections.abc import Iterable, Mapping

from sqlmodel import Session

from models.rules.climate_record import ClimateRecord, record_of_days
from models.rules.default_figures import Clock
from models.rules.package_facts import ClimateFacts
from models.rules.place_clock import assumed_per_day
from models.rules.place_tree import EffectivePlace, PlaceTree
from models.tables.climate import DAY_COLUMNS, DaysRow, all_days
from models.vocabulary import DAYS_PER_YEAR

Records = Mapping[int, ClimateRecord]

_OF_CLIMATE = ("temperature_c", "rh_percent")
_OF_LIGHT = ("lux", "hours_per_day", "days_per_year")
_CLOCKS = tuple(clock for clock in Clock if clock is not Clock.CALENDAR)


def climate_records(session: Session, tree: PlaceTree) -> Records:
    """Return the record of every place that has one, by its key."""
    return {row.place_id: record_of(row, tree.effective(row.place_id)) for row in all_days(session)}


def record_of(row: DaysRow, place: EffectivePlace) -> ClimateRecord:
    """Return the record of a place, what was not read filled by what is said of it."""
    rates: dict[Clock, float] = {
        clock: assumed_per_day(clock, place.temperature_c, place.rh_percent) for clock in _CLOCKS
    }
    lit_a_day = place.lux * place.hours_per_day * place.days_per_year / DAYS_PER_YEAR
    return record_of_days(
        row.place_id,
        row.first_day,
        dict(zip(DAY_COLUMNS, row.days.T, strict=True)),
        assumed_per_day=rates,
        assumed_lux_hours_per_day=lit_a_day,
    )


def climate_at(tree: PlaceTree, records: Records, place_id: int | None) -> ClimateFacts:
    """Return what a rule is told of the climate of a place."""
    place = tree.effective(place_id)
    return ClimateFacts(
        use=place.use,
        temperature_c=place.temperature_c,
        rh_percent=place.rh_percent,
        record=record_at(tree, records, place_id),
    )


def record_at(tree: PlaceTree, records: Records, place_id: int | None) -> ClimateRecord | None:
    """Return the record of climate that holds in a place."""
    read = (key for key, record in records.items() if record.read_days > 0)
    return _nearest(tree, records, read, place_id, _OF_CLIMATE)


def light_record_at(
    tree: PlaceTree, records: Records, place_id: int | None
) -> ClimateRecord | None:
    """Return the record of light that holds in a place."""
    read = (key for key, record in records.items() if record.light_read_days > 0)
    return _nearest(tree, records, read, place_id, _OF_LIGHT)


def _nearest(
    tree: PlaceTree,
    records: Records,
    read: Iterable[int],
    place_id: int | None,
    figures: tuple[str, ...],
) -> ClimateRecord | None:
    if not records or place_id is None:
        return None
    has_record = set(read)
    said_by = tree.effective(place_id).said_by
    said = {said_by[name] for name in figures}
    for key in tree.around(place_id):
        if key in has_record:
            return records[key]
        if key in said:
            return None
    return None
