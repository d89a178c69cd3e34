from models.rules.material_comparison import (
    Harm,
    MaterialWeighed,
    compare_materials,
    harms_of,
    role_of_kind,
)
from models.rules.proposed_package import StockMaterial
from models.vocabulary import Freeing, LayerRole, Mechanism, PatResult, Verdict
from seed_data.shipped import shipped_default_figures

TODAY = 20_000
FIGURES = shipped_default_figures()
RAG = StockMaterial(
    name="Rag", kind="mat board", grade="cotton rag board, buffered", buffered=True,
    alkaline_reserve_percent=2.5, kappa=1.0, pat=PatResult.PASSED,
)  # fmt: skip
GROUNDWOOD = StockMaterial(
    name="Grey", kind="mat board", grade="groundwood board", kappa=60.0,
    alkaline_reserve_percent=0.0,
)  # fmt: skip
UNKNOWN = StockMaterial(name="Found", kind="mat board", grade="unknown board")
PASTE = StockMaterial(
    name="Paste", kind="paste", grade="starch paste",
    hold_grade="paper hinges with starch or cellulose ether",
)  # fmt: skip
TAPE = StockMaterial(
    name="Tape", kind="tape", grade="acrylic pressure-sensitive",
    hold_grade="acrylic pressure-sensitive hinges or film",
)  # fmt: skip
GLASS = StockMaterial(name="Glass", kind="glazing", pat=PatResult.NOT_TESTED)


def test_a_material_harms_by_the_typical_years_of_its_grades() -> None:
    # Years of the shipped defaults (seed_data/risk_defaults.csv).
    assert harms_of(RAG, FIGURES, today=TODAY) == {
        Mechanism.ACID_MIGRATION: Harm(200.0),
        Mechanism.ALKALI_CONTACT: Harm(30.0),
    }
    assert harms_of(GROUNDWOOD, FIGURES, today=TODAY) == {
        Mechanism.ACID_MIGRATION: Harm(7.0),
        Mechanism.PHOTO_ACTIVITY: Harm(40.0),
    }
    assert harms_of(TAPE, FIGURES, today=TODAY) == {
        Mechanism.ADHESIVE_AGEING: Harm(30.0),
        Mechanism.HOLD_FAILURE: Harm(22.0),
        Mechanism.PHOTO_ACTIVITY: Harm(40.0),
    }
    assert harms_of(GLASS, FIGURES, today=TODAY) == {}


def test_a_board_nobody_knows_counts_as_the_worst_that_it_may_be() -> None:
    acid = harms_of(UNKNOWN, FIGURES, today=TODAY)[Mechanism.ACID_MIGRATION]
    assert acid == Harm(7.0, is_suspect=True)


def test_of_two_boards_it_is_said_where_each_is_better_and_why() -> None:
    both = compare_materials(
        MaterialWeighed(material=RAG), MaterialWeighed(material=GROUNDWOOD), FIGURES, today=TODAY
    )
    assert [its.verdict for its in both.verdicts] == [Verdict.SOUND, Verdict.HARMFUL]
    assert both.better_in == (
        (
            "Touching a work it is sound, the other harmful.",
            "Touching a work it is harmless longer, typically 200 years against 7 years"
            " (acid migration).",
            "Touching a silver or dye photograph it does no harm by photo-activity, the other"
            " typically after 40 years.",
            "Its alkaline reserve is enough: 2.5 % against 0 %, where 2 % is asked.",
            "It has next to no lignin: kappa 1 against 60, where at most 5 is asked.",
        ),
        (
            "Touching a cyanotype it does no harm by alkali contact, the other typically after"
            " 30 years.",
        ),
    )


def test_compared_the_other_way_round_the_same_is_said_of_the_other() -> None:
    one = MaterialWeighed(material=RAG)
    other = MaterialWeighed(material=GROUNDWOOD, is_recalled=True)
    there = compare_materials(one, other, FIGURES, today=TODAY)
    back = compare_materials(other, one, FIGURES, today=TODAY)
    assert there.better_in == back.better_in[::-1]
    assert "It is not recalled, the other is." in there.better_in[0]


def test_of_different_kinds_only_what_both_do_is_weighed() -> None:
    both = compare_materials(
        MaterialWeighed(material=PASTE), MaterialWeighed(material=GROUNDWOOD), FIGURES, today=TODAY
    )
    acid = next(one for one in both.harms if one.mechanism is Mechanism.ACID_MIGRATION)
    assert (acid.harms, acid.better) == ((None, Harm(7.0)), None)
    assert both.better_in[0] == ("Touching a work it is sound, the other harmful.",)


def test_what_holds_is_weighed_by_how_long_and_by_what_frees_the_work() -> None:
    both = compare_materials(
        MaterialWeighed(material=PASTE), MaterialWeighed(material=TAPE), FIGURES, today=TODAY
    )
    assert both.better_in == (
        (
            "Touching a work it is sound, the other doubtful.",
            "Stuck to a work it is harmless longer, typically 300 years against 30 years"
            " (adhesive ageing).",
            "Holding a work it holds longer, typically 45 years against 22 years (hold failure).",
            "The work is freed by water, of the other by solvent or heat.",
        ),
        (),
    )
    assert both.verdicts[1].verdict is Verdict.DOUBTFUL
    frees = StockMaterial(name="x", kind="glue", grade="animal glue", frees_by=Freeing.WATER)
    assert role_of_kind(frees.kind) is LayerRole.ADHESIVE


def test_the_same_figures_make_two_materials_alike_but_for_their_ultraviolet() -> None:
    one = MaterialWeighed(material=GLASS, uv_block_percent=45)
    other = MaterialWeighed(material=GLASS, uv_block_percent=99)
    assert compare_materials(one, one, FIGURES, today=TODAY).better_in == ((), ())
    assert compare_materials(one, other, FIGURES, today=TODAY).better_in == (
        (),
        ("It keeps more ultraviolet out: 99 % against 45 %.",),
    )
