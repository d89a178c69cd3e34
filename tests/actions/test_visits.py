"""The bench job, deed by deed, on both databases."""

from dataclasses import replace

import pytest
from sqlmodel import Session, col, select

from models.actions.change_log import watch
from models.actions.forecasts import faults_of_stored
from models.actions.visits import RecordedVisit, record_visit
from models.actions.work_records import load_records
from models.errors import (
    BadValue,
    Contradiction,
    NotAllowed,
    NotFound,
    RuleBroken,
    Stale,
    UnknownWord,
)
from models.rules.half_known_dates import read_date
from models.rules.visit_as_told import (
    CauseTold,
    DismountTold,
    HoldFreedTold,
    HoldTold,
    LayerFittedTold,
    LayerRemovedTold,
    LayerTestTold,
    LayerTold,
    MountTold,
    ReachTold,
    RegionTold,
    SightingTold,
    StopTold,
    TreatmentTold,
    VisitTold,
)
from models.tables.findings import Finding, Sighting
from models.tables.forecasts import Forecast
from models.tables.materials import Material, Recall
from models.tables.mounts import Hold, Layer, Mount, Remain
from models.tables.visible import Viewer
from models.tables.visits import Visit
from models.tables.works import Work
from models.vocabulary import (
    Answer,
    BenchTest,
    CauseMount,
    Change,
    Edge,
    FreedBy,
    Kept,
    LayerRole,
    Mechanism,
    Outcome,
    Severity,
    Shown,
    Side,
    VisitKind,
)
from tests.builders import a_framer, a_keeper, a_lot, a_work, added, an_owner, key_of

TODAY = read_date("2026-11-25").first_day or 0
RAG = "Cotton rag mat board, 4-ply, buffered"
PASTE = "Wheat starch paste on Japanese paper"
MAT = LayerTold(role=LayerRole.WINDOW_MAT, material=RAG, ref="mat")
BOARD = LayerTold(role=LayerRole.MOUNT_BOARD, material=RAG)
HINGES = HoldTold(material=PASTE, position="top", count=2, ref="hinges")
SOUND = MountTold(
    method="T-hinge", layers=(MAT, LayerTold(role=LayerRole.WORK), BOARD), holds=(HINGES,)
)
TAPE = HoldTold(grade="acrylic pressure-sensitive hinges or film", position="left")
HINGED_AND_TAPED = MountTold(layers=SOUND.layers, holds=(HINGES, TAPE))
UNFRAMING = VisitTold(on="2026-11-20", kind=VisitKind.UNFRAMING)


@pytest.fixture
def bench(session: Session, reference_data: None) -> Session:
    """A session with the reference data, in which changes are counted and logged."""
    watch(session)
    return session


def work_on_record(
    session: Session, *, number: str | None = None, place: str | None = None
) -> Work:
    return a_work(
        session,
        number=number,
        place=place,
        height_um=300_000,
        width_um=420_000,
        recorded_on=TODAY,
    )


def tell(
    session: Session, viewer: Viewer, work: Work, told: VisitTold, **changes: object
) -> RecordedVisit:
    """Record a visit that is based on the newest version of the work."""
    session.refresh(work)
    based = replace(told, based_on=work.version, **changes)  # type: ignore[arg-type]
    return record_visit(session, viewer, key_of(work), based, today=TODAY)


def mounted(
    session: Session, viewer: Viewer, on: str = "2010-03-01", mount: MountTold = SOUND
) -> Work:
    work = work_on_record(session, place="Gannet House / Stair")
    tell(session, viewer, work, UNFRAMING, on=on, mount=mount)
    return work


def the_forecast(session: Session, work: Work) -> Forecast:
    found = session.exec(
        select(Forecast)
        .where(Forecast.work_id == key_of(work))
        .execution_options(populate_existing=True)
    )
    return found.one()


def current_mount(session: Session, work: Work) -> Mount:
    found = select(Mount).where(Mount.work_id == key_of(work), ~col(Mount.ended))
    return session.exec(found).one()


def holds_of(session: Session, mount: Mount) -> list[Hold]:
    return list(
        session.exec(select(Hold).where(Hold.mount_id == mount.id).order_by(col(Hold.hold_no)))
    )


