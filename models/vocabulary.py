"""The words of the trade as types.

Each word is stored, printed and sent exactly as it stands here. What a
keeper may extend (techniques, finding terms, materials) is data and stands in
seed_data; what a rule must be able to name stands here.
"""

from enum import StrEnum
from typing import Final

MICROMETRES_PER_MM: Final = 1000
DAYS_PER_YEAR: Final = 365.25


class Role(StrEnum):
    """What a person who can sign in is here for."""

    KEEPER = "keeper"
    FRAMER = "framer"
    OWNER = "owner"


class PlaceUse(StrEnum):
    """What a place does with the works in it; a box is checked as a box."""

    DISPLAY = "display"
    STORAGE = "storage"
    BOX = "box"
    TRANSIT = "transit"


class Replaceability(StrEnum):
    """How many like it there are."""

    UNIQUE = "unique"
    SMALL_EDITION = "small edition"
    REPLACEABLE = "replaceable"


class ValueBand(StrEnum):
    """A coarse band; money never enters a forecast."""

    LOW = "low"
    NORMAL = "normal"
    HIGH = "high"


class Surface(StrEnum):
    """What the face of a work does when something touches it."""

    FRIABLE = "friable"
    GELATIN = "gelatin"
    OTHER = "other"


class ProcessGroup(StrEnum):
    """What an image is made of, as far as its mount must respect it."""

    NONE = "none"
    SILVER_PHOTOGRAPH = "silver photograph"
    DYE_PHOTOGRAPH = "dye photograph"
    DYE_TRANSFER = "dye transfer"
    ALBUMEN = "albumen"
    SALTED_PAPER = "salted paper"
    COLLODION = "collodion"
    CYANOTYPE = "cyanotype"
    PLATINUM = "platinum"
    DIAZOTYPE = "diazotype"
    INKJET = "inkjet"


class VisitKind(StrEnum):
    """How far an examination went."""

    LOOK = "look"
    UNFRAMING = "unframing"
    BOX_CHECK = "box check"


class Shown(StrEnum):
    """The five places of a mounted work where harm can show."""

    FRONT = "front"
    BACK_OF_FRAME = "back of frame"
    MARGINS = "margins"
    VERSO = "verso"
    UNDER_HINGES = "under hinges"


# What a look through the glazing can see, and what needs the package opened.
SEEN_FROM_OUTSIDE: Final = (Shown.FRONT, Shown.BACK_OF_FRAME)
SEEN_WHEN_OPENED: Final = (Shown.MARGINS, Shown.VERSO, Shown.UNDER_HINGES)


class Severity(StrEnum):
    """How strong a finding is."""

    SLIGHT = "slight"
    MODERATE = "moderate"
    SEVERE = "severe"


class Change(StrEnum):
    """What a sighting says against the sighting before it."""

    NEW = "new"
    UNCHANGED = "unchanged"
    GROWN = "grown"
    TREATED = "treated"
    NO_LONGER_VISIBLE = "no longer visible"
    FOUND_AGE_UNKNOWN = "found age unknown"
    NOT_SEEN = "not seen this time"


# After these a finding is on the work no more.
GONE: Final = frozenset({Change.NO_LONGER_VISIBLE, Change.TREATED})


class Side(StrEnum):
    """The face or the back of a sheet."""

    RECTO = "recto"
    VERSO = "verso"


class Edge(StrEnum):
    """An edge of a sheet as seen from its recto."""

    TOP = "top"
    RIGHT = "right"
    BOTTOM = "bottom"
    LEFT = "left"
    ALL = "all"


class OutlineShape(StrEnum):
    """How a finding is drawn on a photograph or on the sheet."""

    POINT = "point"
    OUTLINE = "outline"
    BAND = "band"


class Found(StrEnum):
    """What a place of a mount was last seen to be, as evidence on a material."""

    CLEAR = "clear"
    HARMED = "new or grown"
    HARMED_AT_UNKNOWN_AGE = "found, age unknown"
    OF_AN_EARLIER_MOUNT = "of an earlier mount"


class CauseMount(StrEnum):
    """Which mount a finding is put down to."""

    THIS = "this"
    EARLIER = "earlier"
    CANNOT_TELL = "cannot tell"


