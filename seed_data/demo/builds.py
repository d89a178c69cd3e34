"""Which packages are the works of the invented collection in?

`HOUSE` are the usual builds of the workshop, offered at every visit; `OLD` are
packages as they were found, good and bad, and a few that were built once. Layers
stand front to back with the work among them. Words of the trade, no makes.
"""

from dataclasses import replace

from models.rules.visit_as_told import HoldTold, LayerTold, MountTold, WindowTold
from models.vocabulary import Answer, KnownBy, LayerRole

WORK = LayerTold(role=LayerRole.WORK)

RAG = "Cotton rag mat board, 4-ply, buffered"
RAG_UNBUFFERED = "Cotton rag mat board, 4-ply, unbuffered"
GROUNDWOOD = "Groundwood mat board"
WHITE_CORE = "White-core mat board, not tested"
NOTHING_KNOWN = "Mat board, nothing known"
KRAFT = "Corrugated kraft board"
SOUND_BACK = "Corrugated alpha-cellulose board, buffered"
UV_ACRYLIC = "UV-filtering acrylic sheet, 3 mm"
OLD_GLASS = "Old glass, as found"
PASTE = "Wheat starch paste on Japanese paper"
FILM_CORNERS = "Corner pockets of polyester film"
# The workshop's own board, of which more was learned later.
BLACK_BOARD = "Black mat board from the open shelf"


def glazing(material: str) -> LayerTold:
    """Return what the work lies behind."""
    return LayerTold(role=LayerRole.GLAZING, material=material)


def mat(material: str) -> LayerTold:
    """Return a window mat."""
    return LayerTold(role=LayerRole.WINDOW_MAT, material=material)


def side_by_side(high: float, wide: float, margin: float) -> tuple[WindowTold, ...]:
    """Return two windows of one size in mm, their middles 148 mm from each other."""
    left, right = (
        WindowTold(height_mm=high, width_mm=wide, left_mm=at, top_mm=margin + 10)
        for at in (margin, margin + 148)
    )
    return left, right


def board(material: str) -> LayerTold:
    """Return the board that carries the work."""
    return LayerTold(role=LayerRole.MOUNT_BOARD, material=material)


def back(material: str) -> LayerTold:
    """Return what closes the frame behind."""
    return LayerTold(role=LayerRole.BACKING, material=material)


def framed(*layers: LayerTold, frame: str, seal: str | None = None) -> tuple[LayerTold, ...]:
    """Return the layers with the frame around them, and the tape that closes its back."""
    around: tuple[LayerTold, ...] = (LayerTold(role=LayerRole.FRAME, material=frame),)
    if seal is not None:
        around = (LayerTold(role=LayerRole.SEALING_TAPE, material=seal), *around)
    return (*layers, *around)


def on_top(material: str, count: int = 2) -> tuple[HoldTold, ...]:
    """Return hinges or tabs along the top."""
    return (HoldTold(material=material, position="top", count=count),)


def corners(material: str) -> tuple[HoldTold, ...]:
    """Return pockets at the four corners, with a little room."""
    return (HoldTold(material=material, position="corners", count=4, clearance_mm=1.5),)


def package(
    method: str, layers: tuple[LayerTold, ...], holds: tuple[HoldTold, ...], note: str = ""
) -> MountTold:
    """Return a mount whose front and back are what its layers say."""
    return MountTold(
        method=method,
        layers=layers,
        holds=holds,
        in_front=Answer.THIS,
        behind=Answer.THIS,
        note=note,
    )


def as_found(build: MountTold, mounted_on: str | None, **changes: object) -> MountTold:
    """Return a build as it was found, every layer seen, mounted when people say it was."""
    layers = tuple(
        replace(layer, known_by=layer.known_by or KnownBy.SEEN) for layer in build.layers
    )
    holds = tuple(replace(hold, known_by=hold.known_by or KnownBy.SEEN) for hold in build.holds)
    found = replace(build, layers=layers, holds=holds, mounted_on=mounted_on)
    return replace(found, **changes)  # type: ignore[arg-type]


_SOUND_FRAME = {"frame": "Hardwood frame", "seal": "Aluminium tape, acrylic adhesive"}
_MUSEUM = framed(glazing(UV_ACRYLIC), mat(RAG), WORK, board(RAG), back(SOUND_BACK), **_SOUND_FRAME)

