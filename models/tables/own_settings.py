"""How does somebody like to read the pages? Nothing of the record depends on it."""

from sqlalchemy import Index
from sqlmodel import Session, col, select

from models.tables.base import Derived, key, link, strict, word
from models.vocabulary import Lengths, Scheme


class OwnSetting(Derived, table=True):
    """What one person chose; who chose nothing has no row."""

    __tablename__ = "own_setting"
    __table_args__ = strict(Index("uq_own_setting_person_id", "person_id", unique=True))

    id: int | None = key()
    person_id: int = link("person.id", index=False)
    scheme: Scheme = word("scheme", Scheme, default=Scheme.SYSTEM)
    lengths: Lengths = word("lengths", Lengths, default=Lengths.METRIC)


def own_setting(session: Session, person_id: int) -> OwnSetting | None:
    """Return what this person chose, if they chose anything."""
    return session.exec(select(OwnSetting).where(col(OwnSetting.person_id) == person_id)).first()
