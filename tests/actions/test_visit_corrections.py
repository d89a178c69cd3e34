from dataclasses import replace
from datetime import UTC, datetime

import pytest
from sqlmodel import Session, col, select

from models.actions.change_log import seal
from models.actions.finding_corrections import (
    correct_finding,
    correct_sighting,
    withdraw_finding,
    withdraw_note,
)
from models.actions.forecasts import faults_of_stored
from models.actions.package_corrections import (
    correct_hold,
    correct_layer,
    correct_mount,
    withdraw_layer,
    withdraw_mount,
)
from models.actions.remat_jobs import JobTold, make_job, read_job
from models.actions.remats import read_remat, say_of_remat
from models.actions.visit_corrections import correct_visit, withdraw_visit, write_up_visit
from models.actions.work_records import load_records
from models.errors import BadValue, NotAllowed, NotFound, RuleBroken, Stale
from models.rules.visit_as_told import (
    DismountTold,
    HoldFreedTold,
    InscriptionTold,
    LayerFittedTold,
    MountTold,
    SightingTold,
)
from models.tables.findings import Finding, Sighting
from models.tables.mounts import Hold
from models.tables.visits import Inscription, Visit
from models.vocabulary import (
    Change,
    FreedBy,
    KnownBy,
    LayerRole,
    Outcome,
    RematJobOutcome,
    RematJobState,
    RematState,
    Severity,
    Shown,
    VisitKind,
)
from tests.actions.test_visits import (
    HINGED_AND_TAPED,
    MAT,
    SOUND,
    TODAY,
    UNFRAMING,
    bench,
    current_mount,
    holds_of,
    layers_now,
    mounted,
    tell,
    work_on_record,
)
from tests.builders import a_framer, a_keeper, an_owner, key_of

__all__ = ["bench"]

NOW = datetime(2026, 11, 25, 12, tzinfo=UTC)


def first_visit(session: Session) -> Visit:
    return session.exec(select(Visit).order_by(col(Visit.id))).first() or Visit()


def test_when_the_day_of_a_visit_is_put_right_its_mount_moves_along(bench: Session) -> None:
    keeper = a_keeper(bench)
    work = mounted(bench, keeper, on="2010-03-01")
    visit = first_visit(bench)
    version = correct_visit(
        bench,
        keeper,
        key_of(visit),
        {"on": "2011~", "minutes": 40},
        based_on=visit.version,
        today=TODAY,
    )
    mount = current_mount(bench, work)
    assert (visit.on_edtf, visit.minutes, visit.version) == ("2011~", 40, version)
    assert mount.mounted_edtf == "2011~"
    assert {layer.fitted_edtf for layer in layers_now(bench, mount)} == {"2011~"}
    assert faults_of_stored(bench, [key_of(work)]) == []


def test_a_mount_is_not_moved_behind_its_own_end(bench: Session) -> None:
    keeper = a_keeper(bench)
    work = mounted(bench, keeper, on="2010-03-01")
    visit = first_visit(bench)
    tell(bench, keeper, work, UNFRAMING, dismount=DismountTold(freed_by=FreedBy.WATER), on="2015")
    with pytest.raises(RuleBroken) as error:
        correct_visit(
            bench, keeper, key_of(visit), {"on": "2016"}, based_on=visit.version, today=TODAY
        )
    assert error.value.code == "ended_before_it_began"


def test_a_framer_mends_their_own_open_visit_and_no_closed_one(bench: Session) -> None:
    framer, keeper = a_framer(bench), a_keeper(bench)
    work = work_on_record(bench)
    own = tell(bench, framer, work, UNFRAMING).visit_id
    others = tell(bench, keeper, work, UNFRAMING).visit_id
    correct_visit(bench, framer, own, {"summary": "mended"}, based_on=1, today=TODAY)
    with pytest.raises(NotAllowed):
        correct_visit(bench, framer, own, {"summary": "late"}, based_on=2, today=TODAY + 30)
    with pytest.raises(NotAllowed):
        correct_visit(bench, framer, others, {"summary": "not mine"}, based_on=1, today=TODAY)


def test_a_visit_that_somebody_else_changed_is_not_overwritten(bench: Session) -> None:
    keeper = a_keeper(bench)
    visit_id = tell(bench, keeper, work_on_record(bench), UNFRAMING).visit_id
    seal(bench, actor="person:1", now=NOW)
    correct_visit(bench, keeper, visit_id, {"summary": "first"}, based_on=1, today=TODAY)
    with pytest.raises(Stale):
        correct_visit(bench, keeper, visit_id, {"summary": "second"}, based_on=1, today=TODAY)


