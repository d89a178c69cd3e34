"""Drawn photographs show what is on record where it is on record, the same each time."""

import io

import numpy as np
import pytest
from PIL import Image

from models.rules.sheet_corners import sheet_on_photograph
from models.vocabulary import Edge, PhotographStage, PhotographView, Side
from seed_data.demo.drawn_images import BY_TECHNIQUE, drawn_image
from seed_data.demo.drawn_photographs import (
    MarkDrawn,
    PictureDrawn,
    SheetDrawn,
    photograph,
    seeded,
)
from seed_data.demo.register import read_works

SHEET = SheetDrawn(
    number="T 1",
    title="Mill race",
    technique="etching",
    support="wove paper",
    height_mm=340,
    width_mm=450,
    image_mm=(45, 40, 250, 370),
)


def taken(*marks: MarkDrawn, view: PhotographView = PhotographView.RECTO) -> PictureDrawn:
    return photograph(SHEET, marks, view=view, stage=None, on="2020-01-01")


def burn(mm: float) -> MarkDrawn:
    return MarkDrawn(term="mat burn", edge=Edge.LEFT, reach_mm=mm)


def lightness(picture: PictureDrawn, left_mm: float, side: Side = Side.RECTO) -> float:
    """The mean of the blue, which brown takes away most, down a line so far from the left."""
    assert picture.corners is not None
    with Image.open(io.BytesIO(picture.content)) as opened:
        seen = np.asarray(opened.convert("RGB"), dtype=np.float64)
    where = sheet_on_photograph(
        picture.corners, width_mm=SHEET.width_mm, height_mm=SHEET.height_mm, side=side
    )
    places = [where.on_picture((left_mm, top)) for top in np.linspace(40, 300, 60)]
    spots = [seen[round(y * picture.height_px), round(x * picture.width_px), 2] for x, y in places]
    return float(np.mean(spots))


def test_the_same_photograph_is_drawn_each_time_and_each_work_has_its_own() -> None:
    assert taken(burn(8)) == taken(burn(8))
    other = SheetDrawn(
        number="T 2",
        title="Mill race",
        technique="etching",
        support="wove paper",
        height_mm=340,
        width_mm=450,
    )
    its = photograph(other, (), view=PhotographView.RECTO, stage=None, on="2020-01-01")
    assert its.content != taken().content


def test_the_corners_of_the_sheet_are_inside_the_picture() -> None:
    corners = taken().corners
    assert corners is not None
    assert all(0 < part < 1 for corner in corners for part in corner)


def test_in_its_frame_no_corner_is_to_be_seen() -> None:
    framed = photograph(
        SHEET,
        (),
        view=PhotographView.RECTO,
        stage=PhotographStage.IN_FRAME,
        on="2020-01-01",
    )
    assert framed.corners is None
    # The window shows the image and 9 mm around it: 388 by 268 mm.
    assert framed.window is not None
    (left, top), _, (right, bottom), _ = framed.window
    wide, high = (right - left) * framed.width_px, (bottom - top) * framed.height_px
    assert wide / high == pytest.approx(388 / 268, abs=0.01)


def test_the_line_that_a_window_left_is_where_its_burn_began_and_beside_the_image() -> None:
    grown = MarkDrawn(term="mat burn", edge=Edge.LEFT, reach_mm=12, window_mm=10)
    picture = taken(grown)
    assert picture.corners is not None
    assert picture.window is not None
    where = sheet_on_photograph(
        picture.corners, width_mm=SHEET.width_mm, height_mm=SHEET.height_mm, side=Side.RECTO
    )
    box = [(10, 31), (424, 31), (424, 299), (10, 299)]
    np.testing.assert_allclose([where.on_sheet(p) for p in picture.window], box, atol=0.5)
    assert taken().window is None


@pytest.mark.parametrize("mm", [8, 12])
def test_a_mat_burn_is_darkest_where_the_record_says_it_ends(mm: float) -> None:
    clean, burnt = taken(), taken(burn(mm))
    lost = {at: lightness(clean, at) - lightness(burnt, at) for at in (mm - 1.5, mm + 4, 30)}
    assert lost[mm - 1.5] > 25
    assert abs(lost[mm + 4]) < 6
    assert abs(lost[30]) < 3


def test_a_later_photograph_shows_the_later_reach() -> None:
    assert lightness(taken(burn(12)), 10.5) < lightness(taken(burn(8)), 10.5) - 15


def test_what_shows_on_the_back_is_not_seen_from_the_front() -> None:
    behind = MarkDrawn(term="tape stain", side=Side.VERSO, edge=Edge.LEFT, reach_mm=26)
    assert taken(behind) == taken()
    back = taken(behind, view=PhotographView.VERSO)
    plain = taken(view=PhotographView.VERSO)
    assert lightness(back, 24, Side.VERSO) < lightness(plain, 24, Side.VERSO) - 15
    assert lightness(back, 400, Side.VERSO) == pytest.approx(
        lightness(plain, 400, Side.VERSO), abs=3
    )


@pytest.mark.parametrize("technique", sorted({work.told.technique or "" for work in read_works()}))
def test_every_technique_leaves_an_image_with_lights_and_darks(technique: str) -> None:
    through = drawn_image("Barges", technique, seeded(technique), (150, 200))
    assert through.shape == (150, 200, 3)
    assert (through.min() >= 0, through.max() <= 1) == (True, True)
    assert float(through.std()) > 0.03


def test_only_intaglio_prints_are_drawn_as_etched_without_being_told() -> None:
    told = {work.told.technique for work in read_works()}
    assert told - set(BY_TECHNIQUE) == {"etching", "drypoint", "engraving"}
