"""What changed lately, as it is said."""

from sqlmodel import Session

from models.actions.lately import ChangeShown, changed_lately
from models.tables.materials import Recall
from models.tables.remats import Remat
from models.tables.works import Work
from models.vocabulary import DueKind, RematState
from tests.builders import a_keeper, a_material, a_work, added, an_incident, key_of
from tests.tables.test_lately import TODAY, a_finding, day, put_off


def an_answer(session: Session, work: Work, state: RematState, why: str, until: str | None) -> None:
    row = Remat(work_id=key_of(work), state=state, said_on=TODAY - 3, why=why)
    row.until_on = None if until is None else day(until)
    added(session, row)


def test_each_change_is_a_sentence_that_leads_to_its_page(session: Session) -> None:
    keeper = a_keeper(session)
    work, other = (a_work(session, number=number, title="Tern") for number in "AB")
    on = "2026-11-24"
    visit = a_finding(session, work, on)
    put_off(session, work, DueKind.UNFRAMING, made_on=TODAY - 2)
    an_answer(session, work, RematState.DECLINED_UNTIL, "Too dear", "2028-01-01")
    an_answer(session, other, RematState.AGREED, "", None)
    incident = an_incident(session, work, on_first=TODAY - 4)
    recall = Recall(material_id=key_of(a_material(session, "Paste")), reason="It grew mould")
    recall.called_on = TODAY
    recall_id = key_of(added(session, recall))
    here = f"/works/{key_of(work)}"
    assert changed_lately(session, keeper, today=TODAY) == [
        ChangeShown(TODAY, "Paste recalled: It grew mould", f"/materials/recalls/{recall_id}"),
        ChangeShown(
            day(on), f"foxing {key_of(work)} {on} new: new", f"/visits/{visit}", "A", "Tern"
        ),
        ChangeShown(
            TODAY - 2, "unframing put off until 1 March 2027: The house is let", here, "A", "Tern"
        ),
        ChangeShown(TODAY - 3, "remat declined until 1 January 2028: Too dear", here, "A", "Tern"),
        ChangeShown(TODAY - 3, "remat agreed", f"/works/{key_of(other)}", "B", "Tern"),
        ChangeShown(TODAY - 4, "leak, 1 work within reach", f"/incidents/{key_of(incident)}"),
    ]


def test_what_is_older_than_thirty_days_is_not_said(session: Session) -> None:
    work = a_work(session)
    a_finding(session, work, "2026-10-25")
    assert changed_lately(session, a_keeper(session), today=TODAY) == []
