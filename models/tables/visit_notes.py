"""What was read, done, measured and photographed: inscriptions, treatments, colours, pictures?

Six kinds of note in one statement, because a work's page needs them all; the fifth are
the visits that whoever asks has on the bench, the sixth the walks that did not find the work.
"""

from collections.abc import Sequence
from typing import Any, NamedTuple

from sqlalchemy import (
    ColumnElement,
    Integer,
    Select,
    Text,
    and_,
    bindparam,
    cast,
    func,
    literal,
    null,
    union_all,
)
from sqlalchemy import select as columns
from sqlalchemy.orm import Mapped
from sqlmodel import Session, col

from models.tables.base import NUMBER
from models.tables.drafts import VisitDraft
from models.tables.findings import ColourReading, Finding, Sighting
from models.tables.kept_statements import WANTED, send
from models.tables.materials import Material
from models.tables.missing_works import IS_STILL_AWAY, IS_WHERE_IT_WAS_MISSED, MissingWork
from models.tables.people import Person
from models.tables.photographs import Photograph
from models.tables.places import Walk
from models.tables.terms import TreatmentTerm
from models.tables.visible import Viewer
from models.tables.visits import Inscription, Treatment, TreatmentMaterial, Visit
from models.tables.works import Stay, Work

Statement = Select[*tuple[Any, ...]]
INSCRIPTION, TREATMENT, COLOUR = "inscription", "treatment", "colour"
PHOTOGRAPH, ON_BENCH, MISSING = "photograph", "on the bench", "missing"
BETWEEN_MATERIALS = "; "


class VisitNoteRow(NamedTuple):
    """One note. `what` is where an inscription is, the term of a treatment, the spot of a reading.

    `kept` is where an inscription went, `by` who treated, `materials` with what;
    L*, a*, b* and the sighting belong to a colour reading. Of a photograph `what` is its
    view, `kept` its stage, `by` who took it, then when, when it came on record, and its sides;
    it may belong to no visit. Of a visit on the bench `what` is its kind, `text` its key; of
    a walk that missed the work its kind, and when it was.
    """

    kind: str
    id: int
    work_id: int
    visit_id: int | None
    sighting_id: int | None
    what: str
    text: str
    kept: str | None
    by: str | None
    materials: str | None
    lab_l: float | None
    lab_a: float | None
    lab_b: float | None
    on_edtf: str | None = None
    on_first: int | None = None
    recorded_on: int | None = None
    width_px: int | None = None
    height_px: int | None = None


def visit_note_rows(
    session: Session, viewer: Viewer, work_ids: Sequence[int]
) -> list[VisitNoteRow]:
    """Return the notes of every visit to these works, in the order they were made."""
    return [VisitNoteRow(*row) for row in send(session, viewer, _notes, work_ids)]


def _notes(visible: ColumnElement[bool]) -> Statement:
    of_works = (visible, col(Work.id).in_(WANTED), col(Visit.withdrawn_reason).is_(None))
    parts = (_inscriptions(), _treatments(), _colours(), _photographs(), _on_bench(), _missing())
    found = union_all(*(part.where(*of_works) for part in parts)).subquery()
    return columns(found).order_by(found.c.visit_id, found.c.kind, found.c.id)


def _inscriptions() -> Statement:
    return (
        columns(
            literal(INSCRIPTION).label("kind"),
            col(Inscription.id),
            col(Visit.work_id),
            col(Inscription.visit_id),
            cast(null(), Integer).label("sighting_id"),
            col(Inscription.found_where).label("what"),
            col(Inscription.inscribed).label("text"),
            cast(col(Inscription.kept), Text).label("kept"),
            cast(null(), Text).label("by"),
            cast(null(), Text).label("materials"),
            *_no_colour(),
            *_no_picture(),
        )
        .select_from(Inscription)
        .join(Visit, col(Visit.id) == Inscription.visit_id)
        .join(Work, col(Work.id) == Visit.work_id)
        .where(col(Inscription.withdrawn_reason).is_(None))
    )


def _treatments() -> Statement:
    used = (
        columns(func.aggregate_strings(col(Material.name), BETWEEN_MATERIALS))
        .select_from(TreatmentMaterial)
        .join(Material, col(Material.id) == TreatmentMaterial.material_id)
        .where(col(TreatmentMaterial.treatment_id) == Treatment.id)
    )
    return (
        columns(
            literal(TREATMENT),
            col(Treatment.id),
            col(Visit.work_id),
            col(Treatment.visit_id),
            cast(null(), Integer),
            col(TreatmentTerm.term),
            col(Treatment.note),
            cast(null(), Text),
            col(Person.name),
            used.scalar_subquery(),
            *_no_colour(),
            *_no_picture(),
        )
        .select_from(Treatment)
        .join(TreatmentTerm, col(TreatmentTerm.id) == Treatment.term_id)
        .join(Visit, col(Visit.id) == Treatment.visit_id)
        .join(Work, col(Work.id) == Visit.work_id)
        .outerjoin(Person, col(Person.id) == Treatment.by_id)
        .where(col(Treatment.withdrawn_reason).is_(None))
    )


