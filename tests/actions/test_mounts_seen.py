"""What each mount of a work says of the grades in it, from the rows of the record."""

import numpy as np
import pytest
from sqlmodel import Session

from models.actions.in_force import in_force
from models.actions.mounts_seen import Witness, witnesses
from models.actions.work_records import load_records
from models.tables.visible import THE_HOUSE
from models.tables.works import Work
from models.vocabulary import CauseMount, Change, Found, LayerRole, Mechanism, Shown
from tests.actions.mat_burns import (
    ACID,
    GROUNDWOOD,
    RAG,
    a_board,
    a_burn,
    a_mat_of,
    opened,
    seen_again,
)
from tests.builders import a_layer, a_place, a_work, key_of


def said(session: Session, work: Work) -> list[Witness]:
    key = key_of(work)
    records = load_records(session, THE_HOUSE, [key])[key]
    return witnesses(records, in_force(session))


def of_the_mat(session: Session, work: Work) -> list[tuple[float, Found]]:
    """What is said of the groundwood at the margins: years of its clock at 20/50, and found."""
    return [
        # ln 2 * (years / 7)^2.5, solved for the years.
        (round(float(7 * (one.seen.hazard / np.log(2)) ** 0.4), 1), one.seen.found)
        for one in said(session, work)
        if (one.seen.mechanism, one.seen.grade, one.place) == (ACID, GROUNDWOOD, Shown.MARGINS)
    ]


@pytest.fixture
def work(session: Session) -> Work:
    return a_work(session, place="Gannet House / Stair", recorded_on=17_000)


def test_a_clear_place_says_how_long_its_mat_was_seen_clear(session: Session, work: Work) -> None:
    a_mat_of(session, work)
    opened(session, work, "2013-05-01")
    opened(session, work, "2014-05-01")
    opened(session, work, "2016-05-01", seen_front=True)
    assert of_the_mat(session, work) == [(4.0, Found.CLEAR)]


def test_harm_that_is_new_counts_up_to_the_day_it_was_found(session: Session, work: Work) -> None:
    mount, _ = a_mat_of(session, work)
    opened(session, work, "2013-05-01")
    a_burn(session, work, opened(session, work, "2015-05-01"), of=mount)
    opened(session, work, "2019-05-01")
    assert of_the_mat(session, work) == [(5.0, Found.HARMED)]


def test_harm_of_unknown_age_counts_where_it_follows_the_edge_of_this_window(
    session: Session, work: Work
) -> None:
    mount, _ = a_mat_of(session, work)
    visit = opened(session, work, "2015-05-01")
    a_burn(session, work, visit, Change.FOUND_AGE_UNKNOWN, of=mount, follows=True)
    assert of_the_mat(session, work) == [(5.0, Found.HARMED_AT_UNKNOWN_AGE)]


def test_harm_of_unknown_age_that_follows_no_edge_says_nothing(
    session: Session, work: Work
) -> None:
    mount, _ = a_mat_of(session, work)
    visit = opened(session, work, "2015-05-01")
    a_burn(session, work, visit, Change.FOUND_AGE_UNKNOWN, of=mount)
    assert of_the_mat(session, work) == []


def test_harm_of_unknown_age_at_a_place_seen_clear_before_came_between(
    session: Session, work: Work
) -> None:
    # Trade facts 12: a defect found at a check lies after the last check that was clear.
    mount, _ = a_mat_of(session, work)
    opened(session, work, "2013-05-01")
    visit = opened(session, work, "2015-05-01")
    a_burn(session, work, visit, Change.FOUND_AGE_UNKNOWN, of=mount)
    assert of_the_mat(session, work) == [(5.0, Found.HARMED)]


def test_harm_that_grew_counts_when_it_was_seen_to_have_grown(session: Session, work: Work) -> None:
    mount, _ = a_mat_of(session, work)
    finding = a_burn(
        session,
        work,
        opened(session, work, "2015-05-01"),
        Change.FOUND_AGE_UNKNOWN,
        of=mount,
    )
    seen_again(session, finding, opened(session, work, "2017-05-01"), Change.GROWN)
    assert of_the_mat(session, work) == [(7.0, Found.HARMED)]


def test_harm_of_an_earlier_mount_counts_as_clear_here(session: Session, work: Work) -> None:
    a_mat_of(session, work)
    visit = opened(session, work, "2015-05-01")
    a_burn(session, work, visit, Change.FOUND_AGE_UNKNOWN, mount=CauseMount.EARLIER)
    assert of_the_mat(session, work) == [(5.0, Found.CLEAR)]


