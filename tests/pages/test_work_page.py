"""What the page of a work says, to whom, and in how many statements."""

import re
from dataclasses import replace
from datetime import timedelta
from math import log

import pytest
from fastapi import FastAPI
from sqlalchemy import Engine, event
from sqlmodel import Session, select

from api.template_filters import TIMES
from models.actions.change_log import recording
from models.actions.climate import FileSent, import_readings
from models.exchange.logger_file import Choices, read_logger_file
from models.rules.half_known_dates import from_words
from models.rules.visit_as_told import (
    CauseTold,
    ColourTold,
    DismountTold,
    LayerTestTold,
    ReachTold,
    SightingTold,
    VisitTold,
)
from models.tables.visible import THE_HOUSE
from models.tables.works import Stay, Work
from models.vocabulary import (
    BenchTest,
    CauseMount,
    Change,
    Edge,
    FreedBy,
    Mechanism,
    Severity,
    Shown,
    VisitKind,
)
from tests.pages.bench_work import POOR, SOUND, TODAY, a_bench_work, a_book, told
from tests.with_app import NOON, Browser

LOOK = VisitTold(on="2020-05", kind=VisitKind.LOOK, by="R. Imaginary")
BURN = SightingTold(
    change=Change.NEW,
    term="mat burn",
    severity=Severity.MODERATE,
    reach=ReachTold(Edge.LEFT, 12, follows_window_edge=True),
    cause=CauseTold(Mechanism.ACID_MIGRATION, CauseMount.THIS),
    colours=(ColourTold(84.1, 3.2, 18.0, "stain"), ColourTold(92.0, 0.1, 7.5, "clean paper")),
)
OPENED = VisitTold(
    on="2024-11-20",
    kind=VisitKind.UNFRAMING,
    by="R. Imaginary",
    minutes=80,
    reason="unframed to change the frame",
    summary="Brown along the left window edge.",
    seen=frozenset({Shown.FRONT, Shown.MARGINS}),
    sightings=(BURN,),
)


@pytest.fixture(autouse=True)
def _book(app: FastAPI, engine: Engine, reference_data: None) -> None:
    a_book(engine)


def text_of(page: str) -> str:
    """The page as it is read: without tags, with single spaces."""
    return " ".join(re.sub(r"<[^>]+>", " ", page).replace("&#39;", "'").split())


def statements_for(app: FastAPI, browser: Browser, path: str) -> int:
    sent: list[str] = []
    engine = app.state.installation.engine

    def note(_connection: object, _cursor: object, statement: str, *_rest: object) -> None:
        if statement.lstrip().upper().startswith(("SELECT", "WITH", "INSERT", "UPDATE")):
            sent.append(statement)

    event.listen(engine, "before_cursor_execute", note)
    answer = browser.get(path)
    event.remove(engine, "before_cursor_execute", note)
    assert answer.status_code == 200, answer.text
    return len(sent)


def test_the_page_says_what_the_work_is_and_where(keeper: Browser, engine: Engine) -> None:
    page = text_of(keeper.get(f"/works/{a_bench_work(engine)}").text)
    assert "GH 1 Tern over the Outer Bar I. Hollow, wood engraving, about 1931" in page
    assert f"390 {TIMES} 300 mm height {TIMES} width" in page
    assert "Gannet House / Stair since 1 May 2010" in page
    assert "Owner The Gannet House" in page


def test_the_verdict_is_a_sentence_with_its_weak_layer(keeper: Browser, engine: Engine) -> None:
    sound = text_of(keeper.get(f"/works/{a_bench_work(engine)}").text)
    assert "sound Every layer is sound. The work is freed with water." in sound
    poor = a_bench_work(engine, mount=POOR, number="GH 2")
    said = text_of(keeper.get(f"/works/{poor}").text)
    assert "The weakest link is the window mat (Groundwood mat board), harmful." in said
    assert "almost certain (over 95 %)" in said
    assert "they are no promise" in said


