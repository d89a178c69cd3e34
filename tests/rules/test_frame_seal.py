"""What counts as framed and sealed."""

from models.rules.frame_seal import has_frame, is_framed, seal_of
from models.vocabulary import LayerRole
from tests.rules.exposed_work import BACK, FRAME, FRAMED, GLASS, RAG, SEAL, SEALED, WORK, package


def test_glazing_or_a_frame_makes_a_package_framed() -> None:
    assert [is_framed(package(*layers)) for layers in ((GLASS, WORK), (WORK, FRAME), (RAG,))] == [
        True,
        True,
        False,
    ]


def test_a_plan_with_glass_alone_has_no_frame_that_could_be_sealed() -> None:
    assert has_frame(package(GLASS, WORK, BACK))
    assert not has_frame(package(GLASS, WORK, BACK, recorded=False))
    assert has_frame(package(*FRAMED, recorded=False))


def test_a_seal_is_the_sealing_tape_on_record_and_no_other() -> None:
    assert seal_of(package(*SEALED)) is SEAL
    assert seal_of(package(*FRAMED)) is None
    assert SEAL.role is LayerRole.SEALING_TAPE
