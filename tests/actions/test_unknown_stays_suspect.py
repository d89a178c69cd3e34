"""What nobody knows never passes as good, however the record came to be."""

from dataclasses import replace

import pytest
from sqlmodel import Session, select

from models.actions.forecasts import case_of, forecast_now
from models.actions.in_force import in_force
from models.actions.work_records import load_records, seen_facts
from models.errors import BadValue
from models.rules.half_known_dates import read_date
from models.rules.visit_as_told import (
    CauseTold,
    DismountTold,
    HoldTold,
    LayerFittedTold,
    LayerTestTold,
    LayerTold,
    MountTold,
    SightingTold,
    VisitTold,
)
from models.rules.work_forecast import WorkForecast
from models.tables.mounts import Remain
from models.tables.visible import Viewer
from models.tables.works import Work
from models.vocabulary import (
    Answer,
    BenchTest,
    CauseMount,
    Change,
    FreedBy,
    Freeing,
    KnownBy,
    LayerRole,
    Mechanism,
    Outcome,
    Severity,
    Shown,
    Verdict,
    VisitKind,
)
from tests.actions.test_visits import (
    RAG,
    TODAY,
    UNFRAMING,
    bench,
    current_mount,
    layers_now,
    tell,
    work_on_record,
)
from tests.builders import a_keeper, a_place, a_stay, key_of

__all__ = ["bench"]

GLASS = LayerTold(role=LayerRole.GLAZING, material="Float glass, 2 mm", known_by=KnownBy.SEEN)
BACK = LayerTold(role=LayerRole.BACKING, material=RAG, known_by=KnownBy.SEEN)
WHITE_CORE = LayerTold(
    role=LayerRole.WINDOW_MAT, grade="white-core board, not tested", known_by=KnownBy.TESTED
)
POCKETS = HoldTold(grade="corner pockets or edge strips", known_by=KnownBy.SEEN)
LOOK = VisitTold(on="2026-11-01", kind=VisitKind.LOOK)


def forecast_of(session: Session, viewer: Viewer, work: Work, today: int = TODAY) -> WorkForecast:
    records = load_records(session, viewer, [key_of(work)])[key_of(work)]
    return forecast_now(session, records, today=today)


def test_glass_and_a_new_back_do_not_say_what_touches_the_work(bench: Session) -> None:
    keeper = a_keeper(bench)
    work = work_on_record(bench)
    unknown = MountTold(
        in_front=Answer.UNKNOWN, behind=Answer.UNKNOWN, holds=(POCKETS,), mounted_on="1985"
    )
    tell(bench, keeper, work, LOOK, found=unknown)
    before = forecast_of(bench, keeper, work)
    fitted = (LayerFittedTold(layer=GLASS), LayerFittedTold(layer=BACK))
    tell(bench, keeper, work, UNFRAMING, layers_fitted=fitted)
    assert [layer.role for layer in layers_now(bench, current_mount(bench, work))] == [
        LayerRole.GLAZING,
        LayerRole.WORK,
        LayerRole.BACKING,
    ]
    after = forecast_of(bench, keeper, work)
    assert after.verdict.verdict is not Verdict.SOUND
    assert after.chance_unseen_now.chance == pytest.approx(before.chance_unseen_now.chance, 0.2)


def test_a_listed_glass_does_not_overrule_an_unknown_front(bench: Session) -> None:
    keeper = a_keeper(bench)
    work = work_on_record(bench)
    told = MountTold(
        layers=(GLASS, LayerTold(role=LayerRole.WORK), BACK),
        in_front=Answer.UNKNOWN,
        behind=Answer.UNKNOWN,
        holds=(POCKETS,),
    )
    tell(bench, keeper, work, LOOK, found=told)
    assert forecast_of(bench, keeper, work).verdict.verdict is not Verdict.SOUND


