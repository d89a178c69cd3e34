"""What would the image of an invented work look like, as its technique leaves it on paper?

Drawn by program from the title alone: a composition of tones (water, ridges, stems,
blocks, stones), and a way in which each family of techniques turns tones into lines,
grain, flat colour or washes. Nothing here copies any work that there is. An image is an
array of what it lets through of the light of its paper, 0 to 1 in red, green and blue.
"""

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageDraw, ImageFilter, ImageFont

Floats = NDArray[np.floating]
Draw = Callable[[Floats, np.random.Generator], Floats]
Colour = tuple[float, float, float]

BLACK: Colour = (0.11, 0.10, 0.10)
WARM_BLACK: Colour = (0.19, 0.14, 0.11)
SEPIA: Colour = (0.30, 0.17, 0.09)
GRAPHITE: Colour = (0.33, 0.33, 0.35)
INK_BROWN: Colour = (0.33, 0.20, 0.10)
# Families of colours that stand well together; judgement of the eye.
PALETTES: tuple[tuple[Colour, ...], ...] = (
    ((0.16, 0.27, 0.42), (0.80, 0.55, 0.27), (0.86, 0.79, 0.62), (0.42, 0.53, 0.50)),
    ((0.60, 0.24, 0.20), (0.22, 0.33, 0.36), (0.88, 0.74, 0.47), (0.55, 0.58, 0.46)),
    ((0.20, 0.36, 0.30), (0.83, 0.67, 0.58), (0.33, 0.24, 0.33), (0.90, 0.84, 0.66)),
    ((0.31, 0.38, 0.58), (0.76, 0.42, 0.33), (0.72, 0.72, 0.55), (0.92, 0.83, 0.68)),
)

# Words of a title that ask for a composition.
WATER = frozenset(
    "boat water mill salting ferry estuary breakwater harbour sea shoal weir quay regatta barges"
    " pier swans ford bathing rain".split()
)
STEMS = frozenset(
    "oak reed fern seaweed poplars garden hedge dahlias stubble snow allotments kite crows".split()
)
BLOCKS = frozenset(
    "rope hives bridge gasworks silos bus underpass car shop glasshouses theatre windmill"
    " caravans steps pylons poster signals coaling strip open threshing plan".split()
)
RIDGES = frozenset("valley moonrise evening study view wreck night chart survey".split())


def noise(rng: np.random.Generator, shape: tuple[int, int], down: float, across: float) -> Floats:
    """Return a smooth field from about 0 to 1 with so many swells down and across."""
    grid = rng.random((int(down) + 3, int(across) + 3), dtype=np.float32)
    small = Image.fromarray(grid).resize((shape[1], shape[0]), Image.Resampling.BICUBIC)
    return np.asarray(small, dtype=np.float32)


def grain(rng: np.random.Generator, shape: tuple[int, int]) -> Floats:
    """Return a field of fine grain from 0 to 1."""
    return rng.random(shape, dtype=np.float32)


def composition(title: str, rng: np.random.Generator, shape: tuple[int, int]) -> Floats:
    """Return the tones of an image, 0 light to 1 dark."""
    said = title.lower().replace("'s", "").split()
    for words, compose in ((WATER, _water), (STEMS, _stems), (BLOCKS, _blocks), (RIDGES, _ridges)):
        if any(one.removesuffix("s") in words or one in words for one in said):
            return compose(rng, shape)
    return _stones(rng, shape)


def _plane(shape: tuple[int, int]) -> tuple[Floats, Floats]:
    down = np.linspace(0, 1, shape[0], dtype=np.float32)[:, None]
    return down, np.linspace(0, 1, shape[1], dtype=np.float32)[None, :]


def _soft(distance: Floats, width: float) -> Floats:
    """Return 0 to 1 across an edge that is so wide."""
    across: Floats = np.clip(distance / width + 0.5, 0, 1)
    return across


def _orb(rng: np.random.Generator, y: Floats, x: Floats, *, aspect: float) -> Floats:
    at_y, at_x, size = rng.uniform(0.14, 0.3), rng.uniform(0.22, 0.78), rng.uniform(0.05, 0.1)
    away = np.sqrt((y - at_y) ** 2 + ((x - at_x) * aspect) ** 2)
    return _soft(size - away, 0.012)