@pytest.mark.parametrize(("mechanism", "mount"), [(None, None), (ACID, CauseMount.CANNOT_TELL)])
def test_a_cause_nobody_confirmed_is_neither_harm_nor_clear(
    session: Session, work: Work, mechanism: Mechanism | None, mount: CauseMount | None
) -> None:
    a_mat_of(session, work)
    opened(session, work, "2013-05-01")
    visit = opened(session, work, "2015-05-01")
    a_burn(session, work, visit, mechanism=mechanism, mount=mount)
    opened(session, work, "2019-05-01")
    assert of_the_mat(session, work) == [(3.0, Found.CLEAR)]


def test_a_mat_that_was_there_when_the_finding_was_known_already_goes_on_clear(
    session: Session, work: Work
) -> None:
    a_burn(session, work, opened(session, work, "2009-05-01"), mechanism=None)
    a_mat_of(session, work)
    opened(session, work, "2015-05-01")
    assert of_the_mat(session, work) == [(5.0, Found.CLEAR)]


def test_a_past_mount_speaks_up_to_its_end(session: Session, work: Work) -> None:
    a_mat_of(session, work, dismounted="2014-05-01")
    opened(session, work, "2014-05-01")
    mount, mat = a_mat_of(session, work, mounted="2014-05-01")
    assert mat.fitted_first is not None
    assert mount.mounted_first is not None
    opened(session, work, "2016-05-01")
    # The second clock began when the work was mounted in it.
    assert of_the_mat(session, work) == [(4.0, Found.CLEAR), (2.0, Found.CLEAR)]


def test_a_layer_speaks_until_it_was_taken_out(session: Session, work: Work) -> None:
    _, mat = a_mat_of(session, work)
    opened(session, work, "2013-05-01")
    mat.ended = True
    mat.removed_edtf, mat.removed_first, mat.removed_last = "2014-05-01", 16_191, 16_191
    session.flush()
    opened(session, work, "2015-05-01")
    assert of_the_mat(session, work) == [(3.0, Found.CLEAR)]


def test_a_place_never_seen_and_a_date_assumed_say_nothing(session: Session, work: Work) -> None:
    a_mat_of(session, work, mounted_assumed=True, dismounted="2014-05-01")
    opened(session, work, "2013-05-01")
    a_mat_of(session, work, mounted="2014-05-01")
    opened(session, work, "2016-05-01", seen_front=True)
    assert of_the_mat(session, work) == []


def test_of_two_groundwood_mats_the_worse_one_did_it_and_the_other_is_not_counted(
    session: Session, work: Work
) -> None:
    mount, mat = a_mat_of(session, work)
    top = a_layer(session, mount, a_board(session), role=LayerRole.OVERMAT)
    top.position = mat.position - 5
    a_burn(session, work, opened(session, work, "2015-05-01"), of=mount)
    assert of_the_mat(session, work) == [(5.0, Found.HARMED)]


def test_harm_is_put_down_to_the_worst_grade_and_the_others_were_clear_till_then(
    session: Session, work: Work
) -> None:
    mount, mat = a_mat_of(session, work)
    top = a_layer(session, mount, a_board(session, RAG), role=LayerRole.OVERMAT)
    top.position = mat.position - 5
    a_burn(session, work, opened(session, work, "2015-05-01"), of=mount)
    margins = [w.seen for w in said(session, work) if w.place is Shown.MARGINS]
    assert {(one.grade, one.found) for one in margins} == {
        (GROUNDWOOD, Found.HARMED),
        (RAG, Found.CLEAR),
    }


def test_a_damp_clock_adds_up_what_it_ran_from_look_to_look(session: Session) -> None:
    """At 72 % and 14 degrees a germination takes 144 days; a year is 2.536 of them."""
    cellar = a_place(session, "Gannet House / Cellar")
    cellar.temperature_c, cellar.rh_percent = 14.0, 72.0
    work = a_work(session, place="Gannet House / Cellar", recorded_on=14_000, since="2009-01-01")
    a_mat_of(session, work)
    for year in (2011, 2012):
        opened(session, work, f"{year}-05-01", seen_back_of_frame=True)
    (mould,) = [w.seen for w in said(session, work) if w.seen.mechanism is Mechanism.MOULD]
    # Design table M: 2.53616 germinations a year; ln 2 * t^4 for each of two years.
    years = np.array([365, 366]) / 365.25
    expected = np.log(2) * ((2.53616 * years) ** 4).sum()
    assert mould.found is Found.CLEAR
    np.testing.assert_allclose(mould.hazard, expected, rtol=1e-4)


def test_mould_says_nothing_where_it_is_never_damp(session: Session, work: Work) -> None:
    a_mat_of(session, work)
    opened(session, work, "2015-05-01", seen_back_of_frame=True)
    assert [w.seen.mechanism for w in said(session, work)] == []
