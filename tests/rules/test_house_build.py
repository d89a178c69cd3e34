import pytest

from models.errors import BadValue
from models.rules.house_build import build_text, read_build
from models.rules.visit_as_told import HoldTold, LayerTold, MountTold
from models.vocabulary import Answer, KnownBy, LayerRole

USUAL = MountTold(
    method="T-hinge",
    layers=(
        LayerTold(
            role=LayerRole.WINDOW_MAT, material="Cotton rag mat board", known_by=KnownBy.SEEN
        ),
        LayerTold(role=LayerRole.WORK),
        LayerTold(role=LayerRole.MOUNT_BOARD, grade="unknown board", belongs_to_work=True),
    ),
    holds=(HoldTold(material="Wheat starch paste", position="top", count=2, clearance_mm=1.5),),
    in_front=Answer.THIS,
)


def test_a_usual_build_reads_back_as_it_was_told() -> None:
    assert read_build(build_text(USUAL)) == USUAL


def test_only_what_was_said_is_written() -> None:
    assert build_text(MountTold(layers=(LayerTold(role=LayerRole.WORK),))) == (
        '{"holds": [], "layers": [{"role": "work"}]}'
    )


@pytest.mark.parametrize(
    "build",
    [
        MountTold(layers=USUAL.layers, package=7),
        MountTold(layers=USUAL.layers, mounted_on="1985~"),
        MountTold(layers=USUAL.layers, inferred=True),
        MountTold(layers=USUAL.layers, house_package="another"),
        MountTold(),
    ],
)
def test_what_belongs_to_one_mount_alone_is_no_usual_build(build: MountTold) -> None:
    with pytest.raises(BadValue):
        build_text(build)
