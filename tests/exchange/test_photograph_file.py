import zlib
from io import BytesIO
from pathlib import Path

import pytest
from PIL import Image, ImageCms

from models.errors import BadValue
from models.exchange import photographs_apart
from models.exchange.photograph_file import (
    MOST_PIXELS,
    PARTS,
    PhotographRead,
    levels,
    refuse_too_large,
    size_at,
)
from models.exchange.photographs_apart import facts_of, make_apart, place_of_part
from tests.exchange.pictures import (
    CORNERS,
    FIRST_ROW_AND_COLUMN,
    as_file,
    corners,
    four_colours,
    with_orientation,
)


def read(tmp_path: Path, content: bytes) -> tuple[PhotographRead, Path]:
    original = tmp_path / "original"
    original.write_bytes(content)
    return make_apart(original, tmp_path / "made"), tmp_path / "made" / "original"


@pytest.mark.parametrize("orientation", FIRST_ROW_AND_COLUMN)
def test_a_photograph_is_shown_upright_however_the_camera_was_held(
    tmp_path: Path, orientation: int
) -> None:
    facts, made = read(tmp_path, with_orientation(orientation))
    assert (facts.width_px, facts.height_px) == (96, 64)
    assert corners((made / "960.jpg").read_bytes()) == list(CORNERS)


@pytest.mark.parametrize(
    ("kind", "media_type"),
    [
        ("JPEG", "image/jpeg"),
        ("PNG", "image/png"),
        ("TIFF", "image/tiff"),
        ("WEBP", "image/webp"),
        ("HEIF", "image/heic"),
    ],
)
def test_the_five_formats_of_cameras_are_read(tmp_path: Path, kind: str, media_type: str) -> None:
    facts, made = read(tmp_path, as_file(four_colours(), kind))
    assert facts == PhotographRead(media_type=media_type, width_px=96, height_px=64, taken_on=None)
    assert corners((made / "320.jpg").read_bytes()) == list(CORNERS)


def test_what_a_telephone_tells_of_its_pictures_way_up_is_heeded_in_heic_too(
    tmp_path: Path,
) -> None:
    exif = Image.Exif()
    exif[0x0112] = 6
    stored = four_colours().transpose(Image.Transpose.ROTATE_90)
    facts, made = read(tmp_path, as_file(stored, "HEIF", exif=exif.tobytes()))
    assert (facts.width_px, facts.height_px) == (96, 64)
    assert corners((made / "320.jpg").read_bytes()) == list(CORNERS)


@pytest.mark.parametrize("mode", ["L", "LA", "P", "1", "CMYK", "RGBA", "I;16", "I", "F"])
def test_grey_printed_and_transparent_pictures_are_read_too(tmp_path: Path, mode: str) -> None:
    if mode == "I;16":
        picture = Image.frombytes("I;16", (64, 64), b"\x00\x80" * 64 * 64)
    else:
        picture = four_colours(64, 64).convert("L").convert(mode)
    _, made = read(tmp_path, as_file(picture, "TIFF" if mode != "P" else "PNG"))
    with Image.open(made / "320.jpg") as shown:
        assert (shown.mode, shown.size) == ("RGB", (64, 64))


def test_what_is_transparent_lies_on_white_paper(tmp_path: Path) -> None:
    picture = Image.new("RGBA", (64, 64), (0, 0, 0, 0))
    _, made = read(tmp_path, as_file(picture, "PNG"))
    with Image.open(made / "320.jpg") as shown:
        assert shown.getpixel((32, 32)) == (255, 255, 255)


def test_pictures_for_the_screen_are_smaller_and_never_larger_than_the_original(
    tmp_path: Path,
) -> None:
    _, made = read(tmp_path, as_file(four_colours(1000, 500)))
    sizes = {}
    for side in (320, 960, 2400):
        with Image.open(made / f"{side}.jpg") as shown:
            sizes[side] = shown.size
    assert sizes == {320: (320, 160), 960: (960, 480), 2400: (1000, 500)}


def test_nothing_made_of_a_photograph_says_where_or_with_what_it_was_taken(
    tmp_path: Path,
) -> None:
    exif = Image.Exif()
    exif[0x010F] = "A maker of cameras"
    exif.get_ifd(0x8825)[1] = "N"
    exif.get_ifd(0x8825)[2] = (51.0, 30.0, 7.25)
    content = as_file(four_colours(3000, 2000), exif=exif, comment=b"at the gate", dpi=(300, 300))
    _, made = read(tmp_path, content)
    assert b"A maker of cameras" in content
    for file in made.iterdir():
        held = file.read_bytes()
        told = [word for word in (b"A maker", b"Exif", b"at the gate", b"http") if word in held]
        assert (file.name, told) == (file.name, [])
    with Image.open(made / "2400.jpg") as shown:
        assert dict(shown.getexif()) == {}
        assert set(shown.info) <= {"jfif", "jfif_version", "jfif_unit", "jfif_density"}


