from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from models.errors import BadValue
from models.exchange.spots_apart import colours_at, median_of_disc

PAPER, STAIN = (240, 232, 214), (200, 170, 120)


def a_picture(folder: Path) -> Path:
    """The left half stained, the right half clean."""
    picture = Image.new("RGB", (1000, 600), PAPER)
    picture.paste(STAIN, (0, 0, 500, 600))
    picture.save(folder / "picture.png")
    return folder / "picture.png"


def test_a_stain_and_clean_paper_are_read_where_they_are(tmp_path: Path) -> None:
    found = colours_at(a_picture(tmp_path), [(0.25, 0.5), (0.75, 0.5)])
    np.testing.assert_allclose(found, np.array([STAIN, PAPER]) / 255, atol=1e-12)


def test_a_speck_of_dust_does_not_move_the_colour() -> None:
    pixels = np.full((600, 1000, 3), PAPER, dtype=np.uint8)
    pixels[299:301, 499:501] = 0
    np.testing.assert_allclose(median_of_disc(pixels, (0.5, 0.5)), np.array(PAPER) / 255)


@pytest.mark.parametrize("place", [(0.0, 0.0), (1.0, 1.0), (0.0, 1.0), (1.0, 0.0)])
def test_at_the_edge_what_lies_beyond_the_picture_is_left_out(place: tuple[float, float]) -> None:
    pixels = np.full((600, 1000, 3), PAPER, dtype=np.uint8)
    np.testing.assert_allclose(median_of_disc(pixels, place), np.array(PAPER) / 255)


def test_what_is_no_picture_cannot_be_read(tmp_path: Path) -> None:
    (tmp_path / "not.jpg").write_bytes(b"not a picture")
    with pytest.raises(BadValue, match="cannot be read"):
        colours_at(tmp_path / "not.jpg", [(0.5, 0.5)])
