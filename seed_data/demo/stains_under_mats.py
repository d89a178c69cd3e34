"""Discolouration found when a piece is unframed: which works tell that story?

H 007 is the whole of it: a mat burn followed from 8 to 12 mm, then a dismount hold
by hold, with harm, and a stub of tape that stayed on the sheet. H 014 is half of
it: seen twice, and waiting to be unframed today.
"""

from dataclasses import replace

from models.rules.visit_as_told import (
    CauseTold,
    ColourTold,
    DismountTold,
    HoldFreedTold,
    HoldTold,
    LayerTestTold,
    MountTold,
    ReachTold,
    RegionTold,
    SightingTold,
    TreatmentTold,
    VisitTold,
)
from models.vocabulary import (
    BenchTest,
    CauseMount,
    Change,
    Edge,
    FreedBy,
    Mechanism,
    Outcome,
    Severity,
    Shown,
    Side,
    VisitKind,
)
from seed_data.demo.builds import (
    GROUNDWOOD,
    OLD_GLASS,
    WORK,
    as_found,
    back,
    board,
    build_as_told,
    framed,
    glazing,
    mat,
    package,
)
from seed_data.demo.deeds import Visited

MAT_LIFTED = frozenset({Shown.FRONT, Shown.BACK_OF_FRAME, Shown.MARGINS})
_ACID = CauseTold(Mechanism.ACID_MIGRATION, CauseMount.THIS)
_ADHESIVE = CauseTold(Mechanism.ADHESIVE_AGEING, CauseMount.THIS)


def _window_burn(mm: float) -> ReachTold:
    return ReachTold(Edge.ALL, mm, follows_window_edge=True)


def _readings(stain: tuple[float, float, float]) -> tuple[ColourTold, ...]:
    return (ColourTold(*stain, "stain"), ColourTold(92.4, 0.3, 8.1, "clean paper"))


def _groundwood(*holds: HoldTold, mounted_on: str) -> MountTold:
    """Return an old package of groundwood: mat, board and a hardboard back."""
    layers = framed(
        glazing(OLD_GLASS),
        replace(mat(GROUNDWOOD), ref="old mat"),
        WORK,
        board(GROUNDWOOD),
        back("Hardboard"),
        frame="Softwood frame",
        seal="Gummed kraft sealing tape",
    )
    return as_found(package("gummed tape hinges", layers, holds), mounted_on)


# --- H 007: the whole story -------------------------------------------------------------------

_H_007_HELD = (
    HoldTold(material="Gummed linen tape", position="top left", count=1, ref="left hinge"),
    HoldTold(
        material="Rubber clear tape, cellulose carrier",
        position="top right",
        count=1,
        note="put there where the second hinge had come off",
        ref="right tape",
    ),
)

MAT_BURN_FOLLOWED = (
    Visited(
        number="H 007",
        told=VisitTold(
            on="2009-03-09",
            kind=VisitKind.UNFRAMING,
            reason="the bevel has gone brown",
            by="Tam Reglet",
            minutes=25,
            seen=MAT_LIFTED,
            found=_groundwood(*_H_007_HELD, mounted_on="1989~"),
            sightings=(
                SightingTold(
                    change=Change.FOUND_AGE_UNKNOWN,
                    term="mat burn",
                    reach=_window_burn(8),
                    severity=Severity.SLIGHT,
                    cause=_ACID,
                    colours=_readings((87.2, 1.9, 14.6)),
                ),
                SightingTold(
                    change=Change.FOUND_AGE_UNKNOWN,
                    term="foxing",
                    region=RegionTold(60, 220, 45, 30),
                    severity=Severity.SLIGHT,
                ),
            ),
            tests=(LayerTestTold("ref:old mat", BenchTest.BEVEL_COLOUR, "brown"),),
            closed_as_it_was=True,
            summary="Brown line along the window. No board in the house that day: closed again.",
        ),
    ),
    Visited(
        number="H 007",
        told=VisitTold(
            on="2016-04-18",
            kind=VisitKind.UNFRAMING,
            reason="is the mat burn growing?",
            by="Bran Tympan",
            minutes=30,
            seen=MAT_LIFTED,
            sightings=(
                SightingTold(
                    change=Change.GROWN,
                    finding=1,
                    reach=_window_burn(10),
                    severity=Severity.MODERATE,
                    colours=_readings((84.9, 3.0, 17.8)),
                ),
                SightingTold(change=Change.UNCHANGED, finding=2),
            ),
            closed_as_it_was=True,
            summary="Two millimetres more in seven years. Put on the list for a new mat.",
        ),
    ),
    Visited(
        number="H 007",
        told=VisitTold(
            on="2023-05-22",
            kind=VisitKind.UNFRAMING,
            reason="remat",
            by="Bran Tympan",
            minutes=95,
            sightings=(
                SightingTold(
                    change=Change.GROWN,
                    finding=1,
                    reach=_window_burn(12),
                    severity=Severity.MODERATE,
                    colours=_readings((82.3, 4.2, 20.9)),
                ),
                SightingTold(change=Change.UNCHANGED, finding=2),
                SightingTold(
                    change=Change.NEW,
                    term="skinning",
                    side=Side.VERSO,
                    region=RegionTold(340, 4, 18, 6),
                    severity=Severity.SLIGHT,
                    cause=_ADHESIVE,
                    note="where the tape was, at this dismount",
                ),
            ),
            dismount=DismountTold(
                holds=(
                    HoldFreedTold(hold="ref:left hinge", freed_by=FreedBy.WATER),
                    HoldFreedTold(
                        hold="ref:right tape",
                        freed_by=FreedBy.SCALPEL_OR_SPATULA,
                        outcome=Outcome.CUT_AND_STUB_LEFT,
                        residue="14 x 20 mm of tape, its adhesive brown in the paper",
                    ),
                ),
                harm="slight skinning above the right tape",
                reason="remat",
            ),
            mount=build_as_told("Museum mat, paste hinges"),
            treatments=(
                TreatmentTold(term="surface cleaning", note="margins only, soft brush"),
                TreatmentTold(term="hinge cut, stub left", note="for the conservator to decide"),
            ),
            summary="12 mm. Left hinge off with water; the tape would not come and was cut.",
        ),
    ),
)

