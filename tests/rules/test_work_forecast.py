"""Forecasts of whole works; the worked examples are the design table's, computed apart."""

import csv
from dataclasses import replace
from datetime import date
from decimal import Decimal
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from models.rules.calendar_days import add_months, add_years, day_number
from models.rules.default_figures import DefaultFigures, read_default_figures
from models.rules.inspection_schedule import StepKind, deciding_step
from models.rules.package_facts import (
    ClimateFacts,
    FindingFacts,
    HoldFacts,
    LayerFacts,
    PackageFacts,
    SeenFacts,
    WorkFacts,
)
from models.rules.work_forecast import WorkCase, WorkForecast, forecasts
from models.vocabulary import (
    Advice,
    Answer,
    Distance,
    DueKind,
    LayerRole,
    Mechanism,
    PlaceUse,
    Replaceability,
    Shown,
    Surface,
    UrgentSign,
    Verdict,
)

TODAY = day_number(date(2026, 11, 25))
DEFAULTS = Path(__file__).resolve().parents[2] / "seed_data" / "risk_defaults.csv"
WORK = LayerFacts(role=LayerRole.WORK)
MAT = LayerFacts(role=LayerRole.WINDOW_MAT, grade="groundwood board")
TAPE = LayerFacts(role=LayerRole.ADHESIVE, grade="rubber pressure-sensitive")
ACRYLIC = LayerFacts(role=LayerRole.ADHESIVE, grade="acrylic pressure-sensitive")
RAG = LayerFacts(role=LayerRole.WINDOW_MAT, grade="cotton rag board, buffered")
RAG_BACK = LayerFacts(role=LayerRole.MOUNT_BOARD, grade="cotton rag board, buffered")
KRAFT = LayerFacts(
    role=LayerRole.BACKING, grade="corrugated or brown kraft board", distance=Distance.FACES
)
POCKETS = HoldFacts(grade="corner pockets or edge strips", count=4)
WARM = ClimateFacts(temperature_c=24, rh_percent=55)


def shipped() -> DefaultFigures:
    with DEFAULTS.open(newline="", encoding="utf-8") as file:
        return read_default_figures(csv.DictReader(file))


FIGURES = shipped()


def a_case(
    *layers: LayerFacts,
    holds: tuple[HoldFacts, ...] = (),
    mounted: date = date(2026, 11, 25),
    recorded: bool = False,
    work: WorkFacts | None = None,
    climate: ClimateFacts | None = None,
    seen: dict[Shown, int | None] | None = None,
) -> WorkCase:
    package = PackageFacts(
        layers=(*layers, WORK) if WORK not in layers else layers,
        holds=holds,
        front=Answer.NONE,
        behind=Answer.NONE,
        held=Answer.NONE,
        mounted_day=day_number(mounted),
        is_recorded=recorded,
    )
    return WorkCase(
        work=work or WorkFacts(),
        figures=FIGURES,
        today=TODAY,
        package=package,
        climate=climate or ClimateFacts(),
        seen=SeenFacts(days=seen or {}),
    )


def forecast_of(case: WorkCase) -> WorkForecast:
    (found,) = forecasts([case])
    return found


def sound(**changes: object) -> WorkCase:
    case = a_case(RAG, WORK, RAG_BACK, holds=(POCKETS,), recorded=True)
    return replace(case, **changes)  # type: ignore[arg-type]


def of_use(use: PlaceUse) -> ClimateFacts:
    return ClimateFacts(use=use)