def layers_now(session: Session, mount: Mount) -> list[Layer]:
    found = select(Layer).where(Layer.package_id == mount.package_id, ~col(Layer.ended))
    return list(session.exec(found.order_by(col(Layer.position))))


def test_a_mount_made_at_a_visit_lists_its_layers_front_to_back(bench: Session) -> None:
    keeper = a_keeper(bench)
    mount = current_mount(bench, mounted(bench, keeper))
    assert (mount.mount_no, mount.mounted_edtf, mount.held) == (1, "2010-03-01", Answer.THIS)
    assert [layer.role for layer in layers_now(bench, mount)] == [
        LayerRole.WINDOW_MAT,
        LayerRole.WORK,
        LayerRole.MOUNT_BOARD,
    ]
    hold = holds_of(bench, mount)[0]
    assert (hold.grade, hold.adhesive_grade, hold.hold_count) == (
        "paper hinges with starch or cellulose ether",
        "starch paste",
        2,
    )


def test_where_nobody_says_where_the_work_lies_the_roles_decide(bench: Session) -> None:
    keeper = a_keeper(bench)
    work = work_on_record(bench)
    backing = LayerTold(role=LayerRole.BACKING, grade="unknown board")
    glazing = LayerTold(role=LayerRole.GLAZING)
    tell(bench, keeper, work, UNFRAMING, mount=MountTold(layers=(backing, glazing, MAT)))
    assert [layer.role for layer in layers_now(bench, current_mount(bench, work))] == [
        LayerRole.GLAZING,
        LayerRole.WINDOW_MAT,
        LayerRole.WORK,
        LayerRole.BACKING,
    ]


def test_the_whole_bench_job_in_one_visit(bench: Session) -> None:
    """Found, seen, tested, dismounted and remounted at once: a work of unknown history."""
    keeper = a_keeper(bench)
    work = work_on_record(bench, place="Gannet House / Stair")
    found = MountTold(
        mounted_on="2005~",
        layers=(
            LayerTold(role=LayerRole.WINDOW_MAT, grade="unknown board", ref="old"),
            LayerTold(role=LayerRole.WORK),
            LayerTold(role=LayerRole.BACKING, grade="corrugated or brown kraft board"),
        ),
        holds=(HoldTold(grade="rubber pressure-sensitive tape", position="top", ref="tape"),),
    )
    burn = SightingTold(
        change=Change.FOUND_AGE_UNKNOWN,
        term="mat burn",
        severity=Severity.MODERATE,
        reach=ReachTold(Edge.LEFT, 12.0, follows_window_edge=True),
        cause=CauseTold(Mechanism.ACID_MIGRATION, CauseMount.THIS),
    )
    stored = tell(
        bench,
        keeper,
        work,
        UNFRAMING,
        found=found,
        sightings=(burn,),
        tests=(LayerTestTold("ref:old", BenchTest.BEVEL_COLOUR, "brown"),),
        dismount=DismountTold(
            holds=(
                HoldFreedTold(
                    hold="ref:tape",
                    freed_by=FreedBy.SOLVENT,
                    outcome=Outcome.FREED,
                    residue="adhesive along the top edge",
                ),
            ),
            harm="slight skinning",
        ),
        mount=SOUND,
    )
    records = load_records(bench, keeper, [key_of(work)])[key_of(work)]
    first, second = records.mounts
    assert (first.mounted_edtf, first.ended, first.harm_at_dismount) == (
        "2005~",
        True,
        "slight skinning",
    )
    assert (second.mount_no, second.ended) == (2, False)
    assert [(r.what, r.grade) for r in records.remains] == [
        ("residue; adhesive along the top edge", "rubber pressure-sensitive")
    ]
    sighting = records.sightings[0]
    assert (sighting.term, sighting.cause_mount_id, sighting.reach_um) == (
        "mat burn",
        first.id,
        12_000,
    )
    assert [t.result for t in records.tests[stored.refs["old"]]] == ["brown"]
    visit = records.visits[0]
    assert (visit.seen_margins, visit.seen_verso, visit.seen_under_hinges) == (True, True, True)
    assert faults_of_stored(bench, [key_of(work)]) == []


