"""How are photographs shown wherever they stand: in a strip, at the head of a work, in a list?"""

from collections.abc import Iterable
from dataclasses import dataclass

from api.pages.dates_said import date_said
from models.actions.photographs import PhotographOnRecord
from models.rules.calendar_days import day_in_words
from models.tables.visit_notes import PHOTOGRAPH, VisitNoteRow
from models.vocabulary import PhotographStage, PhotographView

# What is shown of a work in a list is at most so high and wide.
THUMBNAIL_PX = 320
PICTURE_PX = 960


@dataclass(frozen=True)
class PhotographShown:
    """A photograph in words, with the size of its thumbnail; the picture stands under its id."""

    id: int
    says: str
    when: str
    by: str
    note: str
    width_px: int
    height_px: int
    is_of_front: bool

    @property
    def told(self) -> str:
        """What the picture shows, for whoever does not see it."""
        return f"{self.says}, {self.when}" if self.when else self.says


@dataclass(frozen=True)
class Take:
    """One photograph that is usually taken, as a button says it."""

    label: str
    view: PhotographView
    stage: PhotographStage | None


# In the order of the bench: what is seen before anything is opened comes first.
TAKES = (
    Take("In the frame", PhotographView.RECTO, PhotographStage.IN_FRAME),
    Take("Back of the frame", PhotographView.VERSO, PhotographStage.IN_FRAME),
    Take("Back off", PhotographView.VERSO, PhotographStage.BACK_OFF),
    Take("Mat lifted", PhotographView.RECTO, PhotographStage.MAT_LIFTED),
    Take("Verso", PhotographView.VERSO, PhotographStage.VERSO),
    Take("Raking light", PhotographView.RAKING, None),
    Take("Transmitted light", PhotographView.TRANSMITTED, None),
    Take("Ultraviolet", PhotographView.UV, None),
    Take("Closed again", PhotographView.RECTO, PhotographStage.CLOSED),
)


def photographs_in_words(found: Iterable[PhotographOnRecord]) -> tuple[PhotographShown, ...]:
    """Return photographs as a strip shows them, in the order in which they come."""
    return tuple(photograph_in_words(one) for one in found)


def photograph_in_words(one: PhotographOnRecord) -> PhotographShown:
    """Return one photograph in words."""
    width, height = _within(THUMBNAIL_PX, one.width_px, one.height_px)
    return PhotographShown(
        id=one.id,
        says=said_of(one.view, one.stage),
        when=_when(one.taken_on, one.recorded_on),
        by=one.taken_by or "",
        note=one.note,
        width_px=width,
        height_px=height,
        is_of_front=one.view == PhotographView.RECTO,
    )


def photographs_noted(notes: Iterable[VisitNoteRow]) -> tuple[PhotographShown, ...]:
    """Return the photographs among the notes of a work, the newest first."""
    pictures = [note for note in notes if note.kind == PHOTOGRAPH]
    newest = sorted(pictures, key=lambda n: (n.on_first or n.recorded_on or 0, n.id), reverse=True)
    return tuple(_noted(note) for note in newest)


def _noted(note: VisitNoteRow) -> PhotographShown:
    width, height = _within(THUMBNAIL_PX, note.width_px or 1, note.height_px or 1)
    stage = None if note.kept is None else PhotographStage(note.kept)
    return PhotographShown(
        id=note.id,
        says=said_of(PhotographView(note.what), stage),
        when=_when(note.on_edtf, note.recorded_on),
        by=note.by or "",
        note=note.text,
        width_px=width,
        height_px=height,
        is_of_front=note.what == PhotographView.RECTO,
    )


def said_of(view: PhotographView, stage: PhotographStage | None) -> str:
    """Return in words what a photograph shows: "Recto, mat lifted"."""
    words = view.value if stage is None or stage.value == view.value else f"{view}, {stage}"
    return words[:1].upper() + words[1:]


def first_of_front(found: Iterable[PhotographShown]) -> PhotographShown | None:
    """Return the newest photograph of the front, that stands for the work; None without one."""
    return next((one for one in found if one.is_of_front), None)


def _when(taken_on: str | None, recorded_on: int | None) -> str:
    if taken_on is not None:
        return date_said(taken_on)
    return "" if recorded_on is None else f"kept {day_in_words(recorded_on)}"


def _within(side_px: int, width_px: int, height_px: int) -> tuple[int, int]:
    share = min(1.0, side_px / max(width_px, height_px))
    return max(1, round(width_px * share)), max(1, round(height_px * share))
