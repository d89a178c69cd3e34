"""Which work shows what the mounting history of one work can hold?

H 003, a chart: six mounts since about 1890. The first is known from its traces alone,
the second was found with an inscription on its backing, the fourth is the work of an
unknown hand between two dates, and the last was made to change the frame.
"""

from dataclasses import replace

from models.rules.visit_as_told import (
    DismountTold,
    HoldFreedTold,
    HoldTold,
    InscriptionTold,
    LayerTold,
    MountTold,
    ReachTold,
    SightingTold,
    TreatmentTold,
    VisitTold,
)
from models.vocabulary import (
    Answer,
    Change,
    Edge,
    FreedBy,
    Kept,
    KnownBy,
    LayerRole,
    Outcome,
    Severity,
    Shown,
    Side,
    VisitKind,
)
from seed_data.demo.builds import (
    OLD,
    OLD_GLASS,
    WORK,
    as_found,
    back,
    board,
    framed,
    glazing,
    mat,
    package,
)
from seed_data.demo.deeds import Visited

_FROM_ITS_TRACES = MountTold(
    method="edge-to-edge paste",
    inferred=True,
    mounted_on="1890~",
    dismounted_on="192X",
    layers=(
        WORK,
        LayerTold(role=LayerRole.MOUNT_BOARD, grade="unknown board", known_by=KnownBy.GUESSED),
    ),
    holds=(HoldTold(material="Flour paste, old", position="all four edges"),),
    in_front=Answer.UNKNOWN,
    behind=Answer.THIS,
    note="A rim of old paste 10 mm wide on the verso, and a line on the recto inside the present"
    " window: once pasted down by its edges.",
)

_FOUND_IN_2002 = package(
    "edge-to-edge paste",
    framed(
        glazing(OLD_GLASS),
        mat("Wallpaper or coloured paper, old"),
        WORK,
        board("Straw board"),
        replace(back("Softwood boards, old backing"), ref="old boards"),
        frame="Gilded or painted wood frame",
    ),
    (
        HoldTold(material="Animal glue", position="top edge", count=1, ref="glue"),
        HoldTold(material="Flour paste, old", position="lower corners", count=2, ref="dabs"),
    ),
    note="Label of a framer long gone.",
)

_IN_2004 = package(
    "gummed tape hinges",
    framed(
        glazing("Float glass, 3 mm"),
        mat("Alpha-cellulose mat board, 4-ply, buffered"),
        WORK,
        board("Alpha-cellulose mat board, 4-ply, buffered"),
        frame="Gilded or painted wood frame",
        seal="Gummed kraft sealing tape",
    ),
    (HoldTold(material="Gummed linen tape", position="top", count=3, ref="linen"),),
)

_BY_AN_UNKNOWN_HAND = package(
    "taped along the top",
    framed(
        glazing("Float glass, 3 mm"),
        mat("Cream-core mat board, not tested"),
        WORK,
        board("Grey board of waste paper"),
        frame="Aluminium frame",
    ),
    (HoldTold(material="Rubber masking tape", position="along the top", count=1, ref="tape"),),
    note="Nobody here did this; it came back from a borrower like that.",
)

