import pytest
from sqlmodel import Session

from models.actions.photographs import (
    PhotographOnRecord,
    PhotographTold,
    add_photograph,
    correct_photograph,
    join_visit,
    latest_recto_of,
    list_of_draft,
    list_of_visit,
    list_of_work,
    put_photograph_back,
    read_photograph,
    withdraw_photograph,
)
from models.errors import BadValue, NotAllowed, NotFound, RuleBroken, Stale
from models.exchange.kept_photographs import PictureKept
from models.rules.half_known_dates import read_date
from models.rules.permissions import OPEN_FOR_DAYS
from models.tables.visible import Viewer
from models.tables.works import Work
from models.vocabulary import PhotographStage, PhotographView
from tests.builders import a_framer, a_keeper, a_visit, a_work, an_owner, key_of
from tests.counting import statements

TODAY = read_date("2026-11-25").first_day or 0
PICTURE = PictureKept(
    sha256="a" * 64,
    media_type="image/jpeg",
    byte_count=1000,
    file_name="front.jpg",
    width_px=4000,
    height_px=3000,
)


def a_photograph(
    session: Session,
    viewer: Viewer,
    work: Work,
    *,
    view: PhotographView = PhotographView.RECTO,
    taken_on: str | None = None,
    draft_key: str | None = None,
    today: int = TODAY,
) -> PhotographOnRecord:
    told = PhotographTold(work_id=key_of(work), view=view, taken_on=taken_on, draft_key=draft_key)
    return add_photograph(session, viewer, told, PICTURE, today=today)


def test_a_photograph_says_what_it_shows_when_it_was_taken_and_by_whom(session: Session) -> None:
    framer, work = a_framer(session, name="Bran Tympan"), a_work(session)
    told = PhotographTold(
        work_id=key_of(work),
        view=PhotographView.RAKING,
        stage=PhotographStage.MAT_LIFTED,
        taken_on="2026-11~",
        note="light from the left",
    )
    taken = add_photograph(session, framer, told, PICTURE, today=TODAY)
    assert (taken.view, taken.stage, taken.taken_on, taken.note, taken.taken_by) == (
        "raking light",
        "mat lifted",
        "2026-11~",
        "light from the left",
        "Bran Tympan",
    )
    assert list_of_work(session, framer, key_of(work)) == (taken,)


def test_the_date_of_the_camera_holds_where_nobody_says_another(session: Session) -> None:
    framer, work = a_framer(session), a_work(session)
    camera = PictureKept(**{**vars(PICTURE), "taken_on": "2026-11-20"})
    ahead = PictureKept(**{**vars(PICTURE), "taken_on": "2031-01-01"})
    told = PhotographTold(work_id=key_of(work))
    taken = [add_photograph(session, framer, told, one, today=TODAY) for one in (camera, ahead)]
    assert [one.taken_on for one in taken] == ["2026-11-20", None]


def test_the_same_upload_is_one_photograph_however_often_it_is_finished(session: Session) -> None:
    framer, work = a_framer(session), a_work(session)
    told = PhotographTold(work_id=key_of(work), upload_key="u" * 32)
    once = add_photograph(session, framer, told, PICTURE, today=TODAY)
    assert add_photograph(session, framer, told, PICTURE, today=TODAY) == once
    assert list_of_work(session, framer, key_of(work)) == (once,)


def test_a_photograph_taken_before_the_visit_is_finished_joins_it(session: Session) -> None:
    framer, work, other = a_framer(session), a_work(session), a_work(session)
    taken = a_photograph(session, framer, work, draft_key="draft-1")
    a_photograph(session, framer, other, draft_key="draft-1")
    assert [one.visit_id for one in list_of_draft(session, framer, "draft-1")] == [None, None]
    visit = key_of(a_visit(session, work))
    assert join_visit(session, "draft-1", visit) == 1
    assert [one.id for one in list_of_visit(session, framer, visit)] == [taken.id]
    assert join_visit(session, "draft-1", visit) == 0


