"""Which works show how a package lives on: layers changed, works that share it, what belongs to it?

A linocut whose glass and mat were changed while its hinges stayed; two wood engravings
behind one mat; a drawing whose inscribed back was kept; a chart whose lining is part of it;
what an old tape had left, taken off years later; a watercolour that rests from light; visits
whose words are still to be written.
"""

from dataclasses import replace

from models.rules.visit_as_told import (
    CauseTold,
    DismountTold,
    HoldTold,
    InscriptionTold,
    LayerFittedTold,
    LayerRemovedTold,
    LayerTold,
    MountTold,
    RegionTold,
    SightingTold,
    TreatmentTold,
    VisitTold,
)
from models.vocabulary import (
    CauseMount,
    Change,
    Distance,
    FreedBy,
    Kept,
    LayerRole,
    Mechanism,
    Outcome,
    Severity,
    Shown,
    Side,
    VisitKind,
)
from seed_data.demo.builds import (
    OLD,
    PASTE,
    RAG,
    UV_ACRYLIC,
    WHITE_CORE,
    WORK,
    as_found,
    back,
    board,
    build_as_told,
    corners,
    framed,
    glazing,
    mat,
    on_top,
    package,
)
from seed_data.demo.deeds import Deed, Moved, Visited

_MAT_LIFTED = frozenset({Shown.FRONT, Shown.BACK_OF_FRAME, Shown.MARGINS})

LAYERS_CHANGED: tuple[Deed, ...] = (
    Visited(
        number="H 010",
        told=VisitTold(
            on="2004-10-04",
            kind=VisitKind.UNFRAMING,
            reason="to be hung",
            by="Tam Reglet",
            minutes=50,
            seen=frozenset(Shown),
            mount=package(
                "T-hinge",
                framed(
                    replace(glazing("Float glass, 2 mm"), ref="first glass"),
                    replace(mat(WHITE_CORE), ref="first mat"),
                    WORK,
                    board(RAG),
                    back("Corrugated polypropylene sheet, 4 mm"),
                    frame="Aluminium frame",
                ),
                on_top(PASTE),
            ),
            summary="Good hinges and board; the white mat was what there was.",
        ),
    ),
    Visited(
        number="H 010",
        told=VisitTold(
            on="2015-05-18",
            kind=VisitKind.UNFRAMING,
            reason="glazing that keeps ultraviolet out",
            by="Bran Tympan",
            minutes=30,
            seen=_MAT_LIFTED,
            layers_fitted=(LayerFittedTold(layer=glazing(UV_ACRYLIC), replaces="ref:first glass"),),
            summary="Glass changed. Hinges firm, margins clear.",
        ),
    ),
    Visited(
        number="H 010",
        told=VisitTold(
            on="2022-03-14",
            kind=VisitKind.UNFRAMING,
            reason="the mat has yellowed",
            by="Bran Tympan",
            minutes=45,
            seen=_MAT_LIFTED,
            layers_removed=(
                LayerRemovedTold(
                    layer="ref:first mat", condition="yellow at the bevel", kept=Kept.DISCARDED
                ),
            ),
            layers_fitted=(
                LayerFittedTold(
                    layer=LayerTold(role=LayerRole.WINDOW_MAT, material=RAG, lot="L-2103"),
                    replaces="ref:first mat",
                ),
            ),
            summary="Only the window mat changed; nothing undone that holds.",
        ),
    ),
)

ONE_MAT_TWO_WORKS: tuple[Deed, ...] = (
    Visited(
        number="H 025",
        told=VisitTold(
            on="2010-10-11",
            kind=VisitKind.UNFRAMING,
            reason="a pair: one mat",
            by="Tam Reglet",
            minutes=80,
            seen=frozenset(Shown),
            mount=OLD["double mat with two windows"],
            summary="Mounted as a pair, the wren on the left.",
        ),
    ),
    Visited(
        number="H 026",
        with_package_of="H 025",
        told=VisitTold(
            on="2010-10-12",
            kind=VisitKind.UNFRAMING,
            reason="a pair: one mat",
            by="Tam Reglet",
            minutes=20,
            seen=frozenset(Shown),
            mount=MountTold(method="T-hinge", holds=on_top(PASTE)),
            summary="Mounted as a pair, the toad on the right.",
        ),
    ),
    Visited(
        number="H 025",
        also=("H 026",),
        told=VisitTold(
            on="2026-11-10",
            kind=VisitKind.UNFRAMING,
            reason="dust under the mat",
            by="Bran Tympan",
            minutes=35,
            seen=_MAT_LIFTED | {Shown.VERSO},
            sightings=(
                SightingTold(
                    change=Change.NEW,
                    term="dust inside the package",
                    severity=Severity.SLIGHT,
                    note="fibres of the cloth it was wiped with",
                    cause=CauseTold(Mechanism.INSECTS_AND_DUST, CauseMount.THIS),
                ),
            ),
            closed_as_it_was=True,
            summary="Dust taken out with a soft brush.",
        ),
    ),
)