A_LONG_HISTORY = (
    Visited(
        number="H 003",
        told=VisitTold(
            on="2002-03-11",
            kind=VisitKind.UNFRAMING,
            reason="first survey",
            by="Tam Reglet",
            minutes=60,
            found=as_found(_FOUND_IN_2002, "1927~"),
            seen=frozenset({Shown.FRONT, Shown.BACK_OF_FRAME, Shown.MARGINS}),
            inscriptions=(
                InscriptionTold(
                    "backing board",
                    "in ink: 'to hang away from the stove, and never sold'; below, '14 Nov. 1927'",
                    Kept.WITH_THE_WORK,
                ),
            ),
            sightings=(
                SightingTold(
                    change=Change.FOUND_AGE_UNKNOWN,
                    term="browning",
                    severity=Severity.MODERATE,
                    extent_percent=60,
                    note="even, where the glazing let the light in",
                ),
            ),
            closed_as_it_was=True,
            summary="Opened to see what it is in. The old boards carry an inscription.",
        ),
    ),
    Visited(
        number="H 003",
        told=VisitTold(
            on="2004-03-01",
            kind=VisitKind.UNFRAMING,
            reason="remat",
            by="Tam Reglet",
            minutes=240,
            found=_FROM_ITS_TRACES,
            dismount=DismountTold(
                holds=(
                    HoldFreedTold(hold="ref:glue", freed_by=FreedBy.WATER),
                    HoldFreedTold(
                        hold="ref:dabs",
                        freed_by=FreedBy.SCALPEL_OR_SPATULA,
                        outcome=Outcome.PART_FREED,
                        residue="paste at both lower corners",
                    ),
                ),
                harm="lower left corner thinned",
                reason="remat",
            ),
            mount=_IN_2004,
            sightings=(
                SightingTold(change=Change.UNCHANGED, finding=1),
                SightingTold(
                    change=Change.FOUND_AGE_UNKNOWN,
                    term="earlier mount line",
                    reach=ReachTold(Edge.ALL, 22),
                    severity=Severity.SLIGHT,
                ),
                SightingTold(
                    change=Change.NEW,
                    term="thinning",
                    side=Side.VERSO,
                    severity=Severity.SLIGHT,
                    note="lower left, at this dismount",
                ),
            ),
            summary="Off the straw board after two days between damp blotters. Old boards kept.",
        ),
    ),
    Visited(
        number="H 003",
        told=VisitTold(
            on="2006-05/2008-09",
            kind=VisitKind.UNFRAMING,
            by_unknown_hand=True,
            dismount=DismountTold(
                holds=(
                    HoldFreedTold(
                        hold="ref:linen",
                        freed_by=FreedBy.CUT,
                        outcome=Outcome.CUT_AND_STUB_LEFT,
                        residue="three stubs of linen tape",
                    ),
                ),
                reason="not known",
            ),
            mount=_BY_AN_UNKNOWN_HAND,
            seen=frozenset(),
            summary="Changed by an unknown hand while it was on loan.",
        ),
    ),
    Visited(
        number="H 003",
        takes_off_remains=True,
        told=VisitTold(
            on="2009-09-14",
            kind=VisitKind.UNFRAMING,
            reason="somebody had been at it with masking tape",
            by="Isolde Vellum",
            minutes=300,
            dismount=DismountTold(
                holds=(
                    HoldFreedTold(
                        hold="ref:tape",
                        freed_by=FreedBy.SOLVENT,
                        outcome=Outcome.FREED,
                    ),
                ),
                reason="rubber tape",
            ),
            treatments=(
                TreatmentTold(
                    term="residue removed",
                    by="Isolde Vellum",
                    note="tested, owner agreed; stubs, paste and what the tape had left",
                ),
                TreatmentTold(term="flattening", by="Isolde Vellum"),
            ),
            sightings=(
                SightingTold(change=Change.UNCHANGED, finding=1),
                SightingTold(change=Change.UNCHANGED, finding=2),
                SightingTold(
                    change=Change.NEW,
                    term="tape stain",
                    reach=ReachTold(Edge.TOP, 24),
                    severity=Severity.SLIGHT,
                ),
            ),
            mount=package(
                "T-hinge",
                framed(
                    glazing("UV-filtering glass, 2.5 mm"),
                    mat("Cotton rag mat board, 4-ply, buffered"),
                    WORK,
                    board("Cotton rag mat board, 4-ply, buffered"),
                    frame="Gilded or painted wood frame",
                    seal="Aluminium tape, acrylic adhesive",
                ),
                (
                    HoldTold(
                        material="Wheat starch paste on Japanese paper",
                        position="top",
                        count=4,
                        ref="paste",
                    ),
                ),
            ),
            summary="Tape off with solvent under the hood, every remain reduced to nothing.",
        ),
    ),
    Visited(
        number="H 003",
        told=VisitTold(
            on="2021-05-10",
            kind=VisitKind.UNFRAMING,
            reason="the frame is wanted elsewhere",
            by="Bran Tympan",
            minutes=120,
            dismount=DismountTold(freed_by=FreedBy.WATER, reason="a new frame with more depth"),
            sightings=(
                SightingTold(change=Change.UNCHANGED, finding=1),
                SightingTold(change=Change.UNCHANGED, finding=2),
                SightingTold(change=Change.UNCHANGED, finding=3),
                SightingTold(change=Change.UNCHANGED, finding=4),
            ),
            mount=OLD["chart in edge strips"],
            summary="Clean. In strips now, so that nothing need be pasted to it again.",
        ),
    ),
)
