"""What a work is by its technique, its support and its dates; common practice, no source."""

from dataclasses import replace

import pytest

from models.rules.package_facts import WorkFacts
from models.rules.work_nature import can_fox, fogs_glazing, is_face_mounted, tarnishes
from models.vocabulary import ProcessGroup
from tests.rules.exposed_work import BACK, FRAMED, WORK, package

MOUNTED = package(*FRAMED).mounted_day or 0
PRINTED = WorkFacts(
    technique="inkjet print, dye",
    process_group=ProcessGroup.INKJET,
    made_first_day=MOUNTED - 3,
    made_last_day=MOUNTED - 3,
)


@pytest.mark.parametrize(
    ("technique", "foxes"),
    [
        ("etching", True),
        ("", True),
        ("technique not known", True),
        ("glass plate negative", False),
        ("ambrotype or tintype", False),
        ("certificate or document on parchment", False),
        ("face-mounted photograph", False),
    ],
)
def test_what_is_not_known_to_be_anything_else_is_paper(technique: str, foxes: bool) -> None:
    assert can_fox(WorkFacts(technique=technique)) is foxes


@pytest.mark.parametrize(
    ("process", "technique", "found"),
    [
        (ProcessGroup.SILVER_PHOTOGRAPH, "toned gelatin silver print", True),
        (ProcessGroup.ALBUMEN, "albumen print", True),
        (ProcessGroup.DYE_PHOTOGRAPH, "chromogenic print, modern", False),
        (ProcessGroup.INKJET, "inkjet print, dye", True),
        (ProcessGroup.INKJET, "inkjet print", True),
        (ProcessGroup.INKJET, "inkjet print, pigment", False),
        (ProcessGroup.NONE, "etching", False),
    ],
)
def test_air_harms_silver_and_the_dyes_of_inkjets(
    process: ProcessGroup, technique: str, found: bool
) -> None:
    assert tarnishes(WorkFacts(process_group=process, technique=technique)) is found


@pytest.mark.parametrize(
    ("changes", "fogs"),
    [
        ({}, True),
        ({"support": "resin-coated paper"}, True),
        ({"support": "cotton rag paper"}, False),
        ({"process_group": ProcessGroup.NONE}, False),
        ({"made_first_day": MOUNTED - 15, "made_last_day": MOUNTED - 15}, False),
        # Known to the month: it may have been the last day before the mounting.
        ({"made_first_day": MOUNTED - 29, "made_last_day": MOUNTED + 1}, True),
        # Known to the year only: nobody can say.
        ({"made_first_day": MOUNTED - 200, "made_last_day": MOUNTED + 165}, False),
        ({"made_first_day": None, "made_last_day": None}, False),
    ],
)
def test_an_inkjet_print_fogs_when_it_may_have_been_glazed_undried(
    changes: dict[str, object], fogs: bool
) -> None:
    assert fogs_glazing(replace(PRINTED, **changes), package(*FRAMED)) is fogs  # type: ignore[arg-type]


def test_without_glazing_there_is_nothing_to_fog() -> None:
    assert not fogs_glazing(PRINTED, package(WORK, BACK))


def test_a_face_mount_is_known_by_its_technique_or_its_method() -> None:
    by_method = package(*FRAMED, method="face-mounted")
    assert is_face_mounted(WorkFacts(technique="face-mounted photograph"))
    assert is_face_mounted(WorkFacts(technique="chromogenic print, modern"), by_method)
    assert not is_face_mounted(WorkFacts(technique="etching"), package(*FRAMED))
