"""What surroundings, glazing, frame and its own nature do to a work, row by row."""

from dataclasses import replace
from math import log

import pytest
from hypothesis import given
from hypothesis import strategies as st

from models.risk.hazard import chance, hazard_unseen
from models.rules.calendar_days import add_years
from models.rules.package_components import as_arrays
from models.rules.package_facts import ClimateFacts, LayerFacts, SeenFacts, WorkFacts
from models.vocabulary import LayerRole, Mechanism, PlaceUse, ProcessGroup, Shown, Surface
from tests.rules.exposed_work import (
    BACK,
    FRAMED,
    GLASS,
    POCKETS,
    RAG,
    SEAL,
    SEALED,
    TODAY,
    WORK,
    one,
    package,
    rows_of,
    told,
)

CELLAR = ClimateFacts(use=PlaceUse.STORAGE, temperature_c=14, rh_percent=72)
STORE = ClimateFacts(use=PlaceUse.STORAGE)
BOX = ClimateFacts(use=PlaceUse.BOX)
SILVER = WorkFacts(
    technique="gelatin silver print, fibre base",
    process_group=ProcessGroup.SILVER_PHOTOGRAPH,
    surface=Surface.GELATIN,
)


def test_a_well_made_package_in_a_good_room_has_few_ways_to_come_to_harm() -> None:
    rows = rows_of(package(*SEALED))
    assert [(r.mechanism, r.grade, r.shown, r.because) for r in rows] == [
        (
            "accident",
            "on display",
            "front",
            "it is on display",
        ),
        (
            "acid migration",
            "cotton rag board, unbuffered",
            "margins",
            "it touches the work",
        ),
        (
            "acid migration",
            "cotton rag board, unbuffered",
            "verso",
            "it touches the work",
        ),
        (
            "hold failure",
            "corner pockets or edge strips",
            "front",
            "it holds the work",
        ),
        (
            "insects and dust",
            "sealed package",
            "front",
            "seals open with the years",
        ),
    ]


def test_a_frame_without_a_seal_on_record_lets_in_insects_and_dust() -> None:
    row = one(Mechanism.INSECTS_AND_DUST, rows_of(package(*FRAMED)))
    assert (row.grade, row.median, row.because) == ("unsealed package", 8, "no seal on record")
    assert row.clock_now == pytest.approx(10, abs=0.01)


def test_a_new_seal_starts_its_clock_again() -> None:
    seal = replace(SEAL, fitted_first_day=add_years(TODAY, -3))
    row = one(Mechanism.INSECTS_AND_DUST, rows_of(package(*FRAMED, seal)))
    assert (row.grade, row.key) == ("sealed package", 9)
    assert row.clock_now == pytest.approx(3, abs=0.01)


def test_in_a_box_and_in_a_folder_there_is_no_frame_to_seal() -> None:
    assert told(Mechanism.INSECTS_AND_DUST, rows_of(package(*FRAMED), climate=BOX)) == []
    assert told(Mechanism.INSECTS_AND_DUST, rows_of(package(RAG, WORK, BACK))) == []


@pytest.mark.parametrize(
    ("surface", "grade", "median"),
    [
        (Surface.FRIABLE, "friable surface", 4),
        (Surface.GELATIN, "gelatin surface", 10),
        (Surface.OTHER, "other surface", 40),
    ],
)
def test_what_can_touch_its_glazing_sticks_by_its_surface(
    surface: Surface, grade: str, median: float
) -> None:
    work = WorkFacts(surface=surface)
    rows = rows_of(package(GLASS, WORK, BACK), work=work)
    assert told(Mechanism.STICKING, rows) == [(grade, Shown.FRONT, median)]
    assert told(Mechanism.STICKING, rows_of(package(*FRAMED), work=work)) == []


def test_a_sheet_taped_all_round_cannot_move() -> None:
    row = one(Mechanism.RESTRAINT, rows_of(package(*FRAMED, method="taped all round")))
    assert (row.name, row.because) == (
        "taped all round",
        "the sheet is held along all its edges",
    )


def test_pockets_without_room_restrain_a_large_sheet_in_a_damp_place() -> None:
    large = WorkFacts(width_mm=1200, height_mm=800)
    tight = replace(POCKETS, clearance_mm=0.5)
    row = one(Mechanism.RESTRAINT, rows_of(package(*FRAMED, hold=tight), work=large))
    # 1200 mm * 1e-4 a percent * 10 % is 1.2 mm in all.
    assert (row.key, row.because) == (3, "in air of 60 % it grows 0.6 mm a side and has 0.5 mm")
    assert told(Mechanism.RESTRAINT, rows_of(package(*FRAMED), work=large)) == []


