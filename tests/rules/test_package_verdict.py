import csv
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from models.rules.default_figures import DefaultFigures, read_default_figures
from models.rules.package_facts import (
    BenchFacts,
    HoldFacts,
    LayerFacts,
    PackageFacts,
    RemainFacts,
    WorkFacts,
)
from models.rules.package_verdict import PackageVerdict, package_verdict
from models.vocabulary import (
    Answer,
    BenchTest,
    Distance,
    Freeing,
    KnownBy,
    LayerRole,
    Mechanism,
    PatResult,
    ProcessGroup,
    Question,
    Verdict,
)

TODAY = 20_000
DEFAULTS = Path(__file__).resolve().parents[2] / "seed_data" / "risk_defaults.csv"
WORK = LayerFacts(role=LayerRole.WORK)
GLASS = LayerFacts(role=LayerRole.GLAZING, material="float glass")
RAG = LayerFacts(role=LayerRole.WINDOW_MAT, grade="cotton rag board, buffered", material="rag mat")
RAG_BACK = replace(RAG, role=LayerRole.MOUNT_BOARD, material="rag board")
GROUNDWOOD = LayerFacts(role=LayerRole.WINDOW_MAT, grade="groundwood board")
POCKETS = HoldFacts(grade="corner pockets or edge strips", count=4)
PASTE = HoldFacts(grade="paper hinges with starch or cellulose ether", count=2)
TAPE = HoldFacts(grade="rubber pressure-sensitive tape", material="masking tape")


def figures() -> DefaultFigures:
    with DEFAULTS.open(newline="", encoding="utf-8") as file:
        return read_default_figures(csv.DictReader(file))


FIGURES = figures()


def judged(
    *layers: LayerFacts,
    holds: tuple[HoldFacts, ...] = (POCKETS,),
    remains: tuple[RemainFacts, ...] = (),
    process_group: str = "",
    today: int = TODAY,
) -> PackageVerdict:
    package = PackageFacts(layers=layers, holds=holds, remains=remains, mounted_day=TODAY)
    return package_verdict(package, WorkFacts(process_group=process_group), FIGURES, today)


def of_one(layer: LayerFacts, process_group: str = "") -> tuple[Verdict, str]:
    found = judged(layer, WORK, RAG_BACK, process_group=process_group).layers[0]
    return found.verdict, found.why


def test_rag_boards_and_corner_pockets_are_sound_and_the_work_lifts_out() -> None:
    package = judged(GLASS, RAG, WORK, RAG_BACK)
    assert (package.verdict, package.freeing, package.unknown) == (
        Verdict.SOUND,
        Freeing.NO_ADHESIVE,
        (),
    )
    assert package.sentence == "Every layer is sound. The work lifts out."
    assert package.is_known_and_sound


def test_a_package_is_only_as_good_as_its_worst_layer() -> None:
    package = judged(GLASS, GROUNDWOOD, WORK, RAG_BACK, holds=(PASTE,))
    assert [(layer.role, layer.verdict) for layer in package.layers] == [
        ("glazing", Verdict.SOUND),
        ("window mat", Verdict.HARMFUL),
        ("mount board", Verdict.SOUND),
        ("hold", Verdict.SOUND),
    ]
    assert (package.verdict, package.weak_layer) == (Verdict.HARMFUL, "window mat")
    assert package.sentence == (
        "The weakest link is the window mat, harmful. It touches the work, and"
        " groundwood board typically harms there after 7 years. The work is freed with water."
    )


@pytest.mark.parametrize(
    ("distance", "verdict"),
    # 7 years at the work, 17.5 facing it, 56 apart from it.
    [
        (Distance.TOUCHES, Verdict.HARMFUL),
        (Distance.FACES, Verdict.HARMFUL),
        (Distance.APART, Verdict.DOUBTFUL),
    ],
)
def test_a_layer_is_judged_at_its_own_distance(distance: Distance, verdict: Verdict) -> None:
    assert of_one(replace(GROUNDWOOD, distance=distance))[0] is verdict


@pytest.mark.parametrize(
    ("median", "verdict"),
    [
        ("19.9", Verdict.HARMFUL),
        ("20", Verdict.DOUBTFUL),
        ("60", Verdict.DOUBTFUL),
        ("60.1", Verdict.SOUND),
    ],
)
def test_more_than_sixty_years_is_sound_and_less_than_twenty_harmful(
    median: str, verdict: Verdict
) -> None:
    with DEFAULTS.open(newline="", encoding="utf-8") as file:
        rows = list(csv.DictReader(file))
    changed = read_default_figures(
        {**row, "median": median} if row["grade"] == "groundwood board" else row for row in rows
    )
    package = PackageFacts(layers=(GROUNDWOOD, WORK), is_recorded=False)
    assert package_verdict(package, WorkFacts(), changed, TODAY).verdict is verdict


def test_glass_harms_by_none_of_the_known_ways() -> None:
    assert of_one(GLASS) == (Verdict.SOUND, "It harms by none of the known ways.")


def test_unknown_is_never_sound_and_the_open_questions_are_named() -> None:
    package = judged(WORK, holds=())
    assert package.unknown == (Question.IN_FRONT, Question.BEHIND, Question.HOLDS)
    assert Verdict.SOUND not in [layer.verdict for layer in package.layers]
    assert package.sentence.endswith("Not known: what is in front, what is behind, what holds it.")


def test_an_unknown_board_is_suspect_and_not_a_bad_board() -> None:
    assert of_one(replace(GROUNDWOOD, grade="unknown board")) == (
        Verdict.DOUBTFUL,
        "Nobody knows what it is.",
    )