B_SEEN = {Shown.MARGINS: TODAY}
EXAMPLES: dict[str, tuple[WorkCase, list[str], list[str]]] = {
    "A": (a_case(MAT), ["0", "0.005332", "0.2584"], ["2.4705", "3.2949", "4.9242"]),
    "B": (
        a_case(MAT, mounted=date(2022, 11, 25), seen=dict(B_SEEN)),
        ["0", "0.1200", "0.6764"],
        ["0.44233", "0.84637", "1.9348"],
    ),
    # By dates the six years are 5.99863: of the chances the table has that of now.
    "C": (a_case(MAT, mounted=date(2020, 11, 25)), ["0.3758"], ["0", "0", "0"]),
    "D": (a_case(MAT, climate=WARM), ["0", "0.02857", "0.8022"], ["1.2564", "1.6756", "2.5042"]),
    "E": (
        a_case(MAT, WORK, ACRYLIC, climate=WARM),
        ["0", "0.02858", "0.8030"],
        ["1.2562", "1.6753", "2.5033"],
    ),
    "G": (a_case(WORK, TAPE), ["0", "0.02735", "0.5000"], ["1.3602", "1.9494", "3.2212"]),
    "I": (
        replace(a_case(MAT), experience={(Mechanism.ACID_MIGRATION, "groundwood board"): 1.35}),
        ["0", "0.007192", "0.3320"],
        ["2.1911", "2.9222", "4.3672"],
    ),
    "L": (
        a_case(WORK, replace(KRAFT, grade="groundwood board")),
        ["0", "0.0005409", "0.02979"],
        ["6.1764", "8.2372", "12.310"],
    ),
}
ALLOWED = (Replaceability.UNIQUE, Replaceability.SMALL_EDITION, Replaceability.REPLACEABLE)


def comes_to(value: float | None, printed: str) -> None:
    """Compare to the last digit printed."""
    assert value is not None
    half_of_last_digit = 0.5 * 10.0 ** int(Decimal(printed).as_tuple().exponent)
    np.testing.assert_allclose(value, float(printed), rtol=0, atol=half_of_last_digit * 1.0001)


@pytest.mark.parametrize("name", EXAMPLES)
def test_the_worked_examples_come_out_of_whole_works(name: str) -> None:
    case, chances, dates = EXAMPLES[name]
    found = forecast_of(case)
    later = (found.chance_unseen_now, found.chance_unseen_1y, found.chance_unseen_5y)
    for computed, printed in zip(later, chances, strict=False):
        comes_to(computed.chance, printed)
    works = [replace(case, work=WorkFacts(replaceability=how)) for how in ALLOWED]
    for one, printed in zip(forecasts(works), dates, strict=True):
        comes_to(one.unframing.formula_years, printed)


def test_example_c_by_dates_will_show_new_harm_within_five_years() -> None:
    found = forecast_of(EXAMPLES["C"][0])
    comes_to(found.chance_unseen_now.chance, "0.3758")
    comes_to(found.chance_new_5y.chance, "0.8125")


def test_example_n_a_seen_mat_and_a_backing_that_nobody_ever_saw() -> None:
    mat = replace(MAT, fitted_first_day=day_number(date(2025, 11, 25)))
    case = a_case(mat, WORK, KRAFT, mounted=date(2006, 11, 25), seen=dict(B_SEEN))
    found = forecast_of(case)
    comes_to(found.chance_unseen_now.chance, "0.6201")
    comes_to(found.chance_unseen_5y.chance, "0.8843")
    assert found.unframing.formula_years == 0
    assert found.weak_layer == "backing board"


def test_the_drivers_add_up_to_one_and_the_heaviest_comes_first() -> None:
    drivers = forecast_of(EXAMPLES["E"][0]).drivers
    assert [(d.mechanism, d.layer, d.place, d.median) for d in drivers] == [
        (Mechanism.ACID_MIGRATION, "window mat", Shown.MARGINS, 7.0),
        (Mechanism.ADHESIVE_AGEING, "adhesive", Shown.UNDER_HINGES, 30.0),
    ]
    # Ageing rates at 24 degC and 55 %: design table, examples D and E.
    np.testing.assert_allclose([d.rate_per_year for d in drivers], [1.96636, 1.666124], atol=5e-6)
    np.testing.assert_allclose(sum(d.share_5y for d in drivers), 1)


def test_a_plan_with_nothing_in_it_has_no_driver_and_no_date_by_formula() -> None:
    found = forecast_of(a_case())
    assert (found.drivers, found.unframing.formula_years, found.chance_new_5y.chance) == (
        (),
        None,
        0,
    )


def test_a_chance_has_a_range_for_typical_times_half_and_twice_as_long() -> None:
    new = forecast_of(a_case(MAT)).chance_new_5y
    expected = [1 - 0.5 ** ((5 / (7 * factor)) ** 2.5) for factor in (1, 2, 0.5)]
    np.testing.assert_allclose([new.chance, new.if_twice_as_long, new.if_half_as_long], expected)