def test_a_stain_is_the_same_stain_at_the_next_visit(bench: Session) -> None:
    keeper = a_keeper(bench)
    work = mounted(bench, keeper)
    burn = SightingTold(
        change=Change.NEW,
        term="mat burn",
        severity=Severity.SLIGHT,
        extent_percent=3.0,
        reach=ReachTold(Edge.LEFT, 5.0),
    )
    tell(bench, keeper, work, UNFRAMING, on="2018-05-01", sightings=(burn,))
    finding = bench.exec(select(Finding)).one()
    as_before = SightingTold(change=Change.UNCHANGED, finding=finding.id)
    tell(bench, keeper, work, UNFRAMING, on="2021-05-01", sightings=(as_before,))
    # Nobody measured it anew: it is no longer as large as it was.
    again = SightingTold(change=Change.GROWN, finding=finding.id)
    tell(bench, keeper, work, UNFRAMING, sightings=(again,))
    sightings = bench.exec(select(Sighting).order_by(col(Sighting.id))).all()
    assert [(s.finding_id, s.severity, s.extent_percent, s.reach_um) for s in sightings] == [
        (finding.id, Severity.SLIGHT, 3.0, 5_000),
        (finding.id, Severity.SLIGHT, 3.0, 5_000),
        (finding.id, Severity.SLIGHT, None, None),
    ]


def test_two_hinges_lift_and_a_strip_of_tape_leaves_its_stub(bench: Session) -> None:
    keeper = a_keeper(bench)
    work = mounted(bench, keeper, on="2001", mount=HINGED_AND_TAPED)
    hinges, strip = holds_of(bench, current_mount(bench, work))
    dismount = DismountTold(
        holds=(
            HoldFreedTold(hold=key_of(hinges), freed_by=FreedBy.WATER),
            HoldFreedTold(hold=key_of(strip), outcome=Outcome.CUT_AND_STUB_LEFT),
        )
    )
    stored = tell(bench, keeper, work, UNFRAMING, dismount=dismount)
    remains = bench.exec(select(Remain)).all()
    assert [(r.what, r.grade, r.since_edtf, r.hold_id) for r in remains] == [
        ("stub", "acrylic pressure-sensitive", "2001", strip.id)
    ]
    visit = bench.get_one(Visit, stored.visit_id)
    assert visit.saw() == {Shown.FRONT, Shown.BACK_OF_FRAME}


def test_a_hold_that_was_tried_and_left_still_holds(bench: Session) -> None:
    keeper = a_keeper(bench)
    work = mounted(bench, keeper)
    told = DismountTold(freed_by=FreedBy.WATER, outcome=Outcome.TRIED_AND_LEFT)
    tell(bench, keeper, work, UNFRAMING, dismount=told)
    assert current_mount(bench, work).ended is False
    assert bench.exec(select(Remain)).all() == []


def test_a_hold_that_was_tried_and_left_goes_into_the_new_package_as_a_remain(
    bench: Session,
) -> None:
    keeper = a_keeper(bench)
    work = mounted(bench, keeper)
    told = DismountTold(freed_by=FreedBy.WATER, outcome=Outcome.TRIED_AND_LEFT)
    tell(bench, keeper, work, UNFRAMING, dismount=told, mount=SOUND)
    assert [r.what for r in bench.exec(select(Remain))] == ["the whole hold"]
    assert current_mount(bench, work).mount_no == 2


def test_what_stays_on_the_work_is_there_until_a_treatment_removes_it(bench: Session) -> None:
    keeper = a_keeper(bench)
    work = mounted(bench, keeper)
    told = DismountTold(freed_by=FreedBy.WATER, residue="paste")
    tell(bench, keeper, work, UNFRAMING, dismount=told)
    remain = bench.exec(select(Remain)).one()
    removal = TreatmentTold(term="surface cleaning", removes=(key_of(remain),), materials=(RAG,))
    stored = tell(bench, keeper, work, UNFRAMING, treatments=(removal,))
    bench.refresh(remain)
    assert (remain.ended, remain.removed_visit_id) == (True, stored.visit_id)