def test_an_unknown_board_that_tests_as_groundwood_is_harmful() -> None:
    tests = (
        BenchFacts(test=BenchTest.BEVEL_COLOUR, result="brown"),
        BenchFacts(test=BenchTest.LIGNIN_SPOT, result="red"),
    )
    assert of_one(replace(GROUNDWOOD, grade="unknown board", tests=tests)) == (
        Verdict.HARMFUL,
        "By its tests it is groundwood (97 %).",
    )


@pytest.mark.parametrize("known_by", [KnownBy.TOLD, KnownBy.GUESSED, None])
def test_what_was_told_or_guessed_is_doubtful_at_best(known_by: KnownBy | None) -> None:
    assert of_one(replace(RAG, known_by=known_by))[0] is Verdict.DOUBTFUL


def test_hearsay_does_not_make_a_bad_board_better() -> None:
    assert of_one(replace(GROUNDWOOD, known_by=KnownBy.TOLD))[0] is Verdict.HARMFUL


def test_a_failed_activity_test_is_a_fault_against_a_photograph_only() -> None:
    failed = replace(RAG, pat=PatResult.FAILED)
    assert of_one(failed, ProcessGroup.SILVER_PHOTOGRAPH) == (
        Verdict.HARMFUL,
        "It failed the Photographic Activity Test.",
    )
    assert of_one(failed)[0] is Verdict.SOUND


def test_contested_advice_is_said_and_changes_no_verdict() -> None:
    package = judged(
        replace(RAG, buffered=True), WORK, RAG_BACK, process_group=ProcessGroup.CYANOTYPE
    )
    assert package.layers[0].verdict is Verdict.SOUND
    assert [remark.weight for remark in package.layers[0].remarks] == ["advice"]


@pytest.mark.parametrize(
    ("layer", "why"),
    [
        (replace(RAG, kappa=9.0), "It holds lignin (kappa 9, at most 5 is asked)."),
        (
            replace(RAG, buffered=True, alkaline_reserve_percent=1.2),
            "Its alkaline reserve is 1.2 %, at least 2 % is asked.",
        ),
        (
            replace(RAG, tests=(BenchFacts(test=BenchTest.PH_PEN, result="acid"),)),
            "The pH pen says acid, against its grade.",
        ),
        (replace(RAG, recalled=True), "Its lot or material was recalled."),
    ],
)
def test_what_speaks_against_a_sound_board_makes_it_doubtful(layer: LayerFacts, why: str) -> None:
    assert of_one(layer) == (Verdict.DOUBTFUL, why)


def test_a_hold_freed_by_solvent_or_heat_is_doubtful_at_best() -> None:
    tissue = HoldFacts(grade="heat-set tissue or film")
    package = judged(RAG, WORK, RAG_BACK, holds=(tissue,))
    assert (package.verdict, package.freeing) == (Verdict.DOUBTFUL, Freeing.SOLVENT_OR_HEAT)


def test_what_cannot_be_freed_without_harm_is_held_for_good() -> None:
    film = HoldFacts(grade="acrylic pressure-sensitive hinges or film", covers_all=True)
    package = judged(RAG, WORK, RAG_BACK, holds=(film,))
    assert package.held_for_good
    assert package.layers[-1].why == "Held for good: it cannot be freed without harm."


def test_the_worst_of_what_touches_says_how_the_work_is_freed() -> None:
    assert judged(RAG, WORK, RAG_BACK, holds=(PASTE, TAPE)).freeing is Freeing.SOLVENT_OR_HEAT


def test_tape_that_joins_mat_to_board_does_not_hold_the_work() -> None:
    tape = LayerFacts(role=LayerRole.MAT_TO_BOARD_TAPE, grade="rubber pressure-sensitive")
    package = judged(RAG, WORK, RAG_BACK, tape)
    assert (package.verdict, package.freeing) == (Verdict.SOUND, Freeing.NO_ADHESIVE)


def test_residue_of_old_tape_is_still_on_the_work_and_does_not_hold_it() -> None:
    residue = RemainFacts(what="residue", grade="rubber pressure-sensitive")
    package = judged(RAG, WORK, RAG_BACK, remains=(residue,))
    assert (package.verdict, package.freeing) == (Verdict.HARMFUL, Freeing.NO_ADHESIVE)
    assert package.weak_layer == "residue of an earlier mount"


def test_a_planned_package_has_no_open_question() -> None:
    package = PackageFacts(layers=(RAG, WORK), is_recorded=False, behind=Answer.UNKNOWN)
    assert package_verdict(package, WorkFacts(), FIGURES, TODAY).unknown == ()


@given(st.integers(0, 100_000))
def test_the_verdict_does_not_depend_on_the_day(today: int) -> None:
    on_the_day = judged(GROUNDWOOD, WORK, RAG_BACK, holds=(PASTE,), today=today)
    assert on_the_day == judged(GROUNDWOOD, WORK, RAG_BACK, holds=(PASTE,))


@given(st.sampled_from(FIGURES.grades(Mechanism.ACID_MIGRATION)), st.sampled_from(KnownBy))
def test_a_worse_way_of_knowing_never_betters_a_verdict(grade: str, known_by: KnownBy) -> None:
    order = [Verdict.SOUND, Verdict.DOUBTFUL, Verdict.HARMFUL]
    seen = of_one(replace(RAG, grade=grade))[0]
    assert order.index(of_one(replace(RAG, grade=grade, known_by=known_by))[0]) >= order.index(seen)
