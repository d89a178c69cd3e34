"""What a remat gains and takes: policy of the project; chances from the worked values."""

from dataclasses import replace

import pytest

from models.rules.calendar_days import add_years
from models.rules.package_facts import (
    ClimateFacts,
    FindingFacts,
    HoldFacts,
    LayerFacts,
    PackageFacts,
    SeenFacts,
    WorkFacts,
)
from models.rules.policy import Policy
from models.rules.remat_score import RematScore, remat_scores
from models.rules.work_forecast import WorkCase, forecasts
from models.vocabulary import (
    Advice,
    LayerRole,
    Mechanism,
    PlaceUse,
    Replaceability,
    Severity,
    Shown,
    Surface,
    UrgentSign,
    ValueBand,
)
from tests.rules.test_proposed_package import (
    BAD_BOARD,
    BAD_MAT,
    FIGURES,
    GLASS,
    GOOD_BOARD,
    PAPER_CORNERS,
    PASTE,
    PRINT,
    RAG,
    SPRAY,
    TODAY,
    WORK,
)

CORNERS = HoldFacts(grade="corner pockets or edge strips", material="Paper corners", count=4)
STOCK = (RAG, PAPER_CORNERS)


def case(
    *layers: LayerFacts,
    hold: HoldFacts = CORNERS,
    years: float = 12,
    work: WorkFacts = PRINT,
    findings: tuple[FindingFacts, ...] = (),
) -> WorkCase:
    """A work in 20 C and 50 %, every place of which was seen clear today."""
    return WorkCase(
        work=work,
        figures=FIGURES,
        today=TODAY,
        package=PackageFacts(layers=layers, holds=(hold,), mounted_day=add_years(TODAY, -years)),
        climate=ClimateFacts(use=PlaceUse.STORAGE, temperature_c=20, rh_percent=50),
        seen=SeenFacts(days=dict.fromkeys(Shown, TODAY)),
        findings=findings,
    )


def score(one: WorkCase) -> RematScore:
    return remat_scores([one], STOCK)[0]


def test_a_groundwood_window_is_changed_and_the_corners_stay() -> None:
    found = score(case(GLASS, BAD_MAT, WORK, GOOD_BOARD))
    # 0.5852 is the worked value of a clean groundwood mat of 12 years; no seal is on record,
    # which is 0.3 * (1 - 2 ** -(5 / 8)) = 0.1055 more; the rest is the hold's.
    assert found.lost_now == pytest.approx(0.5852 + 0.1055, abs=0.01)
    assert found.risk_of_remat == 0.003
    assert found.reduced == pytest.approx(found.lost_now - found.lost_then - 0.003)
    assert (found.cure, found.board, found.method) == (Advice.REMAT, "Rag, 4-ply", "")
    assert (found.is_listed, found.leave_it, found.weak_layer) == (True, False, "Grey mat")
    assert found.reason == (
        "Grey mat: acid migration, to be seen at the margins. New harm within 5 years: almost"
        " certain (over 95 %); with the proposed package: about 1 in 3 (36 %). What holds it"
        " stays as it is."
    )


def test_hours_and_money_are_those_of_the_table_and_the_policy() -> None:
    found = score(case(GLASS, BAD_MAT, WORK, GOOD_BOARD))
    # Half an hour to open and close, 0.4 for a window; a board of 460 by 580 mm at 35 a m2.
    assert found.hours == pytest.approx(0.9)
    assert found.cost == pytest.approx(0.9 * Policy().hourly_rate + 35 * 0.46 * 0.58)


def test_a_sound_package_is_left_in_peace_and_not_listed() -> None:
    sound = replace(BAD_MAT, grade="cotton rag board, buffered", material="Rag")
    found = score(case(GLASS, sound, WORK, GOOD_BOARD, years=1))
    assert (found.is_listed, found.swaps) == (False, ())


def test_a_frame_without_a_seal_is_resealed_unless_more_is_changed() -> None:
    rag = replace(BAD_MAT, grade="cotton rag board, buffered", material="Rag")
    found = [score(case(GLASS, rag, WORK, GOOD_BOARD, years=years)) for years in (12, 40)]
    assert [one.weak_layer for one in found] == ["frame", "frame"]
    # After forty years what holds it is renewed as well.
    assert [(one.cure, one.method) for one in found] == [
        (Advice.RESEAL, ""),
        (Advice.REMAT, "corner pockets"),
    ]