def test_a_long_word_on_what_was_left_is_kept_whole(bench: Session) -> None:
    keeper = a_keeper(bench)
    work = mounted(bench, keeper)
    told = DismountTold(freed_by=FreedBy.WATER, residue="paste " * 300)
    tell(bench, keeper, work, UNFRAMING, dismount=told)
    assert bench.exec(select(Remain)).one().what == f"residue; {'paste ' * 300}".strip()


def test_a_window_mat_is_changed_while_the_work_stays_on_its_hinges(bench: Session) -> None:
    keeper = a_keeper(bench)
    work = mounted(bench, keeper)
    mount = current_mount(bench, work)
    old_mat = layers_now(bench, mount)[0]
    stored = tell(
        bench,
        keeper,
        work,
        UNFRAMING,
        layers_fitted=(LayerFittedTold(layer=replace(MAT, note="new"), replaces=key_of(old_mat)),),
    )
    now = layers_now(bench, mount)
    assert [(layer.role, layer.note) for layer in now] == [
        (LayerRole.WINDOW_MAT, "new"),
        (LayerRole.WORK, ""),
        (LayerRole.MOUNT_BOARD, ""),
    ]
    assert (old_mat.ended, old_mat.removed_edtf, old_mat.removed_visit_id) == (
        True,
        "2026-11-20",
        stored.visit_id,
    )
    assert bench.get_one(Visit, stored.visit_id).seen_margins is True
    assert current_mount(bench, work).id == mount.id


def test_a_layer_is_put_between_two_others_however_often(bench: Session) -> None:
    keeper = a_keeper(bench)
    work = mounted(bench, keeper)
    mount = current_mount(bench, work)
    for number in range(14):
        board = next(x for x in layers_now(bench, mount) if x.role is LayerRole.MOUNT_BOARD)
        sheet = LayerTold(role=LayerRole.INTERLEAF, note=str(number))
        fitted = (LayerFittedTold(layer=sheet, before=key_of(board)),)
        tell(bench, keeper, work, UNFRAMING, layers_fitted=fitted)
    notes = [x.note for x in layers_now(bench, mount) if x.role is LayerRole.INTERLEAF]
    assert notes == [str(number) for number in range(14)]


def test_a_mat_with_two_windows_holds_two_works_and_opening_it_opens_both(bench: Session) -> None:
    keeper = a_keeper(bench)
    first = mounted(bench, keeper)
    package = current_mount(bench, first).package_id
    second = work_on_record(bench, number="GH second")
    shared = MountTold(method="T-hinge", package=package, holds=(HINGES,))
    tell(bench, keeper, second, UNFRAMING, on="2010-03-01", mount=shared)
    stored = tell(
        bench, keeper, first, UNFRAMING, summary="both opened", also_unframed=(key_of(second),)
    )
    others = bench.exec(select(Visit).where(Visit.work_id == key_of(second))).all()
    waiting = [visit for visit in others if visit.to_write_up]
    assert [(v.on_edtf, v.kind, v.saw()) for v in waiting] == [
        ("2026-11-20", VisitKind.UNFRAMING, frozenset())
    ]
    assert bench.get_one(Visit, stored.visit_id).to_write_up is False


def test_a_work_closed_again_as_it_was_has_shown_nothing(bench: Session) -> None:
    keeper = a_keeper(bench)
    work = mounted(bench, keeper)
    stored = tell(bench, keeper, work, UNFRAMING, closed_as_it_was=True)
    assert bench.get_one(Visit, stored.visit_id).saw() == frozenset()


def test_an_unknown_mounting_day_is_assumed_and_says_so(bench: Session) -> None:
    keeper = a_keeper(bench)
    work = work_on_record(bench)
    tell(bench, keeper, work, UNFRAMING, kind=VisitKind.LOOK, found=MountTold(layers=(MAT,)))
    mount = current_mount(bench, work)
    assert (mount.mounted_edtf, mount.mounted_assumed) == (None, True)
    # Twenty years before the first record, which is this visit.
    assert mount.mounted_first == read_date("2006-11-20").first_day