def _water(rng: np.random.Generator, shape: tuple[int, int]) -> Floats:
    y, x = _plane(shape)
    horizon = rng.uniform(0.36, 0.5)
    orb = _orb(rng, y, x, aspect=shape[1] / shape[0])
    sky = 0.12 + 0.35 * noise(rng, shape, 5, 2) * (1 - y) + 0.25 * y
    depth = np.clip(y - horizon, 0.001, 1)
    swell = noise(rng, shape, 9, 5)
    waves = np.sin(14 / (depth + 0.07) + 6 * swell + 9 * x)
    sea = 0.34 + 0.3 * waves * np.sqrt(depth + 0.1) + 0.32 * depth
    tone = np.where(y < horizon, sky * (1 - 0.9 * orb), sea)
    with_boats: Floats = np.clip(np.maximum(tone, _boats(rng, shape, horizon)), 0, 1)
    return with_boats


def _boats(rng: np.random.Generator, shape: tuple[int, int], horizon: float) -> Floats:
    height, width = shape
    sheet = Image.new("L", (width, height))
    pen = ImageDraw.Draw(sheet)
    for _ in range(int(rng.integers(3, 7))):
        down = horizon + rng.uniform(0.0, 0.3)
        size = (0.05 + 0.28 * (down - horizon)) * width
        left, top = rng.uniform(0.06, 0.86) * width, down * height
        pen.polygon(
            [
                (left, top),
                (left + size, top),
                (left + 0.8 * size, top + 0.2 * size),
                (left + 0.15 * size, top + 0.2 * size),
            ],
            fill=235,
        )
        mast = left + size * rng.uniform(0.3, 0.6)
        pen.line([(mast, top), (mast + 3, top - 1.5 * size)], fill=225, width=max(2, width // 250))
        pen.polygon(
            [
                (mast, top - 0.15 * size),
                (mast + 0.5 * size, top - 0.2 * size),
                (mast + 3, top - 1.4 * size),
            ],
            fill=int(rng.integers(90, 190)),
        )
    return np.asarray(sheet, dtype=np.float32) / 255


def _ridges(rng: np.random.Generator, shape: tuple[int, int]) -> Floats:
    y, x = _plane(shape)
    tone = 0.1 + 0.2 * noise(rng, shape, 3, 2) * (1 - y)
    tone = tone * (1 - _orb(rng, y, x, aspect=shape[1] / shape[0]))
    for n in range(6):
        line = 0.34 + 0.11 * n + 0.22 / (1 + n * 0.5) * (noise(rng, (1, shape[1]), 1, 3 + n) - 0.5)
        shade = 0.22 + 0.11 * n - 0.3 * np.clip(y - line, 0, 0.3)
        tone = np.where(y > line, shade + 0.12 * noise(rng, shape, 8, 10), tone)
    return np.clip(tone, 0, 1)


def _stems(rng: np.random.Generator, shape: tuple[int, int]) -> Floats:
    height, width = shape
    sheet = Image.new("L", (width, height), 18)
    pen = ImageDraw.Draw(sheet)
    for n in range(int(rng.integers(5, 9))):
        at, lean = rng.uniform(0.12, 0.88) * width, rng.uniform(-0.9, 0.9)
        reach, shade = rng.uniform(0.5, 0.9) * height, int(120 + 16 * n)
        for step in np.linspace(0, 1, 34):
            spine = at + lean * 0.35 * width * step**2
            top = height * 0.98 - reach * step
            size = (1.05 - step) * 0.12 * min(shape)
            for way in (-1, 1):
                tip = (spine + way * size * 1.3, top - size * 0.8)
                pen.line([(spine, top), tip], fill=shade, width=max(1, int(size / 9)))
            pen.line(
                [(spine, top), (at + lean * 0.35 * width * (step - 0.03) ** 2, top + reach * 0.03)],
                fill=shade,
                width=max(2, int(5 * (1.1 - step))),
            )
    drawn = np.asarray(sheet.filter(ImageFilter.GaussianBlur(0.7)), dtype=np.float32) / 255
    y, _ = _plane(shape)
    tone: Floats = np.clip(drawn + 0.16 * noise(rng, shape, 4, 4) + 0.12 * y, 0, 1)
    return tone


def _blocks(rng: np.random.Generator, shape: tuple[int, int]) -> Floats:
    height, width = shape
    y, x = _plane(shape)
    sky = 0.1 + 0.25 * noise(rng, shape, 2, 3)
    sky = sky * (1 - 0.9 * _orb(rng, y, x, aspect=width / height))
    sheet = Image.fromarray(np.uint8(np.clip(sky, 0, 1) * 255))
    pen = ImageDraw.Draw(sheet)
    ground = height * 0.84
    pen.rectangle([0, ground, width, height], fill=120)
    for n in range(int(rng.integers(6, 10))):
        wide, tall = rng.uniform(0.09, 0.26) * width, rng.uniform(0.18, 0.62) * height
        left, shade = rng.uniform(-0.05, 0.9) * width, int(rng.integers(60, 210))
        base = ground + n * height * 0.012
        pen.rectangle([left, base - tall, left + wide, base], fill=shade)
        pen.rectangle(
            [left + 0.7 * wide, base - tall, left + wide, base], fill=min(245, shade + 40)
        )
        if n % 3 == 0:
            pen.pieslice(
                [left, base - tall - wide / 2, left + wide, base - tall + wide / 2],
                180,
                360,
                fill=shade,
            )
        for row in range(2, int(tall / (0.055 * height))):
            for column in range(3):
                if rng.random() < 0.55:
                    spot = (left + wide * (0.1 + 0.2 * column), base - row * 0.055 * height)
                    pen.rectangle(
                        [*spot, spot[0] + wide * 0.09, spot[1] + height * 0.02], fill=245 - shade
                    )
    return np.asarray(sheet, dtype=np.float32) / 255


def _stones(rng: np.random.Generator, shape: tuple[int, int]) -> Floats:
    y, x = _plane(shape)
    aspect = shape[1] / shape[0]
    tone = 0.18 + 0.3 * noise(rng, shape, 3, 3) * y
    for _ in range(int(rng.integers(4, 8))):
        at_y, at_x = rng.uniform(0.28, 0.8), rng.uniform(0.15, 0.85)
        tall, wide = rng.uniform(0.1, 0.26), rng.uniform(0.1, 0.24)
        away = ((y - at_y) / tall) ** 2 + ((x - at_x) * aspect / wide) ** 2
        inside = _soft(1 - away, 0.08)
        shading = 0.3 + 0.5 * np.clip(
            (x - at_x) * aspect / wide * 0.5 + (y - at_y) / tall * 0.6 + 0.3, 0, 1
        )
        tone = tone * (1 - inside) + (shading + 0.14 * noise(rng, shape, 10, 10)) * inside
    return np.clip(tone, 0, 1)


# --- how a technique turns tones into what is on the sheet --------------------------------------


def _inked(coverage: Floats, ink: Colour) -> Floats:
    """Return what one ink lets through where it covers so much."""
    through = np.asarray(ink, dtype=np.float32) - 1
    return 1 + coverage[:, :, None] * through


def _lines(
    tone: Floats, rng: np.random.Generator, spacing_px: float, angle: float, swing: float
) -> Floats:
    """Return lines that swell where it is dark, bent by a slow field."""
    height, width = tone.shape
    y = np.arange(height, dtype=np.float32)[:, None]
    x = np.arange(width, dtype=np.float32)[None, :]
    across = (x * np.float32(np.cos(angle)) + y * np.float32(np.sin(angle))) / spacing_px
    wave = 0.5 + 0.5 * np.cos(2 * np.pi * (across + swing * noise(rng, tone.shape, 3, 3)))
    return np.clip((tone * 1.1 - wave) * 3.2 + 0.35, 0, 1) * (tone > 0.06)


def etched(tone: Floats, rng: np.random.Generator) -> Floats:
    """Lines and cross lines, and a breath of plate tone."""
    first = _lines(tone, rng, 5.5, rng.uniform(0.9, 1.5), 9)
    cross = _lines(np.clip(tone * 1.4 - 0.45, 0, 1), rng, 6.0, rng.uniform(2.0, 2.5), 7)
    return _inked(np.maximum(first, cross) * 0.92 + 0.06, WARM_BLACK)


def aquatinted(tone: Floats, rng: np.random.Generator) -> Floats:
    """Steps of tone, each of fine grain, and a few bitten lines."""
    steps = np.floor(tone * 6) / 5.5
    bitten = _lines(tone, rng, 9, 1.2, 10) * 0.35
    grained = np.clip(steps + (grain(rng, tone.shape) - 0.5) * 0.34, 0, 1)
    return _inked(np.clip(grained * 0.9 + bitten + 0.05, 0, 1), WARM_BLACK)


def scraped(tone: Floats, rng: np.random.Generator) -> Floats:
    """Out of the dark: velvet, with lights scraped into it."""
    dark = np.clip(0.28 + 0.8 * tone + (grain(rng, tone.shape) - 0.5) * 0.16, 0, 0.97)
    return _inked(dark, BLACK)


def cut(tone: Floats, rng: np.random.Generator) -> Floats:
    """Black and white, with the marks of the gouge between."""
    marks = noise(rng, tone.shape, tone.shape[0] / 7, tone.shape[1] / 40) - 0.5
    return _inked(np.clip((tone + 0.55 * marks - 0.36) * 9, 0, 1) * 0.95, BLACK)


def cut_in_colour(tone: Floats, rng: np.random.Generator) -> Floats:
    """Two blocks: a colour that fades upward, and the key block over it."""
    colour = PALETTES[int(rng.integers(len(PALETTES)))][0]
    fade = np.linspace(0.75, 0.25, tone.shape[0], dtype=np.float32)[:, None]
    under = _inked(np.clip((tone - 0.18) * 6, 0, 1) * fade, colour)
    return under * _inked(np.clip((tone - 0.62) * 8, 0, 1) * 0.85, WARM_BLACK)


def crayoned(tone: Floats, rng: np.random.Generator) -> Floats:
    """The grain of a stone: tone broken into crumbs."""
    crumbs = 0.6 * grain(rng, tone.shape) + 0.4 * noise(rng, tone.shape, 160, 160)
    return _inked(np.clip((tone * 1.15 - crumbs) * 2.6 + 0.3, 0, 0.94), BLACK)


def coloured_stone(tone: Floats, rng: np.random.Generator) -> Floats:
    """Crayon, with tints of three stones under it."""
    return washed(tone * 0.6, rng) * (0.35 + 0.65 * crayoned(tone * 0.85, rng))


def flat_colour(tone: Floats, rng: np.random.Generator) -> Floats:
    """Flat inks, one for each step of tone."""
    palette = PALETTES[int(rng.integers(len(PALETTES)))]
    inks = np.asarray([(1, 1, 1), palette[2], palette[1], palette[3], palette[0]], dtype=np.float32)
    blurred = Image.fromarray(np.uint8(tone * 255)).filter(ImageFilter.BoxBlur(2))
    smooth = np.asarray(blurred, dtype=np.float32) / 255
    return inks[np.minimum((smooth * 5.6).astype(np.intp), 4)]


def pencilled(tone: Floats, rng: np.random.Generator, ink: Colour = GRAPHITE) -> Floats:
    """Soft hatching over the tooth of the paper."""
    tooth = 0.55 + 0.45 * grain(rng, tone.shape)
    hatched = 0.65 * _lines(tone * 0.9, rng, 6.5, 0.75, 3) + 0.35 * tone
    return _inked(np.clip(hatched * tooth, 0, 0.9), ink)


def penned(tone: Floats, rng: np.random.Generator) -> Floats:
    """Lines of a pen, open in the lights."""
    return _inked(_lines(np.clip(tone - 0.08, 0, 1), rng, 8, 0.9, 14) * 0.9, WARM_BLACK)


def smudged(tone: Floats, rng: np.random.Generator) -> Floats:
    """Charcoal: broad strokes on a toothed paper, wiped in part."""
    stroke = noise(rng, tone.shape, tone.shape[0] / 9, 14)
    tooth = 0.6 * noise(rng, tone.shape, 190, 190) + 0.4 * grain(rng, tone.shape)
    laid = np.clip(tone * 1.5 - 0.35 * stroke - 0.3 * tooth, 0, 0.95)
    return _inked(laid, BLACK)


def pastelled(tone: Floats, rng: np.random.Generator) -> Floats:
    """Sticks of colour laid beside each other, powder on the tooth."""
    palette = np.asarray(PALETTES[int(rng.integers(len(PALETTES)))], dtype=np.float32)
    drift = np.clip(tone + 0.5 * (noise(rng, tone.shape, 26, 6) - 0.5), 0, 0.999)
    order = palette[np.argsort(-palette.sum(axis=1))]
    colour = order[(drift * 4).astype(np.intp)]
    stroke = noise(rng, tone.shape, tone.shape[0] / 5, 22)
    tooth = grain(rng, tone.shape) * 0.5 + noise(rng, tone.shape, 170, 170) * 0.5
    laid = np.clip(1.35 - 0.5 * stroke - 0.62 * tooth, 0.1, 1)[:, :, None]
    through: Floats = 1 + laid * (colour * (0.86 + 0.24 * stroke[:, :, None]) - 1)
    return through


def washed(tone: Floats, rng: np.random.Generator) -> Floats:
    """Thin washes, darker where each dried at its edge."""
    through = np.ones((*tone.shape, 3), dtype=np.float32)
    palette = PALETTES[int(rng.integers(len(PALETTES)))]
    for n, colour in enumerate((*palette, palette[0])):
        run = tone + 0.55 * (noise(rng, tone.shape, 5 + n, 5 + n) - 0.5)
        wash = np.clip((run - 0.2 - 0.13 * n) * 22, 0, 1)
        edge = wash * (1 - wash) * 1.2
        pooled = 0.7 + 0.5 * noise(rng, tone.shape, 12, 12)
        through *= _inked(np.clip(wash * 0.42 * pooled + edge, 0, 0.9), colour)
    return through


def _printed_in(tone: Floats, rng: np.random.Generator, dark: Colour, light: Colour) -> Floats:
    """Return a photograph: soft tones from `light` to `dark`, a little grain, darker corners."""
    y, x = _plane((tone.shape[0], tone.shape[1]))
    corners = ((y - 0.5) ** 2 + (x - 0.5) ** 2) * 0.5
    small = Image.fromarray(np.uint8(tone * 255)).filter(ImageFilter.GaussianBlur(1.6))
    soft = (
        np.asarray(small, dtype=np.float32) / 255 + corners + 0.05 * (grain(rng, tone.shape) - 0.5)
    )
    curve = np.clip(soft, 0, 1)[:, :, None]
    curve = curve * curve * (3 - 2 * curve)
    lights, darks = (np.asarray(one, dtype=np.float32) for one in (light, dark))
    through: Floats = lights * (1 - curve) + darks * curve
    return through


def silver(tone: Floats, rng: np.random.Generator) -> Floats:
    """Silver gelatin: neutral, deep."""
    return _printed_in(tone * 1.05, rng, (0.07, 0.07, 0.08), (0.97, 0.96, 0.93))


def warm(tone: Floats, rng: np.random.Generator) -> Floats:
    """Albumen, salted paper, printing-out paper: purple-brown, yellow lights."""
    return _printed_in(tone * 0.9, rng, (0.28, 0.15, 0.13), (0.98, 0.91, 0.74))


def platinum(tone: Floats, rng: np.random.Generator) -> Floats:
    """Long soft greys."""
    return _printed_in(tone * 0.8, rng, (0.22, 0.20, 0.19), (0.97, 0.95, 0.90))


def blue(tone: Floats, rng: np.random.Generator) -> Floats:
    """Cyanotype: what lay on the paper stays white."""
    return _printed_in(
        np.clip(1.02 - tone * 1.25, 0, 1), rng, (0.05, 0.17, 0.36), (0.93, 0.95, 0.95)
    )


def dyed(tone: Floats, rng: np.random.Generator) -> Floats:
    """A colour print: two hues, one for the lights and one for the shadows."""
    one, other, pale, _ = PALETTES[int(rng.integers(len(PALETTES)))]
    hue = noise(rng, tone.shape, 2, 3)[:, :, None]
    tinted = np.asarray(pale, dtype=np.float32) * hue + np.asarray(other, dtype=np.float32) * (
        1 - hue
    )
    dark = np.asarray(one, dtype=np.float32) * 0.35
    curve = np.clip(tone * 1.1, 0, 1)[:, :, None]
    through: Floats = np.clip((tinted * 0.6 + 0.4) * (1 - curve) + dark * curve, 0, 1)
    return through


def hand_coloured(tone: Floats, rng: np.random.Generator) -> Floats:
    """A print or photograph with thin colour laid over it."""
    return warm(tone * 0.8, rng) * (0.45 + 0.55 * washed(tone * 0.7, rng))


def pasted(tone: Floats, rng: np.random.Generator) -> Floats:
    """Cut papers, one over the other, each with its thin shadow."""
    height, width = tone.shape
    sheet = Image.new("RGB", (width, height), (250, 246, 236))
    pen = ImageDraw.Draw(sheet)
    for n in range(22):
        r, g, b = PALETTES[n % len(PALETTES)][int(rng.integers(4))]
        middle, size = rng.uniform(0.1, 0.9, 2) * (width, height), rng.uniform(0.05, 0.22) * width
        turns = np.sort(rng.uniform(0, 2 * np.pi, int(rng.integers(3, 6))))
        shape = [(middle[0] + size * np.cos(t), middle[1] + size * np.sin(t)) for t in turns]
        pen.polygon([(x + 3, y + 4) for x, y in shape], fill=(150, 140, 126))
        pen.polygon(shape, fill=(int(r * 255), int(g * 255), int(b * 255)))
    return np.asarray(sheet, dtype=np.float32) / 255


def charted(tone: Floats, rng: np.random.Generator) -> Floats:
    """A chart: coast, depth lines, soundings, bearings from two roses."""
    height, width = tone.shape
    depth = 0.6 * noise(rng, tone.shape, 3, 4) + 0.3 * noise(rng, tone.shape, 8, 10)
    depth += 0.1 * noise(rng, tone.shape, 22, 28)
    coast = float(np.quantile(depth, 0.62))
    far = depth - coast
    lines = np.clip(1 - np.abs(far) * 160, 0, 1) + 0.5 * np.clip(
        1 - np.abs((far * 11) % 1 - 0.5) * 26, 0, 1
    ) * (far < 0)
    land = (far > 0) * (0.1 + 0.5 * _lines(np.clip(0.6 - far * 5, 0, 1), rng, 5, 1.2, 6))
    sheet = Image.fromarray(np.uint8(np.clip(lines + land, 0, 1) * 215))
    pen, small = ImageDraw.Draw(sheet), ImageFont.load_default(11)
    for _ in range(2):
        rose = rng.uniform(0.15, 0.85, 2) * (width, height)
        for turn in np.arange(16) * np.pi / 8:
            end = (rose[0] + np.cos(turn) * 2000, rose[1] + np.sin(turn) * 2000)
            pen.line([*rose, *end], fill=70)
        pen.ellipse([rose[0] - 26, rose[1] - 26, rose[0] + 26, rose[1] + 26], outline=200, width=2)
    for _ in range(150):
        at_y, at_x = int(rng.uniform(0.05, 0.94) * height), int(rng.uniform(0.05, 0.94) * width)
        if far[at_y, at_x] < -0.02:
            pen.text((at_x, at_y), str(int(2 + -far[at_y, at_x] * 90)), font=small, fill=205)
    pen.rectangle([4, 4, width - 5, height - 5], outline=220, width=3)
    pen.rectangle([12, 12, width - 13, height - 13], outline=180, width=1)
    return _inked(np.asarray(sheet, dtype=np.float32) / 255 * 0.85, WARM_BLACK)


def written(tone: Floats, rng: np.random.Generator, ink: Colour = INK_BROWN) -> Floats:
    """Lines of a hand that nobody can read."""
    return _rows(tone, rng, ink, wave=True)


def set_in_type(tone: Floats, rng: np.random.Generator) -> Floats:
    """Lines of type that nobody can read, under a heading."""
    return _rows(tone, rng, BLACK, wave=False)


def _rows(tone: Floats, rng: np.random.Generator, ink: Colour, *, wave: bool) -> Floats:
    height, width = tone.shape
    sheet = Image.new("L", (width, height))
    pen = ImageDraw.Draw(sheet)
    if not wave:
        pen.rectangle([0.16 * width, 0.03 * height, 0.84 * width, 0.075 * height], fill=210)
    step = 0.034 * height if wave else 0.024 * height
    for top in np.arange(0.13 * height, 0.97 * height, step):
        left = 0.02 * width
        end = width * (0.97 if rng.random() < 0.8 else rng.uniform(0.3, 0.8))
        while left < end:
            long = rng.uniform(0.03, 0.11) * width
            if wave:
                x = np.arange(left, left + long, 2.0)
                y = top + np.cumsum(rng.uniform(-1, 1, len(x))) * 0.5 + 3.2 * np.sin(x / 2.3)
                pen.line(list(zip(x.tolist(), y.tolist(), strict=True)), fill=200, width=2)
            else:
                for letter in np.arange(left, left + long, 5.0):
                    pen.line([letter, top - rng.uniform(2, 5), letter, top + 4], fill=205, width=2)
                    pen.line([letter, top + 3, letter + 2, top + 3], fill=170, width=1)
            left += long + 0.014 * width
    return _inked(np.asarray(sheet, dtype=np.float32) / 255, ink)


BY_TECHNIQUE: dict[str, Draw] = {
    "aquatint": aquatinted,
    "mezzotint": scraped,
    "photogravure": platinum,
    "woodcut": cut,
    "wood engraving": etched,
    "linocut": cut_in_colour,
    "Japanese colour woodcut": cut_in_colour,
    "lithograph": crayoned,
    "chromolithograph": coloured_stone,
    "offset lithograph": flat_colour,
    "screenprint": flat_colour,
    "risograph": flat_colour,
    "poster on groundwood paper": flat_colour,
    "monotype": smudged,
    "map or chart, printed": charted,
    "letterpress print": set_in_type,
    "newspaper cutting": set_in_type,
    "certificate or document on parchment": written,
    "iron-gall ink drawing or writing": written,
    "pencil drawing": pencilled,
    "coloured pencil drawing": pastelled,
    "carbon ink drawing": penned,
    "charcoal drawing": smudged,
    "chalk drawing": pencilled,
    "pastel": pastelled,
    "technique not known": pastelled,
    "watercolour": washed,
    "gouache": washed,
    "collage": pasted,
    "hand-coloured print": hand_coloured,
    "hand-coloured photograph": hand_coloured,
    "albumen print": warm,
    "salted paper print": warm,
    "printing-out paper, gelatin": warm,
    "toned gelatin silver print": warm,
    "platinum or palladium print": platinum,
    "cyanotype": blue,
    "gelatin silver print, fibre base": silver,
    "gelatin silver print, resin-coated": silver,
    "face-mounted photograph": dyed,
    "chromogenic print, before 1980": dyed,
    "chromogenic print, modern": dyed,
    "inkjet print, pigment": dyed,
    "inkjet print, dye": dyed,
}
_BACKGROUND_PLANTS = frozenset({"cyanotype"})


def drawn_image(
    title: str, technique: str, rng: np.random.Generator, shape: tuple[int, int]
) -> Floats:
    """Return what the image lets through, 0 to 1; etched where the technique is an intaglio."""
    tone = _stems(rng, shape) if technique in _BACKGROUND_PLANTS else composition(title, rng, shape)
    return np.clip(BY_TECHNIQUE.get(technique, etched)(tone, rng), 0, 1)