def test_photographs_now_and_words_later(bench: Session) -> None:
    keeper = a_keeper(bench)
    work = mounted(bench, keeper)
    visit_id = tell(bench, keeper, work, UNFRAMING, to_write_up=True).visit_id
    foxing = SightingTold(change=Change.NEW, term="foxing", severity=Severity.SLIGHT)
    write_up_visit(
        bench,
        keeper,
        visit_id,
        summary="Foxing in the lower margin.",
        seen=frozenset({Shown.MARGINS}),
        sightings=(foxing,),
        today=TODAY,
    )
    visit = bench.get_one(Visit, visit_id)
    assert (visit.to_write_up, visit.summary) == (False, "Foxing in the lower margin.")
    assert visit.saw() == {Shown.FRONT, Shown.BACK_OF_FRAME, Shown.MARGINS}
    assert bench.exec(select(Sighting)).one().visit_id == visit_id


def test_a_visit_that_never_was_takes_with_it_what_it_recorded(bench: Session) -> None:
    keeper = a_keeper(bench)
    work = mounted(bench, keeper)
    before = load_records(bench, keeper, [key_of(work)])[key_of(work)]
    dismount = DismountTold(freed_by=FreedBy.WATER, residue="paste")
    burn = SightingTold(change=Change.NEW, term="mat burn", severity=Severity.SLIGHT)
    visit_id = tell(
        bench, keeper, work, UNFRAMING, dismount=dismount, mount=SOUND, sightings=(burn,)
    ).visit_id
    withdraw_visit(bench, keeper, visit_id, "entered on the wrong work", today=TODAY)
    after = load_records(bench, keeper, [key_of(work)])[key_of(work)]
    assert [m._replace(version=0) for m in after.mounts] == [
        m._replace(version=0) for m in before.mounts
    ]
    assert (after.sightings, after.remains) == ((), ())
    assert [v.id for v in after.visits] == [v.id for v in before.visits]
    assert faults_of_stored(bench, [key_of(work)]) == []


def test_a_remount_that_is_withdrawn_is_to_do_again_in_its_job(bench: Session) -> None:
    keeper = a_keeper(bench)
    work = mounted(bench, keeper)
    job = make_job(bench, keeper, JobTold(name="The stair"), [key_of(work)], today=TODAY)
    dismount = DismountTold(freed_by=FreedBy.WATER)
    visit_id = tell(bench, keeper, work, UNFRAMING, dismount=dismount, mount=SOUND).visit_id
    done = read_job(bench, keeper, job.id, today=TODAY)
    assert (done.told.state, [one.outcome for one in done.works]) == (
        RematJobState.DONE,
        [RematJobOutcome.REMOUNTED],
    )
    withdraw_visit(bench, keeper, visit_id, "entered on the wrong work", today=TODAY)
    again = read_job(bench, keeper, job.id, today=TODAY)
    assert again.told.state is RematJobState.OPEN
    assert [(one.outcome, one.done_on) for one in again.works] == [(RematJobOutcome.TO_DO, None)]


def test_a_remount_that_is_withdrawn_leaves_its_remat_as_it_was(bench: Session) -> None:
    keeper = a_keeper(bench)
    work = mounted(bench, keeper)
    agreed = {"state": RematState.AGREED, "quote": 80.0, "why": "by letter"}
    before = say_of_remat(bench, keeper, key_of(work), agreed, based_on=0, today=TODAY - 9)
    dismount = DismountTold(freed_by=FreedBy.WATER)
    visit_id = tell(bench, keeper, work, UNFRAMING, dismount=dismount, mount=SOUND).visit_id
    assert read_remat(bench, keeper, key_of(work), today=TODAY).state is RematState.DONE
    withdraw_visit(bench, keeper, visit_id, "entered on the wrong work", today=TODAY)
    after = read_remat(bench, keeper, key_of(work), today=TODAY)
    assert (after.state, after.quote, after.state_said) == (
        RematState.AGREED,
        80.0,
        before.state_said,
    )


def test_a_visit_on_which_a_later_one_builds_is_not_taken_back(bench: Session) -> None:
    keeper = a_keeper(bench)
    work = mounted(bench, keeper)
    first = first_visit(bench)
    tell(bench, keeper, work, UNFRAMING, dismount=DismountTold(freed_by=FreedBy.WATER))
    with pytest.raises(RuleBroken) as error:
        withdraw_visit(bench, keeper, key_of(first), "mistake", today=TODAY)
    assert error.value.code == "later_visit_builds_on_it"