AN_INSCRIBED_BACK: tuple[Deed, ...] = (
    Visited(
        number="F 001",
        told=VisitTold(
            on="2005-04-12",
            kind=VisitKind.UNFRAMING,
            reason="first look inside",
            by="Tam Reglet",
            minutes=75,
            found=as_found(OLD["unknown board, unknown hold"], "1880~"),
            inscriptions=(
                InscriptionTold(
                    "backing board", "in pencil: 'for M., the day the ice went out'", Kept.KEPT
                ),
                InscriptionTold("verso, lower left", "'A. H. 71', in the hand of the drawing"),
            ),
            sightings=(
                SightingTold(
                    change=Change.FOUND_AGE_UNKNOWN,
                    term="backing stain",
                    side=Side.VERSO,
                    severity=Severity.SLIGHT,
                    cause=CauseTold(Mechanism.ACID_MIGRATION, CauseMount.THIS),
                    note="the joints of the boards, drawn in brown",
                ),
            ),
            dismount=DismountTold(freed_by=FreedBy.LIFTED, reason="remat"),
            mount=package(
                "corner pockets",
                framed(
                    glazing(UV_ACRYLIC),
                    mat(RAG),
                    WORK,
                    board(RAG),
                    LayerTold(role=LayerRole.BARRIER, material="Polyester film, 125 µm"),
                    LayerTold(
                        role=LayerRole.BACKING,
                        material="Softwood boards, old backing",
                        belongs_to_work=True,
                        distance=Distance.APART,
                        note="the inscribed board, kept with the drawing",
                    ),
                    frame="Gilded or painted wood frame",
                    seal="Aluminium tape, acrylic adhesive",
                ),
                corners("Corner pockets of Japanese paper"),
            ),
            summary="The old back is inscribed: it stays, behind film.",
        ),
    ),
)

A_LINED_CHART: tuple[Deed, ...] = (
    Visited(
        number="F 015",
        told=VisitTold(
            on="2013-05-13",
            kind=VisitKind.UNFRAMING,
            reason="first look inside",
            by="Tam Reglet",
            minutes=60,
            seen=_MAT_LIFTED,
            found=as_found(
                package(
                    "lined and stretched",
                    framed(
                        glazing("Float glass, 3 mm"),
                        mat("Alpha-cellulose mat board, 4-ply, unbuffered"),
                        WORK,
                        LayerTold(
                            role=LayerRole.ADHESIVE,
                            material="Wheat starch paste, all over",
                            covers_all=True,
                            belongs_to_work=True,
                        ),
                        LayerTold(
                            role=LayerRole.LINING,
                            belongs_to_work=True,
                            note="linen, as old as its paste",
                        ),
                        back("Twin-wall polycarbonate sheet, 4 mm"),
                        frame="Hardwood frame",
                    ),
                    (
                        HoldTold(
                            material="Wheat starch paste, all over",
                            position="turned over the strainer",
                            covers_all=True,
                        ),
                    ),
                ),
                "1860~",
            ),
            inscriptions=(
                InscriptionTold("lining", "soundings in red ink, and a list of six boats"),
            ),
            closed_as_it_was=True,
            summary="The lining is written on and belongs to the chart.",
        ),
    ),
)

