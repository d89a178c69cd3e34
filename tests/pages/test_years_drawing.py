"""What the drawing of a work's years shows: of one with no past, of one with a long one."""

import re
import xml.etree.ElementTree as ElementTree
from itertools import combinations

import pytest
from sqlalchemy import Engine
from sqlmodel import Session

from api.pages.time_scale import time_scale
from api.pages.years_drawing import LETTER, WIDTH
from models.actions.forecasts import refresh_forecasts
from models.rules.half_known_dates import read_date
from models.rules.visit_as_told import DismountTold, ReachTold, SightingTold, VisitTold
from models.tables.works import Work
from models.vocabulary import Change, Edge, FreedBy, Severity, Shown, VisitKind
from tests.builders import a_visit
from tests.pages.bench_work import POOR, SOUND, TODAY, a_bench_work, a_book, told
from tests.pages.test_work_page import text_of
from tests.with_app import Browser


@pytest.fixture(autouse=True)
def _book(engine: Engine, reference_data: None) -> None:
    a_book(engine)


def day_of(text: str) -> int:
    return read_date(text).first_day or 0


def lanes_of(page: str) -> ElementTree.Element:
    """The drawing itself, which has to be well-formed."""
    found = re.search(r'<svg class="lanes".*?</svg>', page, re.DOTALL)
    assert found is not None
    return ElementTree.fromstring(found[0])


def count_of(drawing: ElementTree.Element, name: str) -> int:
    return sum(name in (part.get("class") or "").split() for part in drawing.iter())


def told_years(page: str) -> list[list[str]]:
    table = page.split('<table class="told-years">')[1].split("</table>")[0]
    return [re.findall(r"<td>(.*?)</td>", row) for row in table.split("<tr>")[2:]]


def test_time_runs_from_left_to_right_and_stops_at_both_ends() -> None:
    scale = time_scale([day_of("2010")], [day_of("2012")], [TODAY + 700], today=TODAY, width=760)
    days = [day_of(text) for text in ("1900", "2010", "2015", "2026-11-25", "2027", "2040")]
    places = [scale.x(day) for day in days]
    assert places == sorted(places)
    assert (places[0], places[3], places[-1]) == (0.0, scale.today_x, 760.0)
    assert (scale.today_x, scale.break_x) == (608.0, None)


def test_long_years_that_nobody_saw_are_drawn_together() -> None:
    seen = [day_of("2006")]
    scale = time_scale([day_of("1890")], seen, [], today=TODAY, width=760)
    assert scale.break_x == scale.x(seen[0]) == 145.9
    named = [mark.name for mark in scale.years()]
    assert named == sorted(named)
    gaps = [b.x - a.x for a, b in zip(scale.years(), scale.years()[1:], strict=False)]
    assert min(gaps) >= 38


def test_a_work_of_which_nothing_is_known_has_years_too(keeper: Browser, engine: Engine) -> None:
    page = keeper.get(f"/works/{a_bench_work(engine, mount=None)}").text
    drawing = lanes_of(page)
    assert [count_of(drawing, mark) for mark in ("mount", "unframing", "look", "strength")] == [
        0
    ] * 4
    assert "Mounts: none" in text_of(page)
    assert ["Next", "due", "first survey"] in told_years(page)


def test_each_visit_has_its_shape_and_each_finding_its_line(
    keeper: Browser, engine: Engine
) -> None:
    work = a_bench_work(engine, mount=POOR)
    burn = SightingTold(
        change=Change.NEW, term="mat burn", severity=Severity.SLIGHT, reach=ReachTold(Edge.LEFT, 8)
    )
    grown = SightingTold(
        finding=1, change=Change.GROWN, severity=Severity.SEVERE, reach=ReachTold(Edge.LEFT, 12)
    )
    seen = frozenset({Shown.MARGINS})
    told(
        engine,
        work,
        VisitTold(on="2016", kind=VisitKind.LOOK, by="R. Imaginary"),
        VisitTold(on="2020-05-01", kind=VisitKind.UNFRAMING, seen=seen, sightings=(burn,)),
        VisitTold(on="2024-05-01", kind=VisitKind.UNFRAMING, seen=seen, sightings=(grown,)),
    )
    page = keeper.get(f"/works/{work}").text
    drawing = lanes_of(page)
    assert [count_of(drawing, mark) for mark in ("mount", "unframing", "look")] == [1, 3, 1]
    # A look of which only the year is known, and a line that goes on to today.
    assert [count_of(drawing, mark) for mark in ("half-known", "goes-on", "is-severe")] == [1, 1, 1]
    rows = told_years(page)
    assert ["Mounts", "since 1 March 2010", "Mount 1: T-hinge"] in rows
    assert ["Unframings", "2020", "1"] in rows
    assert ["1 mat burn", "1 May 2024", "grown, severe, 12 mm (recto, left edge, 8 mm in)"] in rows


def test_four_hundred_visits_are_drawn_once_each_spot_and_folded(
    keeper: Browser, engine: Engine
) -> None:
    work = a_bench_work(engine)
    with Session(engine) as session, session.begin():
        row = session.get_one(Work, work)
        for n in range(400):
            a_visit(session, row, on=f"{2011 + n // 27}-{1 + n % 12:02d}-{1 + n % 27:02d}")
        refresh_forecasts(session, [work], today=TODAY)
    page = keeper.get(f"/works/{work}").text
    assert "396 earlier visits" in page
    assert 50 < count_of(lanes_of(page), "look") <= 400
    assert len(page) < 250_000


def texts_of(drawing: ElementTree.Element) -> list[tuple[float, float, float, str]]:
    """Where each text begins and ends, on which line it stands, and what it says."""
    found: list[tuple[float, float, float, str]] = []
    for part in drawing.iter("text"):
        said = "".join(part.itertext()).strip()
        wide, x = len(said) * LETTER, float(part.get("x") or 0)
        begin = x - {"middle": wide / 2, "end": wide}.get(part.get("text-anchor") or "", 0.0)
        found.append((begin, begin + wide, float(part.get("y") or 0), said))
    return found


def test_twelve_packages_in_twenty_years_have_labels_that_stand_apart(
    keeper: Browser, engine: Engine
) -> None:
    work = a_bench_work(engine)
    rehung = [
        VisitTold(
            on=f"{2011 + number + number // 3}-0{1 + number % 9}",
            kind=VisitKind.UNFRAMING,
            dismount=DismountTold(freed_by=FreedBy.WATER),
            mount=(SOUND, POOR)[number % 2],
        )
        for number in range(11)
    ]
    told(engine, work, *rehung)
    texts = texts_of(lanes_of(keeper.get(f"/works/{work}").text))
    assert sum(re.match(r"\d+( |$)", said) is not None for *_, said in texts) >= 12
    for (begin, end, line, said), (other, other_end, other_line, beside) in combinations(texts, 2):
        assert line != other_line or end <= other or other_end <= begin, (said, beside)
    assert max(end for _, end, _, _ in texts) <= WIDTH
