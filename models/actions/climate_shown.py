"""What is the climate and the light of a place, as its loggers read or as it is assumed?

For a page or a program: figures over a span of time, a row for each month, a thinned
drawing. A place without a record of its own shows that of the nearest place outward which
counts for it; without any, the assumed values alone.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from sqlmodel import Session

from models.actions.place_climates import climate_records, light_record_at, record_at
from models.actions.places import PlaceOnRecord, place_tree, read_place
from models.errors import BadValue
from models.rules.climate_days import DAY_S
from models.rules.climate_record import ClimateRecord
from models.rules.climate_summary import (
    ClimateFigures,
    LightFigures,
    MonthRow,
    Part,
    climate_figures,
    light_figures,
    months,
    thinned,
)
from models.rules.default_figures import Clock
from models.rules.place_clock import assumed_per_day
from models.tables.climate import CLIMATE, LIGHT, readings_between
from models.tables.visible import Viewer

# A page shows the last year unless it is asked for more or less.
USUAL_DAYS = 365
# What is drawn and counted at once: more would take longer than a page may.
MOST_DAYS = 3660


@dataclass(frozen=True, kw_only=True)
class RecordShown:
    """Whose record holds in a place: the place, the days it spans, how many were read."""

    place_id: int
    path: str
    first_day: int
    last_day: int
    read_days: float
    whole_years: int


@dataclass(frozen=True, kw_only=True)
class ClimateOfPlace:
    """What is shown of a place. Days are UTC days; `first_day` and `last_day` are the span shown.

    `assumed_paper_rate` and `assumed_adhesive_rate` are those of the climate that the place is
    said to have; `paper_rate_ahead` is what forecasts reckon with.
    """

    place: PlaceOnRecord
    climate_record: RecordShown | None
    light_record: RecordShown | None
    first_day: int
    last_day: int
    air: ClimateFigures | None
    light: LightFigures | None
    months: tuple[MonthRow, ...]
    air_drawn: tuple[Part, ...]
    assumed_paper_rate: float
    assumed_adhesive_rate: float
    paper_rate_ahead: float
    is_ahead_measured: bool


def climate_of_place(
    session: Session,
    viewer: Viewer,
    place_id: int,
    *,
    first_day: int | None = None,
    last_day: int | None = None,
) -> ClimateOfPlace:
    """Return the climate and light of a place over a span; the last year of its record if none.

    Raises NotFound for the place, BadValue for a span that ends before it begins.
    """
    tree = place_tree(session)
    place = read_place(session, viewer, place_id, tree=tree)
    records = climate_records(session, tree)
    of_air, of_light = record_at(tree, records, place_id), light_record_at(tree, records, place_id)
    first, last = _span([of_air, of_light], first_day, last_day)
    span = first * DAY_S, (last + 1) * DAY_S - 1
    nothing = -1
    air = readings_between(session, CLIMATE, of_air.place if of_air else nothing, *span)
    light = readings_between(session, LIGHT, of_light.place if of_light else nothing, *span)
    held = place.effective
    paper, adhesive = (
        assumed_per_day(clock, held.temperature_c, held.rh_percent)
        for clock in (Clock.PAPER, Clock.ADHESIVE)
    )
    ahead = of_air.rate_ahead(Clock.PAPER) if of_air else None
    shown = {key: tree.path(key) for key in records}
    return ClimateOfPlace(
        place=place,
        climate_record=_shown(of_air, shown),
        light_record=_shown(of_light, shown, of_light=True),
        first_day=first,
        last_day=last,
        air=climate_figures(*air),
        light=light_figures(*light),
        months=months(air, light, first, last),
        air_drawn=thinned(*air, *span),
        assumed_paper_rate=paper,
        assumed_adhesive_rate=adhesive,
        paper_rate_ahead=paper if ahead is None else ahead,
        is_ahead_measured=ahead is not None,
    )


def _span(
    records: Sequence[ClimateRecord | None], first_day: int | None, last_day: int | None
) -> tuple[int, int]:
    known = [record for record in records if record is not None]
    end = max((record.end_day - 1 for record in known), default=0)
    last = end if last_day is None else last_day
    begun = min((record.first_day for record in known), default=last)
    first = max(begun, last - USUAL_DAYS + 1) if first_day is None else first_day
    if first > last:
        message = "The span ends before it begins."
        raise BadValue.at("/until", message, "Give a later day, or an earlier one to begin with.")
    if last - first >= MOST_DAYS:
        raise BadValue.at("/since", "The span is more than ten years.", "Ask for less at a time.")
    return first, last


def _shown(
    record: ClimateRecord | None, paths: dict[int, str], *, of_light: bool = False
) -> RecordShown | None:
    if record is None:
        return None
    return RecordShown(
        place_id=record.place,
        path=paths[record.place],
        first_day=record.first_day,
        last_day=record.end_day - 1,
        read_days=record.light_read_days if of_light else record.read_days,
        whole_years=record.whole_years,
    )