def test_an_earlier_mount_known_from_its_traces_stands_before_the_current_one(
    bench: Session,
) -> None:
    keeper = a_keeper(bench)
    work = mounted(bench, keeper)
    traces = MountTold(inferred=True, note="old hinge stubs, a second mat line")
    tell(bench, keeper, work, UNFRAMING, found=traces)
    mounts = bench.exec(select(Mount).order_by(col(Mount.mount_no))).all()
    assert [(m.mount_no, m.inferred, m.ended) for m in mounts] == [
        (1, True, True),
        (2, False, False),
    ]


def test_a_stop_before_unframing_changes_nothing_inside(bench: Session) -> None:
    keeper = a_keeper(bench)
    work = mounted(bench, keeper)
    stop = StopTold("friable surface on the glazing", "closed, flat, face up")
    stored = tell(bench, keeper, work, UNFRAMING, stop=stop)
    visit = bench.get_one(Visit, stored.visit_id)
    assert (visit.stop_why, visit.stop_left, visit.saw()) == (
        "friable surface on the glazing",
        "closed, flat, face up",
        frozenset(),
    )


@pytest.mark.parametrize(
    ("told", "code"),
    [
        (replace(UNFRAMING, on="2026-11-26"), "in_the_future"),
        (replace(UNFRAMING, mount=SOUND), "two_current_mounts"),
        (replace(UNFRAMING, on="2009", dismount=DismountTold()), "ended_before_it_began"),
        (replace(UNFRAMING, closed_as_it_was=True, dismount=DismountTold()), "contradiction"),
        (replace(UNFRAMING, kind=VisitKind.LOOK, dismount=DismountTold()), "needs_unframing"),
        (
            replace(UNFRAMING, kind=VisitKind.LOOK, seen=frozenset({Shown.VERSO})),
            "cannot_be_seen",
        ),
        (
            replace(UNFRAMING, sightings=(SightingTold(change=Change.UNCHANGED, finding=999),)),
            "finding_of_another_work",
        ),
        (
            replace(UNFRAMING, by="K. Inventa", by_unknown_hand=True),
            "contradiction",
        ),
        (replace(UNFRAMING, found=MountTold(layers=(MAT,))), "two_current_mounts"),
    ],
)
def test_what_cannot_have_happened_is_refused_by_name(
    bench: Session, told: VisitTold, code: str
) -> None:
    keeper = a_keeper(bench)
    work = mounted(bench, keeper)
    with pytest.raises((RuleBroken, Contradiction)) as error:
        tell(bench, keeper, work, told)
    assert error.value.code == code


def test_a_dismount_needs_a_mount(bench: Session) -> None:
    keeper = a_keeper(bench)
    work = work_on_record(bench)
    with pytest.raises(RuleBroken) as error:
        tell(bench, keeper, work, UNFRAMING, dismount=DismountTold(freed_by=FreedBy.LIFTED))
    assert error.value.code == "dismount_before_mount"


def test_every_fault_is_said_at_once_beside_its_part(bench: Session) -> None:
    keeper = a_keeper(bench)
    work = work_on_record(bench)
    wrong = MountTold(
        method="T-hnge",
        layers=(LayerTold(role=LayerRole.WINDOW_MAT, material="Coton rag mat board"),),
        holds=(HoldTold(material=PASTE, lot="L-9"),),
    )
    told = replace(
        UNFRAMING,
        by="Nobody Known",
        mount=wrong,
        sightings=(SightingTold(change=Change.NEW, term="mat brun"),),
    )
    with pytest.raises(BadValue) as error:
        tell(bench, keeper, work, told)
    assert [fault.pointer for fault in error.value.faults] == [
        "/by",
        "/mount/method",
        "/mount/holds/0/lot",
        "/mount/layers/0/material",
        "/report/sightings/0/severity",
        "/report/sightings/0/term",
    ]
    assert bench.exec(select(Visit)).all() == []


def test_an_unknown_material_is_named_with_its_near_misses(bench: Session) -> None:
    keeper = a_keeper(bench)
    work = work_on_record(bench)
    wrong = MountTold(layers=(LayerTold(role=LayerRole.WINDOW_MAT, material=RAG[:-3]),))
    with pytest.raises(UnknownWord) as error:
        tell(bench, keeper, work, UNFRAMING, mount=wrong)
    assert error.value.code == "unknown_material"
    assert RAG in error.value.near


