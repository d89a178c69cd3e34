"""What each mount of a work says of the grades in it, from the rows of the record."""

import numpy as np
import pytest
from sqlmodel import Session, select

from models.actions.in_force import in_force
from models.actions.mounts_seen import Witness, witnesses
from models.actions.work_records import load_records
from models.tables.findings import Finding, Sighting
from models.tables.materials import Material
from models.tables.mounts import Layer, Mount, Package
from models.tables.terms import FindingTerm
from models.tables.visible import THE_HOUSE
from models.tables.visits import Visit
from models.tables.works import Work
from models.vocabulary import (
    Answer,
    CauseMount,
    Change,
    Found,
    LayerRole,
    Mechanism,
    Shown,
    Side,
    VisitKind,
)
from tests.builders import (
    a_hold,
    a_layer,
    a_material,
    a_mount,
    a_visit,
    a_work,
    added,
    key_of,
)

ACID = Mechanism.ACID_MIGRATION
GROUNDWOOD = "groundwood board"
SAW_ALL = {f"seen_{place}": True for place in ("margins", "verso", "under_hinges", "front")}


def groundwood(session: Session) -> Material:
    return a_material(session, "Groundwood mat board", grade=GROUNDWOOD)


def a_groundwood_mat(
    session: Session, work: Work, board: Material, **columns: object
) -> tuple[Mount, Layer]:
    """A mat of groundwood before a work that lies on a sound board, mounted on 2010-05-01."""
    package = added(session, Package(in_front=Answer.THIS, behind=Answer.THIS))
    mount = a_mount(session, work, package=package, held=Answer.THIS, **columns)  # type: ignore[arg-type]
    mat = a_layer(session, mount, board, role=LayerRole.WINDOW_MAT)
    a_layer(session, mount, role=LayerRole.WORK)
    a_layer(session, mount, a_rag(session))
    a_hold(session, mount)
    return mount, mat


def a_rag(session: Session) -> Material:
    return a_material(session, f"Rag board {len(session.exec(select(Material)).all())}")


def opened(session: Session, work: Work, on: str, **seen: bool) -> Visit:
    return a_visit(session, work, on=on, kind=VisitKind.UNFRAMING, **(seen or SAW_ALL))


def found(
    session: Session,
    work: Work,
    visit: Visit,
    change: Change = Change.NEW,
    *,
    of: Mount | None = None,
    mount: CauseMount | None = CauseMount.THIS,
    mechanism: Mechanism | None = ACID,
    follows: bool = False,
    term: str = "mat burn",
) -> Finding:
    """A finding with its first sighting."""
    its_term = added(
        session,
        FindingTerm(
            term=f"{term}",
            suggests_mechanism=ACID,
            shows_through_glazing="part",
            urgency="soon",
            applies_to="both",
        ),
    )
    finding = Finding(
        work_id=key_of(work),
        finding_no=1,
        term_id=key_of(its_term),
        side=Side.RECTO,
        follows_window_edge=follows,
        cause_mechanism=mechanism,
        cause_mount=None if mechanism is None else mount,
        cause_mount_id=None if of is None else key_of(of),
    )
    added(session, finding)
    seen_again(session, finding, visit, change)
    return finding


def seen_again(session: Session, finding: Finding, visit: Visit, change: Change) -> None:
    row = Sighting(finding_id=key_of(finding), visit_id=key_of(visit), change=change)
    added(session, row)


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
    a_groundwood_mat(session, work, groundwood(session))
    opened(session, work, "2013-05-01")
    opened(session, work, "2014-05-01")
    opened(session, work, "2016-05-01", seen_front=True)
    assert of_the_mat(session, work) == [(4.0, Found.CLEAR)]


def test_harm_that_is_new_counts_up_to_the_day_it_was_found(session: Session, work: Work) -> None:
    mount, _ = a_groundwood_mat(session, work, groundwood(session))
    opened(session, work, "2013-05-01")
    found(session, work, opened(session, work, "2015-05-01"), of=mount)
    opened(session, work, "2019-05-01")
    assert of_the_mat(session, work) == [(5.0, Found.HARMED)]


def test_harm_of_unknown_age_counts_where_it_follows_the_edge_of_this_window(
    session: Session, work: Work
) -> None:
    mount, _ = a_groundwood_mat(session, work, groundwood(session))
    visit = opened(session, work, "2015-05-01")
    found(session, work, visit, Change.FOUND_AGE_UNKNOWN, of=mount, follows=True)
    assert of_the_mat(session, work) == [(5.0, Found.HARMED_AT_UNKNOWN_AGE)]


def test_harm_of_unknown_age_that_follows_no_edge_says_nothing(
    session: Session, work: Work
) -> None:
    mount, _ = a_groundwood_mat(session, work, groundwood(session))
    visit = opened(session, work, "2015-05-01")
    found(session, work, visit, Change.FOUND_AGE_UNKNOWN, of=mount)
    assert of_the_mat(session, work) == []


