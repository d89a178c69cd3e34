"""Which colours do two places of a photograph show?

Read from the picture that is made for the screen, before any transaction: what is slow
never holds up whoever wants to write.
"""

from sqlalchemy import Engine

from api.installation import Installation
from api.photograph_files import path_of_picture
from models.database import read_session
from models.exchange.spots_apart import colours_at
from models.rules.sheet_corners import Point
from models.rules.visit_as_told import ContrastTold, SpotTold
from models.tables.photographs import get_photograph
from models.tables.visible import Viewer

# Longest side of the picture, in px, that the colours are read from.
SHARP_PX = 2400


def read_contrast(
    here: Installation,
    engine: Engine,
    viewer: Viewer,
    photograph_id: int,
    places: tuple[Point, Point],
) -> ContrastTold:
    """Return what a stain and clean paper beside it show; places in fractions of the picture.

    Raises NotFound for a photograph that is not there for the viewer.
    """
    stain, clean = places
    with read_session(engine) as session:
        sha256 = get_photograph(session, viewer, photograph_id).sha256
    picture = path_of_picture(here, sha256, SHARP_PX)
    of_stain, of_clean = colours_at(picture, [stain, clean])
    return ContrastTold(photograph_id, SpotTold(stain, of_stain), SpotTold(clean, of_clean))