def test_somebody_who_was_slower_is_shown_both_states(bench: Session) -> None:
    keeper = a_keeper(bench)
    work = mounted(bench, keeper)
    old = work.version
    tell(bench, keeper, work, UNFRAMING, dismount=DismountTold(freed_by=FreedBy.WATER))
    with pytest.raises(Stale) as error:
        record_visit(
            bench, keeper, key_of(work), replace(UNFRAMING, mount=SOUND, based_on=old), today=TODAY
        )
    bench.refresh(work)
    assert error.value.theirs == {"version": work.version, "mount": None, "layers": []}


def test_whoever_changes_a_package_says_what_they_saw(bench: Session) -> None:
    keeper = a_keeper(bench)
    work = mounted(bench, keeper)
    told = replace(UNFRAMING, dismount=DismountTold(freed_by=FreedBy.WATER))
    with pytest.raises(BadValue) as error:
        record_visit(bench, keeper, key_of(work), told, today=TODAY)
    assert [fault.pointer for fault in error.value.faults] == ["/based_on"]


def test_a_finding_lies_on_the_sheet(bench: Session) -> None:
    keeper = a_keeper(bench)
    work = work_on_record(bench)
    off = SightingTold(
        change=Change.NEW,
        term="foxing",
        severity=Severity.SLIGHT,
        reach=ReachTold(Edge.TOP, 301.0),
        region=RegionTold(400.0, 10.0, 30.0, 10.0),
    )
    with pytest.raises(BadValue) as error:
        tell(bench, keeper, work, UNFRAMING, sightings=(off,))
    assert [fault.pointer for fault in error.value.faults] == [
        "/report/sightings/0/reach/mm",
        "/report/sightings/0/reach/region/width_mm",
    ]


def test_a_layer_of_another_package_cannot_be_taken_out(bench: Session) -> None:
    keeper = a_keeper(bench)
    work, other = mounted(bench, keeper), mounted(bench, keeper)
    strange = layers_now(bench, current_mount(bench, other))[0]
    removed = (LayerRemovedTold(layer=key_of(strange), kept=Kept.DISCARDED),)
    with pytest.raises(RuleBroken) as error:
        tell(bench, keeper, work, UNFRAMING, layers_removed=removed)
    assert error.value.code == "layer_of_another_package"


def test_an_owner_records_nothing_and_a_stranger_sees_nothing(bench: Session) -> None:
    framer = a_framer(bench)
    work = mounted(bench, framer)
    owner = an_owner(bench)
    with pytest.raises(NotAllowed):
        tell(bench, owner, work, UNFRAMING)
    with pytest.raises(NotFound):
        record_visit(bench, framer, 10_000, UNFRAMING, today=TODAY)


def test_the_forecast_is_worked_out_with_the_visit(bench: Session) -> None:
    keeper = a_keeper(bench)
    work = mounted(bench, keeper, on="2026-11-20")
    stored = the_forecast(bench, work)
    assert stored.verdict == "sound"
    assert stored.weak_layer != ""
    assert (stored.unframing_on or 0) > TODAY + 365
    assert faults_of_stored(bench, [key_of(work)]) == []


def test_a_stored_forecast_that_is_wrong_is_found(bench: Session) -> None:
    keeper = a_keeper(bench)
    work = mounted(bench, keeper)
    stored = the_forecast(bench, work)
    stored.look_on = 1
    bench.flush()
    assert faults_of_stored(bench, [key_of(work)]) == [f"{work.number}: stored look_on differ."]


def test_a_package_is_not_found_before_it_was_there(bench: Session) -> None:
    keeper = a_keeper(bench)
    work = work_on_record(bench)
    with pytest.raises(Contradiction) as error:
        tell(bench, keeper, work, UNFRAMING, found=MountTold(mounted_on="2027", layers=(MAT,)))
    assert [fault.pointer for fault in error.value.faults] == ["/found/mounted_on"]


