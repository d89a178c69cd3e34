"""How is each layer and hold of a past or present mount judged, for a whole collection?

The rules say it: distance, verdict, freeing. None of them depends on the day, and
the same board in the same place is judged the same in every frame; so each kind
of layer at each distance, each kind of hold and each build of a package is judged
once and remembered, as long as nobody changes a material or calls one back.

A layer that was replaced while the mount lasted is judged in the package as it
was just before it was taken out; every other in the package as it is now, or
was when the mount ended. The newest figures of a material judge; those known
when it was fitted are what the history prints.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from itertools import count
from typing import NamedTuple

from models.rules.default_figures import DefaultFigures
from models.rules.distance_from_work import PlacedLayer, is_barrier, place_layers
from models.rules.package_facts import (
    BenchFacts,
    HoldFacts,
    LayerFacts,
    PackageFacts,
    WorkFacts,
)
from models.rules.package_verdict import (
    freeing_of_package,
    verdict_of_hold,
    verdict_of_layer,
)
from models.rules.record_values import yes_or_no
from models.rules.three_questions import with_blanks_filled
from models.tables.history import (
    FiguresLine,
    HistoryRecords,
    HoldLine,
    LayerLine,
    MountLine,
    TestLine,
)
from models.vocabulary import (
    MICROMETRES_PER_MM,
    Answer,
    BenchTest,
    Distance,
    Freeing,
    KnownBy,
    LayerRole,
    LayerSide,
    Outcome,
    PatResult,
)

# What is remembered must not grow with the collection: past so many it starts anew.
MOST_REMEMBERED = 20_000
_STILL_HOLDS = (None, Outcome.TRIED_AND_LEFT.value)


class JudgedLayer(NamedTuple):
    """Side, distance and verdict of one layer in words; None of the work itself."""

    side: str | None = None
    distance: str | None = None
    verdict: str | None = None


class JudgedMount(NamedTuple):
    """The layers of a mount in their order, its holds in theirs, and how the work comes out."""

    layers: Sequence[JudgedLayer]
    holds: Sequence[str]
    freeing: str


class _LayerKind(NamedTuple):
    """What is the same of all layers that are judged alike."""

    number: int
    facts: LayerFacts
    mounted: PackageFacts
    build: int
    is_work: bool
    is_adhesive: bool


class _HoldKind(NamedTuple):
    """What is the same of all holds that are judged alike."""

    number: int
    facts: HoldFacts


_THE_WORK = JudgedLayer()


class HistoryJudge:
    """Judges mounts by the rules and remembers what it has judged."""

    def __init__(self, defaults: DefaultFigures, today: int) -> None:
        self._defaults, self._today = defaults, today
        self._known: tuple[object, ...] = ()
        self._newest: dict[int, FiguresLine] = {}
        self._editions: dict[int, FiguresLine] = {}
        self._recalled_materials: frozenset[int] = frozenset()
        self._recalled_lots: frozenset[int] = frozenset()
        self._has_recalls = False
        self._numbers = count(1)
        self._builds: dict[tuple[object, ...], int] = {}
        self._forget()

    def learn(self, records: HistoryRecords) -> None:
        """Take in the materials and recalls of these records; what changed is judged anew."""
        known = (records.figures, records.recalled_materials, records.recalled_lots)
        if known == self._known and self._remembered() <= MOST_REMEMBERED:
            return
        self._known = known
        self._newest = {line.material_id: line for line in records.figures}
        self._editions = {line.figures_id: line for line in records.figures if line.figures_id}
        self._recalled_materials = records.recalled_materials
        self._recalled_lots = records.recalled_lots
        self._has_recalls = bool(self._recalled_materials or self._recalled_lots)
        self._forget()

    def judge(
        self,
        mount: MountLine,
        layers: Sequence[LayerLine],
        holds: Sequence[HoldLine],
        tests: Mapping[int, Sequence[TestLine]],
    ) -> JudgedMount:
        """Return the judgement on one mount with its layers, front to back, and its holds."""
        kinds = [self._layer_kind(mount, line, tests) for line in layers]
        hold_kinds = [self._hold_kind(line) for line in holds]
        holding = _holding(mount, holds, hold_kinds)
        is_last = _is_there_at_the_end(mount, layers)
        if all(is_last):
            judged = last_judged = self._layers_of(mount, kinds)
        else:
            last = [kind for kind, there in zip(kinds, is_last, strict=True) if there]
            last_judged = self._layers_of(mount, last)
            remaining = iter(last_judged)
            judged = [
                next(remaining) if there else self._before_it_went(mount, line, layers, kinds)
                for line, there in zip(layers, is_last, strict=True)
            ]
        return JudgedMount(
            judged,
            [self._hold(kind, mount.process_group) for kind in hold_kinds],
            self._freeing(mount, kinds, judged, holding),
        )

    def _before_it_went(
        self,
        mount: MountLine,
        gone: LayerLine,
        layers: Sequence[LayerLine],
        kinds: Sequence[_LayerKind],
    ) -> JudgedLayer:
        was_there = _was_there_just_before(gone, layers)
        then = [kind for kind, there in zip(kinds, was_there, strict=True) if there]
        place = sum(was_there[: layers.index(gone)])
        return self._layers_of(mount, then)[place]

    def _layers_of(self, mount: MountLine, kinds: Sequence[_LayerKind]) -> list[JudgedLayer]:
        """Return the judgement on layers that lay in one package, front to back."""
        placed = iter(self._placed(mount, kinds))
        return [
            _THE_WORK if kind.is_work else self._layer(kind, *next(placed), mount.process_group)
            for kind in kinds
        ]

    def _placed(self, mount: MountLine, kinds: Sequence[_LayerKind]) -> tuple[tuple[str, str], ...]:
        """Return side and distance of each layer but the work: decided by the build alone."""
        key = (mount.floats, *[kind.build for kind in kinds])
        found = self._placings.get(key)
        if found is None:
            placed = place_layers(_package(mount, kinds, ()))
            found = self._placings[key] = tuple((p.side.value, p.distance.value) for p in placed)
        return found

    def _layer(
        self, kind: _LayerKind, side: str, distance: str, process_group: str | None
    ) -> JudgedLayer:
        key = (kind.number, side, distance, process_group)
        found = self._layers.get(key)
        if found is None:
            verdict = verdict_of_layer(
                PlacedLayer(kind.facts, LayerSide(side), Distance(distance)),
                kind.mounted,
                WorkFacts(process_group=process_group or ""),
                self._defaults,
                self._today,
            ).verdict
            found = self._layers[key] = JudgedLayer(side, distance, verdict.value)
        return found

    def _hold(self, kind: _HoldKind, process_group: str | None) -> str:
        key = (kind.number, process_group)
        found = self._holds.get(key)
        if found is None:
            work = WorkFacts(process_group=process_group or "")
            verdict = verdict_of_hold(kind.facts, work, self._defaults, self._today).verdict
            found = self._holds[key] = verdict.value
        return found

    def _freeing(
        self,
        mount: MountLine,
        kinds: Sequence[_LayerKind],
        judged: Sequence[JudgedLayer],
        holding: Sequence[_HoldKind],
    ) -> str:
        """Return how the work comes out: decided by adhesives that are layers, and by holds."""
        sticking = [
            (kind.number, its.distance)
            for kind, its in zip(kinds, judged, strict=True)
            if kind.is_adhesive
        ]
        key = (mount.held, *sticking, *[kind.number for kind in holding])
        found = self._freeings.get(key)
        if found is None:
            filled = with_blanks_filled(_package(mount, kinds, holding))
            found = freeing_of_package(place_layers(filled), filled.holds).value
            self._freeings[key] = found
        return found

    def _layer_kind(
        self, mount: MountLine, line: LayerLine, tests: Mapping[int, Sequence[TestLine]]
    ) -> _LayerKind:
        key: tuple[object, ...] = line[_ROLE:_AFTER_MATERIAL]
        if self._has_recalls and self._is_recalled(line.material_id, line.lot_id):
            key = (*key, "recalled")
        its_tests = tests.get(line.id) if tests else None
        if its_tests:
            # When it was framed decides what tests say of an unknown board, and nothing else.
            key = (*key, *its_tests, line.fitted_first, *_mounting(mount))
        found = self._layer_kinds.get(key)
        if found is None:
            facts = self._layer_facts(line, its_tests or ())
            found = self._layer_kinds[key] = _LayerKind(
                next(self._numbers),
                facts,
                _dated(mount),
                self._build(facts),
                facts.role is LayerRole.WORK,
                facts.role is LayerRole.ADHESIVE,
            )
        return found

    def _hold_kind(self, line: HoldLine) -> _HoldKind:
        key: tuple[object, ...] = line[_GRADE:_AFTER_FIGURES]
        if self._has_recalls and self._is_recalled(line.material_id, line.lot_id):
            key = (*key, "recalled")
        found = self._hold_kinds.get(key)
        if found is None:
            found = self._hold_kinds[key] = _HoldKind(next(self._numbers), self._hold_facts(line))
        return found

    def _build(self, facts: LayerFacts) -> int:
        """Return a number for what decides where a layer, and those behind it, lie."""
        key = (facts.role, facts.side, facts.distance, is_barrier(facts))
        return self._builds.setdefault(key, len(self._builds))

    def _layer_facts(self, line: LayerLine, tests: Iterable[TestLine]) -> LayerFacts:
        newest = self._newest.get(line.material_id or 0)
        facts = LayerFacts(
            role=LayerRole(line.role),
            side=LayerSide(line.side) if line.side else None,
            distance=Distance(line.distance) if line.distance else None,
            grade=line.grade or (newest.grade if newest else None),
            material=newest.material if newest else "",
            known_by=KnownBy(line.known_by) if line.known_by else None,
            fitted_first_day=line.fitted_first,
            covers_all=bool(line.covers_all),
            recalled=self._is_recalled(line.material_id, line.lot_id),
            tests=tuple(BenchFacts(test=BenchTest(t.test), result=t.result) for t in tests),
        )
        measured = facts if newest is None else _with_figures(facts, newest)
        # A planned package is complete as listed: only the blank material of the layer is filled.
        return with_blanks_filled(PackageFacts(layers=(measured,), is_recorded=False)).layers[0]

    def _hold_facts(self, line: HoldLine) -> HoldFacts:
        newest = self._newest.get(line.material_id or 0)
        then = self._editions.get(line.figures_id or 0)
        grade, adhesive = line.grade, line.adhesive_grade
        if newest and then:
            # What came from the material's figures follows their newest edition.
            if newest.hold_grade and grade == then.hold_grade:
                grade = newest.hold_grade
            if newest.grade and adhesive == then.grade:
                adhesive = newest.grade
        return HoldFacts(
            grade=grade,
            adhesive_grade=adhesive,
            material=newest.material if newest else "",
            known_by=KnownBy(line.known_by) if line.known_by else None,
            frees_by=Freeing(newest.frees_by) if newest and newest.frees_by else None,
            covers_all=bool(line.covers_all),
            pat=PatResult(newest.pat) if newest and newest.pat else PatResult.NOT_TESTED,
            recalled=self._is_recalled(line.material_id, line.lot_id),
        )

    def _is_recalled(self, material_id: int | None, lot_id: int | None) -> bool:
        return material_id in self._recalled_materials or lot_id in self._recalled_lots

    def _remembered(self) -> int:
        return (
            len(self._layer_kinds) + len(self._layers) + len(self._placings) + len(self._freeings)
        )

    def _forget(self) -> None:
        self._layer_kinds: dict[tuple[object, ...], _LayerKind] = {}
        self._hold_kinds: dict[tuple[object, ...], _HoldKind] = {}
        self._placings: dict[tuple[object, ...], tuple[tuple[str, str], ...]] = {}
        self._layers: dict[tuple[object, ...], JudgedLayer] = {}
        self._holds: dict[tuple[object, ...], str] = {}
        self._freeings: dict[tuple[object, ...], str] = {}


# The columns of a line that decide how it is judged stand side by side in it.
_ROLE = LayerLine._fields.index("role")
_AFTER_MATERIAL = LayerLine._fields.index("material_id") + 1
_GRADE = HoldLine._fields.index("grade")
_AFTER_FIGURES = HoldLine._fields.index("figures_id") + 1


def _with_figures(facts: LayerFacts, newest: FiguresLine) -> LayerFacts:
    um = newest.thickness_um
    return replace(
        facts,
        thickness_mm=None if um is None else um / MICROMETRES_PER_MM,
        ph=newest.ph,
        alkaline_reserve_percent=newest.alkaline_reserve_percent,
        kappa=newest.kappa,
        buffered=yes_or_no(newest.buffered),
        pat=PatResult(newest.pat) if newest.pat else PatResult.NOT_TESTED,
        frees_by=Freeing(newest.frees_by) if newest.frees_by else None,
        is_barrier=bool(newest.barrier),
    )


def _mounting(mount: MountLine) -> tuple[object, ...]:
    return mount.mounted_first, mount.mounted_last, mount.mounted_assumed


def _package(
    mount: MountLine, layers: Iterable[_LayerKind], holds: Iterable[_HoldKind]
) -> PackageFacts:
    return PackageFacts(
        layers=tuple(kind.facts for kind in layers),
        holds=tuple(kind.facts for kind in holds),
        held=Answer(mount.held),
        floats=bool(mount.floats),
    )


def _dated(mount: MountLine) -> PackageFacts:
    return PackageFacts(
        mounted_day=mount.mounted_first,
        mounted_last_day=mount.mounted_last,
        mounted_is_assumed=bool(mount.mounted_assumed),
    )


def _holding(
    mount: MountLine, lines: Sequence[HoldLine], kinds: Sequence[_HoldKind]
) -> Sequence[_HoldKind]:
    """Return the holds that say how the work is freed: of the current mount, those that hold."""
    if mount.ended or not any([line.outcome for line in lines]):
        return kinds
    return [k for line, k in zip(lines, kinds, strict=True) if line.outcome in _STILL_HOLDS]


def _is_there_at_the_end(mount: MountLine, layers: Sequence[LayerLine]) -> list[bool]:
    """Say of each layer whether it was there when the mount ended, or is there now."""
    if not any([layer.ended for layer in layers]):
        return [True] * len(layers)
    staying = [layer for layer in layers if not _went_earlier(layer, mount)]
    # Of two in one place the later one took the place of the other.
    last_at = {layer.position: layer.id for layer in staying}
    return [last_at.get(layer.position) == layer.id for layer in layers]


def _went_earlier(layer: LayerLine, mount: MountLine) -> bool:
    if not (layer.ended and mount.ended):
        return bool(layer.ended)
    if layer.removed_visit_id is not None and layer.removed_visit_id == mount.dismounted_visit_id:
        return False
    return ends_before(layer.removed_last, mount.dismounted_first)


def _was_there_just_before(gone: LayerLine, layers: Sequence[LayerLine]) -> list[bool]:
    """Say of each layer whether it was there just before one of them was taken out."""
    there = [
        layer
        for layer in layers
        if layer.position != gone.position
        and not ends_before(gone.removed_last, layer.fitted_first)
        and not (layer.ended and ends_before(layer.removed_last, gone.removed_first))
        and not _came_when_it_went(layer, gone)
    ]
    last_at = {layer.position: layer.id for layer in there}
    last_at[gone.position] = gone.id
    return [last_at.get(layer.position) == layer.id for layer in layers]


def _came_when_it_went(layer: LayerLine, gone: LayerLine) -> bool:
    return layer.fitted_visit_id is not None and layer.fitted_visit_id == gone.removed_visit_id


def ends_before(last: int | None, first: int | None) -> bool:
    """Say whether what ended by its last day certainly was over before the first day of another."""
    return last is not None and first is not None and last < first
