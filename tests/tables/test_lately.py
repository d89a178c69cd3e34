"""What was recorded lately, as it is found in both databases."""

import pytest
from sqlmodel import Session

from models.rules.half_known_dates import read_date
from models.tables.findings import Finding, Sighting
from models.tables.lately import Lately, LatelyKind, recorded_lately
from models.tables.materials import Recall
from models.tables.postponements import Postponement
from models.tables.remats import Remat
from models.tables.terms import FindingTerm
from models.tables.visible import Viewer
from models.tables.works import Work
from models.vocabulary import Change, DueKind, RematState
from tests.builders import (
    a_keeper,
    a_lot,
    a_material,
    a_visit,
    a_work,
    added,
    an_incident,
    an_owner,
    key_of,
)


def day(text: str) -> int:
    first = read_date(text).first_day
    assert first is not None, text
    return first


TODAY = day("2026-11-25")
OWNER = "The Gannet House"


@pytest.fixture
def keeper(session: Session) -> Viewer:
    return a_keeper(session)


def a_finding(
    session: Session, work: Work, on: str, change: Change = Change.NEW, withdrawn: str | None = None
) -> int:
    """A finding at a visit of its own, whose key is returned."""
    name = f"foxing {key_of(work)} {on} {change}"
    row = FindingTerm(term=name, shows_through_glazing="yes", urgency="later", applies_to="paper")
    term = added(session, row)
    visit = key_of(a_visit(session, work, on=on))
    finding = added(session, Finding(work_id=key_of(work), term_id=key_of(term), finding_no=visit))
    seen = Sighting(finding_id=key_of(finding), visit_id=visit, change=change)
    seen.withdrawn_reason = withdrawn
    added(session, seen)
    return visit


def put_off(session: Session, work: Work, kind: DueKind, **columns: object) -> int:
    row = Postponement(work_id=key_of(work), kind=kind, reason="The house is let")
    row.until_on, row.made_on = day("2027-03-01"), day("2026-11-20")
    for name, value in columns.items():
        setattr(row, name, value)
    return key_of(added(session, row))


def found(session: Session, viewer: Viewer, each: int = 6) -> list[Lately]:
    return recorded_lately(session, viewer, since=TODAY - 30, until=TODAY, each=each)


def kinds(session: Session, viewer: Viewer) -> list[tuple[LatelyKind, int]]:
    return [(one.kind, one.row_id) for one in found(session, viewer)]


def test_each_kind_is_told_with_its_day_and_where_it_leads(
    session: Session, keeper: Viewer
) -> None:
    work = a_work(session, number="A", title="Tern")
    visit = a_finding(session, work, "2026-11-24")
    moved = put_off(session, work, DueKind.LOOK)
    lot = a_lot(session, a_material(session, "Invented paste"))
    recall = Recall(lot_id=key_of(lot), called_on=TODAY, reason="It grew mould")
    recall_id = key_of(added(session, recall))
    on_first = day("2026-11-10")
    incident = key_of(an_incident(session, work, on_first=on_first))
    answer = Remat(work_id=key_of(work), state=RematState.DECLINED_UNTIL, why="Too dear")
    answer.said_on, answer.until_on = day("2026-11-12"), day("2028-01-01")
    answer_id = key_of(added(session, answer))
    of_work = (key_of(work), "A", "Tern")
    no_work = (None, None, None)
    reason = "The house is let"
    later = day("2027-03-01")
    foxing = f"foxing {key_of(work)} 2026-11-24 new"
    assert found(session, keeper) == [
        Lately(
            TODAY, LatelyKind.RECALL, recall_id, *no_work, "Invented paste", "It grew mould", None
        ),
        Lately(day("2026-11-24"), LatelyKind.FINDING, visit, *of_work, foxing, "new", None),
        Lately(day("2026-11-20"), LatelyKind.PUT_OFF, moved, *of_work, "look", reason, later),
        Lately(
            day("2026-11-12"),
            LatelyKind.ANSWER,
            answer_id,
            *of_work,
            "declined until",
            "Too dear",
            day("2028-01-01"),
        ),
        Lately(on_first, LatelyKind.INCIDENT, incident, *no_work, "leak", "1", None),
    ]


def test_what_is_dated_after_today_or_before_the_days_asked_for_is_not_told(
    session: Session, keeper: Viewer
) -> None:
    work = a_work(session)
    a_finding(session, work, "2062-11-24")
    a_finding(session, work, "2026-10-25")
    oldest = a_finding(session, work, "2026-10-26")
    newest = a_finding(session, work, "2026-11-25")
    an_incident(session, work, on_first=TODAY + 1)
    assert kinds(session, keeper) == [
        (LatelyKind.FINDING, newest),
        (LatelyKind.FINDING, oldest),
    ]


def test_what_is_as_before_withdrawn_lifted_levelled_or_not_answered_is_not_told(
    session: Session, keeper: Viewer
) -> None:
    work = a_work(session)
    a_finding(session, work, "2026-11-24", Change.UNCHANGED)
    a_finding(session, work, "2026-11-23", withdrawn="never was")
    put_off(session, work, DueKind.LOOK, withdrawn_reason="looked at after all")
    put_off(session, work, DueKind.UNFRAMING, is_levelled=True)
    an_incident(session, work, on_first=TODAY, withdrawn_reason="never was")
    material = key_of(a_material(session))
    lifted = Recall(material_id=material, called_on=TODAY, lifted_on=TODAY, reason="Mould")
    added(session, lifted)
    added(session, Remat(work_id=key_of(work), state=RematState.ASKED, said_on=TODAY))
    gone = a_work(session, withdrawn_reason="sold")
    a_finding(session, gone, "2026-11-24")
    an_incident(session, gone, on_first=TODAY)
    assert found(session, keeper) == []


def test_only_so_many_of_a_kind_are_told_the_newest_first(session: Session, keeper: Viewer) -> None:
    work = a_work(session)
    visits = [a_finding(session, work, f"2026-11-{on}") for on in (20, 24, 22, 21)]
    moved = put_off(session, work, DueKind.LOOK, made_on=day("2026-11-01"))
    told = [(one.kind, one.row_id) for one in found(session, keeper, each=2)]
    assert told == [
        (LatelyKind.FINDING, visits[1]),
        (LatelyKind.FINDING, visits[2]),
        (LatelyKind.PUT_OFF, moved),
    ]


def test_an_owner_is_told_of_their_own_works_alone_and_of_no_recall(
    session: Session, keeper: Viewer
) -> None:
    works = [a_work(session, owner=owner) for owner in (OWNER, "The Tern House")]
    visits = [a_finding(session, work, "2026-11-24") for work in works]
    moved = [put_off(session, work, DueKind.LOOK) for work in works]
    incidents = [key_of(an_incident(session, work, on_first=TODAY)) for work in works]
    recall = Recall(material_id=key_of(a_material(session)), called_on=TODAY, reason="Mould")
    added(session, recall)
    assert kinds(session, an_owner(session, OWNER)) == [
        (LatelyKind.INCIDENT, incidents[0]),
        (LatelyKind.FINDING, visits[0]),
        (LatelyKind.PUT_OFF, moved[0]),
    ]
    # The keeper is told of all seven, by the same statement as before and after an owner.
    assert len(found(session, keeper)) == 7