def test_what_leads_to_harm_says_why_it_is_there(keeper: Browser, engine: Engine) -> None:
    poor = text_of(keeper.get(f"/works/{a_bench_work(engine, mount=POOR)}").text)
    assert "acid migration it touches the work Groundwood mat board" in poor


def hazard_by_hand(page: str, places: set[str], years: float) -> float:
    """What the printed figures add up to, so many years after today, at these places."""
    table = page.split('<table class="reckoned">')[1].split("<tbody>")[1].split("</tbody>")[0]
    rows = [re.findall(r"<td>(.*?)</td>", row) for row in table.split("<tr>")[1:]]
    total = 0.0
    for _how, place, _unit, *printed in rows:
        typical, shape, own, seen, now, rate = (float(text) for text in printed)
        if place in places:
            then = ((now + rate * years) / typical) ** shape
            total += own * log(2) * (then - (seen / typical) ** shape)
    return total


def test_the_date_by_formula_can_be_followed_by_hand_from_the_page(
    keeper: Browser, engine: Engine
) -> None:
    page = keeper.get(f"/works/{a_bench_work(engine)}").text
    said = re.search(
        r"\(margins, verso, under hinges\) reaches (\d+) % on ([^.]+)\.", text_of(page)
    )
    assert said is not None
    hidden = {"margins", "verso", "under hinges"}
    allowed = -log(1 - int(said[1]) / 100)
    years = ((from_words(said[2]).first_day or 0) - TODAY) / 365.25
    # The clocks are printed to six decimals: good for the day, or the one beside it.
    assert hazard_by_hand(page, hidden, years - 1.5 / 365.25) < allowed
    assert hazard_by_hand(page, hidden, years + 0.5 / 365.25) > allowed


def test_rates_that_nobody_measured_are_called_assumed(keeper: Browser, engine: Engine) -> None:
    page = text_of(keeper.get(f"/works/{a_bench_work(engine)}").text)
    assert "Rates of ageing and damp are assumed, 20 °C, 50 %: nothing was measured." in page
    assert "defaults of this project (judgement)" in page
    assert "5 %) = 0.0513" in page


@pytest.mark.parametrize(
    ("days", "said"),
    [
        (366, "Rates of ageing and damp are measured in Gannet House / Stair."),
        (30, "Rates of ageing and damp are assumed, 20 °C, 50 %: less than a year was measured."),
    ],
)
def test_a_year_of_readings_is_named_with_its_place(
    keeper: Browser, engine: Engine, days: int, said: str
) -> None:
    work = a_bench_work(engine)
    begun = NOON - timedelta(days=days + 5)
    rows = (f"{begun + timedelta(hours=12 * n):%Y-%m-%d %H:%M},24,55\n" for n in range(2 * days))
    text = ("Date,T °C,RH %\n" + "".join(rows)).encode()
    file, sent = (
        read_logger_file(text, Choices()),
        FileSent(name="a.csv", digest="0" * 64, byte_count=len(text)),
    )
    with recording(engine, actor="test", now=NOON) as session:
        place = session.exec(select(Stay.place_id).where(Stay.work_id == work)).one()
        import_readings(session, THE_HOUSE, place, sent, file, Choices(), now=NOON, today=TODAY)
    assert said in text_of(keeper.get(f"/works/{work}").text)


def test_a_day_that_is_past_is_due_today_and_says_why(keeper: Browser, engine: Engine) -> None:
    work = a_bench_work(engine, mount=POOR)
    page = text_of(keeper.get(f"/works/{work}").text)
    assert re.search(r"Next unframing at its remat Why By the formula", page)
    # One advice has one date, in each sentence that names it.
    by = set(re.findall(r"remat,? by (\d+ \w+ \d{4})", page))
    assert len(by) == 1
    assert "Due today: " in page


def test_a_work_of_which_nothing_is_known_is_told_as_suspect(
    keeper: Browser, engine: Engine
) -> None:
    page = text_of(keeper.get(f"/works/{a_bench_work(engine, mount=None)}").text)
    assert "No package is on record." in page
    assert "Nobody has examined it on record yet." in page
    assert "Due: first survey." in page or "Due today" in page


