"""Which package would be better for this work, of what is in stock, and what is left as it is?

Layers that are not sound are swapped for the best that is in stock: boards that
stay harmless longest, unbuffered where alkali is contested for the process, with
a passed activity test for a photograph first. Sound glazing, the frame and the
seal stay, and so does whatever belongs to the work. Two packages are weighed: one
that changes window and back while the hold stays, and one in which the work is
taken out and held anew, without adhesive unless it floats.

What is stuck and would not be freed stays stuck, with the layer it is stuck to; so does
a sheet laid down all over on what belongs to it.
What may be historic is asked about before it goes: mounts of their own time,
wash-line and collectors' mounts, whatever was fitted before about 1900.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date
from functools import lru_cache

from models.rules.calendar_days import day_number
from models.rules.default_figures import DefaultFigures
from models.rules.distance_from_work import FOUR_PLY_MM, SOUND_BOARDS, PlacedLayer, place_layers
from models.rules.freeing import freeing_of_adhesive_layer, freeing_of_hold
from models.rules.hinge_count import HINGES, usual_hinge_count
from models.rules.material_fitness import ALKALI_ADVICE, is_photograph
from models.rules.package_facts import HoldFacts, LayerFacts, PackageFacts, WorkFacts
from models.rules.package_verdict import SOUND_OVER_YEARS, verdict_of_layer
from models.rules.three_questions import with_blanks_filled
from models.vocabulary import (
    Answer,
    Distance,
    Freeing,
    KnownBy,
    LayerRole,
    LayerSide,
    Mechanism,
    PatResult,
    Surface,
    Verdict,
)

# What is swapped when it is not sound, and by which kinds of material, best suited first.
KINDS_FOR_ROLE: dict[LayerRole, tuple[str, ...]] = {
    LayerRole.OVERMAT: ("mat board",),
    LayerRole.WINDOW_MAT: ("mat board",),
    LayerRole.INTERLEAF: ("interleaf", "tissue"),
    LayerRole.CARRIER: ("paper", "mat board", "mount board"),
    LayerRole.MOUNT_BOARD: ("mount board", "mat board"),
    LayerRole.BARRIER: ("film", "mount board", "mat board"),
    LayerRole.BACKING: ("backing board", "mount board", "mat board"),
    LayerRole.SPACER: ("spacer",),
    LayerRole.FOLDER: ("folder or box board",),
    LayerRole.BOX_LINING: ("folder or box board", "mat board"),
}
KINDS_OF_HOLD = ("corner pocket", "edge strip")
KINDS_OF_HINGE = ("paste",)
# A film charges itself and lifts pastel and charcoal (common practice).
_FILMS = ("film", "polyester", "polypropylene")

# A sheet with a longer side than this is held along its edges, not by its corners, mm.
# Default of this project (judgement).
LONGEST_IN_CORNERS_MM = 600.0
CORNERS, STRIPS, HINGE, FLOAT = "corner pockets", "edge strips", "T-hinge", "hinged float"
POCKET_GRADE = "corner pockets or edge strips"
HINGE_GRADE = "paper hinges with starch or cellulose ether"

BEFORE_1900 = day_number(date(1900, 1, 1))
_OF_ITS_TIME = "its own mount"
_HISTORIC_WORDS = ("wash-line", "wash line", "collector")
_CARRIES = (LayerRole.MOUNT_BOARD, LayerRole.CARRIER, LayerRole.BACKING, LayerRole.FOLDER)
# What a whole sheet is laid down on.
_CARRIES_ALL = (LayerRole.LINING, LayerRole.CARRIER, LayerRole.MOUNT_BOARD)


@dataclass(frozen=True, kw_only=True)
class StockMaterial:
    """A material that is in stock: a lot of it in use, or part of a house package."""

    name: str
    kind: str
    grade: str | None = None
    hold_grade: str | None = None
    thickness_mm: float | None = None
    ph: float | None = None
    alkaline_reserve_percent: float | None = None
    kappa: float | None = None
    buffered: bool | None = None
    pat: PatResult = PatResult.NOT_TESTED
    pat_day: int | None = None
    is_barrier: bool = False
    frees_by: Freeing | None = None


# What is proposed where nothing fit is in stock: the grade alone, to be bought.
BOARD_TO_BUY = StockMaterial(
    name="cotton rag board, buffered",
    kind="mat board",
    grade="cotton rag board, buffered",
    thickness_mm=1.5,
    buffered=True,
    pat=PatResult.PASSED,
)
UNBUFFERED_TO_BUY = replace(
    BOARD_TO_BUY,
    name="cotton rag board, unbuffered",
    grade="cotton rag board, unbuffered",
    buffered=False,
)
SPACER_TO_BUY = StockMaterial(name="acrylic spacer", kind="spacer")
POCKETS_TO_BUY = StockMaterial(
    name="pockets of permanent paper", kind="corner pocket", hold_grade=POCKET_GRADE
)
HINGES_TO_BUY = StockMaterial(
    name="starch paste on Japanese paper",
    kind="paste",
    grade="starch paste",
    hold_grade=HINGE_GRADE,
    frees_by=Freeing.WATER,
)

Stock = tuple[StockMaterial, ...]


@dataclass(frozen=True)
class Swap:
    """One layer that goes, and what comes in its place; nothing goes where one is added."""

    role: LayerRole
    old: str
    new: str


@dataclass(frozen=True, kw_only=True)
class Proposal:
    """A better package. `undone` says how each hold that comes off is freed.

    `kept_because` names what stays though it is not sound; `ask_before` what may be
    historic among what goes. `method` is empty where the hold stays as it is.
    """

    package: PackageFacts
    swaps: tuple[Swap, ...]
    undone: tuple[Freeing, ...] = ()
    method: str = ""
    board: str = ""
    kept_because: tuple[str, ...] = ()
    ask_before: tuple[str, ...] = ()

    @property
    def renews_the_hold(self) -> bool:
        """Say whether the work is taken out and held anew."""
        return bool(self.method)


def proposals(
    recorded: PackageFacts, work: WorkFacts, stock: Stock, figures: DefaultFigures, *, today: int
) -> tuple[Proposal, ...]:
    """Return the packages worth weighing, the one that leaves the hold alone first."""
    package = _answered(with_blanks_filled(recorded))
    placed = place_layers(package)
    weak = {
        index
        for index, one in enumerate(placed)
        if _may_be_swapped(one.layer)
        and verdict_of_layer(one, package, work, figures, today).verdict is not Verdict.SOUND
    }
    study = _Study(package, placed, work, stock, figures, today)
    carrier = _carrier(placed)
    if stuck := _what_is_stuck(package):
        kept = frozenset(() if carrier is None else (carrier,))
        return (study.with_the_hold(weak - kept, kept_because=stuck),)
    with_hold = study.with_the_hold(weak - frozenset(() if carrier is None else (carrier,)))
    return with_hold, study.held_anew(weak)


@dataclass(frozen=True)
class _Study:
    """One package with all that decides what is better."""

    package: PackageFacts
    placed: tuple[PlacedLayer, ...]
    work: WorkFacts
    stock: Stock
    figures: DefaultFigures
    today: int

    def with_the_hold(
        self, goes: frozenset[int] | set[int], kept_because: tuple[str, ...] = ()
    ) -> Proposal:
        """Return the package with these layers swapped and the hold as it is."""
        return self._proposal(self.package, goes, kept_because=kept_because)

    def held_anew(self, goes: set[int]) -> Proposal:
        """Return the package with these layers swapped and the work taken out and held anew."""
        package = self.package
        undone = tuple(freeing_of_hold(hold) for hold in package.holds) + tuple(
            freeing_of_adhesive_layer(one.layer) for one in self.placed if _sticks(one)
        )
        hold, method = self._new_hold()
        held = replace(
            package,
            holds=(hold,),
            method=method,
            layers=tuple(layer for layer in package.layers if not _is_adhesive_at(self, layer)),
            mounted_day=self.today,
            mounted_last_day=self.today,
            mounted_is_assumed=False,
        )
        return replace(self._proposal(held, goes), undone=undone, method=method)

    def _proposal(
        self,
        package: PackageFacts,
        goes: frozenset[int] | set[int],
        kept_because: tuple[str, ...] = (),
    ) -> Proposal:
        # By identity: two layers of a package may be alike in every word.
        new = {id(self.placed[i].layer): self._in_place_of(self.placed[i].layer) for i in goes}
        layers = tuple(new.get(id(layer), layer) for layer in package.layers)
        layers, added = _off_the_glazing(layers, self._pick(LayerRole.SPACER), self.today)
        gone = [self.placed[i].layer for i in sorted(goes)]
        return Proposal(
            package=replace(package, layers=layers),
            swaps=tuple(
                Swap(old.role, old.material or old.grade or old.role, new[id(old)].material)
                for old in gone
            )
            + added,
            board=next((new[id(old)].material for old in gone if old.role in _BOARDS), ""),
            kept_because=kept_because + _belonging(self.placed),
            ask_before=_may_be_historic(gone, self.package),
        )

    def _in_place_of(self, old: LayerFacts) -> LayerFacts:
        picked = self._pick(old.role)
        return LayerFacts(
            role=old.role,
            side=old.side,
            grade=picked.grade,
            material=picked.name,
            known_by=KnownBy.SEEN,
            fitted_first_day=self.today,
            thickness_mm=picked.thickness_mm,
            ph=picked.ph,
            alkaline_reserve_percent=picked.alkaline_reserve_percent,
            kappa=picked.kappa,
            buffered=picked.buffered,
            pat=picked.pat,
            pat_day=picked.pat_day,
            is_barrier=picked.is_barrier,
        )

    def _pick(self, role: LayerRole) -> StockMaterial:
        return best_for_role(role, self.work.process_group, self.stock, self.figures)

    def _new_hold(self) -> tuple[HoldFacts, str]:
        floats = self.package.floats
        picked = best_hold(self.stock, floats=floats, surface=self.work.surface)
        longest = max(self.work.width_mm or 0.0, self.work.height_mm or 0.0)
        without = STRIPS if longest > LONGEST_IN_CORNERS_MM else CORNERS
        width = self.work.width_mm
        count = 4 if not floats else None if width is None else usual_hinge_count(width)
        hold = HoldFacts(
            grade=picked.hold_grade or POCKET_GRADE,
            adhesive_grade=picked.grade if floats else None,
            material=picked.name,
            frees_by=picked.frees_by,
            count=count,
            pat=picked.pat,
            pat_day=picked.pat_day,
        )
        return hold, FLOAT if floats else without


_BOARDS = frozenset({LayerRole.WINDOW_MAT, LayerRole.OVERMAT, LayerRole.MOUNT_BOARD})


@lru_cache(maxsize=4096)
def best_for_role(
    role: LayerRole, process_group: str, stock: Stock, figures: DefaultFigures
) -> StockMaterial:
    """Return the best in stock for a layer of this role against a work of this process."""
    kinds = KINDS_FOR_ROLE[role]
    fit = [one for one in stock if one.kind in kinds and _is_fit(one, process_group, figures)]
    if not fit:
        return _to_buy(role, process_group)
    return max(fit, key=lambda one: _goodness(one, kinds, process_group, figures))


@lru_cache(maxsize=256)
def best_hold(stock: Stock, *, floats: bool, surface: Surface) -> StockMaterial:
    """Return what holds the work anew: pockets or strips, or for a float paste hinges."""
    kinds = KINDS_OF_HINGE if floats else KINDS_OF_HOLD
    grade = HINGE_GRADE if floats else POCKET_GRADE
    fit = [
        one
        for one in stock
        if one.kind in kinds
        and one.hold_grade == grade
        and not (surface is Surface.FRIABLE and _is_film(one))
    ]
    to_buy = HINGES_TO_BUY if floats else POCKETS_TO_BUY
    return min(fit, key=lambda one: kinds.index(one.kind), default=to_buy)


def _is_film(material: StockMaterial) -> bool:
    return any(word in material.name.lower() for word in _FILMS)


def _is_fit(one: StockMaterial, process_group: str, figures: DefaultFigures) -> bool:
    if one.pat is PatResult.FAILED and is_photograph(process_group):
        return False
    return one.grade is None or _years(one, figures) > SOUND_OVER_YEARS


def _years(one: StockMaterial, figures: DefaultFigures) -> float:
    if one.grade is None or figures.mechanism_of_layer(one.grade) is not Mechanism.ACID_MIGRATION:
        return 0.0
    return figures.figure(Mechanism.ACID_MIGRATION, one.grade).median or 0.0


def _goodness(
    one: StockMaterial, kinds: Sequence[str], process_group: str, figures: DefaultFigures
) -> tuple[bool, bool, int, bool, float]:
    """Order by what the work asks for, then by kind, then by how long it stays harmless."""
    return (
        not (one.buffered and process_group in ALKALI_ADVICE),
        one.pat is PatResult.PASSED or not is_photograph(process_group),
        -kinds.index(one.kind),
        (one.thickness_mm or 0.0) >= FOUR_PLY_MM,
        _years(one, figures),
    )


def _to_buy(role: LayerRole, process_group: str) -> StockMaterial:
    if role is LayerRole.SPACER:
        return SPACER_TO_BUY
    return UNBUFFERED_TO_BUY if process_group in ALKALI_ADVICE else BOARD_TO_BUY


def _answered(package: PackageFacts) -> PackageFacts:
    """Return a package whose three questions are answered by what is listed in it."""
    return replace(package, front=Answer.NONE, behind=Answer.NONE, held=Answer.NONE)


def _may_be_swapped(layer: LayerFacts) -> bool:
    if layer.role is LayerRole.GLAZING:
        return False
    return layer.role in KINDS_FOR_ROLE and not layer.belongs_to_work and not layer.covers_all


def _carrier(placed: Sequence[PlacedLayer]) -> int | None:
    """Return the layer to which the work is hinged, or on which its pockets sit."""
    touching = [
        index
        for index, one in enumerate(placed)
        if one.side is LayerSide.BEHIND
        and one.distance is Distance.TOUCHES
        and one.layer.role in _CARRIES
    ]
    return touching[0] if touching else None


def _what_is_stuck(package: PackageFacts) -> tuple[str, ...]:
    held = [
        hold.material or hold.grade
        for hold in package.holds
        if freeing_of_hold(hold) is Freeing.NOT_WITHOUT_HARM
    ]
    held += [
        layer.material or layer.role
        for layer in package.layers
        if layer.role is LayerRole.ADHESIVE
        and freeing_of_adhesive_layer(layer) is Freeing.NOT_WITHOUT_HARM
    ]
    stuck = [f"{what} stays: it would not be freed without harm" for what in held]
    if any(layer.belongs_to_work and layer.role in _CARRIES_ALL for layer in package.layers):
        stuck += [
            f"{hold.material or hold.grade} stays: what it is stuck to belongs to the work"
            for hold in package.holds
            if hold.covers_all and freeing_of_hold(hold) is not Freeing.NOT_WITHOUT_HARM
        ]
    return tuple(stuck)


def _sticks(one: PlacedLayer) -> bool:
    return one.layer.role is LayerRole.ADHESIVE and one.distance is Distance.TOUCHES


def _is_adhesive_at(study: _Study, layer: LayerFacts) -> bool:
    return any(one.layer is layer and _sticks(one) for one in study.placed)


def _belonging(placed: Sequence[PlacedLayer]) -> tuple[str, ...]:
    return tuple(
        f"the {one.layer.role} belongs to the work" for one in placed if one.layer.belongs_to_work
    )


def _may_be_historic(gone: Sequence[LayerFacts], package: PackageFacts) -> tuple[str, ...]:
    return tuple(
        f"the {layer.role} may be of its time" for layer in gone if _is_historic(layer, package)
    )


def _is_historic(layer: LayerFacts, package: PackageFacts) -> bool:
    named = layer.material.lower()
    known = [day for day in (layer.fitted_first_day, package.mounted_day) if day is not None]
    return (
        package.method == _OF_ITS_TIME
        or any(word in named for word in _HISTORIC_WORDS)
        or any(day < BEFORE_1900 for day in known)
    )


_KEEPS_OFF = frozenset({LayerRole.SPACER, LayerRole.OVERMAT, LayerRole.WINDOW_MAT})


def _off_the_glazing(
    layers: tuple[LayerFacts, ...], spacer: StockMaterial, today: int
) -> tuple[tuple[LayerFacts, ...], tuple[Swap, ...]]:
    """Return the layers with a spacer behind glazing that nothing else keeps off the work."""
    roles = [layer.role for layer in layers]
    if LayerRole.GLAZING not in roles or _KEEPS_OFF.intersection(roles):
        return layers, ()
    after = roles.index(LayerRole.GLAZING) + 1
    new = LayerFacts(
        role=LayerRole.SPACER,
        side=LayerSide.FRONT,
        grade=spacer.grade,
        material=spacer.name,
        fitted_first_day=today,
        thickness_mm=spacer.thickness_mm,
        buffered=spacer.buffered,
        pat=spacer.pat,
        pat_day=spacer.pat_day,
    )
    return (*layers[:after], new, *layers[after:]), (Swap(LayerRole.SPACER, "", spacer.name),)


assert SOUND_BOARDS.issuperset({BOARD_TO_BUY.grade, UNBUFFERED_TO_BUY.grade})
assert HINGE_GRADE in HINGES
