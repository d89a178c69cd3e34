"""How does somebody choose the scheme and the lengths of their own pages?"""

from sqlmodel import Session

from models.rules.permissions import Deed, require
from models.tables.own_settings import OwnSetting, own_setting
from models.tables.visible import Viewer
from models.vocabulary import Lengths, Scheme


def choose_own_settings(
    session: Session, viewer: Viewer, *, scheme: Scheme, lengths: Lengths
) -> None:
    """Keep what somebody chose for themselves, on whatever device they sign in."""
    require(viewer.role, Deed.READ)
    row = own_setting(session, viewer.person_id) or OwnSetting(person_id=viewer.person_id)
    row.scheme, row.lengths = scheme, lengths
    session.add(row)
    session.flush()