def test_a_burn_of_this_mat_is_lost_no_further_once_the_mat_is_gone() -> None:
    burn = FindingFacts(
        term="mat burn",
        severity=Severity.SEVERE,
        mechanism=Mechanism.ACID_MIGRATION,
        shows_at=Shown.MARGINS,
        is_of_this_mount=True,
        first_seen_day=TODAY,
    )
    clean = score(case(GLASS, BAD_MAT, WORK, GOOD_BOARD))
    burnt = score(case(GLASS, BAD_MAT, WORK, GOOD_BOARD, findings=(burn,)))
    assert burnt.lost_now - 0.054 == pytest.approx(clean.lost_now - 0.5852, abs=1e-4)
    assert burnt.lost_then == pytest.approx(clean.lost_then)
    assert 0 < burnt.reduced < clean.reduced


def test_what_is_held_for_good_on_a_bad_board_is_left_and_referred() -> None:
    sprayed = score(
        case(GLASS, replace(BAD_MAT, belongs_to_work=True), WORK, BAD_BOARD, hold=SPRAY)
    )
    assert sprayed.kept_because == (
        "Spray adhesive stays: it would not be freed without harm",
        "the window mat belongs to the work",
    )
    assert (sprayed.leave_it, sprayed.is_listed) == (True, False)


def test_a_friable_sheet_on_its_glazing_is_left_closed() -> None:
    stuck = FindingFacts(term="offset", urgent_sign=UrgentSign.FRIABLE_ON_GLAZING)
    pastel = WorkFacts(surface=Surface.FRIABLE)
    found = score(case(GLASS, BAD_MAT, WORK, GOOD_BOARD, work=pastel, findings=(stuck,)))
    assert (found.risk_of_remat, found.leave_it) == (0.10, True)


def test_what_can_be_had_again_for_less_asks_owner_and_maker() -> None:
    poster = WorkFacts(replaceability=Replaceability.REPLACEABLE, value_band=ValueBand.LOW)
    found = score(case(GLASS, BAD_MAT, WORK, GOOD_BOARD, work=poster))
    assert found.may_reprint
    assert not score(case(GLASS, BAD_MAT, WORK, GOOD_BOARD)).may_reprint


def test_a_work_that_nobody_examined_waits_for_the_first_survey() -> None:
    unseen = replace(case(GLASS, BAD_MAT, WORK, GOOD_BOARD), was_ever_examined=False)
    assert not score(unseen).is_listed


def test_the_hold_is_undone_only_where_that_gains_more_than_it_risks() -> None:
    bad_carrier = score(case(GLASS, BAD_MAT, WORK, BAD_BOARD, hold=PASTE))
    assert (bad_carrier.method, bad_carrier.risk_of_remat) == ("corner pockets", 0.023)
    tape = HoldFacts(grade="acrylic pressure-sensitive hinges or film", material="Tape", count=2)
    young = score(case(GLASS, BAD_MAT, WORK, GOOD_BOARD, hold=tape, years=1))
    assert (young.method, young.risk_of_remat) == ("", 0.003)


def test_many_at_once_are_the_same_as_one_by_one() -> None:
    cases = [
        case(GLASS, BAD_MAT, WORK, GOOD_BOARD),
        replace(case(WORK), package=None),
        case(GLASS, BAD_MAT, WORK, BAD_BOARD, hold=SPRAY, years=3),
    ]
    assert remat_scores(cases, STOCK) == [score(one) for one in cases]


def test_rows_that_a_forecast_has_made_are_not_made_again_and_say_the_same() -> None:
    sound = replace(
        case(GLASS, replace(GOOD_BOARD, role=LayerRole.WINDOW_MAT), WORK, GOOD_BOARD),
        was_ever_examined=True,
    )
    cases = [sound, case(GLASS, BAD_MAT, WORK, GOOD_BOARD), replace(case(WORK), package=None)]
    of_forecasts = [forecast.rows for forecast in forecasts(cases)]
    assert remat_scores(cases, STOCK, of_forecasts) == remat_scores(cases, STOCK)
    assert remat_scores(cases[:1], STOCK, of_forecasts[:1]) == [score(sound)]