def test_mould_in_a_cellar_is_example_m() -> None:
    seen = SeenFacts(days={Shown.BACK_OF_FRAME: TODAY})
    rows = rows_of(package(*SEALED), climate=CELLAR, seen=seen)
    row = one(Mechanism.MOULD, rows)
    assert (row.shown, row.median, row.shape, row.severity) == (Shown.BACK_OF_FRAME, 1, 4, 1)
    # Independent high-precision computation, design table, example M.
    assert row.rate_per_year == pytest.approx(2.53616, abs=5e-6)
    assert (row.clock_seen, row.clock_now) == (0, 0)
    assert row.because == "its place is damp: 14 °C and 72 %"


def test_a_mouldy_back_that_was_seen_does_not_start_again() -> None:
    seen_day = TODAY - 100
    seen = SeenFacts(
        days={Shown.VERSO: seen_day}, harm_days={(Mechanism.MOULD, Shown.VERSO): seen_day}
    )
    row = one(Mechanism.MOULD, rows_of(package(*SEALED, years=1), climate=CELLAR, seen=seen))
    assert row.clock_seen == pytest.approx((365 - 100) / 144.017, rel=2e-2)
    assert row.clock_now - row.clock_seen == pytest.approx(100 / 144.017, rel=1e-4)


def test_what_grew_in_a_damp_place_and_dried_is_still_unseen() -> None:
    moved = TODAY - 300
    rows = rows_of(package(*SEALED, years=2), past=((moved, CELLAR),))
    mould = [row for row in rows if row.mechanism is Mechanism.MOULD]
    assert [(row.rate_per_year, row.because) for row in mould] == [
        (0, "a place before was damp"),
        (0, "a place before was damp"),
    ]
    assert mould[0].clock_now == 0
    assert mould[1].clock_now == pytest.approx((730.5 - 300) / 144.017, rel=2e-3)
    assert chance(hazard_unseen(as_arrays([mould]), 0))[0] > 0.99


def test_paper_foxes_from_sixty_percent_and_metal_does_not() -> None:
    damp = ClimateFacts(rh_percent=62)
    assert told(Mechanism.FOXING, rows_of(package(*SEALED), climate=damp)) == [
        ("by damp clock from 60 %", Shown.FRONT, 4)
    ]
    plate = WorkFacts(technique="daguerreotype")
    assert told(Mechanism.FOXING, rows_of(package(*SEALED), climate=damp, work=plate)) == []
    assert told(Mechanism.MOULD, rows_of(package(*SEALED), climate=damp)) == []


def test_an_accident_is_counted_by_the_years_in_places_of_each_use() -> None:
    # Four years on display, then six in storage, ten in all; one move.
    moved = add_years(TODAY, -6)
    rows = rows_of(package(*SEALED), climate=STORE, past=((moved, ClimateFacts()),))
    row = one(Mechanism.ACCIDENT, rows)
    hazard = log(2) * (4 / 346.6 + 6 / 1386.3) - log(0.99)
    assert row.grade == "in storage"
    assert row.because == "it is in storage, and was moved once"
    assert hazard_unseen(as_arrays([[row]]), 0)[0] == pytest.approx(hazard, rel=1e-3)


def test_a_move_that_was_followed_by_a_look_is_over() -> None:
    moved = add_years(TODAY, -6)
    seen = SeenFacts(days={Shown.FRONT: moved + 1})
    past = ((moved, STORE), (TODAY - 10, STORE), (TODAY - 5, STORE))
    row = one(Mechanism.ACCIDENT, rows_of(package(*SEALED), past=past, climate=STORE, seen=seen))
    unseen = hazard_unseen(as_arrays([[row]]), 0)[0]
    assert unseen == pytest.approx(log(2) * 6 / 1386.3 - 2 * log(0.99), rel=1e-3)
    assert row.because == "it is in storage, and was moved 2 times"


def test_silver_tarnishes_where_no_seal_keeps_out_the_air() -> None:
    assert told(Mechanism.TARNISH_OR_OZONE, rows_of(package(*FRAMED), work=SILVER)) == [
        ("unsealed silver or dye inkjet", Shown.FRONT, 20)
    ]
    assert told(Mechanism.TARNISH_OR_OZONE, rows_of(package(*SEALED), work=SILVER)) == []


def test_groundwood_paper_browns_of_itself_since_it_was_made() -> None:
    work = WorkFacts(groundwood_support=True, made_first_day=add_years(TODAY, -50))
    row = one(Mechanism.OWN_AGEING, rows_of(package(*SEALED), work=work))
    assert row.clock_now == pytest.approx(50, abs=0.01)
    assert (row.is_of_package, row.shown) == (False, Shown.FRONT)