def test_of_what_nobody_has_examined_nothing_is_said_as_if_it_were_known(
    keeper: Browser, engine: Engine
) -> None:
    page = text_of(keeper.get(f"/works/{a_bench_work(engine, mount=None)}").text)
    assert "How it is freed nobody knows: solvent or heat must be reckoned with." in page
    assert "Next look in the first survey" in page
    found = VisitTold(on="2026-11-20", kind=VisitKind.LOOK, found=replace(SOUND, mounted_on="2005"))
    other = a_bench_work(engine, mount=None, number="GH 2")
    told(engine, other, found)
    # Nobody was there on a day of those years: the year says all there is to say.
    since = r"Next unframing due today reckoned back: since 20\d\d "
    assert re.search(since, text_of(keeper.get(f"/works/{other}").text))


def test_a_visit_says_which_layers_went_and_which_came(keeper: Browser, engine: Engine) -> None:
    work = a_bench_work(engine, mount=POOR)
    off = DismountTold(freed_by=FreedBy.WATER)
    remat = VisitTold(on="2024-05-20", kind=VisitKind.UNFRAMING, dismount=off, mount=SOUND)
    told(engine, work, remat)
    page = text_of(keeper.get(f"/works/{work}").text)
    went = "Taken out window mat: Groundwood mat board."
    came = "Put in window mat: Cotton rag mat board, 4-ply, buffered."
    how = "Mounted: T-hinge (mount 2), held by Wheat starch paste on Japanese paper (2, top)."
    assert f"{went} {came} {how}" in page
    # The first mount began with what was put in; what stayed at the second is not told again.
    assert (page.count("Put in mount board"), page.count("Taken out mount board")) == (1, 0)


def test_what_a_work_was_found_in_is_told_with_the_visit(keeper: Browser, engine: Engine) -> None:
    work = a_bench_work(engine, mount=None)
    told(engine, work, VisitTold(on="2024-05-20", kind=VisitKind.UNFRAMING, found=POOR))
    page = text_of(keeper.get(f"/works/{work}").text)
    assert "Found: T-hinge (mount 1), held by Wheat starch paste" in page
    assert "In its package: window mat: Groundwood mat board; mount board: Cotton rag" in page


def test_findings_stand_with_every_sighting_and_the_colour_difference(
    keeper: Browser, engine: Engine
) -> None:
    work = a_bench_work(engine, mount=POOR)
    told(engine, work, OPENED)
    grown = SightingTold(finding=1, change=Change.GROWN, severity=Severity.SEVERE)
    told(engine, work, VisitTold(on="2025-11-20", kind=VisitKind.LOOK, sightings=(grown,)))
    page = text_of(keeper.get(f"/works/{work}").text)
    assert "1 mat burn , recto, left edge, 12 mm in, follows the window's edge" in page
    assert "Last seen 20 November 2025: grown, severe." in page
    assert "2 sightings" in page
    assert "stain: L* 84.1, a* 3.2, b* 18; ΔE2000 to the clean paper 9." in page


def test_the_history_says_how_each_mount_came_off(keeper: Browser, engine: Engine) -> None:
    work = a_bench_work(engine)
    off = DismountTold(
        freed_by=FreedBy.WATER, residue="paste along the top", harm="slight skinning"
    )
    test = LayerTestTold(1, BenchTest.PH_PEN, "not acid")
    opened = VisitTold(
        on="2026-11-20", kind=VisitKind.UNFRAMING, dismount=off, mount=POOR, tests=(test,)
    )
    told(engine, work, opened)
    page = text_of(keeper.get(f"/works/{work}").text)
    assert "1 T-hinge , 1 March 2010 to 20 November 2026, made by R. Imaginary" in page
    assert "freed by water, leaving paste along the top" in page
    assert "Harm at dismount: slight skinning" in page
    assert "Test of the window mat: pH pen not acid" in page
    assert page.index("20 November 2026 , unframing") < page.index("1 March 2010 , unframing")