def test_a_sound_package_is_left_in_peace_for_twenty_years() -> None:
    found = forecast_of(sound())
    assert found.verdict.verdict is Verdict.SOUND
    assert (found.unframing.on, found.advice) == (day_number(date(2046, 11, 25)), None)


def test_a_package_not_all_sound_is_unframed_within_ten_years() -> None:
    gummed = HoldFacts(grade="gummed tape hinges", count=2)
    found = forecast_of(a_case(RAG, WORK, RAG_BACK, holds=(gummed,), recorded=True))
    assert found.unframing.formula_years is not None
    assert found.unframing.formula_years > 10
    assert found.unframing.on == day_number(date(2036, 11, 25))


@pytest.mark.parametrize(
    ("use", "due"),
    [(PlaceUse.DISPLAY, date(2027, 11, 25)), (PlaceUse.STORAGE, date(2029, 11, 25))],
)
def test_a_look_is_due_within_a_year_on_display_and_three_in_storage(
    use: PlaceUse, due: date
) -> None:
    assert forecast_of(sound(climate=of_use(use))).look.on == day_number(due)


@pytest.mark.parametrize(
    ("case", "years"),
    [
        (sound(climate=of_use(PlaceUse.BOX)), 20),
        (
            a_case(
                replace(RAG, role=LayerRole.FOLDER, grade="white-core board, not tested"),
                WORK,
                RAG_BACK,
                recorded=True,
                climate=of_use(PlaceUse.BOX),
                work=WorkFacts(replaceability=Replaceability.REPLACEABLE),
            ),
            10,
        ),
        (
            a_case(
                replace(RAG, role=LayerRole.FOLDER, grade="unknown board"),
                WORK,
                RAG_BACK,
                recorded=True,
                climate=of_use(PlaceUse.BOX),
                work=WorkFacts(replaceability=Replaceability.REPLACEABLE),
            ),
            5,
        ),
    ],
)
def test_the_sheets_of_a_box_come_out_the_rarer_the_better_they_lie(
    case: WorkCase, years: int
) -> None:
    latest = add_months(TODAY, 12 * years)
    found = forecast_of(case)
    assert f"{years} years" in found.unframing.sentences[-1]
    assert found.unframing.on is not None
    assert found.unframing.on <= latest


def test_a_box_is_checked_as_a_box_every_year_and_not_looked_at_through_glazing() -> None:
    found = forecast_of(sound(climate=of_use(PlaceUse.BOX), last_box_check_day=TODAY + 6))
    assert (found.box_check.on, found.look.on) == (day_number(date(2027, 12, 1)), None)
    assert (found.due_on, found.due_kind) == (found.box_check.on, DueKind.BOX_CHECK)


def test_a_work_on_the_wall_has_no_box_check() -> None:
    assert forecast_of(sound()).box_check.on is None


def test_a_pastel_is_not_opened_because_so_many_years_have_passed() -> None:
    found = forecast_of(sound(work=WorkFacts(surface=Surface.FRIABLE)))
    assert found.unframing.formula_years is not None
    assert found.unframing.on == add_years(TODAY, found.unframing.formula_years)
    assert found.unframing.sentences[-1] == (
        "Limits: no latest day by calendar, because its surface is friable;"
        " it is unframed only for a stated reason."
    )


def test_what_is_stuck_down_all_over_is_in_the_chance_and_sets_no_date() -> None:
    film = HoldFacts(grade="rubber pressure-sensitive tape", covers_all=True)
    found = forecast_of(a_case(WORK, holds=(film,), recorded=True))
    assert found.unframing.formula_years is None
    assert found.chance_new_5y.chance > 0.4
    assert "cannot be freed without harm" in found.unframing.sentences[1]


def test_years_seen_clean_hold_the_date_back_by_a_quarter() -> None:
    case = replace(
        a_case(replace(MAT, grade="corrugated or brown kraft board"), mounted=date(2014, 11, 25)),
        seen=SeenFacts(days={Shown.MARGINS: TODAY}),
        last_unframing_day=TODAY,
        clear_at_last_unframing=frozenset({Shown.MARGINS}),
        is_unchanged_since=True,
    )
    found = forecast_of(case)
    # Twelve clean years: three more before that share counts.
    assert found.unframing.on == add_years(TODAY, 3)
    assert "Clean years: seen and clear after 12.0 years (margins)" in found.unframing.sentences[1]
    assert forecast_of(replace(case, is_unchanged_since=False)).unframing.on == add_months(
        TODAY, 12
    )