class LayerRole(StrEnum):
    """What a layer of a package is there for, front to back."""

    GLAZING = "glazing"
    SPACER = "spacer"
    OVERMAT = "overmat"
    WINDOW_MAT = "window mat"
    INTERLEAF = "interleaf"
    WORK = "work"
    ADHESIVE = "adhesive"
    LINING = "lining"
    CARRIER = "carrier sheet"
    MOUNT_BOARD = "mount board"
    BARRIER = "barrier"
    BACKING = "backing board"
    SEALING_TAPE = "sealing tape"
    MAT_TO_BOARD_TAPE = "mat-to-board tape"
    FRAME = "frame"
    FOLDER = "folder"
    BOX_LINING = "box lining"


class LayerSide(StrEnum):
    """On which side of the work a layer lies."""

    FRONT = "front"
    BEHIND = "behind"


class Distance(StrEnum):
    """How near a layer is to the work."""

    TOUCHES = "touches"
    FACES = "faces"
    APART = "apart"


class KnownBy(StrEnum):
    """How somebody came to say what a layer is made of."""

    SEEN = "seen"
    LABEL = "label or invoice"
    TESTED = "tested"
    TOLD = "told"
    GUESSED = "guessed"


class Freeing(StrEnum):
    """How a work comes out of a mount, easiest first."""

    NO_ADHESIVE = "no adhesive"
    WATER = "water"
    SOLVENT_OR_HEAT = "solvent or heat"
    NOT_WITHOUT_HARM = "not without harm"


class Verdict(StrEnum):
    """The judgement on one layer, or on the whole package."""

    SOUND = "sound"
    DOUBTFUL = "doubtful"
    HARMFUL = "harmful"


class PatResult(StrEnum):
    """The result of the Photographic Activity Test (ISO 18916) of a lot or material."""

    PASSED = "passed"
    FAILED = "failed"
    NOT_TESTED = "not tested"


class FreedBy(StrEnum):
    """How one hold came off."""

    LIFTED = "lifted"
    ALREADY_LOOSE = "already loose"
    WATER = "water"
    SOLVENT = "solvent"
    HEAT = "heat"
    SCALPEL_OR_SPATULA = "scalpel or spatula"
    CUT = "cut"


class Outcome(StrEnum):
    """What became of one hold when somebody tried to free it."""

    FREED = "freed"
    PART_FREED = "part freed"
    TRIED_AND_LEFT = "tried and left"
    CUT_AND_STUB_LEFT = "cut and stub left"
    LEFT_ON_THE_WORK = "left on the work"


class BenchTest(StrEnum):
    """A test of a layer at the bench."""

    BEVEL_COLOUR = "bevel colour"
    PH_PEN = "pH pen"
    LIGNIN_SPOT = "lignin spot test"
    SURFACE_PH = "surface pH"


class Kept(StrEnum):
    """Where a removed layer or an inscription went."""

    DISCARDED = "discarded"
    WITH_THE_WORK = "with the work"
    KEPT = "kept"


class Mechanism(StrEnum):
    """A way in which a mount, or its surroundings, can harm a work."""

    ACID_MIGRATION = "acid migration"
    ADHESIVE_AGEING = "adhesive ageing"
    HOLD_FAILURE = "hold failure"
    PHOTO_ACTIVITY = "photo-activity"
    ALKALI_CONTACT = "alkali contact"
    STICKING = "sticking to the glazing"
    RESTRAINT = "restraint"
    FOGGING = "fogging of the glazing"
    MOULD = "mould"
    ACCIDENT = "accident"
    FOXING = "foxing"
    INSECTS_AND_DUST = "insects and dust"
    OWN_AGEING = "the paper's own ageing"
    TARNISH_OR_OZONE = "tarnish or ozone"
    FACE_MOUNT = "face mount"


class FramedWhen(StrEnum):
    """When a package of unknown board was framed; decides what the board may be."""

    BEFORE_1980 = "before 1980"
    FROM_1980_TO_2000 = "1980-2000"
    AFTER_2000 = "after 2000"
    NO_IDEA = "no idea"


