"""What the rules are told of a work on record: only what somebody saw, wrote or dated."""

from sqlmodel import Session

from models.actions.work_records import load_records, package_now, seen_facts, work_facts
from models.rules.half_known_dates import read_date
from models.rules.package_facts import SeenFacts
from models.rules.visit_as_told import HoldTold, MountTold, SightingTold, VisitTold
from models.tables.visible import Viewer
from models.tables.works import Work
from models.vocabulary import Change, Mechanism, PlaceUse, Severity, Shown, Side, VisitKind
from tests.actions.test_visits import BOARD, MAT, TODAY, UNFRAMING, bench, tell, work_on_record
from tests.builders import a_keeper, a_place, a_work, key_of

__all__ = ["bench"]

LOOK = VisitTold(
    on="2026-11-01", kind=VisitKind.LOOK, seen=frozenset({Shown.FRONT, Shown.BACK_OF_FRAME})
)
MOULD = SightingTold(
    term="active mould", severity=Severity.SLIGHT, change=Change.NEW, side=Side.RECTO
)
FRONT_ONLY = frozenset({Shown.FRONT})


def day(text: str) -> int:
    return read_date(text).first_day or 0


def seen_of(session: Session, viewer: Viewer, work: Work) -> SeenFacts:
    return seen_facts(load_records(session, viewer, [key_of(work)])[key_of(work)])


def test_a_back_that_was_seen_without_mould_is_a_clean_one(bench: Session) -> None:
    keeper = a_keeper(bench)
    work = work_on_record(bench, place="Gannet House / Cellar")
    tell(bench, keeper, work, LOOK, on="2026-06-01")
    tell(bench, keeper, work, LOOK, seen=FRONT_ONLY)
    found = seen_of(bench, keeper, work)
    assert (found.clean_day, found.clean_of_mould_day()) == (day("2026-06-01"),) * 2


def test_a_mouldy_back_was_seen_and_is_not_clean(bench: Session) -> None:
    keeper = a_keeper(bench)
    work = work_on_record(bench, place="Gannet House / Cellar")
    tell(bench, keeper, work, LOOK, on="2026-06-01")
    tell(bench, keeper, work, LOOK, sightings=(MOULD,))
    found = seen_of(bench, keeper, work)
    assert found.clean_of_mould_day() == day("2026-06-01")
    assert found.day_of_damp(Mechanism.MOULD, Shown.BACK_OF_FRAME) == day("2026-11-01")
    assert found.harm_days == {(Mechanism.MOULD, Shown.FRONT): day("2026-11-01")}


def test_mould_at_the_first_look_leaves_no_clean_day(bench: Session) -> None:
    keeper = a_keeper(bench)
    work = work_on_record(bench, place="Gannet House / Cellar")
    tell(bench, keeper, work, LOOK, sightings=(MOULD,))
    assert seen_of(bench, keeper, work).clean_of_mould_day() is None


def test_a_checked_box_is_one_in_which_mould_would_have_been_found(bench: Session) -> None:
    keeper = a_keeper(bench)
    a_place(bench, "Gannet House / Box 1", use=PlaceUse.BOX)
    work = work_on_record(bench, place="Gannet House / Box 1")
    tell(bench, keeper, work, VisitTold(on="2026-10-01", kind=VisitKind.BOX_CHECK))
    found = seen_of(bench, keeper, work)
    assert found.clean_of_mould_day() == day("2026-10-01")
    assert found.day_of_damp(Mechanism.MOULD, Shown.BACK_OF_FRAME) == day("2026-10-01")


def test_the_room_that_pockets_leave_is_told_in_millimetres(bench: Session) -> None:
    keeper = a_keeper(bench)
    work = work_on_record(bench, place="Gannet House / Stair")
    pockets = HoldTold(grade="corner pockets or edge strips", count=4, clearance_mm=1.5)
    mount = MountTold(layers=(MAT, BOARD), holds=(pockets,))
    tell(bench, keeper, work, UNFRAMING, mount=mount)
    records = load_records(bench, keeper, [key_of(work)])[key_of(work)]
    assert [hold.clearance_mm for hold in package_now(records).holds] == [1.5]


def test_support_and_the_days_of_making_are_told_as_they_are_known(bench: Session) -> None:
    keeper = a_keeper(bench)
    work = a_work(bench, made_edtf="2024-05", support="resin-coated paper", recorded_on=TODAY)
    unknown = a_work(bench, number="Y 2", made_edtf=None, recorded_on=TODAY)
    records = load_records(bench, keeper, [key_of(work), key_of(unknown)])
    told = [work_facts(records[key_of(one)]) for one in (work, unknown)]
    assert [(one.support, one.made_first_day, one.made_last_day) for one in told] == [
        ("resin-coated paper", day("2024-05-01"), day("2024-05-31")),
        ("", None, None),
    ]
