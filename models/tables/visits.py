"""What did somebody do and see, each time a work was examined?"""

from sqlalchemy import CheckConstraint, Index
from sqlalchemy import text as sql

from models.tables.base import (
    Record,
    day,
    edtf,
    flag,
    key,
    link,
    note,
    number,
    strict,
    text,
    version,
    whole,
    word,
)
from models.vocabulary import BenchTest, Kept, Shown, VisitKind


class Visit(Record, table=True):
    """One time somebody examined a work; its report stands in `summary` and in the sightings."""

    __tablename__ = "visit"
    __table_args__ = strict(
        Index("uq_visit_work_id_visit_no", "work_id", "visit_no", unique=True),
        Index(
            "ix_visit_to_write_up",
            "on_first",
            sqlite_where=sql("to_write_up = 1 AND withdrawn_reason IS NULL"),
            postgresql_where=sql("to_write_up AND withdrawn_reason IS NULL"),
        ),
        CheckConstraint("(stop_why IS NULL) = (stop_left IS NULL)", name="stop_whole"),
    )

    id: int | None = key()
    work_id: int = link("work.id", index=False)
    visit_no: int = whole("visit_no", 1, 100_000, nullable=False, default=1)
    on_edtf: str = edtf("on_edtf")
    on_first: int | None = day("on_first", index=True)
    on_last: int | None = day("on_last")
    kind: VisitKind = word("kind", VisitKind)
    reason: str = note("reason")
    by_id: int | None = link("person.id", nullable=True)
    by_unknown_hand: bool = flag()
    minutes: int | None = whole("minutes", 0, 100_000)
    seen_front: bool = flag()
    seen_back_of_frame: bool = flag()
    seen_margins: bool = flag()
    seen_verso: bool = flag()
    seen_under_hinges: bool = flag()
    stop_why: str | None = text("stop_why", nullable=True)
    stop_left: str | None = text("stop_left", nullable=True)
    summary: str = note("summary")
    closed_as_it_was: bool = flag()
    to_write_up: bool = flag()
    walk_id: int | None = link("walk.id", nullable=True)
    recorded_by_id: int | None = link("person.id", nullable=True)
    recorded_on: int | None = day("recorded_on")
    withdrawn_reason: str | None = text("withdrawn_reason", nullable=True)
    version: int = version()

    def saw(self) -> frozenset[Shown]:
        """Return the places that this visit really saw."""
        told = {
            Shown.FRONT: self.seen_front,
            Shown.BACK_OF_FRAME: self.seen_back_of_frame,
            Shown.MARGINS: self.seen_margins,
            Shown.VERSO: self.seen_verso,
            Shown.UNDER_HINGES: self.seen_under_hinges,
        }
        return frozenset(place for place, seen in told.items() if seen)


class LayerTest(Record, table=True):
    """A test of a layer at the bench, with the visit at which it was made."""

    __tablename__ = "layer_test"

    id: int | None = key()
    visit_id: int = link("visit.id")
    layer_id: int = link("layer.id")
    test: BenchTest = word("test", BenchTest)
    result: str = text("result", longest=100)
    surface_ph: float | None = number("surface_ph", 0, 14)
    withdrawn_reason: str | None = text("withdrawn_reason", nullable=True)


class Inscription(Record, table=True):
    """A text or label found on a work, a backing or a frame, and where it is kept."""

    __tablename__ = "inscription"

    id: int | None = key()
    visit_id: int = link("visit.id")
    found_where: str = text("found_where", longest=200)
    inscribed: str = note("inscribed")
    kept: Kept | None = word("kept", Kept, nullable=True)
    withdrawn_reason: str | None = text("withdrawn_reason", nullable=True)


class Treatment(Record, table=True):
    """What was done to the work itself at a visit."""

    __tablename__ = "treatment"

    id: int | None = key()
    visit_id: int = link("visit.id")
    term_id: int = link("treatment_term.id")
    by_id: int | None = link("person.id", nullable=True)
    note: str = note()
    withdrawn_reason: str | None = text("withdrawn_reason", nullable=True)


class TreatmentMaterial(Record, table=True):
    """A material used in a treatment, so that a recall finds it too."""

    __tablename__ = "treatment_material"
    __table_args__ = strict(
        Index(
            "uq_treatment_material_treatment_id_material_id",
            "treatment_id",
            "material_id",
            unique=True,
        )
    )

    id: int | None = key()
    treatment_id: int = link("treatment.id", index=False)
    material_id: int = link("material.id")