def test_a_hold_is_not_freed_by_nothing(bench: Session) -> None:
    keeper = a_keeper(bench)
    work = mounted(bench, keeper)
    with pytest.raises(BadValue) as error:
        tell(bench, keeper, work, UNFRAMING, dismount=DismountTold())
    assert [fault.pointer for fault in error.value.faults] == ["/dismount/freed_by"]


def test_a_package_with_active_mould_is_opened_only_for_a_stated_reason(bench: Session) -> None:
    keeper = a_keeper(bench)
    work = mounted(bench, keeper)
    mould = SightingTold(change=Change.NEW, term="active mould", severity=Severity.SLIGHT)
    look = replace(UNFRAMING, kind=VisitKind.LOOK)
    tell(bench, keeper, work, look, sightings=(mould,))
    with pytest.raises(RuleBroken) as error:
        tell(bench, keeper, work, UNFRAMING)
    assert error.value.code == "does_not_wait"
    tell(bench, keeper, work, UNFRAMING, stop=StopTold("active mould", "closed, bagged"))
    tell(bench, keeper, work, UNFRAMING, reason="opened by the conservator")


def test_the_verso_is_not_seen_through_the_glazing(bench: Session) -> None:
    keeper = a_keeper(bench)
    work = mounted(bench, keeper)
    behind = SightingTold(
        change=Change.NEW, term="foxing", severity=Severity.SLIGHT, side=Side.VERSO
    )
    with pytest.raises(Contradiction) as error:
        tell(bench, keeper, work, UNFRAMING, kind=VisitKind.LOOK, sightings=(behind,))
    assert error.value.code == "cannot_be_seen"


def test_a_finding_does_not_grow_before_it_was_found(bench: Session) -> None:
    keeper = a_keeper(bench)
    work = mounted(bench, keeper)
    spots = SightingTold(change=Change.NEW, term="foxing", severity=Severity.SLIGHT)
    tell(bench, keeper, work, UNFRAMING, sightings=(spots,))
    finding = bench.exec(select(Finding)).one()
    grown = SightingTold(change=Change.GROWN, finding=finding.id)
    with pytest.raises(RuleBroken) as error:
        tell(bench, keeper, work, UNFRAMING, on="2015", sightings=(grown,))
    assert error.value.code == "before_it_was_found"


def test_a_recalled_lot_is_not_put_next_to_a_work_but_may_have_been_found_there(
    bench: Session,
) -> None:
    keeper = a_keeper(bench)
    work = work_on_record(bench)
    material = bench.exec(select(Material).where(Material.name == RAG)).one()
    lot = a_lot(bench, material, "L-9")
    added(bench, Recall(lot_id=key_of(lot), called_on=TODAY, reason="acid"))
    mat = replace(MAT, lot="L-9")
    with pytest.raises(BadValue) as error:
        tell(bench, keeper, work, UNFRAMING, mount=MountTold(layers=(mat,)))
    assert [fault.pointer for fault in error.value.faults] == ["/mount/layers/0/lot"]
    tell(bench, keeper, work, UNFRAMING, found=MountTold(layers=(mat,)))


def test_a_known_material_is_judged_by_its_own_figures(bench: Session) -> None:
    keeper = a_keeper(bench)
    work = work_on_record(bench)
    mat = replace(MAT, grade="groundwood board")
    with pytest.raises(BadValue) as error:
        tell(bench, keeper, work, UNFRAMING, mount=MountTold(layers=(mat,)))
    assert [fault.pointer for fault in error.value.faults] == ["/mount/layers/0/grade"]


def test_a_work_in_no_box_gets_no_box_check(bench: Session) -> None:
    keeper = a_keeper(bench)
    work = work_on_record(bench, place="Gannet House / Stair")
    with pytest.raises(RuleBroken) as error:
        tell(bench, keeper, work, UNFRAMING, kind=VisitKind.BOX_CHECK)
    assert error.value.code == "no_box"


def test_what_an_old_mount_left_is_no_reason_to_remat(bench: Session) -> None:
    keeper = a_keeper(bench)
    work = mounted(bench, keeper)
    stub = HoldTold(grade="rubber pressure-sensitive tape")
    traces = MountTold(inferred=True, mounted_on="1960", holds=(stub,))
    tell(bench, keeper, work, UNFRAMING, found=traces)
    assert the_forecast(bench, work).advice is None