WHAT_A_TAPE_LEFT: tuple[Deed, ...] = (
    Visited(
        number="H 009",
        told=VisitTold(
            on="2005-03-15",
            kind=VisitKind.UNFRAMING,
            reason="remat",
            by="Tam Reglet",
            minutes=85,
            found=as_found(OLD["white-core mat, acrylic tape"], "1988~"),
            dismount=DismountTold(
                freed_by=FreedBy.HEAT,
                outcome=Outcome.PART_FREED,
                residue="adhesive along the top, 15 mm",
                reason="remat",
            ),
            mount=build_as_told("Museum mat, paste hinges"),
            summary="The carrier came away warm; its adhesive stayed.",
        ),
    ),
    Visited(
        number="H 009",
        takes_off_remains=True,
        told=VisitTold(
            on="2014-11-03",
            kind=VisitKind.UNFRAMING,
            reason="the conservator is in the house",
            by="Isolde Vellum",
            minutes=150,
            seen=_MAT_LIFTED | {Shown.VERSO, Shown.UNDER_HINGES},
            treatments=(
                TreatmentTold(
                    term="residue removed",
                    by="Isolde Vellum",
                    note="tested, owner agreed; crepe first, then solvent",
                ),
            ),
            summary="Every trace of the old adhesive taken off; hinges and mat as they were.",
        ),
    ),
)

RESTS_FROM_LIGHT: tuple[Deed, ...] = (
    Visited(
        number="H 012",
        told=VisitTold(
            on="2006-11-07",
            kind=VisitKind.UNFRAMING,
            reason="remat",
            by="Tam Reglet",
            minutes=80,
            found=as_found(OLD["unknown board, unknown hold"], "1940~"),
            dismount=DismountTold(freed_by=FreedBy.LIFTED, reason="remat"),
            sightings=(
                SightingTold(
                    change=Change.FOUND_AGE_UNKNOWN,
                    term="light line",
                    region=RegionTold(0, 0, 370, 9),
                    severity=Severity.MODERATE,
                    note="the sky is bluer under the old mat",
                ),
            ),
            treatments=(TreatmentTold(term="rest from light"),),
            mount=build_as_told("Museum mat, paste hinges"),
            summary="Seen under the old mat: how blue it once was. To the shelves.",
        ),
    ),
    Moved(
        on="2006-11-13",
        numbers=("H 012",),
        place="House / Print room / Shelves",
        by="Tam Reglet",
        note="rests from light",
    ),
    Moved(
        on="2012-03-05",
        numbers=("H 024",),
        place="House / Print room / Box 2",
        by="Tam Reglet",
    ),
)

WORDS_STILL_TO_COME: tuple[Deed, ...] = (
    Visited(
        number="H 016",
        told=VisitTold(
            on="2026-11-20",
            kind=VisitKind.UNFRAMING,
            reason="ten years and more since it was opened",
            by="Bran Tympan",
            to_write_up=True,
        ),
    ),
)

# What a lined sheet or a foxed one shows when it is looked at again.
SEEN_AGAIN: tuple[Deed, ...] = (
    Visited(
        number="H 030",
        told=VisitTold(
            on="2016-09-12",
            kind=VisitKind.UNFRAMING,
            reason="is the mirroring growing?",
            by="Bran Tympan",
            minutes=25,
            seen=_MAT_LIFTED,
            sightings=(
                SightingTold(
                    change=Change.FOUND_AGE_UNKNOWN,
                    term="silver mirroring",
                    region=RegionTold(0, 0, 400, 25),
                    severity=Severity.SLIGHT,
                ),
            ),
            closed_as_it_was=True,
            summary="A band along the upper edge, older than this mat.",
        ),
    ),
    Visited(
        number="F 008",
        told=VisitTold(
            on="2018-11-13",
            kind=VisitKind.UNFRAMING,
            reason="is the colour going?",
            by="Bran Tympan",
            minutes=20,
            seen=_MAT_LIFTED,
            sightings=(
                SightingTold(
                    change=Change.NEW,
                    term="delamination from the mount",
                    region=RegionTold(20, 310, 60, 50),
                    severity=Severity.SLIGHT,
                    cause=CauseTold(Mechanism.ADHESIVE_AGEING, CauseMount.THIS),
                ),
                SightingTold(
                    change=Change.FOUND_AGE_UNKNOWN, term="fading", severity=Severity.MODERATE
                ),
            ),
            closed_as_it_was=True,
            summary="A blister at the lower left. For a conservator, if at all.",
        ),
    ),
)

QUIET_LIVES: tuple[Deed, ...] = (
    *LAYERS_CHANGED,
    *ONE_MAT_TWO_WORKS,
    *AN_INSCRIBED_BACK,
    *A_LINED_CHART,
    *WHAT_A_TAPE_LEFT,
    *RESTS_FROM_LIGHT,
    *WORDS_STILL_TO_COME,
    *SEEN_AGAIN,
)
