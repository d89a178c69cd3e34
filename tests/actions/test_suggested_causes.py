"""Causes that are suggested, confirmed by a person, or cannot be told."""

import pytest
from sqlmodel import Session

from models.actions.finding_corrections import confirm_cause
from models.actions.forecasts import case_of, forecast_now
from models.actions.in_force import in_force
from models.actions.mounts_seen import witnesses
from models.actions.suggested_causes import suggested_causes
from models.actions.work_records import WorkRecords, load_records
from models.errors import BadValue, NotAllowed, NotFound, Stale
from models.rules.calendar_days import add_months
from models.rules.package_facts import ClimateFacts
from models.tables.findings import Finding
from models.tables.mounts import Mount
from models.tables.visible import THE_HOUSE
from models.tables.works import Work
from models.vocabulary import CauseMount, Change, Found, Mechanism, Replaceability
from tests.actions.mat_burns import (
    ACID,
    GROUNDWOOD,
    a_burn,
    a_mat_of,
    opened,
    seen_again,
)
from tests.builders import a_framer, a_keeper, a_work, an_owner, key_of

TODAY = 20_782
SEEN = "2024-05-01"


@pytest.fixture
def work(session: Session) -> Work:
    return a_work(session, owner="The Gannet House", recorded_on=14_000)


def records_of(session: Session, work: Work) -> WorkRecords:
    return load_records(session, THE_HOUSE, [key_of(work)])[key_of(work)]


def a_burnt_mat(
    session: Session, work: Work, mechanism: Mechanism | None = None
) -> tuple[Mount, Finding]:
    mount, _ = a_mat_of(session, work)
    visit = opened(session, work, SEEN)
    burn = a_burn(session, work, visit, mechanism=mechanism, follows=True)
    return mount, burn


def waiting(session: Session, work: Work) -> dict[int, tuple[Mechanism, CauseMount]]:
    found = suggested_causes(
        records_of(session, work),
        figures=in_force(session).figures,
        climate=ClimateFacts(),
        today=TODAY,
    )
    return {key: (cause.mechanism, cause.mount) for key, cause in found.items()}


def harms_that_count(session: Session, work: Work) -> list[str]:
    said = witnesses(records_of(session, work), in_force(session))
    return [one.seen.grade for one in said if one.seen.found is Found.HARMED]


def test_a_suggestion_waits_and_counts_as_evidence_once_confirmed(
    session: Session, work: Work
) -> None:
    mount, burn = a_burnt_mat(session, work)
    assert waiting(session, work) == {key_of(burn): (ACID, CauseMount.THIS)}
    assert harms_that_count(session, work) == []
    version = confirm_cause(
        session,
        a_framer(session),
        key_of(burn),
        mechanism=ACID,
        mount=CauseMount.THIS,
        based_on=1,
        today=TODAY,
    )
    assert (version, burn.cause_mount_id) == (burn.version, mount.id)
    assert waiting(session, work) == {}
    assert harms_that_count(session, work) == [GROUNDWOOD]


def test_what_cannot_be_told_is_not_asked_again(session: Session, work: Work) -> None:
    _, burn = a_burnt_mat(session, work)
    confirm_cause(
        session,
        a_framer(session),
        key_of(burn),
        mechanism=None,
        mount=CauseMount.CANNOT_TELL,
        based_on=1,
        today=TODAY,
    )
    assert (waiting(session, work), harms_that_count(session, work)) == ({}, [])


def test_a_finding_that_is_gone_is_not_asked_about(session: Session, work: Work) -> None:
    _, burn = a_burnt_mat(session, work)
    seen_again(session, burn, opened(session, work, "2025-05-01"), Change.TREATED)
    assert waiting(session, work) == {}


def test_of_a_visit_that_remounted_the_work_it_is_the_mount_before(
    session: Session, work: Work
) -> None:
    old, _ = a_mat_of(session, work, dismounted=SEEN)
    visit = opened(session, work, SEEN)
    old.dismounted_visit_id = key_of(visit)
    new, _ = a_mat_of(session, work, "cotton rag board, buffered", mounted=SEEN)
    new.mounted_visit_id = key_of(visit)
    burn = a_burn(session, work, visit, mechanism=None, follows=True)
    confirm_cause(
        session,
        a_keeper(session),
        key_of(burn),
        mechanism=ACID,
        mount=CauseMount.THIS,
        based_on=1,
        today=TODAY,
    )
    assert burn.cause_mount_id == old.id


def test_who_may_say_the_cause_and_how(session: Session, work: Work) -> None:
    _, burn = a_burnt_mat(session, work)
    key, framer = key_of(burn), a_framer(session)
    this, cannot = CauseMount.THIS, CauseMount.CANNOT_TELL
    with pytest.raises(NotAllowed):
        confirm_cause(
            session, an_owner(session), key, mechanism=ACID, mount=this, based_on=1, today=TODAY
        )
    with pytest.raises(BadValue):
        confirm_cause(session, framer, key, mechanism=None, mount=this, based_on=1, today=TODAY)
    with pytest.raises(Stale):
        confirm_cause(session, framer, key, mechanism=ACID, mount=this, based_on=7, today=TODAY)
    with pytest.raises(NotFound):
        confirm_cause(session, framer, 99, mechanism=ACID, mount=this, based_on=1, today=TODAY)
    confirm_cause(session, framer, key, mechanism=ACID, mount=this, based_on=1, today=TODAY)
    with pytest.raises(NotAllowed):
        # What was confirmed once, a keeper puts right.
        confirm_cause(session, framer, key, mechanism=None, mount=cannot, based_on=2, today=TODAY)


def test_a_burn_whose_mat_is_still_there_does_not_wait_until_somebody_confirmed_it(
    session: Session, work: Work
) -> None:
    a_burnt_mat(session, work)
    records = records_of(session, work)
    (burn,) = case_of(records, in_force(session), today=TODAY).findings
    assert (burn.mechanism, burn.is_of_this_mount) == (ACID, True)
    forecast = forecast_now(session, records, today=TODAY)
    assert forecast.advised_on is not None
    assert forecast.remat_by is not None
    # 12 months at the latest for a stain whose source is still there; else 36.
    assert forecast.remat_by <= add_months(forecast.advised_on, 12)


def test_a_forecast_is_worked_out_once_until_anything_that_it_depends_on_is_another(
    session: Session, work: Work
) -> None:
    a_burnt_mat(session, work)
    records = records_of(session, work)
    first = forecast_now(session, records, today=TODAY)
    assert forecast_now(session, records_of(session, work), today=TODAY) is first
    later = forecast_now(session, records, today=TODAY + 1)
    assert later.chance_unseen_now.chance > first.chance_unseen_now.chance
    work.replaceability = Replaceability.REPLACEABLE
    session.add(work)
    other = forecast_now(session, records_of(session, work), today=TODAY)
    assert (other.allowed_chance, first.allowed_chance) == (0.25, 0.05)