def test_only_a_keeper_takes_a_visit_back_and_never_without_a_reason(bench: Session) -> None:
    keeper, framer = a_keeper(bench), a_framer(bench)
    visit_id = tell(bench, keeper, work_on_record(bench), UNFRAMING).visit_id
    with pytest.raises(NotAllowed):
        withdraw_visit(bench, framer, visit_id, "mistake", today=TODAY)
    with pytest.raises(BadValue):
        withdraw_visit(bench, keeper, visit_id, " ", today=TODAY)


def test_a_layer_that_was_taken_for_another_is_put_right(bench: Session) -> None:
    keeper = a_keeper(bench)
    work = mounted(bench, keeper)
    mat = layers_now(bench, current_mount(bench, work))[0]
    before = work.version
    correct_layer(
        bench,
        keeper,
        key_of(mat),
        {"material": None, "grade": "groundwood board", "known_by": KnownBy.TESTED},
        based_on=mat.version,
        today=TODAY,
    )
    assert (mat.material_id, mat.figures_id, mat.grade, mat.known_by) == (
        None,
        None,
        "groundwood board",
        KnownBy.TESTED,
    )
    bench.refresh(work)
    assert work.version == before + 1
    assert faults_of_stored(bench, [key_of(work)]) == []


def test_what_came_off_earlier_stays_off_when_the_dismounting_is_taken_back(bench: Session) -> None:
    keeper = a_keeper(bench)
    work = mounted(bench, keeper, on="2001", mount=HINGED_AND_TAPED)
    hinges, strip = holds_of(bench, current_mount(bench, work))
    tried = HoldFreedTold(hold=key_of(strip), outcome=Outcome.TRIED_AND_LEFT)
    off = HoldFreedTold(hold=key_of(hinges), freed_by=FreedBy.WATER)
    tell(bench, keeper, work, UNFRAMING, on="2020", dismount=DismountTold(holds=(off, tried)))
    by_solvent = DismountTold(freed_by=FreedBy.SOLVENT)
    last = tell(bench, keeper, work, UNFRAMING, dismount=by_solvent).visit_id
    withdraw_visit(bench, keeper, last, "another work's", today=TODAY)
    assert not current_mount(bench, work).ended
    assert [(hold.outcome, hold.freed_by) for hold in (hinges, strip)] == [
        (Outcome.FREED, FreedBy.WATER),
        (None, None),
    ]


def test_a_hold_takes_the_grade_of_the_material_it_is_put_right_to(bench: Session) -> None:
    keeper = a_keeper(bench)
    work = mounted(bench, keeper)
    hold = holds_of(bench, current_mount(bench, work))[0]
    correct_hold(
        bench,
        keeper,
        key_of(hold),
        {"material": None, "grade": "gummed tape hinges", "count": 3},
        based_on=hold.version,
        today=TODAY,
    )
    assert (hold.material_id, hold.grade, hold.adhesive_grade, hold.hold_count) == (
        None,
        "gummed tape hinges",
        None,
        3,
    )


def test_the_day_of_a_mount_made_at_a_visit_is_put_right_with_the_visit(bench: Session) -> None:
    keeper = a_keeper(bench)
    mount = current_mount(bench, mounted(bench, keeper))
    with pytest.raises(BadValue) as error:
        correct_mount(bench, keeper, key_of(mount), {"mounted_on": "1999"}, based_on=1, today=TODAY)
    assert [fault.pointer for fault in error.value.faults] == ["/mounted_on"]


def test_a_mount_that_was_found_gets_the_day_somebody_remembers(bench: Session) -> None:
    keeper = a_keeper(bench)
    work = work_on_record(bench)
    look = replace(UNFRAMING, kind=VisitKind.LOOK)
    tell(bench, keeper, work, look, found=MountTold(layers=(MAT,)))
    mount = current_mount(bench, work)
    correct_mount(
        bench, keeper, key_of(mount), {"mounted_on": "1985~"}, based_on=mount.version, today=TODAY
    )
    assert (mount.mounted_edtf, mount.mounted_assumed) == ("1985~", False)