def test_clean_years_of_one_place_do_not_excuse_another() -> None:
    case = replace(
        a_case(MAT, WORK, KRAFT, mounted=date(2006, 11, 25), seen=dict(B_SEEN)),
        last_unframing_day=TODAY,
        clear_at_last_unframing=frozenset({Shown.MARGINS}),
        is_unchanged_since=True,
    )
    assert forecast_of(case).unframing.on == add_months(TODAY, 12)


def test_a_work_never_examined_is_not_overdue_and_stands_on_its_own_list() -> None:
    found = forecast_of(
        WorkCase(work=WorkFacts(), figures=FIGURES, today=TODAY, was_ever_examined=False)
    )
    assert (found.first_survey, found.due_on, found.due_kind) == (
        True,
        None,
        DueKind.FIRST_SURVEY,
    )
    assert (found.unframing.on, found.look.on, found.advice) == (None, None, None)


def test_a_work_without_a_package_on_record_is_unknown_all_round() -> None:
    found = forecast_of(WorkCase(work=WorkFacts(), figures=FIGURES, today=TODAY))
    assert len(found.verdict.unknown) == 3
    assert found.verdict.verdict is not Verdict.SOUND
    # Assumed mounted twenty years before its first record.
    assert {driver.clock_now for driver in found.drivers} == {20.0}


def test_a_sign_that_does_not_wait_comes_before_every_date() -> None:
    mould = FindingFacts(
        term="active mould", urgent_sign=UrgentSign.ACTIVE_MOULD, first_seen_day=TODAY - 1
    )
    found = forecast_of(sound(findings=(mould,)))
    assert (found.due_on, found.due_kind, found.may_be_opened) == (
        TODAY - 1,
        DueKind.URGENT,
        False,
    )
    assert found.unframing.sentences[-1].startswith("Does not wait: Active mould since 24 November")


def test_a_mat_that_will_burn_is_rematted_and_not_looked_at_again() -> None:
    found = forecast_of(EXAMPLES["C"][0])
    assert (found.advice, found.advised_on) == (Advice.REMAT, TODAY)
    # More likely than not already: at the earliest 90 days from today.
    assert found.remat_by == TODAY + 90


def test_the_remat_date_does_not_recede() -> None:
    first = forecast_of(EXAMPLES["C"][0])
    later = replace(EXAMPLES["C"][0], today=TODAY + 400, advised_on=first.advised_on)
    assert forecast_of(later).remat_by == first.remat_by


def test_a_package_that_holds_is_not_advised_against_any_more() -> None:
    found = forecast_of(sound(advised_on=TODAY - 500))
    assert (found.advice, found.advised_on, found.remat_by) == (None, None, None)


def test_a_new_mount_starts_the_advice_again() -> None:
    found = forecast_of(
        replace(
            a_case(WORK, replace(TAPE, grade="unknown adhesive"), MAT, climate=WARM),
            advised_on=TODAY - 2000,
        )
    )
    assert found.advised_on == TODAY


def test_a_work_to_be_rematted_is_not_unframed_just_to_be_looked_at() -> None:
    case = replace(EXAMPLES["C"][0], last_look_day=TODAY)
    found = forecast_of(case)
    assert (found.due_on, found.due_kind) == (found.remat_by, DueKind.REMAT)


def test_a_remat_advised_is_what_opens_the_work_unless_something_in_it_is_unknown() -> None:
    burning = forecast_of(EXAMPLES["C"][0])
    decides = deciding_step(burning.unframing.steps)
    assert not burning.is_unframed_first
    assert decides is not None
    assert decides.kind is StepKind.REMAT
    assert (burning.remat.on, burning.remat.sentences) == (burning.remat_by, (decides.sentence,))
    unknown = forecast_of(a_case(WORK, replace(TAPE, grade="unknown adhesive"), MAT, climate=WARM))
    assert unknown.advice is not None
    assert unknown.is_unframed_first