def _colours() -> Statement:
    return (
        columns(
            literal(COLOUR),
            col(ColourReading.id),
            col(Finding.work_id),
            col(Sighting.visit_id),
            col(Sighting.id),
            col(ColourReading.spot),
            literal(""),
            cast(null(), Text),
            cast(null(), Text),
            cast(null(), Text),
            *_lab(ColourReading.lab_l, ColourReading.lab_a, ColourReading.lab_b),
            *_no_picture(),
        )
        .select_from(ColourReading)
        .join(Sighting, col(Sighting.id) == ColourReading.sighting_id)
        .join(Finding, col(Finding.id) == Sighting.finding_id)
        .join(Visit, col(Visit.id) == Sighting.visit_id)
        .join(Work, col(Work.id) == Finding.work_id)
        .where(col(Sighting.withdrawn_reason).is_(None))
    )


def _photographs() -> Statement:
    return (
        columns(
            literal(PHOTOGRAPH),
            col(Photograph.id),
            col(Photograph.work_id),
            col(Photograph.visit_id),
            cast(null(), Integer),
            cast(col(Photograph.view), Text),
            col(Photograph.note),
            cast(col(Photograph.stage), Text),
            col(Person.name),
            cast(null(), Text),
            *_no_colour(),
            col(Photograph.taken_on_edtf),
            col(Photograph.taken_on_first),
            col(Photograph.recorded_on),
            col(Photograph.width_px),
            col(Photograph.height_px),
        )
        .select_from(Photograph)
        .join(Work, col(Work.id) == Photograph.work_id)
        .outerjoin(
            Visit,
            and_(col(Visit.id) == Photograph.visit_id, col(Visit.withdrawn_reason).is_(None)),
        )
        .outerjoin(Person, col(Person.id) == Photograph.person_id)
        .where(col(Photograph.withdrawn_reason).is_(None))
    )


def _on_bench() -> Statement:
    return (
        columns(
            literal(ON_BENCH),
            col(VisitDraft.id),
            col(VisitDraft.work_id),
            col(VisitDraft.visit_id),
            cast(null(), Integer),
            cast(col(VisitDraft.kind), Text),
            col(VisitDraft.draft_key),
            cast(null(), Text),
            cast(null(), Text),
            cast(null(), Text),
            *_no_colour(),
            *_no_picture(),
        )
        .select_from(VisitDraft)
        .join(Work, col(Work.id) == VisitDraft.work_id)
        .outerjoin(Visit, col(Visit.id) == VisitDraft.visit_id)
        .where(col(VisitDraft.person_id) == bindparam("viewer_person_id"))
        .where(col(VisitDraft.visit_id).is_(None), col(VisitDraft.put_away).is_(None))
    )


def _missing() -> Statement:
    return (
        columns(
            literal(MISSING),
            col(MissingWork.id),
            col(MissingWork.work_id),
            col(MissingWork.found_visit_id),
            cast(null(), Integer),
            cast(col(Walk.kind), Text),
            literal(""),
            cast(null(), Text),
            cast(null(), Text),
            cast(null(), Text),
            *_no_colour(),
            col(Walk.on_edtf),
            col(Walk.on_first),
            *_no_picture()[2:],
        )
        .select_from(MissingWork)
        .join(Walk, col(Walk.id) == MissingWork.walk_id)
        .join(Work, IS_STILL_AWAY)
        .join(Stay, IS_WHERE_IT_WAS_MISSED)
        .outerjoin(Visit, col(Visit.id) == MissingWork.found_visit_id)
    )


def _no_picture() -> list[Any]:
    figures = ("on_first", "recorded_on", "width_px", "height_px")
    whole = [cast(null(), Integer).label(name) for name in figures]
    return [cast(null(), Text).label("on_edtf"), *whole]


def _no_colour() -> list[Any]:
    return [cast(null(), NUMBER).label(name) for name in ("lab_l", "lab_a", "lab_b")]


def _lab(*figures: float) -> list[Mapped[float]]:
    return [col(figure) for figure in figures]