OLD_BURN = SightingTold(
    change=Change.FOUND_AGE_UNKNOWN,
    term="mat burn",
    severity=Severity.SLIGHT,
    reach=ReachTold(Edge.ALL, 12.0, follows_window_edge=True),
)


def causes_on_record(session: Session) -> list[tuple[Mechanism | None, CauseMount | None]]:
    rows = session.exec(select(Finding).order_by(col(Finding.id)))
    return [(row.cause_mechanism, row.cause_mount) for row in rows]


def test_a_visit_confirms_the_cause_of_a_finding_from_before(bench: Session) -> None:
    framer = a_framer(bench)
    work = mounted(bench, framer)
    tell(bench, framer, work, UNFRAMING, on="2020-05-01", sightings=(OLD_BURN,))
    (found,) = bench.exec(select(Finding)).all()
    this = CauseTold(Mechanism.ACID_MIGRATION, CauseMount.THIS)
    again = SightingTold(finding=found.id, change=Change.NOT_SEEN, cause=this)
    tell(bench, framer, work, UNFRAMING, sightings=(again,))
    bench.refresh(found)
    assert (found.cause_mechanism, found.cause_mount, found.cause_mount_id) == (
        Mechanism.ACID_MIGRATION,
        CauseMount.THIS,
        load_records(bench, framer, [key_of(work)])[key_of(work)].mounts[0].id,
    )
    assert faults_of_stored(bench, [key_of(work)]) == []


def test_what_was_confirmed_before_a_framer_says_again_but_not_otherwise(bench: Session) -> None:
    framer = a_framer(bench)
    work = mounted(bench, framer)
    this = CauseTold(None, CauseMount.THIS)
    tell(bench, framer, work, UNFRAMING, sightings=(replace(OLD_BURN, cause=this),))
    assert causes_on_record(bench) == [(Mechanism.ACID_MIGRATION, CauseMount.THIS)]
    again = SightingTold(finding=1, change=Change.UNCHANGED, cause=this)
    tell(bench, framer, work, UNFRAMING, on="2026-11-21", sightings=(again,))
    otherwise = replace(again, cause=CauseTold(None, CauseMount.CANNOT_TELL))
    with pytest.raises(NotAllowed):
        tell(bench, framer, work, UNFRAMING, on="2026-11-22", sightings=(otherwise,))
    keeper = a_keeper(bench)
    tell(bench, keeper, work, UNFRAMING, on="2026-11-22", sightings=(otherwise,))
    assert causes_on_record(bench) == [(None, CauseMount.CANNOT_TELL)]


def test_a_mount_says_too_little_of_a_finding_without_a_usual_cause(bench: Session) -> None:
    keeper = a_keeper(bench)
    work = mounted(bench, keeper)
    tear = SightingTold(
        change=Change.NEW,
        term="tear",
        severity=Severity.SLIGHT,
        cause=CauseTold(None, CauseMount.THIS),
    )
    with pytest.raises(BadValue) as error:
        tell(bench, keeper, work, UNFRAMING, sightings=(tear,))
    assert [fault.pointer for fault in error.value.faults] == [
        "/report/sightings/0/cause/mechanism"
    ]


@pytest.mark.parametrize(
    ("mount", "at"),
    [
        (MountTold(layers=(LayerTold(role=LayerRole.GLAZING, material=RAG),)), "layers"),
        (MountTold(holds=(HoldTold(material="Float glass, 2 mm"),)), "holds"),
    ],
)
@pytest.mark.parametrize("told_as", ["mount", "found"])
def test_what_no_such_material_can_be_is_refused_with_the_kinds_that_can(
    bench: Session, mount: MountTold, at: str, told_as: str
) -> None:
    with pytest.raises(BadValue, match="cannot be") as refused:
        tell(bench, a_keeper(bench), work_on_record(bench), UNFRAMING, **{told_as: mount})
    (fault,) = refused.value.faults
    assert fault.pointer == f"/{told_as}/{at}/0/material"
    assert "one of these kinds" in fault.right
