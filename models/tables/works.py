"""Which works are on record, where they have been, and how one is found."""

from sqlalchemy import CheckConstraint, Index
from sqlalchemy import text as sql

from models.tables.base import (
    Derived,
    Record,
    day,
    edtf,
    flag,
    key,
    link,
    note,
    size_um,
    strict,
    text,
    version,
    whole,
    word,
)
from models.vocabulary import Replaceability, Surface, ValueBand


class Technique(Record, table=True):
    """A technique with what it means for light, touch and alkali; a keeper may add to the list."""

    __tablename__ = "technique"
    __table_args__ = strict(Index("uq_technique_name", "name", unique=True))

    id: int | None = key()
    name: str = text("name", longest=200)
    technique_group: str = text("technique_group", longest=50)
    light_class: int | None = whole("light_class", 1, 8)
    light_basis: str = note("light_basis")
    surface: Surface = word("surface", Surface, default=Surface.OTHER)
    process_group: str = text("process_group", longest=50)
    buffer_advice: str = note("buffer_advice")
    groundwood_support: bool = flag()
    note: str = note()


class Work(Record, table=True):
    """A print, drawing, photograph or chart. Sizes in micrometres, height before width."""

    __tablename__ = "work"
    __table_args__ = strict(
        Index("uq_work_number", "number", unique=True),
        Index("uq_work_code", "code", unique=True),
        # A page of somebody's works is read in the order of their numbers.
        Index("ix_work_owner_id_number", "owner_id", "number"),
        Index(
            "ix_work_off_register",
            "id",
            sqlite_where=sql("withdrawn_reason IS NOT NULL"),
            postgresql_where=sql("withdrawn_reason IS NOT NULL"),
        ),
        CheckConstraint(
            "(image_height_um IS NULL) = (image_width_um IS NULL)"
            " AND (image_left_um IS NULL) = (image_height_um IS NULL)"
            " AND (image_top_um IS NULL) = (image_height_um IS NULL)",
            name="image_whole",
        ),
    )

    id: int | None = key()
    code: str = text("code", longest=8)
    number: str = text("number", longest=100, bytewise=True)
    title: str = text("title")
    maker: str = note("maker")
    made_edtf: str | None = edtf("made_edtf", nullable=True)
    made_first: int | None = day("made_first")
    made_last: int | None = day("made_last")
    technique_id: int | None = link("technique.id", nullable=True)
    support: str = note("support")
    surface: Surface | None = word("surface", Surface, nullable=True)
    height_um: int | None = size_um("height_um")
    width_um: int | None = size_um("width_um")
    image_left_um: int | None = size_um("image_left_um", lowest=0)
    image_top_um: int | None = size_um("image_top_um", lowest=0)
    image_height_um: int | None = size_um("image_height_um")
    image_width_um: int | None = size_um("image_width_um")
    replaceability: Replaceability = word(
        "replaceability", Replaceability, default=Replaceability.UNIQUE
    )
    value_band: ValueBand = word("value_band", ValueBand, default=ValueBand.NORMAL)
    light_class: int | None = whole("light_class", 1, 8)
    owner_id: int | None = link("owner.id", nullable=True, index=False)
    recorded_on: int | None = day("recorded_on")
    note: str = note()
    withdrawn_reason: str | None = text("withdrawn_reason", nullable=True)
    version: int = version()


class Stay(Record, table=True):
    """One stay of a work in a place, from a half-known day to a half-known day."""

    __tablename__ = "stay"
    __table_args__ = strict(
        Index("ix_stay_work_id", "work_id"),
        Index("ix_stay_place_id", "place_id"),
        Index(
            "uq_stay_current_work_id",
            "work_id",
            unique=True,
            sqlite_where=sql("ended = 0 AND withdrawn_reason IS NULL"),
            postgresql_where=sql("NOT ended AND withdrawn_reason IS NULL"),
        ),
        Index(
            "ix_stay_there",
            "place_id",
            "work_id",
            sqlite_where=sql("ended = 0 AND withdrawn_reason IS NULL"),
            postgresql_where=sql("NOT ended AND withdrawn_reason IS NULL"),
        ),
        CheckConstraint("ended OR ended_edtf IS NULL", name="ended"),
    )

    id: int | None = key()
    work_id: int = link("work.id", index=False)
    place_id: int = link("place.id", index=False)
    since_edtf: str | None = edtf("since_edtf", nullable=True)
    since_first: int | None = day("since_first")
    since_last: int | None = day("since_last")
    ended: bool = flag()
    ended_edtf: str | None = edtf("ended_edtf", nullable=True)
    ended_first: int | None = day("ended_first")
    ended_last: int | None = day("ended_last")
    by_id: int | None = link("person.id", nullable=True)
    note: str = note()
    withdrawn_reason: str | None = text("withdrawn_reason", nullable=True)
    version: int = version()


class WorkWord(Derived, table=True):
    """A search word of a work; indexed both ways so that the rarest prefix can drive."""

    __tablename__ = "work_word"
    __table_args__ = strict(
        Index("ix_work_word_work_id_word", "work_id", "word"),
        Index("ix_work_word_word_work_id", "word", "work_id"),
    )

    id: int | None = key()
    work_id: int = link("work.id", index=False)
    word: str = text("word", longest=100, bytewise=True)
