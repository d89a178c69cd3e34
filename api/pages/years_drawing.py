"""How do the years of a work look: what held it, who came, what was found, where it was, how light?

One axis of time with lanes below each other: mounts as bars with a mark where a layer was
changed; unframings, looks and box checks, each with a shape of its own; a line for each
finding, as thick as it was strong; places; and what light a year there brings, against what
it may bring. Right of today stand the next dates as open marks. What is half known ends in a
point instead of an edge. Lengths are units of the drawing, of which one is about a pixel.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import zip_longest
from typing import TypeVar

from api.pages.time_scale import TimeScale, YearMark, time_scale
from api.pages.years_told import (
    KIND_NAMES,
    ToldRow,
    YearsTold,
    by_finding,
    change_days,
    coming_days,
    described,
    known_days,
    last_seen,
    lux_hours_a_year,
    span_of,
    state_said,
    told_rows,
    unframed_on,
    visit_days,
)
from api.template_filters import MONTHS
from models.rules.calendar_days import day_date
from models.tables.case_rows import SightingRow, VisitRow
from models.vocabulary import GONE, Advice, Change, Severity, VisitKind

NAMES_WIDTH, WIDTH = 124.0, 760.0
HEAD, FOOT = 30.0, 8.0
MOUNTS_LANE, VISITS_LANE, FINDING_LANE, PLACES_LANE, LIGHT_LANE = 46.0, 32.0, 30.0, 40.0, 54.0
BAR = 24.0
# How thick the line of a finding is: by how strong it was.
THICKNESS = {Severity.SLIGHT: 3.0, Severity.MODERATE: 7.0, Severity.SEVERE: 12.0}
UNKNOWN_THICKNESS = 2.0
# The point in which a bar ends of which nobody knows where.
POINT = 22.0
LEAST_BAR = 3.0
# A mark reaches so far to each side.
MARK = 9.0
# The width of a letter, for what fits into a bar.
LETTER = 6.7
MOST_FINDINGS, MOST_LETTERS = 8, 18
# Light is drawn up to so many times what a year may bring, so high.
MOST_LIGHT, LIGHT_HIGH = 2.0, 38.0
_Row = TypeVar("_Row")
ELLIPSIS, ONWARDS = "\N{HORIZONTAL ELLIPSIS}", "\N{RIGHTWARDS ARROW}"


@dataclass(frozen=True)
class Bar:
    """Something that lasted: its outline, and its label where that fits."""

    path: str
    label: str
    label_x: float
    is_now: bool


@dataclass(frozen=True)
class Tick:
    """A visit; from and to are the ends of what its half-known date allows."""

    x: float
    begun_x: float
    end_x: float

    @property
    def is_soft(self) -> bool:
        """Say whether only a span is known."""
        return self.end_x - self.begun_x > 2


@dataclass(frozen=True)
class NextMark:
    """A date to come; `text` stands left of it where it is `at_left`."""

    x: float
    text: str
    is_due: bool
    at_left: bool


@dataclass(frozen=True)
class VisitsLane:
    """Visits of one kind."""

    kind: str
    middle: float
    ticks: tuple[Tick, ...]
    coming: NextMark | None


@dataclass(frozen=True)
class SightingMark:
    """What a finding was at a visit: `kind` is "new", "grown", "as-before", "not-seen", "gone"."""

    x: float
    kind: str


@dataclass(frozen=True)
class FindingLane:
    """The line of a finding: `path` from its first sighting to its last.

    From `before_x` it may have been there unseen; from `last_x` on it is taken to go on.
    """

    middle: float
    path: str
    before_x: float
    begun_x: float
    last_x: float
    is_there: bool
    is_severe: bool
    said: str
    marks: tuple[SightingMark, ...]


@dataclass(frozen=True)
class LightBar:
    """What a year in a place brings, of what it may bring; an over-long one is cut."""

    x: float
    width: float
    top: float
    height: float
    is_over: bool


@dataclass(frozen=True)
class LaneName:
    """The name of a lane at its left, and where it begins."""

    text: str
    middle: float
    top: float


@dataclass(frozen=True)
class YearsDrawing:
    """All that is drawn of the years of a work, and the same in a table."""

    width: float
    names_width: float
    height: float
    description: str
    years: tuple[YearMark, ...]
    today_x: float
    break_x: float | None
    names: tuple[LaneName, ...]
    mounts: tuple[Bar, ...]
    mounts_foot: float
    changes: tuple[float, ...]
    remat: NextMark | None
    visits: tuple[VisitsLane, ...]
    findings: tuple[FindingLane, ...]
    more_findings: int
    places: tuple[Bar, ...]
    places_foot: float
    light: tuple[LightBar, ...]
    light_foot: float
    light_limit: float
    take_down: NextMark | None
    told: tuple[ToldRow, ...]


def years_drawing(told: YearsTold) -> YearsDrawing:
    """Return the drawing of the years of a work."""
    return _Drawing(told).laid_out()


class _Drawing:
    """The lanes, laid below each other, each as high as it needs to be."""

    def __init__(self, told: YearsTold) -> None:
        self.told, self.records, self.today = told, told.records, told.today
        known, seen, ahead = known_days(told), visit_days(told.records), coming_days(told)
        self.scale: TimeScale = time_scale(known, seen, ahead, today=told.today, width=WIDTH)
        self.names: list[LaneName] = []
        self.down = HEAD

    def laid_out(self) -> YearsDrawing:
        """Return everything, lane by lane from above."""
        mounts_top = self._lane(MOUNTS_LANE, _counted("Mounts", len(self.records.mounts))) + 8
        visits, findings = tuple(self._visits()), tuple(self._findings())
        places_top = self._lane(PLACES_LANE, "Places") + 8
        light_foot = self._lane(LIGHT_LANE, "Light a year") + LIGHT_LANE - 8
        scale, told = self.scale, self.told
        return YearsDrawing(
            width=WIDTH,
            names_width=NAMES_WIDTH,
            height=self.down + FOOT,
            description=described(told),
            years=scale.years(),
            today_x=scale.today_x,
            break_x=scale.break_x,
            names=tuple(self.names),
            mounts=tuple(self._mount_bars(mounts_top)),
            mounts_foot=mounts_top + BAR,
            changes=tuple(sorted({scale.x(day) for day in change_days(self.records)})),
            remat=self._coming(told.forecast.remat_by, self._advised()),
            visits=visits,
            findings=findings,
            more_findings=max(0, len(by_finding(self.records)) - MOST_FINDINGS),
            places=tuple(self._place_bars(places_top)),
            places_foot=places_top + BAR,
            light=tuple(self._light_bars(light_foot)),
            light_foot=light_foot,
            light_limit=light_foot - LIGHT_HIGH / MOST_LIGHT,
            take_down=self._coming(told.ledger.take_down_on, "take down"),
            told=told_rows(told),
        )

    def _lane(self, height: float, name: str) -> float:
        """Return where a new lane begins."""
        top = self.down
        self.names.append(LaneName(_short(name), top + height / 2, top))
        self.down += height
        return top

    def _coming(self, on: int | None, what: str) -> NextMark | None:
        """Return the open mark of a date to come; one that is past stands at today."""
        if on is None:
            return None
        is_due = on <= self.today
        x = min(self.scale.x(max(on, self.today)), WIDTH - MARK)
        onwards = f" {ONWARDS}" if self.scale.is_beyond(on) else ""
        text = f"{what} due" if is_due else f"{what} {_month_said(on)}{onwards}"
        at_left = x + 10 + len(text) * LETTER > WIDTH
        return NextMark(x, text.strip(), is_due, at_left)

    def _advised(self) -> str:
        """Return what is advised as shortly as there is room for."""
        return "remat" if self.told.forecast.advice is Advice.REMAT else "advised"

    def _visits(self) -> Iterator[VisitsLane]:
        forecast = self.told.forecast
        coming = {
            VisitKind.UNFRAMING: unframed_on(forecast),
            VisitKind.LOOK: forecast.look.on,
            VisitKind.BOX_CHECK: forecast.box_check.on,
        }
        for kind, name in KIND_NAMES.items():
            those = [visit for visit in self.records.visits if visit.kind is kind]
            if kind is VisitKind.BOX_CHECK and not those and coming[kind] is None:
                continue
            middle = self._lane(VISITS_LANE, _counted(name, len(those))) + VISITS_LANE / 2
            yield VisitsLane(
                kind=kind,
                middle=middle,
                ticks=tuple(self._ticks(those)),
                coming=self._survey(kind) or self._coming(coming[kind], ""),
            )

    def _survey(self, kind: VisitKind) -> NextMark | None:
        """Return the mark of a first look at a work that nobody has examined."""
        if kind is not VisitKind.LOOK or not self.told.forecast.first_survey:
            return None
        return NextMark(self.scale.today_x, "first survey", is_due=True, at_left=False)

    def _ticks(self, visits: Sequence[VisitRow]) -> Iterator[Tick]:
        """Give a mark for each visit of which a day is known; none twice on one spot."""
        seen: set[float] = set()
        for days in (span_of(visit.on_edtf) for visit in visits):
            if days is None:
                continue
            begun, end = (self.scale.x(min(day, self.today)) for day in days)
            x = round((begun + end) / 2, 1)
            if x not in seen:
                seen.add(x)
                yield Tick(x, begun, end)

    def _mount_bars(self, top: float) -> Iterator[Bar]:
        for mount, following in _each_with_next(self.records.mounts):
            end = (mount.dismounted_first, mount.dismounted_last) if mount.ended else None
            over = self.today if following is None else following.mounted_first
            name = f"{mount.mount_no} {mount.method or 'nobody said how'}"
            begun = mount.mounted_first, mount.mounted_last
            yield self._bar(begun, end, over, top, (name, f"{mount.mount_no}"))

    def _place_bars(self, top: float) -> Iterator[Bar]:
        pairs = _each_with_next(self.told.stays)
        for (stay, after), path in zip(pairs, self.told.paths, strict=True):
            end = (stay.ended_first, stay.ended_last) if stay.ended else None
            over = self.today if after is None else after.since_first
            names = path, path.rsplit(" / ", 1)[-1]
            yield self._bar((stay.since_first, stay.since_last), end, over, top, names)

    def _bar(
        self,
        begun: tuple[int | None, int | None],
        end: tuple[int | None, int | None] | None,
        over: int | None,
        top: float,
        names: Sequence[str],
    ) -> Bar:
        """Return a bar that ends in points where its days are half known; no end: it is now."""
        now = self.scale.today_x
        outer_left, left = self._ends(begun, self.scale.days[0], is_end=False)
        right, outer_right = (
            (now, now) if end is None else self._ends(end, over or self.today, is_end=True)
        )
        left = min(left, max(right - LEAST_BAR, outer_left))
        right = max(right, left + LEAST_BAR)
        middle, foot = top + BAR / 2, top + BAR
        path = (
            f"M{outer_left:.1f} {middle}L{left:.1f} {top}H{right:.1f}"
            f"L{max(right, outer_right):.1f} {middle}L{right:.1f} {foot}H{left:.1f}Z"
        )
        room = (right - left - 10) / LETTER
        label = next((name for name in names if len(name) <= room), "")
        return Bar(path, label, round(left + 6, 1), end is None)

    def _ends(
        self, days: tuple[int | None, int | None], otherwise: int, *, is_end: bool
    ) -> tuple[float, float]:
        """Return between which places something began or ended; a point where nobody knows."""
        first, last = days
        if first is not None and last is not None:
            return self.scale.x(first), self.scale.x(last)
        known = self.scale.x(next((day for day in days if day is not None), otherwise))
        return (known - POINT, known) if is_end else (known, known + POINT)

    def _findings(self) -> Iterator[FindingLane]:
        for rows in by_finding(self.records)[:MOST_FINDINGS]:
            top = self._lane(FINDING_LANE, f"{rows[0].finding_no} {rows[0].term}")
            yield self._finding(rows, top + FINDING_LANE / 2)

    def _finding(self, rows: Sequence[SightingRow], middle: float) -> FindingLane:
        placed = [
            (row, self.scale.x(min(row.on_first, self.today)))
            for row in rows
            if row.on_first is not None
        ]
        last = last_seen(rows)
        begun = placed[0][1] if placed else self.scale.today_x
        of_unknown_age = rows[0].change is Change.FOUND_AGE_UNKNOWN
        is_there = last.change not in GONE
        return FindingLane(
            middle=middle,
            path=_thick_line(placed, middle),
            before_x=max(0.0, begun - 2 * POINT) if of_unknown_age else begun,
            begun_x=begun,
            last_x=placed[-1][1] if placed else begun,
            is_there=is_there,
            is_severe=is_there and last.severity is Severity.SEVERE,
            said=state_said(last),
            marks=tuple(SightingMark(x, _mark_kind(row)) for row, x in placed),
        )

    def _light_bars(self, foot: float) -> Iterator[LightBar]:
        pairs = _each_with_next(self.told.stays)
        for (stay, after), light in zip(pairs, self.told.lights, strict=True):
            times = lux_hours_a_year(light) / self.told.ledger.budget.lux_hours
            begun = self.scale.days[0] if stay.since_first is None else stay.since_first
            over = self.today if after is None else after.since_first
            end = stay.ended_last if stay.ended_last is not None else over
            left, right = self.scale.x(begun), self.scale.x(end or self.today)
            height = round(min(times, MOST_LIGHT) / MOST_LIGHT * LIGHT_HIGH, 1)
            width = round(max(right - left, 1.0), 1)
            yield LightBar(left, width, round(foot - height, 1), height, times > 1)


def _each_with_next(rows: Sequence[_Row]) -> Iterator[tuple[_Row, _Row | None]]:
    """Give each row with the one that follows it; the last with None."""
    return zip_longest(rows, rows[1:])


def _thick_line(placed: Sequence[tuple[SightingRow, float]], middle: float) -> str:
    """Return the outline of a line that is as thick as the finding was strong."""
    half = UNKNOWN_THICKNESS / 2
    halves: list[tuple[float, float]] = []
    for row, x in placed:
        half = half if row.severity is None else THICKNESS[row.severity] / 2
        halves.append((x, 0.5 if row.change in GONE else half))
    if not halves:
        return ""
    above = [f"{x:.1f} {middle - half:.1f}" for x, half in halves]
    below = [f"{x:.1f} {middle + half:.1f}" for x, half in reversed(halves)]
    return f"M{'L'.join([*above, *below])}Z"


def _mark_kind(row: SightingRow) -> str:
    if row.change in GONE:
        return "gone"
    kinds = {Change.GROWN: "grown", Change.UNCHANGED: "as-before", Change.NOT_SEEN: "not-seen"}
    return kinds.get(row.change, "new")


def _counted(name: str, count: int) -> str:
    return f"{name} {count}" if count else f"{name}: none"


def _short(name: str) -> str:
    return name if len(name) <= MOST_LETTERS else f"{name[: MOST_LETTERS - 1].rstrip()}{ELLIPSIS}"


def _month_said(day: int) -> str:
    on = day_date(day)
    return f"{MONTHS[on.month - 1][:3]} {on.year}"
