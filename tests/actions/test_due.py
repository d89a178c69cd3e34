from dataclasses import dataclass

import pytest
from sqlalchemy import insert
from sqlmodel import Session, select

from models.actions.due import (
    DueItem,
    DueState,
    MonthAhead,
    boxes_to_check,
    first_survey,
    marks_of_works,
    months_ahead,
    what_is_due,
    what_waits_besides,
)
from models.actions.in_force import in_force
from models.rules.bench_hours import BenchHours
from models.rules.half_known_dates import read_date
from models.tables.due import DueKey
from models.tables.places import FollowUp, Incident, IncidentWork
from models.tables.visible import Viewer
from models.tables.works import Work
from models.vocabulary import Advice, DueKind, PlaceUse, ValueBand, Verdict, VisitKind
from tests.builders import (
    a_forecast,
    a_keeper,
    a_place,
    a_visit,
    a_work,
    added,
    an_incident,
    an_owner,
    key_of,
)
from tests.counting import statements
from tests.tables.test_due_loads import a_score

OWNER = "The Gannet House"


def day(text: str) -> int:
    found = read_date(text).first_day
    assert found is not None
    return found


TODAY = day("2026-11-25")


def months_of(session: Session, viewer: Viewer) -> list[MonthAhead]:
    boxes = boxes_to_check(session, viewer)
    return months_ahead(session, viewer, today=TODAY, boxes=boxes)


@dataclass
class Asking:
    session: Session
    viewer: Viewer

    def kinds(self, **asked: object) -> list[tuple[str, str, int | None]]:
        page = what_is_due(self.session, self.viewer, today=TODAY, **asked)  # type: ignore[arg-type]
        return [(item.number or item.place or "", item.kind, item.on) for item in page.items]


@pytest.fixture
def asking(session: Session) -> Asking:
    return Asking(session, a_keeper(session))


def test_a_day_that_is_past_stays_where_it_was_and_is_due_today(
    session: Session, asking: Asking
) -> None:
    work = a_work(session, number="A", title="Tern", owner=OWNER, place="Gannet House / Stair")
    a_forecast(
        session,
        work,
        look_on=day("2026-03-01"),
        unframing_on=day("2030-01-01"),
        chance_unseen=0.12,
        weak_layer="Groundwood mat board",
    )
    look, unframing = what_is_due(session, asking.viewer, today=TODAY).items
    assert (look.kind, look.on, look.shown_on, look.state) == (
        DueKind.LOOK,
        day("2026-03-01"),
        TODAY,
        DueState.OVERDUE,
    )
    assert (look.number, look.title, look.owner, look.place) == (
        "A",
        "Tern",
        OWNER,
        "Gannet House / Stair",
    )
    assert (unframing.state, unframing.shown_on, unframing.why) == (
        DueState.LATER,
        day("2030-01-01"),
        "Harm that nobody saw yet: about 1 in 8. Weak layer: Groundwood mat board.",
    )


def test_a_weak_layer_that_nobody_recorded_is_said_in_words(
    session: Session, asking: Asking
) -> None:
    work = a_work(session, number="A")
    a_forecast(
        session,
        work,
        unframing_on=day("2030-01-01"),
        chance_unseen=0.0,
        weak_layer="not recorded",
    )
    (unframing,) = what_is_due(session, asking.viewer, today=TODAY).items
    assert unframing.why == (
        "Harm that nobody saw yet: none. Weakest is what touches it (not recorded)."
    )


def test_what_does_not_wait_comes_alone_with_its_first_act(
    session: Session, asking: Asking
) -> None:
    work = a_work(session, number="A")
    since = day("2026-11-20")
    a_forecast(
        session,
        work,
        due_on=since,
        due_kind=DueKind.URGENT,
        urgent_sign="active mould",
        urgent_since=since,
        look_on=day("2026-12-01"),
        unframing_on=day("2027-01-01"),
        remat_by=day("2027-01-01"),
        advice=Advice.REMAT,
    )
    (only,) = what_is_due(session, asking.viewer, today=TODAY).items
    assert (only.kind, only.why) == (
        DueKind.URGENT,
        "Active mould since 20 November 2026."
        " Leave it closed, bag it, isolate it; a conservator next.",
    )


