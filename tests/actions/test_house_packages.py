import pytest
from sqlmodel import Session

from models.actions.house_packages import (
    add_house_package,
    end_house_package,
    list_house_packages,
    read_house_package,
    renew_house_package,
)
from models.actions.vocabulary_lists import word_lists
from models.errors import BadValue, HingebookError, NotAllowed, NotFound, RuleBroken
from models.rules.visit_as_told import HoldTold, LayerTold, MountTold
from models.tables.terms import FindingTerm, MountMethod
from models.vocabulary import Answer, LayerRole
from seed_data.shipped import shipped_default_figures
from tests.builders import a_framer, a_keeper, a_material, a_technique, added, an_owner

DEFAULTS = shipped_default_figures()
BOARD, PASTE = "Cotton rag mat board, 4-ply, buffered", "Wheat starch paste on Japanese paper"
BUILD = MountTold(
    method="T-hinge",
    in_front=Answer.THIS,
    layers=(
        LayerTold(role=LayerRole.WINDOW_MAT, material=BOARD),
        LayerTold(role=LayerRole.WORK),
        LayerTold(role=LayerRole.MOUNT_BOARD, material=BOARD),
    ),
    holds=(HoldTold(material=PASTE, position="top", count=2),),
)


@pytest.fixture(autouse=True)
def _library(session: Session) -> None:
    a_material(session, BOARD)
    a_material(session, PASTE, kind="paste", grade="starch paste")
    added(session, MountMethod(name="T-hinge", needs_adhesive="yes"))


def test_a_usual_build_reads_back_as_it_was_told(session: Session) -> None:
    keeper = a_keeper(session)
    package = add_house_package(session, keeper, " House float ", BUILD, defaults=DEFAULTS)
    assert read_house_package(session, keeper, package.id) == package
    assert (package.name, package.edition, package.ended) == ("House float", 1, False)
    assert package.build == BUILD


def test_a_change_is_a_new_edition_and_the_old_one_stays(session: Session) -> None:
    keeper = a_keeper(session)
    first = add_house_package(session, keeper, "House float", BUILD, defaults=DEFAULTS)
    plain = MountTold(layers=BUILD.layers)
    second = renew_house_package(session, keeper, first.id, plain, defaults=DEFAULTS)
    assert (second.edition, second.build) == (2, plain)
    assert [p.edition for p in list_house_packages(session, keeper)] == [2]
    everything = list_house_packages(session, keeper, current_only=False)
    assert [(p.edition, p.ended) for p in everything] == [(2, False), (1, True)]
    with pytest.raises(RuleBroken) as renewed:
        renew_house_package(session, keeper, first.id, plain, defaults=DEFAULTS)
    with pytest.raises(RuleBroken) as ended:
        end_house_package(session, keeper, first.id)
    assert renewed.value.code == ended.value.code == "not_current"


def test_a_usual_build_is_offered_until_it_is_ended(session: Session) -> None:
    keeper = a_keeper(session)
    package = add_house_package(session, keeper, "House float", BUILD, defaults=DEFAULTS)
    assert end_house_package(session, keeper, package.id).ended
    assert list_house_packages(session, keeper) == []


@pytest.mark.parametrize(
    ("build", "code", "pointer"),
    [
        (MountTold(), "bad_value", None),
        (MountTold(layers=BUILD.layers, mounted_on="2020"), "bad_value", None),
        (MountTold(layers=BUILD.layers, house_package="x"), "unknown_house_package", None),
        (
            MountTold(layers=(LayerTold(role=LayerRole.BACKING, material=BOARD, lot="L-1"),)),
            "bad_value",
            "/layers/0/lot",
        ),
        (
            MountTold(layers=(LayerTold(role=LayerRole.BACKING, material="Cotton bord"),)),
            "unknown_material",
            "/layers/0/material",
        ),
        (MountTold(layers=(LayerTold(role=LayerRole.WORK),) * 2), "bad_value", "/layers/1"),
        (
            MountTold(layers=(LayerTold(role=LayerRole.BACKING, note="x" * 20_000),)),
            "bad_value",
            "",
        ),
        (MountTold(method="T-hinges", holds=BUILD.holds), "unknown_method", "/method"),
    ],
)
def test_what_cannot_be_a_usual_build_is_refused_where_it_stands(
    session: Session, build: MountTold, code: str, pointer: str | None
) -> None:
    with pytest.raises(HingebookError) as refused:
        add_house_package(session, a_keeper(session), "House float", build, defaults=DEFAULTS)
    assert refused.value.code == code
    if pointer is not None:
        assert [fault.pointer for fault in getattr(refused.value, "faults", ())] == [pointer]


def test_a_name_is_needed_and_given_once(session: Session) -> None:
    keeper = a_keeper(session)
    with pytest.raises(BadValue) as unnamed:
        add_house_package(session, keeper, " ", BUILD, defaults=DEFAULTS)
    assert [fault.pointer for fault in unnamed.value.faults] == ["/name"]
    add_house_package(session, keeper, "House float", BUILD, defaults=DEFAULTS)
    with pytest.raises(RuleBroken) as refused:
        add_house_package(session, keeper, "house FLOAT", BUILD, defaults=DEFAULTS)
    assert refused.value.code == "name_taken"


def test_only_a_keeper_keeps_usual_builds_and_everybody_reads_them(session: Session) -> None:
    framer = a_framer(session)
    with pytest.raises(NotAllowed, match="house packages"):
        add_house_package(session, framer, "House float", BUILD, defaults=DEFAULTS)
    assert list_house_packages(session, framer) == []
    with pytest.raises(NotFound):
        read_house_package(session, framer, 99)


def test_the_words_that_may_be_used_are_listed_for_everybody(session: Session) -> None:
    a_technique(session, "etching")
    added(
        session,
        FindingTerm(
            term="mat burn", shows_through_glazing="part", urgency="watch", applies_to="paper"
        ),
    )
    lists = word_lists(session, an_owner(session), defaults=DEFAULTS)
    assert [technique.name for technique in lists.techniques] == ["etching"]
    assert [term.term for term in lists.finding_terms] == ["mat burn"]
    assert [method.name for method in lists.mount_methods] == ["T-hinge"]
    assert lists.treatments == []
    assert "groundwood board" in lists.layer_grades
    assert "starch paste" in lists.adhesive_grades
    assert "corner pockets or edge strips" in lists.hold_grades
