import csv
from pathlib import Path

import numpy as np
import pytest

from models.risk.hazard import chance, hazard_unseen, years_to_chance
from models.rules.calendar_days import add_years
from models.rules.default_figures import DefaultFigures, read_default_figures
from models.rules.package_components import (
    Circumstances,
    ComponentRow,
    as_arrays,
    component_rows,
)
from models.rules.package_facts import (
    ClimateFacts,
    HoldFacts,
    LayerFacts,
    PackageFacts,
    RemainFacts,
    SeenFacts,
    WorkFacts,
)
from models.vocabulary import Answer, LayerRole, Mechanism, PlaceUse, Shown

TODAY = 20_000
WORK = LayerFacts(role=LayerRole.WORK)
MAT = LayerFacts(role=LayerRole.WINDOW_MAT, grade="groundwood board", key=1)
DEFAULTS = Path(__file__).resolve().parents[2] / "seed_data" / "risk_defaults.csv"


def shipped() -> DefaultFigures:
    with DEFAULTS.open(newline="", encoding="utf-8") as file:
        return read_default_figures(csv.DictReader(file))


def rows_of(
    *layers: LayerFacts,
    holds: tuple[HoldFacts, ...] = (),
    remains: tuple[RemainFacts, ...] = (),
    recorded: bool = False,
    years: float = 0,
    use: PlaceUse = PlaceUse.DISPLAY,
    climate: tuple[float, float] = (20, 50),
    seen: dict[Shown, int | None] | None = None,
    width_mm: float | None = None,
) -> tuple[ComponentRow, ...]:
    package = PackageFacts(
        layers=layers,
        holds=holds,
        remains=remains,
        front=Answer.NONE,
        behind=Answer.NONE,
        held=Answer.NONE,
        mounted_day=add_years(TODAY, -years),
        is_recorded=recorded,
    )
    return component_rows(
        Circumstances(
            package=package,
            work=WorkFacts(width_mm=width_mm),
            climate=ClimateFacts(use=use, temperature_c=climate[0], rh_percent=climate[1]),
            seen=SeenFacts(days=seen or {}),
            figures=shipped(),
            experience={},
            today=TODAY,
        )
    )


def of(mechanism: Mechanism, rows: tuple[ComponentRow, ...]) -> list[tuple[str, Shown, float]]:
    return [(r.grade, r.shown, r.median) for r in rows if r.mechanism is mechanism]


def test_a_mat_in_front_shows_at_the_margins_and_a_board_behind_on_the_verso() -> None:
    kraft = LayerFacts(role=LayerRole.BACKING, grade="corrugated or brown kraft board")
    film = LayerFacts(role=LayerRole.INTERLEAF, material="a sheet of tissue")
    rows = rows_of(MAT, WORK, film, kraft)
    assert of(Mechanism.ACID_MIGRATION, rows) == [
        ("groundwood board", Shown.MARGINS, 7.0),
        ("corrugated or brown kraft board", Shown.VERSO, 17.5),
    ]


def test_example_d_comes_out_of_the_facts_of_a_package() -> None:
    rows = [r for r in rows_of(MAT, WORK, climate=(24, 55)) if not r.from_outside]
    arrays = as_arrays([rows])
    # Independent high-precision computation, design table, example D.
    np.testing.assert_allclose(chance(hazard_unseen(arrays, 1)), 0.02857, atol=5e-6)
    np.testing.assert_allclose(years_to_chance(arrays, 0.05), 1.2564, atol=5e-5)


def test_an_unknown_board_at_a_distance_runs_slower() -> None:
    near = LayerFacts(role=LayerRole.WINDOW_MAT, grade="unknown board")
    far = LayerFacts(role=LayerRole.OVERMAT, grade="unknown board")
    rates = [r.rate_per_year for r in rows_of(far, near, WORK) if r.shown is Shown.MARGINS]
    assert rates == [pytest.approx(1 / 2.5), 1.0]


def test_paste_hinges_of_a_record_age_under_the_hinges_and_may_let_go() -> None:
    hinges = HoldFacts(grade="paper hinges with starch or cellulose ether", count=2)
    rows = rows_of(WORK, holds=(hinges,), recorded=True, width_mm=1000)
    assert of(Mechanism.ADHESIVE_AGEING, rows) == [("starch paste", Shown.UNDER_HINGES, 300.0)]
    assert of(Mechanism.HOLD_FAILURE, rows) == [(hinges.grade, Shown.FRONT, 22.5)]


def test_a_planned_package_has_only_the_adhesives_that_are_listed() -> None:
    hinges = HoldFacts(grade="paper hinges with starch or cellulose ether", count=2)
    assert of(Mechanism.ADHESIVE_AGEING, rows_of(WORK, holds=(hinges,))) == []


def test_tape_from_mat_to_board_does_not_age_on_the_work() -> None:
    tape = LayerFacts(role=LayerRole.MAT_TO_BOARD_TAPE, grade="rubber pressure-sensitive")
    assert of(Mechanism.ADHESIVE_AGEING, rows_of(MAT, WORK, tape)) == []


def test_in_a_box_a_hold_lasts_three_times_as_long() -> None:
    pockets = HoldFacts(grade="corner pockets or edge strips", count=4)
    rows = rows_of(WORK, holds=(pockets,), use=PlaceUse.BOX)
    assert of(Mechanism.HOLD_FAILURE, rows) == [(pockets.grade, Shown.FRONT, 180.0)]


def test_what_is_stuck_down_all_over_has_a_verso_that_nobody_can_see() -> None:
    film = HoldFacts(grade="heat-set tissue or film", covers_all=True)
    rows = rows_of(MAT, WORK, holds=(film,), recorded=True)
    adhesive = next(r for r in rows if r.mechanism is Mechanism.ADHESIVE_AGEING)
    assert (adhesive.shown, adhesive.can_be_seen) == (Shown.VERSO, False)


def test_a_stub_of_an_earlier_mount_keeps_the_clock_it_had() -> None:
    since = add_years(TODAY, -30)
    stub = RemainFacts(what="stub", grade="rubber pressure-sensitive", since_day=since)
    (row,) = [r for r in rows_of(WORK, remains=(stub,)) if r.mechanism is Mechanism.ADHESIVE_AGEING]
    assert row.clock_now == pytest.approx(30, abs=0.01)


def test_a_place_that_was_seen_counts_from_that_day() -> None:
    seen = add_years(TODAY, -3)
    mat = next(r for r in rows_of(MAT, WORK, years=10, seen={Shown.MARGINS: seen}) if r.key == 1)
    assert mat.clock_seen == pytest.approx(7, abs=0.01)
    assert mat.clock_now == pytest.approx(10, abs=0.01)


def test_a_blank_record_is_judged_as_unknown() -> None:
    package = PackageFacts(layers=(WORK,), mounted_day=TODAY)
    rows = component_rows(
        Circumstances(
            package=package,
            work=WorkFacts(),
            climate=ClimateFacts(),
            seen=SeenFacts(),
            figures=shipped(),
            experience={},
            today=TODAY,
        )
    )
    assert sorted({r.grade for r in rows}) == [
        "on display",
        "unknown adhesive",
        "unknown board",
        "unknown hold",
    ]