def test_a_face_mount_comes_loose_and_no_package_helps() -> None:
    work = WorkFacts(technique="face-mounted photograph", process_group=ProcessGroup.DYE_PHOTOGRAPH)
    rows = rows_of(package(*SEALED, method="face-mounted"), work=work)
    assert told(Mechanism.FACE_MOUNT, rows) == [
        ("colour photograph on acrylic sheet", Shown.FRONT, 40)
    ]


def test_an_inkjet_print_glazed_the_week_it_was_printed_fogs_its_glazing() -> None:
    mounted = add_years(TODAY, -10)
    work = WorkFacts(
        technique="inkjet print, pigment",
        process_group=ProcessGroup.INKJET,
        support="resin-coated paper",
        made_first_day=mounted - 7,
        made_last_day=mounted - 7,
    )
    assert told(Mechanism.FOGGING, rows_of(package(*SEALED), work=work)) == [
        ("inkjet on barrier paper framed before it was dry", Shown.FRONT, 5)
    ]
    dry = replace(work, made_first_day=mounted - 15, made_last_day=mounted - 15)
    assert told(Mechanism.FOGGING, rows_of(package(*SEALED), work=dry)) == []


def test_a_photograph_has_its_boards_and_holds_judged_by_the_activity_test() -> None:
    rows = rows_of(package(*SEALED), work=SILVER)
    assert told(Mechanism.PHOTO_ACTIVITY, rows) == [
        ("not tested", Shown.MARGINS, 40),
        ("not tested", Shown.VERSO, 40),
    ]


def test_a_plan_that_hangs_nowhere_meets_mould_and_nothing_else_of_its_surroundings() -> None:
    rows = rows_of(package(RAG, WORK, BACK, recorded=False), climate=CELLAR)
    assert {row.mechanism for row in rows} == {
        Mechanism.ACID_MIGRATION,
        Mechanism.HOLD_FAILURE,
        Mechanism.MOULD,
    }


def test_what_the_collection_has_seen_counts_for_every_mechanism() -> None:
    key = Mechanism.MOULD, "by damp clock"
    rows = rows_of(package(*SEALED), climate=CELLAR, experience={key: 0.5})
    assert one(Mechanism.MOULD, rows).theta == 0.5


layers = st.builds(
    LayerFacts,
    role=st.sampled_from([role for role in LayerRole if role is not LayerRole.WORK]),
    grade=st.sampled_from([None, "groundwood board", "unknown board", "starch paste"]),
)
climates = st.builds(
    ClimateFacts,
    use=st.sampled_from(PlaceUse),
    temperature_c=st.floats(-5, 45),
    rh_percent=st.floats(0, 100),
)
works = st.builds(
    WorkFacts,
    process_group=st.sampled_from(ProcessGroup),
    surface=st.sampled_from(Surface),
    groundwood_support=st.booleans(),
)
stays = st.lists(st.tuples(st.integers(TODAY - 5000, TODAY), climates), max_size=3)


@given(
    st.lists(layers, max_size=4),
    st.lists(layers, max_size=4),
    works,
    climates,
    stays,
    st.none() | st.integers(TODAY - 6000, TODAY),
)
def test_whatever_is_on_record_its_rows_are_in_order_and_no_clock_runs_back(
    front: list[LayerFacts],
    behind: list[LayerFacts],
    work: WorkFacts,
    climate: ClimateFacts,
    past: list[tuple[int, ClimateFacts]],
    seen_day: int | None,
) -> None:
    rows = rows_of(
        package(*front, WORK, *behind),
        work=work,
        climate=climate,
        past=tuple(sorted(past, key=lambda stay: stay[0])),
        seen=SeenFacts(days=dict.fromkeys(Shown, seen_day)),
    )
    order = [(row.mechanism, list(Shown).index(row.shown)) for row in rows]
    assert order == sorted(order)
    assert [row for row in rows if row.rate_per_year < 0 or row.clock_seen < 0] == []
    assert [row for row in rows if not row.because] == []
    # A damp clock that runs back has a second row, for the highest it was.
    highest: dict[tuple[Mechanism, Shown, object], float] = {}
    for row in rows:
        key = row.mechanism, row.shown, (row.key, row.name, row.grade)
        highest[key] = max(highest.get(key, 0.0), row.clock_now)
    for row in rows:
        key = row.mechanism, row.shown, (row.key, row.name, row.grade)
        assert row.clock_seen <= highest[key] + 1e-9


@given(climates, works, st.floats(0, 30))
def test_a_seal_never_makes_harm_likelier(
    climate: ClimateFacts, work: WorkFacts, years: float
) -> None:
    def unseen(*layers: LayerFacts) -> float:
        rows = rows_of(package(*layers, years=years), work=work, climate=climate)
        return float(hazard_unseen(as_arrays([rows]), 1.0)[0])

    assert unseen(*SEALED) <= unseen(*FRAMED) + 1e-12