def test_a_work_to_be_rematted_is_not_unframed_before_unless_something_is_unknown(
    session: Session, asking: Asking
) -> None:
    days = {"unframing_on": day("2027-01-01"), "remat_by": day("2027-06-01")}
    known, unknown = a_work(session, number="A"), a_work(session, number="B")
    a_forecast(session, known, advice=Advice.REHINGE, due_kind=DueKind.REMAT, **days)
    a_forecast(session, unknown, advice=Advice.REMAT, due_kind=DueKind.UNFRAMING, **days)
    assert asking.kinds() == [
        ("B", "unframing", days["unframing_on"]),
        ("A", "remat", days["remat_by"]),
        ("B", "remat", days["remat_by"]),
    ]


def test_a_box_is_one_line_whatever_lies_in_it(session: Session, asking: Asking) -> None:
    a_place(session, "Store / Box 4", use=PlaceUse.BOX)
    for number, place, on in (
        ("A", "Store / Box 4", "2026-12-05"),
        ("B", "Store / Box 4", "2026-12-01"),
        ("C", "Store / Box 4 / Folder 1", "2026-12-09"),
    ):
        a_forecast(session, a_work(session, number=number, place=place), box_check_on=day(on))
    (box,) = what_is_due(session, asking.viewer, today=TODAY).items
    assert (box.kind, box.place, box.works, box.on, box.state) == (
        DueKind.BOX_CHECK,
        "Store / Box 4",
        3,
        day("2026-12-01"),
        DueState.SOON,
    )


def test_an_incident_asks_for_its_looks_until_they_are_made_or_it_is_withdrawn(
    session: Session, asking: Asking
) -> None:
    work = a_work(session, number="A")
    an_incident(session, work, "2026-11-17", "2026-12-10")
    an_incident(session, work, "2026-11-18", withdrawn_reason="never was")
    visit = a_visit(session, work)
    made = IncidentWork(
        incident_id=key_of(added(session, Incident(kind="fall", on_edtf="2026"))),
        work_id=key_of(work),
    )
    reached = key_of(added(session, made))
    done = FollowUp(
        incident_work_id=reached, due_on=day("2026-11-19"), done_by_visit_id=key_of(visit)
    )
    added(session, done)
    items = what_is_due(session, asking.viewer, today=TODAY).items
    assert [(item.on, item.kind) for item in items] == [
        (day("2026-11-17"), DueKind.FOLLOW_UP),
        (day("2026-12-10"), DueKind.FOLLOW_UP),
    ]
    assert items[0].why == "After an incident: leak, 10 November 2026."


def test_a_work_whose_light_is_used_up_is_taken_down_whatever_else_is_due(
    session: Session, asking: Asking
) -> None:
    work = a_work(session, number="A", title="Tern", place="Gannet House / Stair")
    a_forecast(
        session,
        work,
        take_down_on=TODAY - 1,
        due_on=TODAY - 30,
        due_kind=DueKind.URGENT,
        urgent_sign="active mould",
        urgent_since=TODAY - 30,
    )
    mould, light = what_is_due(session, asking.viewer, today=TODAY).items
    assert mould.kind is DueKind.URGENT
    assert (light.kind, light.on, light.shown_on, light.state, light.why) == (
        DueKind.TAKE_DOWN,
        TODAY - 1,
        TODAY,
        DueState.OVERDUE,
        "By then its light of this year is used up. First: move it where it is dark; another work"
        " can take its turn.",
    )
    assert asking.kinds(kind=DueKind.TAKE_DOWN) == [("A", "take down", TODAY - 1)]


def test_until_counts_its_own_day_and_a_kind_narrows(session: Session, asking: Asking) -> None:
    on = day("2026-12-01")
    a_forecast(session, a_work(session, number="A"), look_on=on, remat_by=on)
    assert asking.kinds(until=on - 1) == []
    assert asking.kinds(until=on) == [("A", "look", on), ("A", "remat", on)]
    assert asking.kinds(kind=DueKind.REMAT) == [("A", "remat", on)]
    assert asking.kinds(kind=DueKind.FIRST_SURVEY) == []