# --- H 014: waiting to be unframed today ------------------------------------------------------

_H_014_HELD = (HoldTold(material="Gummed linen tape", position="top", count=2, ref="hinges"),)

WAITS_FOR_TODAY = (
    Visited(
        number="H 014",
        told=VisitTold(
            on="2011-10-10",
            kind=VisitKind.UNFRAMING,
            reason="what is it framed in?",
            by="Tam Reglet",
            minutes=25,
            seen=MAT_LIFTED,
            found=_groundwood(*_H_014_HELD, mounted_on="1986~"),
            sightings=(
                SightingTold(
                    change=Change.FOUND_AGE_UNKNOWN,
                    term="mat burn",
                    reach=ReachTold(Edge.LEFT, 7, follows_window_edge=True),
                    severity=Severity.SLIGHT,
                    cause=_ACID,
                    colours=_readings((88.0, 1.6, 13.5)),
                ),
                SightingTold(
                    change=Change.FOUND_AGE_UNKNOWN,
                    term="foxing",
                    region=RegionTold(300, 40, 50, 60),
                    severity=Severity.SLIGHT,
                ),
            ),
            closed_as_it_was=True,
            summary="Groundwood mat and board, hinges firm. A faint line on the left.",
        ),
    ),
    Visited(
        number="H 014",
        told=VisitTold(
            on="2019-06-03",
            kind=VisitKind.UNFRAMING,
            reason="is the mat burn growing?",
            by="Bran Tympan",
            minutes=25,
            seen=MAT_LIFTED,
            sightings=(
                SightingTold(
                    change=Change.GROWN,
                    finding=1,
                    reach=ReachTold(Edge.LEFT, 9, follows_window_edge=True),
                    severity=Severity.MODERATE,
                    colours=_readings((85.8, 2.7, 16.9)),
                ),
                SightingTold(change=Change.UNCHANGED, finding=2),
            ),
            tests=(LayerTestTold("ref:old mat", BenchTest.BEVEL_COLOUR, "brown"),),
            closed_as_it_was=True,
            summary="9 mm now. Next time it is open it gets a new mat.",
        ),
    ),
)

# --- others of the same family ----------------------------------------------------------------


def _swans(on: str, by: str, sighting: SightingTold, found: MountTold | None) -> Visited:
    return Visited(
        number="F 002",
        told=VisitTold(
            on=on,
            kind=VisitKind.UNFRAMING,
            reason="first look inside" if found else "is the mat burn growing?",
            by=by,
            minutes=20,
            seen=MAT_LIFTED,
            found=found,
            sightings=(sighting,),
            closed_as_it_was=True,
            summary="Groundwood mat, in a bright and warm room.",
        ),
    )


MORNING_ROOM = (
    _swans(
        "2008-06-03",
        "Tam Reglet",
        SightingTold(
            change=Change.FOUND_AGE_UNKNOWN,
            term="mat burn",
            reach=_window_burn(4),
            severity=Severity.SLIGHT,
            cause=_ACID,
        ),
        _groundwood(*_H_014_HELD, mounted_on="1994"),
    ),
    _swans(
        "2018-11-13",
        "Bran Tympan",
        SightingTold(
            change=Change.GROWN,
            finding=1,
            reach=_window_burn(9),
            severity=Severity.MODERATE,
        ),
        None,
    ),
)

STAINS_UNDER_MATS = (*MAT_BURN_FOLLOWED, *WAITS_FOR_TODAY, *MORNING_ROOM)