def test_new_harm_is_parted_by_who_would_notice_it() -> None:
    # Corner pockets and an accident show at the front, a groundwood mat at the margins.
    found = forecast_of(a_case(RAG, WORK, RAG_BACK, holds=(POCKETS,)))
    parts = found.new_harm_by_place
    unharmed = (1 - parts.at_a_look) * (1 - parts.when_opened) * (1 - parts.never_seen)
    assert 1 - unharmed == pytest.approx(found.chance_new_5y.chance, abs=1e-12)
    mat = forecast_of(EXAMPLES["A"][0]).new_harm_by_place
    # Worked example A: a groundwood mat alone, 0.2584 within five years.
    assert mat.when_opened == pytest.approx(0.2584, abs=5e-5)
    assert (mat.at_a_look, mat.never_seen) == (0.0, 0.0)


def test_harm_where_nobody_can_see_is_told_apart() -> None:
    film = HoldFacts(grade="rubber pressure-sensitive tape", covers_all=True)
    parts = forecast_of(a_case(WORK, holds=(film,), recorded=True)).new_harm_by_place
    assert parts.never_seen > 0.4


def test_a_hinge_that_lets_go_is_rehinged() -> None:
    tape = HoldFacts(grade="rubber pressure-sensitive tape")
    case = a_case(RAG, WORK, RAG_BACK, holds=(tape,), mounted=date(2018, 11, 25))
    assert forecast_of(case).advice is Advice.REHINGE


def test_a_date_that_is_past_stays_where_it_was() -> None:
    case = EXAMPLES["C"][0]
    days = {forecast_of(replace(case, today=TODAY + later)).unframing.on for later in (0, 9, 999)}
    assert days == {add_years(day_number(date(2020, 11, 25)), 2.47054)}


@pytest.mark.parametrize("name", EXAMPLES)
def test_many_works_at_once_are_the_works_one_by_one(name: str) -> None:
    together = forecasts([case for case, _, _ in EXAMPLES.values()])
    assert together[list(EXAMPLES).index(name)] == forecast_of(EXAMPLES[name][0])


BOARDS = FIGURES.grades(Mechanism.ACID_MIGRATION)
MEDIANS = {grade: FIGURES.figure(Mechanism.ACID_MIGRATION, grade).median for grade in BOARDS}
KNOWN = [grade for grade, median in MEDIANS.items() if median is not None]


def years(case: WorkCase) -> float:
    found = forecast_of(case).unframing.formula_years
    return float("inf") if found is None else found


@settings(deadline=None, max_examples=50)
@given(st.sampled_from(KNOWN), st.sampled_from(KNOWN), st.integers(0, 40))
def test_a_worse_board_is_never_due_later(one: str, other: str, age: int) -> None:
    better, worse = sorted((one, other), key=lambda g: MEDIANS[g] or 0, reverse=True)
    mounted = date(2026 - age, 11, 25)
    first = years(a_case(replace(MAT, grade=better), mounted=mounted))
    assert years(a_case(replace(MAT, grade=worse), mounted=mounted)) <= first + 1e-6


@settings(deadline=None, max_examples=50)
@given(
    st.sampled_from(BOARDS),
    st.integers(1, 40),
    st.sets(st.sampled_from(Shown)),
    st.sampled_from(Shown),
)
def test_having_seen_more_never_makes_a_work_due_earlier(
    grade: str, age: int, seen: set[Shown], more: Shown
) -> None:
    layers = (replace(MAT, grade=grade), WORK, replace(KRAFT, distance=None))
    mounted = date(2026 - age, 11, 25)
    less_seen = a_case(*layers, mounted=mounted, seen=dict.fromkeys(seen, TODAY))
    more_seen = a_case(*layers, mounted=mounted, seen=dict.fromkeys({*seen, more}, TODAY))
    assert years(more_seen) >= years(less_seen) - 1e-6


@settings(deadline=None, max_examples=50)
@given(st.sampled_from(BOARDS), st.integers(0, 40))
def test_chances_grow_with_the_years(grade: str, age: int) -> None:
    case = a_case(replace(MAT, grade=grade), mounted=date(2026 - age, 11, 25))
    found = forecast_of(case)
    now, one, five = (
        c.chance for c in (found.chance_unseen_now, found.chance_unseen_1y, found.chance_unseen_5y)
    )
    assert 0 <= now <= one <= five <= 1
