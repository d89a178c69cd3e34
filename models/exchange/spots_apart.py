"""What colour has a small round place on a picture?

A child process with a limit of memory and of time opens the picture that was made for the
screen, upright and in sRGB, and hands back plain numbers. Of each place it takes the median
of a disc, red, green and blue each for itself: dust and the grain of the paper do not move
it, and since each curve of sRGB only rises, the median is the same before it and behind it.
"""

import json
import resource
import subprocess
import sys
from collections.abc import Sequence
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from PIL import Image

from models.errors import BadValue

# The radius of a disc as a fraction of the longer side: about the tip of a pencil on a
# sheet that fills the picture. Choice of this project.
RADIUS = 0.004
MOST_MEMORY_BYTES = 1_000_000_000
MOST_SECONDS = 10
_SURROUNDINGS = {"OPENBLAS_NUM_THREADS": "1", "OMP_NUM_THREADS": "1", "PYTHONUTF8": "1"}

# Red, green and blue from 0 to 1.
Rgb = tuple[float, float, float]


def colours_at(picture: Path, places: Sequence[tuple[float, float]]) -> tuple[Rgb, ...]:
    """Return the colour at each place, given in fractions of the picture from left and top.

    Raises BadValue when the picture cannot be read.
    """
    told = json.dumps([list(place) for place in places])
    try:
        done = subprocess.run(
            [sys.executable, "-m", "models.exchange.spots_apart", str(picture.resolve()), told],
            capture_output=True,
            timeout=MOST_SECONDS * 2,
            env=_SURROUNDINGS,
            cwd=Path(__file__).resolve().parents[2],
            check=True,
        )
    except (subprocess.TimeoutExpired, subprocess.CalledProcessError):
        raise BadValue.at(
            "/photograph", "This photograph cannot be read.", "Send it anew."
        ) from None
    return tuple((red, green, blue) for red, green, blue in json.loads(done.stdout))


def median_of_disc(pixels: NDArray[np.uint8], place: tuple[float, float]) -> Rgb:
    """Return the median of the disc round a place; what lies beyond the picture is left out."""
    height, width = pixels.shape[:2]
    radius = max(1.0, RADIUS * max(height, width))
    x, y = place[0] * (width - 1), place[1] * (height - 1)
    left, top = max(0, int(x - radius)), max(0, int(y - radius))
    part = pixels[top : int(y + radius) + 2, left : int(x + radius) + 2]
    down, across = np.ogrid[: part.shape[0], : part.shape[1]]
    inside = (across + left - x) ** 2 + (down + top - y) ** 2 <= radius**2
    red, green, blue = np.median(part[inside], axis=0) / 255
    return float(red), float(green), float(blue)


def main(arguments: list[str]) -> None:
    """Read the picture named first at the places named second, and write their colours."""
    _, hard = resource.getrlimit(resource.RLIMIT_AS)
    resource.setrlimit(resource.RLIMIT_AS, (MOST_MEMORY_BYTES, hard))
    resource.setrlimit(resource.RLIMIT_CPU, (MOST_SECONDS, MOST_SECONDS + 1))
    resource.setrlimit(resource.RLIMIT_CORE, (0, 0))
    with Image.open(arguments[0]) as opened:
        pixels = np.asarray(opened.convert("RGB"))
    places = json.loads(arguments[1])
    sys.stdout.write(json.dumps([median_of_disc(pixels, (x, y)) for x, y in places]))


if __name__ == "__main__":
    main(sys.argv[1:])
