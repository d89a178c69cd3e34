"""Walk-rounds of a room and checks of a box: one act for all the works in it."""

from typing import Annotated

from fastapi import APIRouter
from pydantic import ConfigDict, Field
from pydantic.config import JsonDict

from api.dependencies import SignedIn, Today, WriteSession, requires
from api.rest.shapes import LONGEST_LIST, Id, In, Name, Note, Out, PathId
from api.rest.visit_shapes import Edtf, Several, SightingIn, StopIn
from api.routes import Route
from models.actions.walks import (
    ExceptionTold,
    RecordedWalk,
    WalkTold,
    record_box_check,
    record_walk_round,
)
from models.rules.calendar_days import day_number
from models.rules.permissions import Deed
from models.rules.visit_as_told import StopTold
from models.vocabulary import Shown

router = APIRouter(prefix="/api/places", tags=["walk-rounds"], route_class=Route)

_EXAMPLE: JsonDict = {
    "on": "2026-11-24",
    "by": "R. Imaginary",
    "seen": ["front"],
    "all_as_before_except": [
        {
            "work": 41,
            "summary": "brown spots that were not there",
            "sightings": [{"term": "foxing", "severity": "slight", "change": "new"}],
        },
        {"work": 42, "stop": {"why": "broken glass", "left": "flat, face up, in the study"}},
    ],
    "not_found": [43],
}


class ExceptIn(In):
    """A work that was not as before: what was seen, or why it needs somebody at once."""

    work: Id
    summary: Note = ""
    sightings: Several[SightingIn] = ()
    stop: StopIn | None = None

    def told(self, at: str) -> ExceptionTold:
        """Return it as it is told on."""
        return ExceptionTold(
            work_id=self.work,
            summary=self.summary,
            sightings=tuple(s.told(f"{at}/sightings/{i}") for i, s in enumerate(self.sightings)),
            stop=None if self.stop is None else StopTold(self.stop.why, self.stop.left),
        )


class WalkIn(In):
    """One act: every work of the place was as before, but for those named.

    What was not found, or not looked at, gets no visit: nobody saw it. Without `seen` a
    walk-round saw the front of each, and a box check nothing of its sheets.
    """

    model_config = ConfigDict(json_schema_extra={"examples": [_EXAMPLE, {"on": "2026-11-24"}]})

    on: Edtf
    by: Name | None = None
    seen: Annotated[list[Shown], Field(max_length=len(Shown))] | None = None
    all_as_before_except: Several[ExceptIn] = ()
    not_found: Annotated[tuple[Id, ...], Field(max_length=LONGEST_LIST)] = ()
    not_looked_at: Annotated[tuple[Id, ...], Field(max_length=LONGEST_LIST)] = ()
    note: Note = ""

    def told(self) -> WalkTold:
        """Return the walk as it is told on."""
        exceptions = enumerate(self.all_as_before_except)
        return WalkTold(
            on=self.on,
            by=self.by,
            seen=None if self.seen is None else frozenset(self.seen),
            all_as_before_except=tuple(
                one.told(f"/all_as_before_except/{i}") for i, one in exceptions
            ),
            not_found=self.not_found,
            not_looked_at=self.not_looked_at,
            note=self.note,
        )


class WalkOut(Out):
    """A stored walk: works that were as before, visits of those that were not, who is missing."""

    id: int
    as_before: list[int]
    visits: list[int]
    not_found: list[int]


def walk_out(walk: RecordedWalk) -> WalkOut:
    """Return a walk as it is sent."""
    return WalkOut(
        id=walk.walk_id,
        as_before=list(walk.as_before),
        visits=list(walk.exceptions),
        not_found=list(walk.not_found),
    )


@router.post("/{place_id}/walk-rounds", status_code=201, dependencies=[requires(Deed.WALK_ROUND)])
def walk_round(
    session: WriteSession, viewer: SignedIn, today: Today, place_id: PathId, told: WalkIn
) -> WalkOut:
    """Record one look at every work in a place; what lies in its boxes is checked apart."""
    recorded = record_walk_round(session, viewer, place_id, told.told(), today=day_number(today))
    return walk_out(recorded)


@router.post("/{place_id}/box-checks", status_code=201, dependencies=[requires(Deed.WALK_ROUND)])
def box_check(
    session: WriteSession, viewer: SignedIn, today: Today, place_id: PathId, told: WalkIn
) -> WalkOut:
    """Record one check of a box as a box: damp, insects, sheets that slipped."""
    recorded = record_box_check(session, viewer, place_id, told.told(), today=day_number(today))
    return walk_out(recorded)