class Advice(StrEnum):
    """The cure that a forecast names instead of one more look."""

    REMAT = "remat"
    REHINGE = "rehinge"
    RESEAL = "reseal"
    GIVE_A_SPACER = "give it a spacer"
    GIVE_ROOM = "give it room"
    DRY_OR_MOVE = "dry or move"
    REST = "rest"


class RematState(StrEnum):
    """What has become of a proposed remat."""

    PROPOSED = "proposed"
    ASKED = "asked"
    AGREED = "agreed"
    DECLINED_UNTIL = "declined until"
    WITH_CONSERVATOR = "with conservator"
    CANNOT = "cannot"
    DONE = "done"


class RematJobState(StrEnum):
    """Whether works are still to be rematted together."""

    OPEN = "open"
    DONE = "done"
    DROPPED = "dropped"


class RematJobOutcome(StrEnum):
    """What became of a work within a remat job."""

    TO_DO = "to do"
    REMOUNTED = "remounted"
    LEFT_OUT = "left out"


class Question(StrEnum):
    """The three questions that no package may leave blank."""

    IN_FRONT = "what is in front"
    BEHIND = "what is behind"
    HOLDS = "what holds it"


class Answer(StrEnum):
    """What a person answered to one of the three questions of a package."""

    THIS = "this"
    NONE = "none"
    UNKNOWN = "unknown"


class UrgentSign(StrEnum):
    """A sign that does not wait: it comes before every date; most close the unframing."""

    ACTIVE_MOULD = "active mould"
    INSECTS = "insects"
    FRIABLE_ON_GLAZING = "friable surface on the glazing"
    GELATIN_ON_GLAZING = "gelatin surface on the glazing"
    SLIPPED_SHEET = "slipped sheet"
    FLAKING = "flaking"
    BROKEN_GLASS = "broken glass"
    WATER = "water"
    NITRATE = "nitrate"
    RECALLED_LAYER = "recalled layer touching"
    TACKY_TAPE = "tacky tape"


class StopQuestion(StrEnum):
    """What is asked before any unframing; one yes is a stop."""

    TOUCHES_GLASS = "touching the glass?"
    LOOSE_OR_FLAKING = "loose or flaking?"
    GLASS_CRACKED = "glass cracked?"
    MOULD_OR_INSECTS = "mould or insects?"


class DueKind(StrEnum):
    """What must be done by a date."""

    LOOK = "look"
    UNFRAMING = "unframing"
    BOX_CHECK = "box check"
    REMAT = "remat"
    FOLLOW_UP = "follow-up"
    URGENT = "does not wait"
    FIRST_SURVEY = "first survey"
    TAKE_DOWN = "take down"


class PhotographView(StrEnum):
    """What a photograph shows of a work, and in which light."""

    RECTO = "recto"
    VERSO = "verso"
    RAKING = "raking light"
    TRANSMITTED = "transmitted light"
    UV = "ultraviolet"


class PhotographStage(StrEnum):
    """How far a package was open when a photograph was taken."""

    IN_FRAME = "in frame"
    BACK_OFF = "back off"
    MAT_LIFTED = "mat lifted"
    VERSO = "verso"
    CLOSED = "closed"


class Scheme(StrEnum):
    """Whether somebody reads dark on light or light on dark."""

    SYSTEM = "as the device"
    LIGHT = "light"
    DARK = "dark"


class Lengths(StrEnum):
    """In what lengths are shown to somebody."""

    METRIC = "millimetres"
    BOTH = "millimetres and inches"


class ReminderWay(StrEnum):
    """How a reminder leaves the house."""

    WEBHOOK = "webhook"
    E_MAIL = "e-mail"


# Grades that stand for "nobody knows"; the rest are the rows of seed_data/risk_defaults.csv.
UNKNOWN_BOARD: Final = "unknown board"
UNKNOWN_ADHESIVE: Final = "unknown adhesive"
UNKNOWN_HOLD: Final = "unknown hold"
UNKNOWN_GRADES: Final = frozenset({UNKNOWN_BOARD, UNKNOWN_ADHESIVE, UNKNOWN_HOLD})
