"""What happened to a work, year by year, as its drawing shows it and a table beside it says it?

Mounts and what was changed in them, visits counted by year, findings from sighting to
sighting, places, and what comes next. The days at which the drawing begins and ends come
from here too.
"""

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from api.pages.dates_said import date_said, span_said
from api.pages.findings_shown import where_said
from api.template_filters import day, mm
from models.actions.work_records import WorkRecords
from models.rules.calendar_days import day_date
from models.rules.half_known_dates import read_date
from models.rules.light_ledger import LightLedger, PlaceLight
from models.rules.work_forecast import WorkForecast
from models.tables.case_rows import LayerRow, SightingRow, StayRow
from models.vocabulary import GONE, Change, LayerRole, VisitKind

KIND_NAMES = {
    VisitKind.UNFRAMING: "Unframings",
    VisitKind.LOOK: "Looks",
    VisitKind.BOX_CHECK: "Box checks",
}


@dataclass(frozen=True, kw_only=True)
class YearsTold:
    """What is told of the years of a work; `paths` and `lights` are of the places of its stays."""

    records: WorkRecords
    stays: Sequence[StayRow]
    forecast: WorkForecast
    ledger: LightLedger
    paths: Sequence[str]
    lights: Sequence[PlaceLight]
    today: int


@dataclass(frozen=True)
class ToldRow:
    """One row of the table that says the same as the drawing."""

    lane: str
    when: str
    what: str


def told_rows(told: YearsTold) -> tuple[ToldRow, ...]:
    """Return the rows of the table, lane by lane, each from its beginning."""
    return tuple([*_mounts(told), *_visits(told), *_findings(told), *_places(told), *_next(told)])


def described(told: YearsTold) -> str:
    """Return the drawing in two sentences, for who does not see it."""
    records = told.records
    kinds = Counter(visit.kind for visit in records.visits)
    counted = [f"{len(records.mounts)} mounts", *(f"{n} {kind}s" for kind, n in kinds.items())]
    findings = len({row.finding_id for row in records.sightings})
    return (
        f"{', '.join(counted)}, {findings} findings, {len(told.stays)} places."
        " The table below says the same."
    )


def known_days(told: YearsTold) -> list[int]:
    """Return the days on which something began or ended, beside the visits."""
    mounts = [day for m in told.records.mounts for day in (m.mounted_first, m.dismounted_first)]
    stays = [stay.since_first for stay in told.stays]
    return [day for day in (*mounts, *stays, told.records.work.recorded_on) if day is not None]


def visit_days(records: WorkRecords) -> list[int]:
    """Return the days of the visits, as far as they are known."""
    return [visit.on_first for visit in records.visits if visit.on_first is not None]


def coming_days(told: YearsTold) -> list[int]:
    """Return the days to come."""
    forecast = told.forecast
    dates = forecast.look.on, unframed_on(forecast), forecast.box_check.on, forecast.remat_by
    return [day for day in dates if day is not None]


def unframed_on(forecast: WorkForecast) -> int | None:
    """Return by when it is unframed to be looked at; no day where its remat opens it."""
    return forecast.unframing.on if forecast.is_unframed_first else None


def change_days(records: WorkRecords) -> list[int]:
    """Return the days on which a layer was changed within a mount."""
    return [day for day, _, _ in _changes(records) if day is not None]


def span_of(edtf: str) -> tuple[int, int] | None:
    """Return the first and last day that a date allows; None where neither is known."""
    found = read_date(edtf)
    known = [day for day in (found.first_day, found.last_day) if day is not None]
    return (known[0], known[-1]) if known else None


def by_finding(records: WorkRecords) -> list[list[SightingRow]]:
    """Return the sightings of each finding, in the order of the findings' numbers."""
    found: dict[int, list[SightingRow]] = {}
    for row in records.sightings:
        found.setdefault(row.finding_id, []).append(row)
    return sorted(found.values(), key=lambda rows: rows[0].finding_no)


def last_seen(rows: Sequence[SightingRow]) -> SightingRow:
    """Return the last sighting at which a finding was really looked at."""
    return ([row for row in rows if row.change is not Change.NOT_SEEN] or list(rows))[-1]