def test_pages_hold_every_line_once_and_in_order(session: Session, asking: Asking) -> None:
    a_place(session, "Box 1", use=PlaceUse.BOX)
    on = day("2026-12-01")
    for n in range(6):
        work = a_work(session, number=f"A{n}", place="Box 1")
        a_forecast(session, work, look_on=on + n % 2, remat_by=on, box_check_on=on)
        an_incident(session, work, "2026-12-01")
        an_incident(session, work, "2026-12-01")
    whole = what_is_due(session, asking.viewer, today=TODAY, limit=100)
    after: DueKey | None = None
    pages: list[DueItem] = []
    for _ in range(10):
        page = what_is_due(session, asking.viewer, today=TODAY, limit=4, after=after)
        pages += page.items
        after = page.next_after
        if after is None:
            break
    assert len(whole.items) == 6 * 4 + 1
    assert (pages, whole.next_after) == (list(whole.items), None)


def test_an_owner_of_very_many_works_is_told_the_same(session: Session) -> None:
    for number, owner, days in (("A", OWNER, 9), ("B", "The Tern House", 1), ("C", OWNER, 4)):
        work = a_work(session, number=number, owner=owner)
        a_forecast(session, work, look_on=TODAY + days, due_on=TODAY + days)
    viewer = an_owner(session, OWNER)
    of_few = what_is_due(session, viewer, today=TODAY)
    row = session.exec(select(Work)).first()
    assert row is not None, "works were put on record"
    others = ({"code": f"N{n}", "number": f"N {n}"} for n in range(2_000))
    same = row.model_dump(exclude={"id"}) | {"owner_id": viewer.owner_id}
    session.connection().execute(insert(Work), [same | other for other in others])

    of_many = what_is_due(session, viewer, today=TODAY)

    assert [item.number for item in of_many.items] == ["C", "A"]
    assert of_many == of_few


def test_an_owner_is_told_what_is_due_on_their_own_works_alone(session: Session) -> None:
    a_place(session, "Box 1", use=PlaceUse.BOX)
    for number, owner in (("A", OWNER), ("B", "The Tern House")):
        work = a_work(session, number=number, owner=owner, place="Box 1")
        a_forecast(
            session,
            work,
            look_on=TODAY,
            due_on=TODAY,
            due_kind=DueKind.LOOK,
            box_check_on=TODAY,
            first_survey=True,
            chance_unseen=0.5,
        )
        an_incident(session, work, "2026-12-01")
        a_visit(session, work, to_write_up=True)
    owner_viewer = an_owner(session, OWNER)
    page = what_is_due(session, owner_viewer, today=TODAY)
    assert [(i.number, i.kind, i.works) for i in page.items] == [
        ("", "box check", 1),
        ("A", "look", 1),
        ("A", "follow-up", 1),
    ]
    survey = first_survey(session, owner_viewer, today=TODAY)
    assert ([i.number for i in survey.items], survey.waiting) == (["A"], 1)
    assert what_waits_besides(session, owner_viewer) == ([], [])
    assert sum(m.due for m in months_of(session, owner_viewer)) == 3
    assert set(marks_of_works(session, owner_viewer, [1, 2], today=TODAY)) == {1}


def test_a_withdrawn_work_is_due_for_nothing(session: Session, asking: Asking) -> None:
    work = a_work(session, withdrawn_reason="sold")
    a_forecast(session, work, look_on=TODAY, first_survey=True)
    an_incident(session, work, "2026-12-01")
    assert asking.kinds() == []
    assert first_survey(session, asking.viewer, today=TODAY).waiting == 0


def test_the_first_survey_goes_by_value_and_by_what_is_likely_four_a_week(
    session: Session, asking: Asking
) -> None:
    for number, band, chance in (
        ("low", ValueBand.LOW, 0.9),
        ("likely", ValueBand.NORMAL, 0.8),
        ("less", ValueBand.NORMAL, 0.2),
        ("unknown", ValueBand.NORMAL, None),
        ("high", ValueBand.HIGH, 0.1),
    ):
        work = a_work(session, number=number, value_band=band)
        a_forecast(session, work, first_survey=True, chance_unseen=chance)
    survey = first_survey(session, asking.viewer, today=TODAY)
    assert [(item.number, item.shown_on - TODAY) for item in survey.items] == [
        ("high", 7),
        ("likely", 7),
        ("less", 7),
        ("unknown", 7),
        ("low", 14),
    ]
    assert (survey.waiting, survey.all_seen_by, survey.next_after) == (5, TODAY + 14, None)
    assert asking.kinds() == []
    rest = first_survey(session, asking.viewer, today=TODAY, limit=2, after=2)
    assert ([item.number for item in rest.items], rest.next_after) == (["less", "unknown"], 4)