HOUSE: dict[str, MountTold] = {
    "Museum mat, paste hinges": package("T-hinge", _MUSEUM, on_top(PASTE)),
    "Museum mat, corner pockets": package("corner pockets", _MUSEUM, corners(FILM_CORNERS)),
    "Photograph, unbuffered mat": package(
        "corner pockets",
        framed(
            glazing("UV-filtering glass, 2.5 mm"),
            mat(RAG_UNBUFFERED),
            WORK,
            board(RAG_UNBUFFERED),
            back(SOUND_BACK),
            **_SOUND_FRAME,
        ),
        corners(FILM_CORNERS),
    ),
}

_BOX_FOLDER = LayerTold(role=LayerRole.FOLDER, material="Folder stock free of lignin, buffered")
_BOX_FOLDER_BEHIND = replace(_BOX_FOLDER, note="the same folder, behind")
_SLEEVE = LayerTold(role=LayerRole.FOLDER, material="Polyester sleeve")

OLD: dict[str, MountTold] = {
    "groundwood mat, gummed linen": package(
        "gummed tape hinges",
        framed(
            glazing(OLD_GLASS),
            mat(GROUNDWOOD),
            WORK,
            board(GROUNDWOOD),
            back("Hardboard"),
            frame="Softwood frame",
            seal="Gummed kraft sealing tape",
        ),
        on_top("Gummed linen tape"),
    ),
    "groundwood mat, masking tape": package(
        "taped along the top",
        framed(
            glazing("Float glass, 2 mm"),
            mat(GROUNDWOOD),
            WORK,
            board(KRAFT),
            frame="Fibreboard moulding",
        ),
        on_top("Rubber masking tape", 1),
    ),
    "white-core mat, acrylic tape": package(
        "self-adhesive hinges",
        framed(
            glazing("Float glass, 2 mm"),
            mat(WHITE_CORE),
            WORK,
            board(WHITE_CORE),
            back("Paper-faced foam board, 5 mm"),
            frame="Aluminium frame",
        ),
        on_top("Acrylic pressure-sensitive paper tape"),
    ),
    "sold as acid-free": package(
        "self-adhesive hinges",
        framed(
            glazing("Float glass, 2 mm"),
            mat("Mat board sold as acid-free, no figures"),
            WORK,
            board("Mat board sold as acid-free, no figures"),
            frame="Aluminium frame",
        ),
        on_top("Hinge tape sold as acid-free, self-adhesive"),
    ),
    "kraft behind the sheet": package(
        "self-adhesive hinges",
        framed(
            glazing("Float glass, 3 mm"),
            mat(WHITE_CORE),
            WORK,
            back(KRAFT),
            frame="Fibreboard moulding",
        ),
        on_top("Acrylic pressure-sensitive linen tape", 3),
    ),
    "unknown board, unknown hold": MountTold(
        method="not known how held",
        layers=framed(
            glazing(OLD_GLASS),
            mat(NOTHING_KNOWN),
            WORK,
            back("Backing board, nothing known"),
            frame="Softwood frame",
        ),
        in_front=Answer.THIS,
        behind=Answer.THIS,
        held=Answer.UNKNOWN,
    ),
    "masking tape on alpha board": package(
        "taped along the top",
        framed(
            glazing("Float glass, 2 mm"),
            mat("Alpha-cellulose mat board, 4-ply, buffered"),
            WORK,
            board("Alpha-cellulose mat board, 4-ply, buffered"),
            frame="Aluminium frame",
        ),
        on_top("Rubber masking tape", 1),
    ),
    "cloth tape all round": package(
        "taped all round",
        framed(
            glazing("Acrylic sheet, 3 mm"),
            mat(WHITE_CORE),
            WORK,
            board(WHITE_CORE),
            frame="Aluminium frame",
        ),
        (HoldTold(material="Rubber cloth tape", position="all round", count=1),),
    ),
    "dry-mounted on foam board": package(
        "dry-mounted",
        framed(
            glazing("Float glass, 2 mm"),
            WORK,
            LayerTold(role=LayerRole.ADHESIVE, material="Dry-mount tissue", covers_all=True),
            board("Paper-faced foam board, 5 mm"),
            frame="Aluminium frame",
        ),
        (HoldTold(material="Dry-mount tissue", position="all over", covers_all=True),),
    ),
    "spray-mounted on grey board": package(
        "spray-mounted",
        framed(
            glazing("Float glass, 2 mm"),
            mat(WHITE_CORE),
            WORK,
            LayerTold(role=LayerRole.ADHESIVE, material="Spray adhesive", covers_all=True),
            board("Grey board of waste paper"),
            frame="Softwood frame",
        ),
        (HoldTold(material="Spray adhesive", position="all over", covers_all=True),),
    ),
    "clip frame": MountTold(
        method="pressed against the glazing",
        layers=(glazing("Float glass, 2 mm"), WORK, back("Hardboard")),
        holds=(HoldTold(position="pressed by the clips"),),
        in_front=Answer.THIS,
        behind=Answer.THIS,
    ),
    "face mount": package(
        "face-mounted",
        (
            glazing("Acrylic sheet, 3 mm"),
            WORK,
            back("Aluminium composite panel, 3 mm"),
        ),
        (HoldTold(material="Acrylic transfer film, cold", position="all over", covers_all=True),),
    ),
    "photograph behind black board": package(
        "corner pockets",
        framed(
            glazing("UV-filtering glass, 2.5 mm"),
            mat(BLACK_BOARD),
            WORK,
            board(RAG_UNBUFFERED),
            back(SOUND_BACK),
            **_SOUND_FRAME,
        ),
        corners(FILM_CORNERS),
    ),
    "photo corners on old card": package(
        "photo corners",
        framed(
            glazing(OLD_GLASS),
            WORK,
            board(NOTHING_KNOWN),
            frame="Gilded or painted wood frame",
        ),
        corners("Photo corners of paper, gummed"),
    ),
    "pastel behind glass without a spacer": MountTold(
        method="pressed against the glazing",
        layers=framed(
            glazing(OLD_GLASS),
            WORK,
            back("Softwood boards, old backing"),
            frame="Gilded or painted wood frame",
        ),
        holds=(HoldTold(position="pressed by the back"),),
        in_front=Answer.THIS,
        behind=Answer.THIS,
    ),
    "deep mat with a spacer": package(
        "T-hinge",
        framed(
            glazing(UV_ACRYLIC),
            LayerTold(role=LayerRole.SPACER, material="Spacer strip of cotton rag board"),
            mat("Cotton rag mat board, 8-ply, buffered"),
            WORK,
            board(RAG),
            back(SOUND_BACK),
            **_SOUND_FRAME,
        ),
        on_top(PASTE),
    ),
    "hinged float": package(
        "hinged float",
        framed(
            glazing(UV_ACRYLIC),
            LayerTold(role=LayerRole.SPACER, material="Spacer strip of acrylic"),
            WORK,
            board(RAG),
            back(SOUND_BACK),
            **_SOUND_FRAME,
        ),
        on_top(PASTE, 3),
    ),
    "chart in edge strips": package(
        "edge strips",
        framed(
            glazing("UV-filtering acrylic sheet, 4.5 mm"),
            mat(RAG),
            WORK,
            board("Alpha-cellulose mount board, 6-ply, buffered"),
            back("Honeycomb alpha-cellulose board, buffered"),
            **_SOUND_FRAME,
        ),
        (
            HoldTold(
                material="Edge strips of Japanese paper",
                position="all four edges",
                count=8,
                clearance_mm=3,
            ),
        ),
    ),
    "double mat with two windows": package(
        "T-hinge",
        framed(
            glazing(UV_ACRYLIC),
            LayerTold(role=LayerRole.OVERMAT, material=RAG, windows=side_by_side(116, 106, 56)),
            replace(
                mat("Cotton rag mat board, 2-ply, buffered"), windows=side_by_side(108, 98, 60)
            ),
            WORK,
            board(RAG),
            back(SOUND_BACK),
            **_SOUND_FRAME,
        ),
        on_top(PASTE),
    ),
    "folder": MountTold(
        method="loose in folder",
        layers=(_BOX_FOLDER, WORK, _BOX_FOLDER_BEHIND),
        held=Answer.NONE,
        in_front=Answer.THIS,
        behind=Answer.THIS,
    ),
    "sleeve": MountTold(
        method="sleeve",
        layers=(_SLEEVE, WORK, replace(_SLEEVE, note="the same sleeve, behind")),
        held=Answer.NONE,
        in_front=Answer.THIS,
        behind=Answer.THIS,
    ),
}

BUILDS = HOUSE | OLD


def build_as_told(name: str) -> MountTold:
    """Return how a build is told at a visit: a usual one by its name, with the lots in use."""
    return MountTold(house_package=name) if name in HOUSE else OLD[name]