def test_a_photograph_joins_no_visit_of_another_work(session: Session) -> None:
    framer, work = a_framer(session), a_work(session)
    visit = key_of(a_visit(session, a_work(session)))
    told = PhotographTold(work_id=key_of(work), visit_id=visit)
    with pytest.raises(BadValue, match="not one of the work"):
        add_photograph(session, framer, told, PICTURE, today=TODAY)


def test_what_is_put_right_counts_up_and_stale_changes_are_refused(session: Session) -> None:
    framer, work = a_framer(session), a_work(session)
    taken = a_photograph(session, framer, work, taken_on="2026-11-20")
    changes: dict[str, object] = {"view": PhotographView.VERSO, "taken_on": None}
    put_right = correct_photograph(
        session, framer, taken.id, changes, based_on=taken.version, today=TODAY
    )
    assert (put_right.view, put_right.taken_on) == ("verso", None)
    with pytest.raises(Stale):
        correct_photograph(session, framer, taken.id, {}, based_on=99, today=TODAY)
    with pytest.raises(RuleBroken, match="has not come yet"):
        correct_photograph(
            session,
            framer,
            taken.id,
            {"taken_on": "2027"},
            based_on=put_right.version,
            today=TODAY,
        )


def test_a_framer_takes_back_their_own_photograph_for_a_fortnight(session: Session) -> None:
    framer, other, work = a_framer(session), a_framer(session, "Other"), a_work(session)
    own, late = (a_photograph(session, framer, work) for _ in range(2))
    with pytest.raises(NotAllowed):
        withdraw_photograph(session, other, own.id, "blurred", today=TODAY)
    withdraw_photograph(session, framer, own.id, "blurred", today=TODAY + OPEN_FOR_DAYS)
    with pytest.raises(NotAllowed):
        withdraw_photograph(session, framer, late.id, "blurred", today=TODAY + OPEN_FOR_DAYS + 1)
    with pytest.raises(NotFound):
        read_photograph(session, framer, own.id)
    with pytest.raises(NotAllowed):
        put_photograph_back(session, other, own.id, today=TODAY)
    put_photograph_back(session, framer, own.id, today=TODAY + OPEN_FOR_DAYS)
    assert read_photograph(session, framer, own.id) == own
    withdraw_photograph(session, framer, own.id, "blurred", today=TODAY + OPEN_FOR_DAYS)
    withdraw_photograph(session, a_keeper(session), late.id, "of another work", today=TODAY + 99)
    assert list_of_work(session, framer, key_of(work)) == ()


def test_an_owner_sees_no_photograph_of_another_owners_work(session: Session) -> None:
    framer = a_framer(session)
    owner = an_owner(session, "The Gannet House")
    own = a_photograph(session, framer, a_work(session, owner="The Gannet House"))
    other_work = a_work(session, owner="Somebody else")
    other = a_photograph(session, framer, other_work, draft_key="d")
    assert read_photograph(session, owner, own.id).id == own.id
    with pytest.raises(NotFound):
        read_photograph(session, owner, other.id)
    with pytest.raises(NotFound):
        list_of_work(session, owner, key_of(other_work))
    assert list_of_draft(session, owner, "d") == ()
    works = [own.work_id, other.work_id]
    assert latest_recto_of(session, owner, works) == {own.work_id: own.id}
    with pytest.raises(NotAllowed):
        correct_photograph(session, owner, own.id, {}, based_on=own.version, today=TODAY)


def test_the_newest_front_stands_for_a_work_in_one_statement(session: Session) -> None:
    framer, first, second = a_framer(session), a_work(session), a_work(session)
    newest = a_photograph(session, framer, first, taken_on="2026-11-20")
    a_photograph(session, framer, first, taken_on="2019")
    a_photograph(session, framer, first, view=PhotographView.VERSO, taken_on="2026-11-24")
    undated = a_photograph(session, framer, second)
    a_photograph(session, framer, second, taken_on="2026-11-20")
    with statements(session) as sent:
        found = latest_recto_of(session, framer, [key_of(first), key_of(second)])
    assert found == {key_of(first): newest.id, key_of(second): undated.id}
    assert len(sent) == 1