def test_the_months_ahead_carry_what_is_overdue_apart(session: Session, asking: Asking) -> None:
    for on in ("2026-03-01", "2026-11-01", "2026-11-25", "2026-11-30", "2026-12-01", "2027-11-01"):
        a_forecast(session, a_work(session), due_on=day(on), due_kind=DueKind.LOOK)
    # Of a work in a box the box is counted, once.
    a_place(session, "Box 1", use=PlaceUse.BOX)
    for _ in range(2):
        boxed, on_day = a_work(session, place="Box 1"), day("2026-12-05")
        a_forecast(session, boxed, box_check_on=on_day, due_on=on_day, due_kind=DueKind.BOX_CHECK)
    an_incident(session, boxed, "2026-12-06")
    november, december, *rest = months_of(session, asking.viewer)
    assert november == MonthAhead(day("2026-11-01"), day("2026-11-30"), due=2, overdue=2)
    assert december == MonthAhead(day("2026-12-01"), day("2026-12-31"), due=3)
    assert (len(rest), sum(month.due for month in rest)) == (10, 0)


def test_the_months_ahead_say_what_they_ask_of_the_house(session: Session, asking: Asking) -> None:
    for on, kind in (
        ("2026-11-01", DueKind.UNFRAMING),
        ("2026-11-25", DueKind.LOOK),
        ("2026-11-30", DueKind.URGENT),
        ("2026-12-01", DueKind.REMAT),
        ("2026-12-31", DueKind.REMAT),
    ):
        work = a_work(session)
        a_forecast(session, work, due_on=day(on), due_kind=kind)
    a_score(session, key_of(work), hours=4.0)
    a_place(session, "Box 1", use=PlaceUse.BOX)
    a_forecast(session, a_work(session, place="Box 1"), box_check_on=day("2026-12-31"))
    november, december, *rest = months_of(session, asking.viewer)
    # What is overdue is asked of this month as well.
    assert (november.hours, november.late_hours) == (BenchHours(0.1, 2.0, 0.0), 1.0)
    # One remat of which the hours were worked out, 4, and one that takes what is usual, 2.5.
    assert (december.hours, december.late_hours) == (BenchHours(0.5, 0.0, 6.5), 0.0)
    assert {(month.hours, month.late_hours) for month in rest} == {(BenchHours(), 0.0)}


def test_visits_without_their_words_are_listed_oldest_first(
    session: Session, asking: Asking
) -> None:
    work = a_work(session, number="A", title="Tern")
    a_visit(session, work, on="2026-11-20", to_write_up=True, kind=VisitKind.UNFRAMING)
    a_visit(session, work, on="2025", to_write_up=True)
    a_visit(session, work, on="2026")
    a_visit(session, work, on="2026", to_write_up=True, withdrawn_reason="never was")
    listed = what_waits_besides(session, asking.viewer).to_write_up
    assert [(row.number, row.on_edtf, row.kind) for row in listed] == [
        ("A", "2025", VisitKind.LOOK),
        ("A", "2026-11-20", VisitKind.UNFRAMING),
    ]


def test_a_mark_is_the_verdict_and_what_is_due_first(session: Session, asking: Asking) -> None:
    work = a_work(session)
    a_forecast(
        session, work, verdict=Verdict.DOUBTFUL, due_on=TODAY - 1, due_kind=DueKind.UNFRAMING
    )
    (mark,) = marks_of_works(session, asking.viewer, [key_of(work), 99], today=TODAY).values()
    assert (mark.verdict, mark.kind, mark.shown_on, mark.state) == (
        Verdict.DOUBTFUL,
        DueKind.UNFRAMING,
        TODAY,
        DueState.OVERDUE,
    )


def test_what_is_due_takes_as_many_statements_for_many_as_for_few(
    session: Session, asking: Asking
) -> None:
    counts = []
    for _ in range(2):
        for _ in range(10):
            work = a_work(session, place="Box 1")
            a_forecast(session, work, look_on=TODAY, box_check_on=TODAY, first_survey=True)
            an_incident(session, work, "2026-12-01")
        # What is in force is read once after each change of it, and kept.
        in_force(session)
        with statements(session) as sent:
            what_is_due(session, asking.viewer, today=TODAY)
            first_survey(session, asking.viewer, today=TODAY)
            months_of(session, asking.viewer)
        counts.append(len(sent))
    assert counts[0] == counts[1] <= 10
