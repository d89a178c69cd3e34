"""Works that are rematted together: made, ticked by the record, changed and taken back."""

import pytest
from sqlmodel import Session

from models.actions.remat_jobs import (
    JobTold,
    change_job,
    leave_out,
    list_jobs,
    make_job,
    planned,
    read_job,
    withdraw_job,
)
from models.actions.remats import close_remats, say_of_remat
from models.errors import BadValue, NotAllowed, NotFound, RuleBroken, Stale
from models.tables.remat_jobs import MOST_WORKS, JobOfWork, ListedJob, open_jobs_of
from models.vocabulary import RematJobOutcome, RematJobState
from tests.actions.remats_at_hand import NOW, a_work_to_remat
from tests.builders import a_framer, a_keeper, an_owner, key_of

TOLD = JobTold(name="The stair")


def test_works_of_one_room_stand_together_and_the_larger_first(session: Session) -> None:
    keeper = a_keeper(session)
    study = a_work_to_remat(session, number="A", place="Gannet House / Study")
    stair = a_work_to_remat(session, number="B", place="Gannet House / Stair")
    ids = [key_of(study), key_of(stair)]
    assert [row.number for row in planned(session, keeper, ids, today=NOW)] == ["B", "A"]


def test_a_job_says_what_its_remats_take_together_and_a_quote_stands_above_the_cost(
    session: Session,
) -> None:
    framer = a_framer(session)
    works = [a_work_to_remat(session, number=number) for number in ("A", "B")]
    ids = [key_of(work) for work in works]
    say_of_remat(session, framer, ids[0], {"state": "asked", "quote": 80.0}, based_on=0, today=NOW)
    job = make_job(session, framer, TOLD, ids, today=NOW)
    a, b = (next(w.row for w in job.works if w.row.work_id == work_id) for work_id in ids)
    assert job.hours == pytest.approx((a.hours or 0) + (b.hours or 0))
    assert job.cost == pytest.approx(80 + (b.cost or 0))
    assert (job.told, job.made_on, job.by) == (TOLD, NOW, "R. Imaginary")
    assert [one.material for one in job.materials.sheets] == ["cotton rag board, buffered"]
    assert open_jobs_of(session, framer, ids) == [
        JobOfWork(work_id, job.id, "The stair") for work_id in ids
    ]


def test_a_remount_ticks_its_work_and_the_last_one_closes_the_job(session: Session) -> None:
    keeper = a_keeper(session)
    ids = [key_of(a_work_to_remat(session, number=number)) for number in ("A", "B")]
    job = make_job(session, keeper, TOLD, ids, today=NOW)
    close_remats(session, ids, remounted={ids[0]}, today=NOW + 1)
    half = read_job(session, keeper, job.id, today=NOW + 1)
    assert {w.row.work_id: (w.outcome, w.done_on) for w in half.works} == {
        ids[0]: (RematJobOutcome.REMOUNTED, NOW + 1),
        ids[1]: (RematJobOutcome.TO_DO, None),
    }
    assert half.told.state is RematJobState.OPEN
    close_remats(session, ids, remounted={ids[1]}, today=NOW + 2)
    done = read_job(session, keeper, job.id, today=NOW + 2)
    assert (done.told.state, done.hours, done.cost) == (RematJobState.DONE, 0, 0)
    with pytest.raises(RuleBroken, match="still to do"):
        leave_out(
            session,
            keeper,
            job.id,
            ids[0],
            based_on=done.version,
            is_left_out=True,
            today=NOW,
        )


def test_a_work_is_left_out_and_taken_in_again(session: Session) -> None:
    keeper = a_keeper(session)
    work_id = key_of(a_work_to_remat(session, number="A"))
    job = make_job(session, keeper, TOLD, [work_id], today=NOW)
    out = leave_out(session, keeper, job.id, work_id, based_on=1, is_left_out=True, today=NOW)
    assert [w.outcome for w in out.works] == [RematJobOutcome.LEFT_OUT]
    back = leave_out(
        session, keeper, job.id, work_id, based_on=out.version, is_left_out=False, today=NOW
    )
    assert [w.outcome for w in back.works] == [RematJobOutcome.TO_DO]
    assert back.version == 3


def test_a_job_is_renamed_by_who_saw_its_newest_state(session: Session) -> None:
    keeper = a_keeper(session)
    work_id = key_of(a_work_to_remat(session, number="A"))
    job = make_job(session, keeper, TOLD, [work_id], today=NOW)
    changes = {"name": "Stair and study", "note": "before the fair"}
    changed = change_job(session, keeper, job.id, changes, based_on=1, today=NOW)
    assert changed.told == JobTold(name="Stair and study", note="before the fair")
    with pytest.raises(Stale):
        change_job(session, keeper, job.id, {"state": "dropped"}, based_on=7, today=NOW)
    with pytest.raises(BadValue):
        change_job(session, keeper, job.id, {"name": " "}, based_on=1, today=NOW)


def test_the_list_counts_works_and_what_is_still_to_do(session: Session) -> None:
    keeper = a_keeper(session)
    ids = [key_of(a_work_to_remat(session, number=number)) for number in ("A", "B")]
    job = make_job(session, keeper, TOLD, ids, today=NOW)
    close_remats(session, ids, remounted={ids[0]}, today=NOW)
    left = read_job(session, keeper, job.id, today=NOW)
    (listed,) = list_jobs(session, keeper, limit=10)
    assert listed == ListedJob(
        job.id, "The stair", RematJobState.OPEN, NOW, "K. Inventa", 1, 2, 1, left.hours, left.cost
    )
    withdraw_job(session, keeper, job.id, "made twice", based_on=1, today=NOW)
    assert list_jobs(session, keeper, limit=10) == []
    with pytest.raises(NotFound):
        read_job(session, keeper, job.id, today=NOW)


def test_a_job_needs_works_that_are_on_record_and_not_too_many(session: Session) -> None:
    keeper = a_keeper(session)
    for wrong in ([], [99], list(range(MOST_WORKS + 1))):
        with pytest.raises(BadValue):
            make_job(session, keeper, TOLD, wrong, today=NOW)


def test_jobs_are_no_owners_business(session: Session) -> None:
    work = a_work_to_remat(session, owner="The Tern House")
    owner = an_owner(session, "The Tern House")
    with pytest.raises(NotAllowed):
        make_job(session, owner, TOLD, [key_of(work)], today=NOW)