def state_said(row: SightingRow) -> str:
    """Return what a finding was: "severe, 12 mm"; what became of it, where it is gone."""
    if row.change in GONE:
        return row.change
    reach = None if row.reach_um is None else f"{mm(row.reach_um)} mm"
    return ", ".join(part for part in (row.severity, reach) if part) or row.change


def _mounts(told: YearsTold) -> Iterator[ToldRow]:
    for mount in told.records.mounts:
        lasted = span_said(mount.mounted_edtf, mount.dismounted_edtf, ended=mount.ended)
        method = mount.method or "nobody said how"
        yield ToldRow("Mounts", lasted, f"Mount {mount.mount_no}: {method}")
    for _, edtf, what in _changes(told.records):
        yield ToldRow("Layers", date_said(edtf), what)


def _changes(records: WorkRecords) -> Iterator[tuple[int | None, str | None, str]]:
    """Give day, date and words of each layer put in or taken out while a mount lasted."""
    begun = {(m.package_id, m.mounted_visit_id) for m in records.mounts}
    over = {(m.package_id, m.dismounted_visit_id) for m in records.mounts}
    for package, layers in records.layers.items():
        for row in (layer for layer in layers if layer.role is not LayerRole.WORK):
            if row.ended and (package, row.removed_visit_id) not in over:
                yield row.removed_first, row.removed_edtf, f"Taken out: {_layer_said(row)}"
            if row.fitted_visit_id is not None and (package, row.fitted_visit_id) not in begun:
                yield row.fitted_first, row.fitted_edtf, f"Put in: {_layer_said(row)}"


def _layer_said(row: LayerRow) -> str:
    what = row.material or row.grade or row.figures_grade
    return f"{row.role}, {what}" if what else f"{row.role}"


def _visits(told: YearsTold) -> Iterator[ToldRow]:
    for kind, name in KIND_NAMES.items():
        dates = [span_of(v.on_edtf) for v in told.records.visits if v.kind is kind]
        years = Counter(day_date(days[0]).year for days in dates if days is not None)
        for year, count in sorted(years.items()):
            yield ToldRow(name, str(year), f"{count}")
        if unknown := dates.count(None):
            yield ToldRow(name, "on a day nobody recorded", f"{unknown}")


def _findings(told: YearsTold) -> Iterator[ToldRow]:
    for rows in by_finding(told.records):
        for row in rows:
            words = (row.change, row.severity, None if row.reach_um is None else _reach(row))
            said = ", ".join(word for word in words if word)
            name = f"{row.finding_no} {row.term}"
            yield ToldRow(name, date_said(row.on_edtf), f"{said} ({where_said(row)})")


def _reach(row: SightingRow) -> str:
    return f"{mm(row.reach_um)} mm"


def _places(told: YearsTold) -> Iterator[ToldRow]:
    budget = told.ledger.budget.lux_hours
    for stay, path, light in zip(told.stays, told.paths, told.lights, strict=True):
        lasted = span_said(stay.since_edtf, stay.ended_edtf, ended=stay.ended)
        share = f"{lux_hours_a_year(light) / budget:.0%}"
        yield ToldRow("Places", lasted, f"{path}; light {share} of what a year may bring")


def lux_hours_a_year(light: PlaceLight) -> float:
    """Return what a year in this light brings in lux hours, as read or as said."""
    read = light.measured_lux_hours_a_day()
    return 365 * (light.told_lux_hours_a_day if read is None else read)


def _next(told: YearsTold) -> Iterator[ToldRow]:
    forecast = told.forecast
    if forecast.first_survey:
        yield ToldRow("Next", "due", "first survey")
    for what, on in (
        ("look", forecast.look.on),
        ("unframing", unframed_on(forecast)),
        ("box check", forecast.box_check.on),
        ("remat by", forecast.remat_by),
        ("take down for its light", told.ledger.take_down_on),
    ):
        if on is not None:
            is_past = on < told.today
            yield ToldRow("Next", f"due, was due by {day(on)}" if is_past else day(on), what)