def test_a_mat_put_next_to_the_work_answers_what_is_in_front(bench: Session) -> None:
    keeper = a_keeper(bench)
    work = work_on_record(bench)
    unknown = MountTold(in_front=Answer.UNKNOWN, behind=Answer.UNKNOWN, holds=(POCKETS,))
    tell(bench, keeper, work, LOOK, found=unknown)
    mat = LayerTold(role=LayerRole.WINDOW_MAT, material=RAG)
    board = LayerTold(role=LayerRole.MOUNT_BOARD, material=RAG)
    fitted = (LayerFittedTold(layer=mat), LayerFittedTold(layer=board))
    tell(bench, keeper, work, UNFRAMING, layers_fitted=fitted)
    assert forecast_of(bench, keeper, work).verdict.verdict is Verdict.SOUND


def test_a_stain_that_is_still_there_makes_no_clean_years(bench: Session) -> None:
    keeper = a_keeper(bench)
    work = work_on_record(bench)
    found = MountTold(layers=(WHITE_CORE,), holds=(POCKETS,), mounted_on="1990")
    burn = SightingTold(
        change=Change.FOUND_AGE_UNKNOWN,
        term="mat burn",
        severity=Severity.SLIGHT,
        cause=CauseTold(Mechanism.ACID_MIGRATION, CauseMount.THIS),
    )
    seen = frozenset({Shown.FRONT, Shown.MARGINS})
    tell(bench, keeper, work, UNFRAMING, on="2006-05-01", found=found, sightings=(burn,), seen=seen)
    records = load_records(bench, keeper, [key_of(work)])[key_of(work)]
    again = SightingTold(change=Change.UNCHANGED, finding=records.sightings[0].finding_id)
    tell(bench, keeper, work, UNFRAMING, on="2026-05-01", sightings=(again,), seen=seen)
    steps = " ".join(forecast_of(bench, keeper, work).unframing.sentences)
    assert "Clean years" not in steps


def test_a_move_of_which_nobody_knows_the_day_may_have_been_yesterday(bench: Session) -> None:
    keeper = a_keeper(bench)
    work = work_on_record(bench)
    found = MountTold(layers=(WHITE_CORE,), holds=(POCKETS,), mounted_on="1990")
    seen = frozenset({Shown.FRONT, Shown.MARGINS})
    tell(bench, keeper, work, UNFRAMING, on="2020-05-01", found=found, seen=seen)
    records = load_records(bench, keeper, [key_of(work)])[key_of(work)]
    assert case_of(records, in_force(bench), today=TODAY).is_unchanged_since is True
    a_stay(bench, work, place="Attic", since=None, ended=True)
    a_stay(bench, work, place="Stair", since=None)
    records = load_records(bench, keeper, [key_of(work)])[key_of(work)]
    assert case_of(records, in_force(bench), today=TODAY).is_unchanged_since is False


def test_traces_of_an_old_mount_go_on_acting(bench: Session) -> None:
    keeper = a_keeper(bench)
    work = work_on_record(bench)
    tape = HoldTold(grade="rubber pressure-sensitive tape")
    traces = MountTold(inferred=True, mounted_on="1960~", dismounted_on="198X", holds=(tape,))
    tell(bench, keeper, work, UNFRAMING, found=traces)
    remain = bench.exec(select(Remain)).one()
    assert (remain.what, remain.grade, remain.since_edtf) == (
        "traces of the hold",
        "rubber pressure-sensitive",
        "1960~",
    )


@pytest.mark.parametrize("method", ["glued all over", "laminated", "face-mounted"])
def test_a_method_that_sticks_all_over_is_held_for_good(bench: Session, method: str) -> None:
    keeper = a_keeper(bench)
    work = work_on_record(bench)
    tell(bench, keeper, work, LOOK, found=MountTold(method=method, layers=(BACK,)))
    found = forecast_of(bench, keeper, work)
    assert found.verdict.freeing is Freeing.NOT_WITHOUT_HARM
    assert "no latest day by calendar" in " ".join(found.unframing.sentences)


def test_a_white_bevel_says_nothing_of_a_young_board(bench: Session) -> None:
    keeper = a_keeper(bench)
    work = work_on_record(bench)
    unknown = LayerTold(role=LayerRole.WINDOW_MAT, grade="unknown board", ref="mat")
    white = LayerTestTold("ref:mat", BenchTest.BEVEL_COLOUR, "still white after 10 years")
    mount = MountTold(layers=(unknown,), holds=(POCKETS,))
    with pytest.raises(BadValue, match="has not been there for 10 years"):
        tell(bench, keeper, work, UNFRAMING, mount=mount, tests=(white,))