def test_an_urgent_sign_closes_the_unframing_and_gives_the_first_act(
    keeper: Browser, engine: Engine
) -> None:
    work = a_bench_work(engine)
    start = f'href="/works/{work}/visits/new?kind=unframing"'
    before = keeper.get(f"/works/{work}").text
    mould = SightingTold(change=Change.NEW, term="active mould", severity=Severity.SEVERE)
    told(engine, work, VisitTold(on="2026-11-24", kind=VisitKind.LOOK, sightings=(mould,)))
    after = keeper.get(f"/works/{work}").text
    assert (start in before, start in after) == (True, False)
    assert "Leave it closed, bag it, isolate it; a conservator next." in text_of(after)
    assert "Wear a respirator and gloves" in text_of(after)


def test_twelve_statements_however_long_the_record(
    app: FastAPI, keeper: Browser, engine: Engine
) -> None:
    work = a_bench_work(engine, mount=POOR)
    told(engine, work, OPENED)
    few = statements_for(app, keeper, f"/works/{work}")
    looks = [
        VisitTold(on=f"{1980 + year}-0{month}", kind=VisitKind.LOOK, by="R. Imaginary")
        for year in range(20)
        for month in (3, 9)
    ]
    told(engine, work, *looks)
    many = statements_for(app, keeper, f"/works/{work}")
    assert few == many <= 12


def test_an_owner_sees_their_own_work_and_may_start_nothing(owner: Browser, engine: Engine) -> None:
    own, other = a_bench_work(engine), a_bench_work(engine, owner="The Tern House", number="TH 1")
    page = owner.get(f"/works/{own}")
    assert page.status_code == 200
    assert "/visits/new" not in page.text
    assert f'href="/works/{own}/move"' not in page.text
    assert owner.get(f"/works/{other}").status_code == 404


@pytest.mark.parametrize("path", ["/works/99", "/works/0", "/works/99999999999", "/works/one"])
def test_what_is_not_on_record_is_not_found(keeper: Browser, path: str) -> None:
    assert keeper.get(path).status_code == 404


def test_a_stranger_is_asked_who_they_are(stranger: Browser, engine: Engine) -> None:
    answer = stranger.get(f"/works/{a_bench_work(engine)}")
    assert answer.headers["location"] == "/sign-in?next=%2Fworks%2F1"


def test_the_code_on_a_label_leads_to_its_work_however_it_is_typed(
    keeper: Browser, owner: Browser, engine: Engine
) -> None:
    work, other = a_bench_work(engine), a_bench_work(engine, owner="The Tern House", number="TH 1")
    with Session(engine) as session:
        code = session.get_one(Work, work).code
        of_other = session.get_one(Work, other).code
    typed = code.lower().replace("0", "o")
    assert keeper.get(f"/w/{typed}").headers["location"] == f"/works/{work}"
    assert owner.get(f"/w/{of_other}").status_code == 404
    assert keeper.get(f"/w/{code[:-1]}U").status_code == 404


def test_what_somebody_wrote_is_never_taken_for_markup(keeper: Browser, engine: Engine) -> None:
    work = a_bench_work(engine)
    with recording(engine, actor="test", now=NOON) as session:
        session.get_one(Work, work).title = "<script>alert(1)</script>"
    assert "&lt;script&gt;alert(1)" in keeper.get(f"/works/{work}").text


def test_the_visit_just_recorded_is_said_quietly_on_top(keeper: Browser, engine: Engine) -> None:
    work = a_bench_work(engine)
    (visit,) = told(engine, work, LOOK)
    said = text_of(keeper.get(f"/works/{work}?visit={visit}").text)
    assert "Recorded. Look on May 2020." in said
    assert "Recorded." not in text_of(keeper.get(f"/works/{work}?visit=99").text)


def test_the_mounting_history_is_one_click_away(owner: Browser, engine: Engine) -> None:
    work = a_bench_work(engine)
    page = owner.get(f"/works/{work}").text
    for ending in ("csv", "xlsx"):
        path = f"/api/works/{work}/mounting-history.{ending}"
        assert f'href="{path}"' in page
        assert owner.get(path).status_code == 200