def test_colours_are_those_that_the_profile_means(tmp_path: Path) -> None:
    lab = ImageCms.ImageCmsProfile(ImageCms.createProfile("LAB"))
    # CIELAB 54.3, 80.8, 69.9 is the red of sRGB (IEC 61966-2-1, for D50; from memory).
    # In memory L runs to 255, and a and b are counted from 128.
    picture = Image.new("LAB", (64, 64), (round(54.3 * 2.55), 128 + 81, 128 + 70))
    _, made = read(tmp_path, as_file(picture, "TIFF", icc_profile=lab.tobytes()))
    with Image.open(made / "320.jpg") as shown:
        seen = shown.getpixel((32, 32))
    assert isinstance(seen, tuple)
    assert [abs(a - b) <= 6 for a, b in zip(seen, (255, 0, 0), strict=True)] == [True] * 3


def test_the_day_that_the_camera_noted_is_read(tmp_path: Path) -> None:
    exif = Image.Exif()
    exif.get_ifd(0x8769)[0x9003] = "2026:11:20 14:03:00"
    facts, _ = read(tmp_path, as_file(four_colours(), exif=exif))
    assert facts.taken_on == "2026-11-20"


def test_a_camera_whose_clock_was_never_set_notes_no_day(tmp_path: Path) -> None:
    exif = Image.Exif()
    exif.get_ifd(0x8769)[0x9003] = "0000:00:00 00:00:00"
    facts, _ = read(tmp_path, as_file(four_colours(), exif=exif))
    assert facts.taken_on is None


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "TIFF", "WEBP", "HEIF"])
def test_a_photograph_that_ends_too_early_is_refused(tmp_path: Path, kind: str) -> None:
    picture = Image.effect_noise((400, 300), 80).convert("RGB")
    content = as_file(picture, kind)
    with pytest.raises(BadValue, match=r"damaged|not a photograph"):
        read(tmp_path, content[: len(content) // 2])
    assert [f.name for f in (tmp_path / "made").iterdir()] == ["turn"]


@pytest.mark.parametrize("content", [b"", b"%PDF-1.7 a letter", b"<svg></svg>", b"GIF89a"])
def test_what_is_no_photograph_is_refused(tmp_path: Path, content: bytes) -> None:
    with pytest.raises(BadValue, match="not a photograph") as refused:
        read(tmp_path, content)
    assert refused.value.faults[0].right == "Send JPEG, PNG, TIFF, WebP or HEIC."


def a_bomb() -> bytes:
    """Return a PNG of a few kilobytes that would be 100,000 by 100,000 pixels."""

    def chunk(kind: bytes, told: bytes) -> bytes:
        check = zlib.crc32(kind + told).to_bytes(4, "big")
        return len(told).to_bytes(4, "big") + kind + told + check

    side = (100_000).to_bytes(4, "big")
    head = chunk(b"IHDR", side + side + b"\x08\x00\x00\x00\x00")
    body = chunk(b"IDAT", zlib.compress(b"\x00" * 1_000_000, 9))
    return b"\x89PNG\r\n\x1a\n" + head + body + chunk(b"IEND", b"")


def test_a_small_file_that_would_fill_the_memory_is_refused_by_its_size(tmp_path: Path) -> None:
    with pytest.raises(BadValue, match="100000 by 100000 pixels; up to 150 million"):
        read(tmp_path, a_bomb())


def test_up_to_a_hundred_and_fifty_million_pixels_are_opened() -> None:
    refuse_too_large(15_000, MOST_PIXELS // 15_000)
    with pytest.raises(BadValue):
        refuse_too_large(15_000, MOST_PIXELS // 15_000 + 1)


def test_parts_hold_every_pixel_of_the_full_size(tmp_path: Path) -> None:
    picture = four_colours(2600, 1100)
    _, made = read(tmp_path, as_file(picture, "PNG"))
    assert levels(2600, 1100) == 1
    put_together = Image.new("RGB", (2600, 1100))
    for row in range(3):
        for column in range(6):
            place = place_of_part(made, f"0/{row}/{column}")
            assert place is not None
            begin, length = place
            with Image.open(BytesIO((made / PARTS).read_bytes()[begin : begin + length])) as part:
                put_together.paste(part, (column * 512, row * 512))
    assert corners(as_file(put_together)) == list(CORNERS)
    assert place_of_part(made, "0/3/0") is None
    assert place_of_part(made, "1/0/0") is None


@pytest.mark.parametrize(
    ("size", "count", "last"),
    [((2400, 100), 0, (2400, 100)), ((2401, 100), 1, (1201, 50)), ((9700, 6000), 3, (1213, 750))],
)
def test_levels_go_down_to_what_the_largest_whole_picture_shows(
    size: tuple[int, int], count: int, last: tuple[int, int]
) -> None:
    assert (levels(*size), size_at(count, *size)) == (count, last)


def test_what_was_made_once_is_not_made_again(tmp_path: Path) -> None:
    facts, made = read(tmp_path, as_file(four_colours()))
    before = (made / "320.jpg").stat().st_mtime_ns
    assert make_apart(tmp_path / "original", tmp_path / "made") == facts == facts_of(made)
    assert (made / "320.jpg").stat().st_mtime_ns == before


def test_a_photograph_that_takes_too_long_is_refused_and_leaves_nothing(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(photographs_apart, "MOST_SECONDS", 0)
    with pytest.raises(BadValue, match="takes too much to open"):
        read(tmp_path, as_file(four_colours()))
    assert [f.name for f in (tmp_path / "made").iterdir()] == ["turn"]
