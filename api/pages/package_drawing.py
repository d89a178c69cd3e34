"""How does a package look, cut through at the edge that holds the work?

In section, the front at the top: every layer as thick as its material's figures say, at
one scale with a bar of millimetres; hatched by what it is; the window mat cut on its
bevel with the work's face in the opening, a mat of several windows across two or three of
them with the bars between; holds and what earlier mounts left at the
back of the sheet. Widths are shortened. What is thinner than a line can be is drawn
as a line, and said to be. A thickness that nobody knows ends in a broken edge, a layer
that nobody knows is a blank with a question mark. The weakest link is called out.

Lengths of the drawing are units, of which one is about a pixel on a phone.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from textwrap import wrap

from api.pages.layer_hatching import Hatching, hatching_of, is_unknown
from models.rules.distance_from_work import is_beside, place_layers
from models.rules.package_facts import HoldFacts, Key, LayerFacts, PackageFacts
from models.rules.package_verdict import HOLD, REMAINS, LayerVerdict, PackageVerdict
from models.rules.three_questions import NOT_RECORDED, with_blanks_filled
from models.vocabulary import UNKNOWN_HOLD, Answer, LayerRole, LayerSide, Verdict

WIDTH = 344.0
# Where the package is cut: its edge at the left, the break at the right.
EDGE, BREAK = 46.0, 138.0
WORK_EDGE, OPENING = 62.0, 92.0
LABELS = 164.0
# Where the bar of millimetres stands, and the outer side of the frame.
BAR, FRAME = 16.0, 24.0
# The work is a line; what lies at its back has a lane of its own, as high as this.
WORK_LINE, LANE = 3.5, 7.0
# No line is thinner: what is, is drawn so and said to be.
HAIR = 2.5
# A layer of unknown thickness is drawn as a board of 4-ply (common practice, no source).
UNKNOWN_MM = 1.5
# Units for one millimetre: the largest at which the package is no higher than this.
SCALES = (200, 100, 50, 26, 22, 18, 15, 12, 10, 8, 6, 5, 4, 3, 2, 1)
HIGHEST = 250.0
# Sheets and sleeves are drawn larger, until the thickest of them is as high as this.
THIN, THINNEST_SCALE = 30.0, 26
# Letters on one line beside the drawing, lines of a material, and the heights of its rows.
LETTERS, MOST_LINES = 26, 2
LINE, ROW_SPACE, TOUCH = 15.0, 12.0, 46.0
# The width of a spacer and of the lip of a frame, and of what comes up at a fold.
STRIP, FOLD = 14.0, 6.0
# Of a mat with several windows: where the first opens, how far a bevel runs, and the middles
# and half the width of the bars between two and between three or more.
FIRST_OF_SEVERAL, SHORT_BEVEL = 76.0, 6.0
ONE_BAR, TWO_BARS = ((107.0,), 15.0), ((98.0, 120.0), 8.0)
LEAST_BAR, BAR_STEP = 2.0, 3.0
MARGIN = 28.0
LONGEST_BEVEL = 24.0
BARS_MM = (10, 5, 2, 1, 0.5, 0.2, 0.1)

_MATS = frozenset({LayerRole.WINDOW_MAT, LayerRole.OVERMAT})
_FOLDS = frozenset({LayerRole.FOLDER, LayerRole.BOX_LINING})
_AT_THE_BACK = frozenset({LayerRole.ADHESIVE, LayerRole.MAT_TO_BOARD_TAPE})
THE_WORK = "the work"
THE_WEAKEST = "the weakest link"


@dataclass(frozen=True, kw_only=True)
class DrawnPart:
    """One layer, hold or remain, or the work, which is not judged.

    `outline` is the path of what is cut, `edge` that of a broken edge; they, `top` and
    `height` count from where the package begins. `height` is the thickness in units,
    `measure` says it in words, or how many hold where, `beside` where that stands beside its
    name. `middle` is between its sides.
    The label stands at `label_top` of the whole drawing, led to by `leader`; `row` is the
    row of a form that tells of it.
    """

    key: str
    role: str
    outline: str
    top: float
    height: float
    anchor: tuple[float, float]
    hatching: str
    middle: float
    judged: LayerVerdict | None = None
    material: str = ""
    measure: str = ""
    beside: str = ""
    is_hair: bool = False
    is_broken: bool = False
    is_unknown: bool = False
    is_line: bool = False
    is_weakest: bool = False
    windows: str = ""
    edge: str = ""
    lines: tuple[str, ...] = ()
    label_top: float = 0.0
    label_height: float = 0.0
    leader: str = ""
    row: str = ""

    @property
    def verdict(self) -> str:
        """The verdict on it; empty for the work."""
        return "" if self.judged is None else self.judged.verdict

    @property
    def question(self) -> tuple[float, float]:
        """Where the question mark of an unknown part stands."""
        return self.middle, self.top + min(self.height / 2, 9.0) + 4.5


@dataclass(frozen=True)
class ScaleBar:
    """A bar of so many millimetres, upright beside the package."""

    millimetres: float
    x: float
    top: float
    bottom: float


@dataclass(frozen=True, kw_only=True)
class PackageDrawing:
    """A package in section: `name` begins every id, so that two may stand on one page.

    The package lies from `top` to `bottom`; `scale` is how many units a millimetre of its
    thickness has.
    """

    name: str
    title: str
    description: str
    height: float
    scale: int
    top: float
    bottom: float
    parts: tuple[DrawnPart, ...]
    hatchings: tuple[str, ...]
    bar: ScaleBar
    notes: tuple[str, ...]
    width: float = WIDTH
    label_x: float = LABELS
    edge_x: float = EDGE
    break_x: float = BREAK

    @property
    def weakest(self) -> DrawnPart | None:
        """The part that is called out; None where every one is sound."""
        return next((part for part in self.parts if part.is_weakest), None)


@dataclass
class _Cut:
    """How far down the drawing has come, and what it has so far."""

    scale: int
    y: float = 0.0
    parts: list[DrawnPart] = field(default_factory=list)

    def add(self, part: DrawnPart) -> None:
        self.parts.append(part)
        self.y = _round(part.top + part.height)


Layer = tuple[LayerFacts, LayerVerdict]


def package_drawing(
    package: PackageFacts,
    verdict: PackageVerdict,
    *,
    name: str = "package",
    rows: Mapping[str, str] | None = None,
    scale: int | None = None,
) -> PackageDrawing:
    """Return the drawing of a package as it is judged: what is unknown stands in it as unknown.

    `verdict` is that on the same package; `rows` are the rows of a form that tell of its
    parts, by their keys. `scale`: units for a millimetre, of another drawing that this one is
    compared with; None: the largest that fits.
    """
    filled = with_blanks_filled(package)
    judged = [j for j in verdict.layers if j.role not in (HOLD, REMAINS)]
    both = list(zip(place_layers(filled), judged, strict=True))
    stack = [(p, j) for p, j in both if not is_beside(p.layer.role)]
    round_it = [(p.layer, j) for p, j in both if is_beside(p.layer.role)]
    cut = _Cut(scale=scale or _scale([p.layer for p, _ in stack]))
    _draw_front([(p.layer, j) for p, j in stack if p.side is LayerSide.FRONT], cut, filled)
    _draw_work(cut, filled, verdict, round_it)
    for placed, judged_layer in stack:
        if placed.side is LayerSide.BEHIND:
            cut.add(_behind(placed.layer, judged_layer, cut))
    _draw_round(round_it, cut)
    cut.parts = [replace(part, row=(rows or {}).get(part.key, "")) for part in cut.parts]
    return _laid_out(cut, name, package, verdict)


def scale_that_fits(package: PackageFacts) -> int:
    """Return how many units stand for a millimetre where the drawing of a package fits."""
    layers = [placed.layer for placed in place_layers(with_blanks_filled(package))]
    return _scale([layer for layer in layers if not is_beside(layer.role)])


def _scale(stack: Sequence[LayerFacts]) -> int:
    thick = [_drawn_mm(layer) for layer in stack]
    thickest, fits = max(thick, default=UNKNOWN_MM), HIGHEST / (sum(thick) or UNKNOWN_MM)
    scales = (s for s in SCALES if s <= THINNEST_SCALE or thickest * s <= THIN)
    return next((scale for scale in scales if scale <= fits), SCALES[-1])


def _drawn_mm(layer: LayerFacts) -> float:
    return UNKNOWN_MM if layer.thickness_mm is None else layer.thickness_mm


def _draw_front(front: Sequence[Layer], cut: _Cut, package: PackageFacts) -> None:
    """Draw what lies in front; each mat further out shows more of the one beneath it."""
    for (layer, judged), shape in zip(front, _openings(front, cut.scale, package), strict=True):
        if layer.role in _MATS:
            cut.add(_mat(layer, judged, cut, shape))
        else:
            right = EDGE + STRIP if layer.role is LayerRole.SPACER else BREAK
            cut.add(_sheet(layer, judged, cut, right))


@dataclass(frozen=True)
class _MatShape:
    """Where a mat opens first, how far its bevel runs at most, and half the width of its bars."""

    opening: float
    bevel: float
    bar: float


def _openings(front: Sequence[Layer], scale: int, package: PackageFacts) -> list[_MatShape]:
    many = max((layer.windows for layer, _ in front), default=0)
    first, bevel = (FIRST_OF_SEVERAL, SHORT_BEVEL) if many > 1 else (OPENING, LONGEST_BEVEL)
    shape = _MatShape(WORK_EDGE - 4 if package.floats else first, bevel, _bars(many)[1])
    found: list[_MatShape] = []
    for layer, _ in reversed(front):
        found.append(shape)
        if layer.role in _MATS:
            runs = min(_drawn_mm(layer) * scale, shape.bevel)
            bar = max(shape.bar - min(runs, shape.bar / 2) - BAR_STEP, LEAST_BAR)
            shape = _MatShape(max(shape.opening - runs - 4, EDGE + 8), bevel, bar)
    return found[::-1]


def _bars(windows: int) -> tuple[tuple[float, ...], float]:
    """Return the middles of the bars between windows, and half the width of the innermost."""
    return ONE_BAR if windows == 2 else TWO_BARS if windows > 2 else ((), 0.0)


def _mat(layer: LayerFacts, judged: LayerVerdict, cut: _Cut, shape: _MatShape) -> DrawnPart:
    if layer.material == NOT_RECORDED:
        # Nobody said that it is a mat: the blank stands for whatever lies in front.
        return _sheet(layer, judged, cut, BREAK)
    opening = shape.opening
    part = _sheet(layer, judged, cut, opening)
    # A bevel of 45 degrees, no further than there is room for.
    face = max(opening - min(part.height, shape.bevel), EDGE + 4)
    anchor = ((face + opening) / 2, part.anchor[1])
    top, low = part.top, _round(part.top + part.height)
    lower = part.edge.replace("M", "L", 1) if part.is_broken else f"L{opening:g} {low:g}H{EDGE:g}"
    outline = f"M{EDGE:g} {top:g}H{face:g}{lower}Z"
    half, runs = shape.bar, min(part.height, shape.bevel, shape.bar / 2)
    for middle in _bars(layer.windows)[0]:
        outline += (
            f"M{middle - half:g} {low:g}L{_round(middle - half + runs):g} {top:g}"
            f"H{_round(middle + half - runs):g}L{middle + half:g} {low:g}Z"
        )
    said = f"{layer.windows} windows" if layer.windows > 1 else ""
    return replace(part, anchor=anchor, middle=(EDGE + face) / 2, outline=outline, windows=said)


def _behind(layer: LayerFacts, judged: LayerVerdict, cut: _Cut) -> DrawnPart:
    """Return a sheet behind the work; a folder and the lining of a box come up at the edge.

    A spacer there is the frame of a sink: only its edge is cut.
    """
    right = EDGE + STRIP if layer.role is LayerRole.SPACER else BREAK
    part = _sheet(layer, judged, cut, right)
    if layer.role not in _FOLDS:
        return part
    fold = f"M{EDGE:g} 0H{EDGE - FOLD:g}V{_round(part.top + part.height):g}H{EDGE:g}Z"
    return replace(part, outline=part.outline + fold)


def _sheet(layer: LayerFacts, judged: LayerVerdict, cut: _Cut, right: float) -> DrawnPart:
    """Return a layer from the edge to the right, at the height that the drawing has come to."""
    true = _round(_drawn_mm(layer) * cut.scale)
    is_broken = layer.thickness_mm is None
    height, top = max(true, HAIR), cut.y
    low = _round(top + height)
    edge = _broken_edge(right, low) if is_broken else ""
    lower = edge.replace("M", "L", 1) if is_broken else f"V{low:g}H{EDGE:g}"
    return DrawnPart(
        key=part_key(layer.role, layer.key),
        role=layer.role,
        material=_material(layer),
        hatching=hatching_of(layer),
        judged=judged,
        outline=f"M{EDGE:g} {top:g}H{right:g}{lower}Z",
        edge=edge,
        top=top,
        height=height,
        anchor=(right, top + height / 2),
        middle=(EDGE + right) / 2,
        measure="? mm" if is_broken else f"{layer.thickness_mm:g} mm",
        is_hair=not is_broken and true < HAIR,
        is_broken=is_broken,
        is_unknown=is_unknown(layer),
    )


def _material(layer: LayerFacts) -> str:
    return layer.material or layer.grade or NOT_RECORDED


def _broken_edge(right: float, low: float) -> str:
    """Return a torn line from right to left, three units up and down."""
    steps = max(2, round((right - EDGE) / 7))
    width = (right - EDGE) / steps
    points = [(right - i * width, low - (3.0 if i % 2 else 0.0)) for i in range(steps + 1)]
    return "M" + "L".join(f"{_round(x):g} {_round(y):g}" for x, y in points)


def _draw_work(
    cut: _Cut, package: PackageFacts, verdict: PackageVerdict, round_it: Sequence[Layer]
) -> None:
    """Draw the sheet as a line, and in lanes behind it what sticks to its back."""
    work = next((one for one in package.layers if one.role is LayerRole.WORK), None)
    line = _heavy(LayerRole.WORK, None if work is None else work.key, cut.y, WORK_EDGE, BREAK)
    cut.add(replace(line, role=THE_WORK, height=WORK_LINE, hatching="work"))
    holds = [judged for judged in verdict.layers if judged.role == HOLD]
    for hold, judged in zip(package.holds, holds, strict=True):
        cut.add(replace(_hold(hold, cut), judged=judged))
    remains = [judged for judged in verdict.layers if judged.role == REMAINS]
    for number, judged in enumerate(remains):
        left = WORK_EDGE + 22 + 18 * (number % 3)
        stub = _heavy(REMAINS, judged.key, cut.y, left, left + 14)
        cut.add(replace(stub, judged=judged, material=judged.name))
    for layer, judged in round_it:
        if layer.role in _AT_THE_BACK and not _is_a_hold(layer, judged, package, verdict):
            cut.add(replace(_stuck(layer, cut), judged=judged, material=_material(layer)))


def _is_a_hold(
    layer: LayerFacts, judged: LayerVerdict, package: PackageFacts, verdict: PackageVerdict
) -> bool:
    """Say whether an adhesive is drawn already: it is on record as layer and as hold alike.

    What is called out as the weakest is drawn in any case.
    """
    if layer.role is not LayerRole.ADHESIVE or judged is _weakest(verdict):
        return False
    return any(hold.covers_all and hold.material == layer.material for hold in package.holds)


def _hold(hold: HoldFacts, cut: _Cut) -> DrawnPart:
    """Return a hold where it is: round the edge of the sheet, behind it, or all over its back."""
    tab = _heavy(HOLD, hold.key, cut.y, WORK_EDGE - 5, WORK_EDGE + 13)
    many = "" if hold.count is None else f"{hold.count} \N{MULTIPLICATION SIGN}"
    where = " ".join(filter(None, (many, hold.position)))
    part = replace(tab, measure=where, material=hold.material or hold.grade)
    if hold.covers_all:
        return _all_over(part)
    if hold.grade == UNKNOWN_HOLD:
        return replace(part, is_unknown=True, hatching=Hatching.UNKNOWN, middle=WORK_EDGE - 11)
    if hold.grade.startswith("corner pockets"):
        return _pocket(part, (hold.clearance_mm or 0.0) * cut.scale)
    return part


def _pocket(part: DrawnPart, clearance: float) -> DrawnPart:
    """Return a pocket or strip round the edge of the sheet, with its clearance to scale."""
    left, right = WORK_EDGE - min(clearance, 11.0) - 1.5, WORK_EDGE + 18
    above, low = part.top - WORK_LINE - 1.5, part.top + 2.5
    path = f"M{right:g} {above:g}H{left:g}V{low:g}H{right:g}"
    return replace(part, outline=path, is_line=True, anchor=(right, low))


def _stuck(layer: LayerFacts, cut: _Cut) -> DrawnPart:
    tape = _heavy(layer.role, layer.key, cut.y, EDGE, EDGE + 12)
    return _all_over(tape) if layer.role is LayerRole.ADHESIVE else tape


def _all_over(part: DrawnPart) -> DrawnPart:
    """Return an adhesive that lies all over the back of the sheet, as a wave."""
    steps = 10
    width = (BREAK - WORK_EDGE) / steps
    waves = "".join(f"q{width / 2:g} {5 if i % 2 else -5} {width:g} 0" for i in range(steps))
    path = f"M{WORK_EDGE:g} {part.top + LANE / 2:g}{waves}"
    return replace(part, outline=path, is_line=True, anchor=(BREAK, part.top + LANE / 2))


def _heavy(role: str, key: Key, top: float, left: float, right: float) -> DrawnPart:
    """Return what is drawn heavier than it is, in a lane of its own."""
    low = top + (WORK_LINE if role == LayerRole.WORK else LANE - 2)
    return DrawnPart(
        key=part_key(role, key),
        role=role,
        hatching="hold",
        outline=f"M{left:g} {top:g}H{right:g}V{low:g}H{left:g}Z",
        top=top,
        height=LANE,
        anchor=(right, (top + low) / 2),
        middle=(left + right) / 2,
    )


def _draw_round(round_it: Sequence[Layer], cut: _Cut) -> None:
    """Draw what lies round the stack: the tape that closes it, and the frame."""
    bottom = cut.y
    for layer, judged in round_it:
        part = _heavy(layer.role, layer.key, bottom, FRAME, EDGE)
        part = replace(part, judged=judged, material=_material(layer), height=0.0)
        if layer.role is LayerRole.SEALING_TAPE:
            cut.parts.append(_seal(part, bottom))
        elif layer.role is LayerRole.FRAME:
            frame = _frame(part, bottom)
            unknown = is_unknown(layer)
            cut.parts.append(replace(frame, hatching=hatching_of(layer), is_unknown=unknown))


def _seal(part: DrawnPart, bottom: float) -> DrawnPart:
    """Return the tape round the edge of the stack, from the glazing to the back."""
    out = 2.5
    path = f"M{EDGE + 12:g} {-out:g}H{EDGE - out:g}V{bottom + out:g}H{EDGE + 30:g}"
    anchor = (EDGE + 30, bottom + out)
    return replace(part, outline=path, is_line=True, hatching="seal", anchor=anchor)


def _frame(part: DrawnPart, bottom: float) -> DrawnPart:
    """Return the moulding: its lip over the edge of the glazing, its side down past the back."""
    lip, inner = -19.0, EDGE - 6
    side = f"V{lip + 13:g}H{inner:g}V{bottom + 10:g}H{FRAME:g}Z"
    path = f"M{FRAME:g} {lip:g}H{EDGE + STRIP:g}{side}"
    middle = (FRAME + inner) / 2
    return replace(part, outline=path, anchor=(EDGE + STRIP, lip + 6.5), middle=middle)


def part_key(role: str, key: Key) -> str:
    """Return what tells a part apart in an id."""
    return f"{role.replace(' ', '-')}-{'x' if key is None else key}"


def _laid_out(
    cut: _Cut, name: str, package: PackageFacts, verdict: PackageVerdict
) -> PackageDrawing:
    """Return the drawing with its labels front to back, so that leaders do not cross."""
    weakest = _weakest(verdict)
    parts = [
        _with_words(part, is_weakest=weakest is not None and part.judged is weakest)
        for part in sorted(cut.parts, key=lambda part: part.anchor[1])
    ]
    labels = sum(part.label_height for part in parts)
    height = max(labels, cut.y + 2 * MARGIN)
    top = _round((height - cut.y) / 2)
    drawn = tuple(_labelled(parts, label=(height - labels) / 2, top=top))
    return PackageDrawing(
        name=name,
        title="The package in section, the front at the top",
        description=_description(drawn),
        height=_round(height),
        scale=cut.scale,
        top=top,
        bottom=_round(top + cut.y),
        parts=drawn,
        hatchings=tuple(sorted({part.hatching for part in drawn} & {*Hatching})),
        bar=_bar(cut, top),
        notes=tuple(_notes(drawn, package)),
    )


def _weakest(verdict: PackageVerdict) -> LayerVerdict | None:
    """Return what the sentence of the verdict names; None where everything is sound."""
    if verdict.verdict is Verdict.SOUND:
        return None
    named = [
        judged
        for judged in verdict.layers
        if judged.name == verdict.weak_layer and judged.verdict is verdict.verdict
    ]
    return min(named, key=lambda judged: judged.typical_years or 0.0, default=None)


def _with_words(part: DrawnPart, *, is_weakest: bool) -> DrawnPart:
    lines = tuple(
        wrap(
            _with_its_unit(part.material),
            LETTERS,
            max_lines=MOST_LINES,
            placeholder=" \N{HORIZONTAL ELLIPSIS}",
        )
    )
    lines = (*lines, part.windows) if part.windows else lines
    measure = part.measure
    if len(part.role) + len(measure) >= LETTERS:
        # Too long to stand beside the name: it has lines of its own.
        lines, measure = (*wrap(measure, LETTERS), *lines), ""
    rows = 1 + len(lines) + is_weakest
    height = LINE * rows + ROW_SPACE
    return replace(
        part,
        lines=lines,
        beside=measure,
        is_weakest=is_weakest,
        label_height=max(height, TOUCH),
    )


def _with_its_unit(text: str) -> str:
    """Return a text in which no line ends between a figure and its unit."""
    return text.replace(" mm", "\N{NO-BREAK SPACE}mm").replace(" µm", "\N{NO-BREAK SPACE}µm")


def _labelled(parts: Sequence[DrawnPart], *, label: float, top: float) -> Iterator[DrawnPart]:
    """Give each part its label, the next below the one before, and the line that leads to it."""
    for number, part in enumerate(parts):
        x, y = part.anchor
        at = label + LINE
        bend = BREAK + 6
        leader = (
            f"M{_round(x):g} {_round(y + top):g}H{bend:g}L{LABELS - 8:g} {_round(at - 4.5):g}h4"
        )
        is_twice = any(part.key == before.key for before in parts[:number])
        key = f"{part.key}-{number}" if is_twice else part.key
        yield replace(part, key=key, leader=leader, label_top=_round(label))
        label += part.label_height


def _description(parts: Sequence[DrawnPart]) -> str:
    """Return in words what the drawing shows, front to back."""
    return "Front to back: " + "; ".join(_said(part) for part in parts) + "."


def _said(part: DrawnPart) -> str:
    known = part.material if part.material != part.role else ""
    thick = "thickness not known" if part.is_broken else part.measure
    weakest = THE_WEAKEST if part.is_weakest else ""
    said = (part.role, known, thick, part.windows, part.verdict, weakest)
    return ", ".join(filter(None, said))


def _bar(cut: _Cut, top: float) -> ScaleBar:
    """Return the longest bar that is no longer than the package is thick."""
    millimetres = next((mm for mm in BARS_MM if mm * cut.scale <= cut.y), BARS_MM[-1])
    return ScaleBar(millimetres, BAR, top, _round(top + millimetres * cut.scale))


def _notes(parts: Sequence[DrawnPart], package: PackageFacts) -> Iterator[str]:
    """Give what a reader must know of the drawing, each as a sentence."""
    yield "Thickness to scale, widths shortened; the work and what holds it drawn heavier."
    if any(part.windows for part in parts):
        yield "Cut across its windows, of which no more than three are drawn."
    if hairs := [part.material for part in parts if part.is_hair]:
        yield f"Too thin for the scale: {', '.join(dict.fromkeys(hairs))}."
    if any(part.is_broken for part in parts):
        yield "A broken edge: nobody knows how thick it is."
    if any(part.is_unknown for part in parts):
        yield "A blank with a question mark: nobody knows what it is."
    if package.front is Answer.NONE:
        yield "Nothing lies in front of the work."
    if package.behind is Answer.NONE:
        yield "Nothing lies behind the work."
    if package.held is Answer.NONE:
        yield "Nothing holds it: it lies free."


def _round(value: float) -> float:
    """Return a length to a hundredth of a unit, so that ratios stay what they are."""
    return round(value, 2)
