"""Which works want a new mat, each for a reason of its own?

Tape of rubber, kraft board behind the sheet, a board that failed the photographic
activity test, board of nobody knows what from before 1980, tape that has begun to
ooze, a sheet stuck down all over (in the plain visits: F 008, F 009), and a bench
that tested what it did not know.
"""

from dataclasses import replace

from models.actions.materials import FiguresTold, MaterialTold
from models.rules.visit_as_told import (
    CauseTold,
    LayerTestTold,
    ReachTold,
    SightingTold,
    VisitTold,
)
from models.vocabulary import (
    BenchTest,
    CauseMount,
    Change,
    Edge,
    Mechanism,
    PatResult,
    Severity,
    Shown,
    Side,
    VisitKind,
)
from seed_data.demo.builds import BLACK_BOARD, OLD, as_found
from seed_data.demo.deeds import Deed, FiguresLearned, MaterialCame, Visited
from seed_data.demo.stains_under_mats import MAT_LIFTED

_OPENED = MAT_LIFTED | {Shown.VERSO}
_ACID = CauseTold(Mechanism.ACID_MIGRATION, CauseMount.THIS)
_ADHESIVE = CauseTold(Mechanism.ADHESIVE_AGEING, CauseMount.THIS)
_PHOTO = CauseTold(Mechanism.PHOTO_ACTIVITY, CauseMount.THIS)

RUBBER_TAPE: tuple[Deed, ...] = (
    Visited(
        number="F 005",
        told=VisitTold(
            on="2015-09-10",
            kind=VisitKind.UNFRAMING,
            reason="first look inside",
            by="Bran Tympan",
            minutes=25,
            seen=_OPENED,
            found=as_found(OLD["masking tape on alpha board"], "2001~"),
            sightings=(
                SightingTold(
                    change=Change.FOUND_AGE_UNKNOWN,
                    term="tape stain",
                    side=Side.VERSO,
                    reach=ReachTold(Edge.TOP, 26),
                    severity=Severity.SLIGHT,
                    cause=_ADHESIVE,
                ),
            ),
            closed_as_it_was=True,
            summary="A good board, and masking tape along the whole top. Owner asked for a quote.",
        ),
    ),
)

KRAFT_BEHIND: tuple[Deed, ...] = (
    Visited(
        number="H 021",
        told=VisitTold(
            on="2010-03-08",
            kind=VisitKind.UNFRAMING,
            reason="first look inside",
            by="Tam Reglet",
            minutes=35,
            seen=_OPENED,
            found=as_found(OLD["kraft behind the sheet"], "1994~"),
            sightings=(
                SightingTold(
                    change=Change.FOUND_AGE_UNKNOWN,
                    term="backing stain",
                    side=Side.VERSO,
                    severity=Severity.MODERATE,
                    extent_percent=80,
                    cause=_ACID,
                    note="in stripes, as the flutes of the board run",
                ),
            ),
            closed_as_it_was=True,
            summary="Brown corrugated board lies right behind the sheet.",
        ),
    ),
)

FAILED_THE_TEST: tuple[Deed, ...] = (
    MaterialCame(
        on="2018-03-05",
        told=MaterialTold(
            name=BLACK_BOARD,
            kind="mat board",
            claim="photo-safe",
            note="Bought sheet by sheet; the seller had no figures.",
        ),
        figures=FiguresTold(
            grade="white-core board, not tested",
            thickness_mm=1.4,
            basis={
                "grade": "default of this project: a white core with no figures",
                "thickness_mm": "measured in the workshop",
            },
        ),
    ),
    Visited(
        number="H 031",
        told=VisitTold(
            on="2019-02-11",
            kind=VisitKind.UNFRAMING,
            reason="out of an album, to be shown",
            by="Bran Tympan",
            minutes=50,
            seen=frozenset(Shown),
            mount=OLD["photograph behind black board"],
            summary="A black mat was wished for.",
        ),
    ),
    FiguresLearned(
        on="2024-05-06",
        material=BLACK_BOARD,
        changes={
            "pat": PatResult.FAILED,
            "pat_on": "2024-05-06",
            "basis": {"pat": "measured: a cutting of this board, by the laboratory asked in 2024"},
        },
    ),
    Visited(
        number="H 031",
        told=VisitTold(
            on="2024-06-10",
            kind=VisitKind.UNFRAMING,
            reason="its board failed the photographic activity test",
            by="Bran Tympan",
            minutes=30,
            seen=_OPENED,
            sightings=(
                SightingTold(
                    change=Change.NEW,
                    term="photographic fading or staining",
                    reach=ReachTold(Edge.ALL, 3, follows_window_edge=True),
                    severity=Severity.SLIGHT,
                    cause=_PHOTO,
                    note="yellow in the highlights, along the window",
                ),
            ),
            closed_as_it_was=True,
            summary="It has begun. Waits for unbuffered board that passed.",
        ),
    ),
)

# The mat and the back of a package of nothing known, under names for the tests.
_UNKNOWN = OLD["unknown board, unknown hold"]
_UNKNOWN_TO_TEST = replace(
    _UNKNOWN,
    layers=tuple(replace(layer, ref=f"{layer.role} then") for layer in _UNKNOWN.layers),
)

TESTED_AT_THE_BENCH: tuple[Deed, ...] = (
    Visited(
        number="F 003",
        told=VisitTold(
            on="2015-09-11",
            kind=VisitKind.UNFRAMING,
            reason="what is the board?",
            by="Bran Tympan",
            minutes=40,
            seen=_OPENED,
            found=as_found(_UNKNOWN_TO_TEST, "197X"),
            tests=(
                LayerTestTold("ref:window mat then", BenchTest.BEVEL_COLOUR, "brown"),
                LayerTestTold("ref:window mat then", BenchTest.PH_PEN, "acid"),
                LayerTestTold("ref:window mat then", BenchTest.LIGNIN_SPOT, "red"),
                LayerTestTold("ref:backing board then", BenchTest.PH_PEN, "acid"),
                LayerTestTold("ref:window mat then", BenchTest.SURFACE_PH, "4.6"),
            ),
            sightings=(
                SightingTold(
                    change=Change.FOUND_AGE_UNKNOWN,
                    term="mat burn",
                    reach=ReachTold(Edge.TOP, 5, follows_window_edge=True),
                    severity=Severity.SLIGHT,
                    cause=_ACID,
                ),
            ),
            closed_as_it_was=True,
            summary="Tested on offcuts: groundwood, as good as certain.",
        ),
    ),
)

TAPE_BEGINS_TO_OOZE: tuple[Deed, ...] = (
    Visited(
        number="D 006",
        told=VisitTold(
            on="2026-11-09",
            kind=VisitKind.UNFRAMING,
            reason="the sheet hangs lower on one side",
            by="Bran Tympan",
            minutes=35,
            seen=_OPENED,
            found=as_found(OLD["cloth tape all round"], "1991~"),
            sightings=(
                SightingTold(
                    change=Change.FOUND_AGE_UNKNOWN,
                    term="tacky or oily tape",
                    side=Side.VERSO,
                    reach=ReachTold(Edge.ALL, 30),
                    severity=Severity.MODERATE,
                    cause=_ADHESIVE,
                ),
            ),
            closed_as_it_was=True,
            summary="The tape is soft and shines at its edges. It can still be got off now.",
        ),
    ),
)

WANTING_A_REMAT: tuple[Deed, ...] = (
    *RUBBER_TAPE,
    *KRAFT_BEHIND,
    *FAILED_THE_TEST,
    *TESTED_AT_THE_BENCH,
    *TAPE_BEGINS_TO_OOZE,
)