def test_harm_of_unknown_age_at_a_place_seen_clear_before_came_between(
    session: Session, work: Work
) -> None:
    # Trade facts 12: a defect found at a check lies after the last check that was clear.
    mount, _ = a_groundwood_mat(session, work, groundwood(session))
    opened(session, work, "2013-05-01")
    visit = opened(session, work, "2015-05-01")
    found(session, work, visit, Change.FOUND_AGE_UNKNOWN, of=mount)
    assert of_the_mat(session, work) == [(5.0, Found.HARMED)]


def test_harm_that_grew_counts_when_it_was_seen_to_have_grown(session: Session, work: Work) -> None:
    mount, _ = a_groundwood_mat(session, work, groundwood(session))
    finding = found(
        session,
        work,
        opened(session, work, "2015-05-01"),
        Change.FOUND_AGE_UNKNOWN,
        of=mount,
    )
    seen_again(session, finding, opened(session, work, "2017-05-01"), Change.GROWN)
    assert of_the_mat(session, work) == [(7.0, Found.HARMED)]


def test_harm_of_an_earlier_mount_counts_as_clear_here(session: Session, work: Work) -> None:
    a_groundwood_mat(session, work, groundwood(session))
    visit = opened(session, work, "2015-05-01")
    found(session, work, visit, Change.FOUND_AGE_UNKNOWN, mount=CauseMount.EARLIER)
    assert of_the_mat(session, work) == [(5.0, Found.CLEAR)]


@pytest.mark.parametrize(("mechanism", "mount"), [(None, None), (ACID, CauseMount.CANNOT_TELL)])
def test_a_cause_nobody_confirmed_is_neither_harm_nor_clear(
    session: Session, work: Work, mechanism: Mechanism | None, mount: CauseMount | None
) -> None:
    a_groundwood_mat(session, work, groundwood(session))
    opened(session, work, "2013-05-01")
    visit = opened(session, work, "2015-05-01")
    found(session, work, visit, mechanism=mechanism, mount=mount)
    opened(session, work, "2019-05-01")
    assert of_the_mat(session, work) == [(3.0, Found.CLEAR)]


def test_a_mat_that_was_there_when_the_finding_was_known_already_goes_on_clear(
    session: Session, work: Work
) -> None:
    found(session, work, opened(session, work, "2009-05-01"), mechanism=None)
    a_groundwood_mat(session, work, groundwood(session))
    opened(session, work, "2015-05-01")
    assert of_the_mat(session, work) == [(5.0, Found.CLEAR)]


def test_a_past_mount_speaks_up_to_its_end(session: Session, work: Work) -> None:
    board = groundwood(session)
    a_groundwood_mat(session, work, board, dismounted="2014-05-01")
    opened(session, work, "2014-05-01")
    mount, mat = a_groundwood_mat(session, work, board, mounted="2014-05-01")
    assert mat.fitted_first is not None
    assert mount.mounted_first is not None
    opened(session, work, "2016-05-01")
    # The second clock began when the work was mounted in it.
    assert of_the_mat(session, work) == [(4.0, Found.CLEAR), (2.0, Found.CLEAR)]


def test_a_layer_speaks_until_it_was_taken_out(session: Session, work: Work) -> None:
    board = groundwood(session)
    _, mat = a_groundwood_mat(session, work, board)
    opened(session, work, "2013-05-01")
    mat.ended = True
    mat.removed_edtf, mat.removed_first, mat.removed_last = "2014-05-01", 16_191, 16_191
    session.flush()
    opened(session, work, "2015-05-01")
    assert of_the_mat(session, work) == [(3.0, Found.CLEAR)]


def test_a_place_never_seen_and_a_date_assumed_say_nothing(session: Session, work: Work) -> None:
    board = groundwood(session)
    a_groundwood_mat(session, work, board, mounted_assumed=True, dismounted="2014-05-01")
    opened(session, work, "2013-05-01")
    a_groundwood_mat(session, work, board, mounted="2014-05-01")
    opened(session, work, "2016-05-01", seen_front=True)
    assert of_the_mat(session, work) == []


def test_of_two_groundwood_mats_the_worse_one_did_it_and_the_other_is_not_counted(
    session: Session, work: Work
) -> None:
    board = groundwood(session)
    mount, mat = a_groundwood_mat(session, work, board)
    top = a_layer(session, mount, board, role=LayerRole.OVERMAT)
    top.position = mat.position - 5
    found(session, work, opened(session, work, "2015-05-01"), of=mount)
    assert of_the_mat(session, work) == [(5.0, Found.HARMED)]


def test_harm_is_put_down_to_the_worst_grade_and_the_others_were_clear_till_then(
    session: Session, work: Work
) -> None:
    mount, mat = a_groundwood_mat(session, work, groundwood(session))
    top = a_layer(session, mount, a_rag(session), role=LayerRole.OVERMAT)
    top.position = mat.position - 5
    found(session, work, opened(session, work, "2015-05-01"), of=mount)
    margins = [w.seen for w in said(session, work) if w.place is Shown.MARGINS]
    assert {(one.grade, one.found) for one in margins} == {
        (GROUNDWOOD, Found.HARMED),
        ("cotton rag board, buffered", Found.CLEAR),
    }
