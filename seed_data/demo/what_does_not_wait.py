"""Which works cannot wait, and what happened to the house besides mats?

Active mould in the cellar, a pastel at the glass where the visit was stopped, a lot of
board that was recalled, a hook that gave way in 2017, a leak in the stair this autumn.
"""

from models.actions.lots import LotTold
from models.rules.visit_as_told import (
    CauseTold,
    LayerFittedTold,
    LayerRemovedTold,
    RegionTold,
    SightingTold,
    StopTold,
    VisitTold,
)
from models.vocabulary import (
    CauseMount,
    Change,
    Kept,
    Mechanism,
    Severity,
    Shown,
    VisitKind,
)
from seed_data.demo.builds import OLD, RAG, UV_ACRYLIC, as_found, glazing
from seed_data.demo.deeds import (
    Deed,
    Happened,
    LotCame,
    LotRecalled,
    Moved,
    NotAsBefore,
    Visited,
    Walked,
)

MOULD_IN_THE_CELLAR: tuple[Deed, ...] = (
    Visited(
        number="H 040",
        told=VisitTold(
            on="2016-05-09",
            kind=VisitKind.LOOK,
            by="Bran Tympan",
            minutes=10,
            found=as_found(OLD["unknown board, unknown hold"], None),
            summary="As it came, in a heavy black frame.",
        ),
    ),
    Walked(
        on="2026-11-18",
        place="House / Cellar store",
        by="Bran Tympan",
        except_for={
            "H 040": NotAsBefore(
                summary="White and furry along the lower edge, inside the glass.",
                sightings=(
                    SightingTold(
                        change=Change.NEW,
                        term="active mould",
                        region=RegionTold(40, 400, 380, 45),
                        severity=Severity.MODERATE,
                    ),
                ),
                stop=StopTold(
                    "mould or insects", "closed, bagged, on the floor by the cellar door"
                ),
            ),
        },
        note="The wall behind is wet again.",
    ),
)

PASTEL_AT_THE_GLASS: tuple[Deed, ...] = (
    Visited(
        number="F 012",
        told=VisitTold(
            on="2012-10-08",
            kind=VisitKind.LOOK,
            by="Tam Reglet",
            minutes=15,
            found=as_found(OLD["pastel behind glass without a spacer"], "1910~"),
            summary="No spacer, as far as can be seen from the side. Left alone.",
        ),
    ),
    Visited(
        number="F 012",
        told=VisitTold(
            on="2026-10-26",
            kind=VisitKind.LOOK,
            reason="the family asked for a spacer",
            by="Bran Tympan",
            minutes=20,
            stop=StopTold("friable surface on the glazing", "closed, flat, face up"),
            sightings=(
                SightingTold(
                    change=Change.NEW,
                    term="friable surface touching the glazing",
                    region=RegionTold(120, 90, 160, 220),
                    severity=Severity.MODERATE,
                    note="the cheek and the drum lie at the glass",
                ),
            ),
            summary="Stopped before it was opened. Isolde Vellum has been asked.",
        ),
    ),
)

A_LOT_RECALLED: tuple[Deed, ...] = (
    LotCame(
        on="2003-01-20",
        material=RAG,
        told=LotTold(number="L-0301", received="2003-01-20", in_use=True),
    ),
    LotCame(
        on="2015-06-29",
        material=RAG,
        told=LotTold(number="L-1506", received="2015-06-29", in_use=True),
    ),
    LotCame(
        on="2021-03-01",
        material=RAG,
        told=LotTold(number="L-2103", received="2021-03-01", in_use=True),
    ),
    LotCame(
        on="2014-02-03",
        material=UV_ACRYLIC,
        told=LotTold(number="A-14", received="2014-02", in_use=True),
    ),
    LotRecalled(
        on="2026-10-12",
        material=RAG,
        lot="L-1506",
        reason="Three cuttings of this lot read pH 5.4 to 5.8: it has no reserve left.",
    ),
)

THE_HOOK_GAVE_WAY: tuple[Deed, ...] = (
    Happened(
        on="2017-08-16",
        what="fall",
        numbers=("H 020",),
        note="The hook gave way in the night; its glazing cracked.",
    ),
    Visited(
        number="H 020",
        told=VisitTold(
            on="2017-08-17",
            kind=VisitKind.LOOK,
            by="Bran Tympan",
            minutes=15,
            stop=StopTold("glass cracked", "flat, cracks taped, face up on the bench"),
            sightings=(
                SightingTold(
                    change=Change.NEW,
                    term="cracked acrylic",
                    region=RegionTold(200, 10, 70, 120),
                    severity=Severity.SEVERE,
                    cause=CauseTold(Mechanism.ACCIDENT, CauseMount.THIS),
                ),
                SightingTold(
                    change=Change.NEW,
                    term="scratch",
                    region=RegionTold(210, 60, 6, 22),
                    severity=Severity.SLIGHT,
                ),
            ),
            summary="Cracked from the upper right; one scratch on the sheet.",
        ),
    ),
    Moved(on="2017-08-17", numbers=("H 020",), place="Workshop", by="Bran Tympan"),
    Visited(
        number="H 020",
        told=VisitTold(
            on="2017-08-22",
            kind=VisitKind.UNFRAMING,
            reason="new glazing",
            by="Bran Tympan",
            minutes=40,
            seen=frozenset({Shown.FRONT, Shown.BACK_OF_FRAME, Shown.MARGINS}),
            sightings=(
                SightingTold(change=Change.NO_LONGER_VISIBLE, finding=5, note="replaced"),
                SightingTold(change=Change.UNCHANGED, finding=6),
            ),
            layers_removed=(
                LayerRemovedTold(layer="now:glazing", condition="cracked", kept=Kept.DISCARDED),
            ),
            layers_fitted=(LayerFittedTold(layer=glazing(UV_ACRYLIC), replaces="now:glazing"),),
            summary="Glazing changed; the sheet stayed on its hinges.",
        ),
    ),
    Moved(on="2017-08-23", numbers=("H 020",), place="House / Hall", by="Bran Tympan"),
)

A_LEAK_IN_THE_STAIR: tuple[Deed, ...] = (
    Happened(
        on="2026-10-28",
        what="leak",
        place="House / Stair",
        note="Water came through the skylight during the storm and ran down the north wall.",
    ),
    Walked(
        on="2026-11-05",
        place="House / Stair",
        by="Ottilie Quire",
        seen=frozenset({Shown.FRONT, Shown.BACK_OF_FRAME}),
        except_for={
            "H 021": NotAsBefore(
                summary="Waves at the lower edge that were not there in autumn.",
                sightings=(
                    SightingTold(
                        change=Change.NEW,
                        term="cockling",
                        region=RegionTold(60, 470, 500, 60),
                        severity=Severity.SLIGHT,
                    ),
                ),
            ),
            "H 008": NotAsBefore(
                summary="A drop mark on the mat, outside the window.",
                sightings=(
                    SightingTold(
                        change=Change.NEW,
                        term="condensation marks",
                        region=RegionTold(300, 30, 20, 12),
                        severity=Severity.SLIGHT,
                    ),
                ),
            ),
        },
        note="One week after the leak. All backs felt dry.",
    ),
)

WHAT_DOES_NOT_WAIT: tuple[Deed, ...] = (
    *MOULD_IN_THE_CELLAR,
    *PASTEL_AT_THE_GLASS,
    *A_LOT_RECALLED,
    *THE_HOOK_GAVE_WAY,
    *A_LEAK_IN_THE_STAIR,
)