def test_recorded_harm_shows_that_its_place_was_seen_and_no_other(bench: Session) -> None:
    keeper = a_keeper(bench)
    work = work_on_record(bench)
    found = MountTold(layers=(WHITE_CORE,), holds=(POCKETS,), mounted_on="2000")
    burn = SightingTold(
        change=Change.NEW,
        term="mat burn",
        severity=Severity.SLIGHT,
        cause=CauseTold(Mechanism.ACID_MIGRATION, CauseMount.THIS),
    )
    tell(bench, keeper, work, UNFRAMING, on="2025-05-01", found=found, sightings=(burn,))
    records = load_records(bench, keeper, [key_of(work)])[key_of(work)]
    seen = seen_facts(records)
    on = read_date("2025-05-01").first_day
    assert seen.day_for(Mechanism.ACID_MIGRATION, Shown.MARGINS) == on
    assert seen.day_for(Mechanism.PHOTO_ACTIVITY, Shown.MARGINS) is None


def test_closed_again_as_it_was_moves_no_clock_whatever_is_ticked(bench: Session) -> None:
    keeper = a_keeper(bench)
    work = work_on_record(bench)
    tell(bench, keeper, work, UNFRAMING, closed_as_it_was=True, seen=frozenset(Shown))
    records = load_records(bench, keeper, [key_of(work)])[key_of(work)]
    assert set(seen_facts(records).days.values()) == {None}


def test_pockets_that_were_tried_and_left_leave_nothing_that_sticks(bench: Session) -> None:
    keeper = a_keeper(bench)
    work = work_on_record(bench)
    tell(bench, keeper, work, UNFRAMING, on="2010", mount=MountTold(holds=(POCKETS,)))
    left = DismountTold(freed_by=FreedBy.LIFTED, outcome=Outcome.TRIED_AND_LEFT)
    tell(bench, keeper, work, UNFRAMING, dismount=left, mount=MountTold(holds=(POCKETS,)))
    assert bench.exec(select(Remain)).all() == []


def test_advice_counts_from_the_day_it_began_and_does_not_recede(bench: Session) -> None:
    keeper = a_keeper(bench)
    work = work_on_record(bench)
    groundwood = LayerTold(role=LayerRole.WINDOW_MAT, grade="groundwood board")
    mount = MountTold(
        layers=(groundwood, LayerTold(role=LayerRole.WORK), replace(groundwood)),
        holds=(POCKETS,),
    )
    tell(bench, keeper, work, UNFRAMING, on="2026-11-25", mount=mount)
    later = [forecast_of(bench, keeper, work, TODAY + days) for days in (730, 731, 1400)]
    assert len({found.remat_by for found in later}) == 1
    assert later[0].advised_on is not None
    assert TODAY < later[0].advised_on < TODAY + 730


def test_a_move_does_not_make_the_past_milder(bench: Session) -> None:
    """Sixteen years in a hot attic are not undone by five days in a cool room."""
    keeper = a_keeper(bench)
    work = work_on_record(bench)
    attic, stair = a_place(bench, "Attic"), a_place(bench, "Stair")
    attic.temperature_c, attic.rh_percent = 30.0, 70.0
    stair.temperature_c, stair.rh_percent = 20.0, 50.0
    found = MountTold(layers=(WHITE_CORE,), holds=(POCKETS,), mounted_on="2010-03-01")
    a_stay(bench, work, place="Attic", since="2010-03-01", until="2026-11-20")
    a_stay(bench, work, place="Stair", since="2026-11-20")
    tell(bench, keeper, work, LOOK, on="2026-11-21", found=found)
    drivers = forecast_of(bench, keeper, work).drivers
    mat = next(driver for driver in drivers if driver.place is Shown.MARGINS)
    # 6108 days at 5.994183 (the published multiplier at 30 degC and 70 %), 5 days at 1.
    assert mat.clock_now == pytest.approx((6108 * 5.994183 + 5) / 365.25, rel=1e-4)
    assert mat.rate_per_year == pytest.approx(1.0)
