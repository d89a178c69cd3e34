"""How far is a stain from clean paper beside it, as a photograph shows them?

Two places of one picture are told with the colours that were read there. They are kept
as they were read, apart from the readings of instruments: indicative, and no rule rests
on them.
"""

from collections.abc import Mapping

from sqlmodel import Session, select

from models.actions.finding_outlines import side_seen
from models.actions.record_changes import refuse_stale, write
from models.errors import BadValue
from models.risk.photograph_colour import lab_of_srgb
from models.rules.permissions import Deed, require
from models.rules.visit_as_told import ContrastTold, SpotTold
from models.tables.outlines import MILLION, PhotographContrast, get_sighting
from models.tables.photographs import get_photograph
from models.tables.register import get_work_to_change
from models.tables.visible import Viewer


def keep_contrast(
    session: Session,
    viewer: Viewer,
    sighting_id: int,
    told: ContrastTold,
    *,
    based_on: int = 0,
) -> PhotographContrast:
    """Keep what was read of a sighting; `based_on` is the version of the reading before, or 0.

    Raises NotFound, NotAllowed, Stale, BadValue.
    """
    require(viewer.role, Deed.RECORD_VISIT)
    finding = get_sighting(session, viewer, sighting_id).finding
    get_work_to_change(session, viewer, finding.work_id)
    photograph = get_photograph(session, viewer, told.photograph)
    if photograph.work_id != finding.work_id or side_seen(photograph) is not finding.side:
        message = "This photograph does not show the finding."
        raise BadValue.at("/photograph", message, f"one of the {finding.side} of this work")
    values = {
        "photograph_id": told.photograph,
        **_values("stain", told.stain),
        **_values("clean", told.clean),
    }
    found = select(PhotographContrast).where(PhotographContrast.sighting_id == sighting_id)
    kept = session.exec(found).first()
    if kept is not None:
        refuse_stale(kept, based_on, theirs={"version": kept.version})
    row = kept or PhotographContrast(sighting_id=sighting_id)
    write(row, values)
    session.add(row)
    session.flush()
    return row


def _values(name: str, spot: SpotTold) -> Mapping[str, object]:
    # A black pixel comes out a hair below nothing, a white one a hair above 100.
    lightness, a, b = (float(figure) for figure in lab_of_srgb(spot.rgb))
    return {
        f"{name}_x_ppm": round(spot.place[0] * MILLION),
        f"{name}_y_ppm": round(spot.place[1] * MILLION),
        f"{name}_l": min(max(lightness, 0.0), 100.0),
        f"{name}_a": a,
        f"{name}_b": b,
    }