def test_a_mount_that_was_never_there_is_withdrawn_with_its_holds(bench: Session) -> None:
    keeper = a_keeper(bench)
    work = work_on_record(bench)
    found = MountTold(layers=(MAT,), holds=SOUND.holds)
    tell(bench, keeper, work, UNFRAMING, found=found)
    mount = current_mount(bench, work)
    withdraw_mount(bench, keeper, key_of(mount), "another work's", today=TODAY)
    assert mount.withdrawn_reason == "another work's"
    assert [hold.withdrawn_reason for hold in bench.exec(select(Hold))] == ["another work's"]
    with pytest.raises(RuleBroken):
        withdraw_mount(bench, keeper, key_of(mount), "again", today=TODAY)


def test_the_work_itself_cannot_be_withdrawn_from_its_package(bench: Session) -> None:
    keeper = a_keeper(bench)
    mount = current_mount(bench, mounted(bench, keeper))
    mat, itself, _ = layers_now(bench, mount)
    withdraw_layer(bench, keeper, key_of(mat), "was never there", today=TODAY)
    with pytest.raises(RuleBroken) as error:
        withdraw_layer(bench, keeper, key_of(itself), "?", today=TODAY)
    assert error.value.code == "work_is_no_layer"


def test_a_finding_and_its_sighting_are_put_right(bench: Session) -> None:
    keeper = a_keeper(bench)
    work = mounted(bench, keeper)
    spots = SightingTold(change=Change.NEW, term="foxing", severity=Severity.SLIGHT)
    tell(bench, keeper, work, UNFRAMING, sightings=(spots,))
    finding, sighting = bench.exec(select(Finding)).one(), bench.exec(select(Sighting)).one()
    correct_finding(bench, keeper, key_of(finding), {"term": "mat burn"}, based_on=1, today=TODAY)
    correct_sighting(
        bench, keeper, key_of(sighting), {"severity": Severity.SEVERE}, based_on=1, today=TODAY
    )
    row = load_records(bench, keeper, [key_of(work)])[key_of(work)].sightings[0]
    assert (row.term, row.severity) == ("mat burn", Severity.SEVERE)
    withdraw_finding(bench, keeper, key_of(finding), "a shadow", today=TODAY)
    assert load_records(bench, keeper, [key_of(work)])[key_of(work)].sightings == ()


def test_a_note_of_the_bench_is_taken_back(bench: Session) -> None:
    keeper = a_keeper(bench)
    note = InscriptionTold("backing board", "To be returned")
    tell(bench, keeper, work_on_record(bench), UNFRAMING, inscriptions=(note,))
    inscription = bench.exec(select(Inscription)).one()
    withdraw_note(bench, keeper, Inscription, key_of(inscription), "misread", today=TODAY)
    assert inscription.withdrawn_reason == "misread"


def test_what_is_not_yours_is_not_there_to_put_right(bench: Session) -> None:
    keeper, owner = a_keeper(bench), an_owner(bench)
    work = mounted(bench, keeper)
    layer = layers_now(bench, current_mount(bench, work))[0]
    with pytest.raises(NotAllowed):
        correct_layer(bench, owner, key_of(layer), {}, based_on=1, today=TODAY)
    with pytest.raises(NotFound):
        correct_layer(bench, keeper, 10_000, {}, based_on=1, today=TODAY)


def test_a_layer_fitted_at_a_withdrawn_visit_gives_its_place_back(bench: Session) -> None:
    keeper = a_keeper(bench)
    work = mounted(bench, keeper)
    old = layers_now(bench, current_mount(bench, work))[0]
    fitted = (LayerFittedTold(layer=replace(MAT, ref=None), replaces=key_of(old)),)
    visit_id = tell(bench, keeper, work, UNFRAMING, layers_fitted=fitted).visit_id
    withdraw_visit(bench, keeper, visit_id, "not done after all", today=TODAY)
    now = layers_now(bench, current_mount(bench, work))
    there = [(layer.id, layer.role) for layer in now if layer.withdrawn_reason is None]
    assert there[:1] == [(old.id, LayerRole.WINDOW_MAT)]


def test_a_package_found_at_a_visit_that_never_was_goes_with_it(bench: Session) -> None:
    keeper = a_keeper(bench)
    work = work_on_record(bench)
    look = replace(UNFRAMING, kind=VisitKind.LOOK)
    visit_id = tell(bench, keeper, work, look, found=MountTold(layers=(MAT,))).visit_id
    withdraw_visit(bench, keeper, visit_id, "another work", today=TODAY)
    assert load_records(bench, keeper, [key_of(work)])[key_of(work)].mounts == ()
