"""What the section through a package shows: to scale, the weakest called out, unknown blank."""

import re
from dataclasses import replace
from itertools import pairwise

from api.pages.layer_hatching import Hatching, hatching_of
from api.pages.package_drawing import HAIR, STRIP, PackageDrawing, package_drawing
from models.rules.package_facts import HoldFacts, LayerFacts, PackageFacts, RemainFacts, WorkFacts
from models.rules.package_verdict import package_verdict
from models.vocabulary import UNKNOWN_BOARD, Answer, KnownBy, LayerRole, LayerSide
from seed_data.shipped import shipped_default_figures
from tests.pages.bench_work import TODAY

RAG = "cotton rag board, buffered"
GLASS = LayerFacts(role=LayerRole.GLAZING, key=1, material="Float glass, 2 mm", thickness_mm=2.0)
MAT = LayerFacts(role=LayerRole.WINDOW_MAT, key=2, grade=RAG, material="Rag", thickness_mm=1.5)
WORK = LayerFacts(role=LayerRole.WORK, key=3)
BOARD = replace(MAT, role=LayerRole.MOUNT_BOARD, key=4)
BACK = LayerFacts(
    role=LayerRole.BACKING, key=5, grade="paper-faced foam board", material="Foam", thickness_mm=5
)
HINGES = HoldFacts(
    grade="paper hinges with starch or cellulose ether",
    key=6,
    adhesive_grade="starch paste",
    material="Paste",
    count=2,
    position="top",
)
FRAMED = PackageFacts(layers=(GLASS, MAT, WORK, BOARD, BACK), holds=(HINGES,))


def drawn(package: PackageFacts) -> PackageDrawing:
    verdict = package_verdict(package, WorkFacts(), shipped_default_figures(), TODAY)
    return package_drawing(package, verdict)


def swapped(old: LayerFacts, new: LayerFacts) -> PackageFacts:
    layers = tuple(new if layer is old else layer for layer in FRAMED.layers)
    return replace(FRAMED, layers=layers)


def heights(drawing: PackageDrawing) -> dict[str, float]:
    return {part.role: part.height for part in drawing.parts}


def test_every_layer_is_as_thick_as_its_material_at_one_scale() -> None:
    # 2 + 1.5 + 1.5 + 5 mm at the largest scale at which ten millimetres are no higher than 250.
    drawing = drawn(FRAMED)
    high = heights(drawing)
    assert drawing.scale == 22
    assert (high["glazing"], high["window mat"], high["mount board"]) == (44.0, 33.0, 33.0)
    assert high["backing board"] == 110.0


def test_sheets_and_sleeves_are_drawn_larger_than_boards() -> None:
    sleeve = LayerFacts(role=LayerRole.FOLDER, material="Polyester sleeve", thickness_mm=0.1)
    drawing = drawn(replace(FRAMED, layers=(sleeve, WORK, replace(sleeve, key=7))))
    assert (drawing.scale, heights(drawing)["folder"]) == (200, 20.0)


def test_the_bar_is_as_long_as_its_millimetres_are_thick() -> None:
    drawing = drawn(FRAMED)
    bar = drawing.bar
    assert (bar.millimetres, bar.bottom - bar.top) == (10, 10 * drawing.scale)


def test_layers_lie_on_one_another_front_to_back_with_the_work_among_them() -> None:
    stack = sorted(drawn(FRAMED).parts, key=lambda part: part.top)
    assert [part.role for part in stack] == [
        "glazing",
        "window mat",
        "the work",
        "hold",
        "mount board",
        "backing board",
    ]
    for above, below in pairwise(stack):
        assert round(above.top + above.height, 2) == below.top


def test_a_film_is_drawn_as_a_line_and_said_to_be_too_thin_for_the_scale() -> None:
    film = LayerFacts(
        role=LayerRole.BARRIER, material="Film, 75 µm", thickness_mm=0.075, is_barrier=True
    )
    drawing = drawn(replace(FRAMED, layers=(*FRAMED.layers, film)))
    part = next(part for part in drawing.parts if part.role == "barrier")
    assert (part.height, part.is_hair, part.hatching) == (HAIR, True, Hatching.FILM)
    assert "Too thin for the scale: Film, 75 µm." in drawing.notes


def test_the_window_mat_is_cut_on_a_bevel_of_45_degrees_and_its_face_lies_open() -> None:
    mat = next(part for part in drawn(FRAMED).parts if part.role == "window mat")
    # Down to the opening at 92: as far across, to 24 units, as the board is thick.
    assert mat.outline == "M46 44H68L92 77H46Z"


def test_the_mat_of_a_float_leaves_the_edge_of_the_sheet_free() -> None:
    mat = next(p for p in drawn(replace(FRAMED, floats=True)).parts if p.role == "window mat")
    work = next(p for p in drawn(replace(FRAMED, floats=True)).parts if p.role == "the work")
    assert mat.outline.startswith("M46 44H50L58")
    assert work.outline.startswith("M62 ")


def test_a_thickness_that_nobody_knows_ends_in_a_broken_edge_and_is_said() -> None:
    drawing = drawn(swapped(BACK, replace(BACK, thickness_mm=None)))
    back = next(part for part in drawing.parts if part.role == "backing board")
    assert (back.is_broken, back.measure, back.edge != "") == (True, "? mm", True)
    assert "A broken edge: nobody knows how thick it is." in drawing.notes
    assert "backing board, Foam, thickness not known" in drawing.description


def test_the_weakest_link_is_called_out_alone_and_by_a_word() -> None:
    drawing = drawn(swapped(MAT, replace(MAT, grade="groundwood board", material="Groundwood")))
    assert [part.role for part in drawing.parts if part.is_weakest] == ["window mat"]
    assert "window mat, Groundwood, 1.5 mm, harmful, the weakest link" in drawing.description


def test_of_two_boards_of_one_name_the_one_nearer_to_the_work_is_called_out() -> None:
    poor = replace(BOARD, grade="groundwood board", material="Groundwood")
    behind = replace(poor, role=LayerRole.BACKING, key=9)
    layers = (GLASS, MAT, WORK, poor, behind)
    weakest = drawn(replace(FRAMED, layers=layers)).weakest
    assert weakest is not None
    assert weakest.role == "mount board"


def test_nothing_is_called_out_where_every_layer_is_sound() -> None:
    drawing = drawn(swapped(BACK, replace(BACK, grade=RAG)))
    assert {part.verdict for part in drawing.parts} == {"", "sound"}
    assert drawing.weakest is None


def test_a_package_of_which_nothing_is_known_is_drawn_blank_and_never_as_good() -> None:
    unknown = Answer.UNKNOWN
    drawing = drawn(PackageFacts(front=unknown, behind=unknown, held=unknown))
    parts = [part for part in drawing.parts if part.role != "the work"]
    assert [part.role for part in parts] == ["window mat", "hold", "mount board"]
    assert {part.hatching for part in parts} == {Hatching.UNKNOWN}
    assert all(part.is_unknown for part in parts)
    assert "sound" not in {part.verdict for part in parts}
    assert "A blank with a question mark: nobody knows what it is." in drawing.notes


def test_a_board_of_unknown_grade_is_never_hatched_as_a_known_one() -> None:
    sold_as_good = replace(MAT, grade=UNKNOWN_BOARD, material="Mat board sold as acid-free")
    blank = LayerFacts(role=LayerRole.GLAZING, known_by=KnownBy.GUESSED)
    assert hatching_of(sold_as_good) is Hatching.UNKNOWN
    assert hatching_of(blank) is Hatching.UNKNOWN


def test_an_empty_package_still_shows_the_work_and_says_that_it_lies_free() -> None:
    none = Answer.NONE
    drawing = drawn(PackageFacts(front=none, behind=none, held=none))
    assert [part.role for part in drawing.parts] == ["the work"]
    assert drawing.notes[-3:] == (
        "Nothing lies in front of the work.",
        "Nothing lies behind the work.",
        "Nothing holds it: it lies free.",
    )


def test_a_pocket_leaves_the_sheet_its_clearance_to_scale() -> None:
    pockets = replace(HINGES, grade="corner pockets or edge strips", clearance_mm=0.25)
    # 0.25 mm at 22 units, and half a line: 62 - 5.5 - 1.5.
    pocket = next(p for p in drawn(replace(FRAMED, holds=(pockets,))).parts if p.role == "hold")
    assert "H55V" in pocket.outline


def test_labels_follow_each_other_from_front_to_back_and_leave_room_for_a_thumb() -> None:
    remain = RemainFacts(what="stub of rubber tape", key=8, grade="rubber pressure-sensitive")
    drawing = drawn(replace(FRAMED, remains=(remain,)))
    tops = [part.label_top for part in drawing.parts]
    assert tops == sorted(tops)
    assert min(part.label_height for part in drawing.parts) >= 44
    assert [part.key for part in drawing.parts] == [
        "glazing-1",
        "window-mat-2",
        "work-3",
        "hold-6",
        "remains-8",
        "mount-board-4",
        "backing-board-5",
    ]


def test_a_mat_of_two_windows_is_cut_across_both_with_the_bar_between_them() -> None:
    mat = replace(MAT, windows=2)
    drawing = drawn(swapped(MAT, mat))
    (part,) = [part for part in drawing.parts if part.role == "window mat"]
    # Three outlines would be two bars: here it is the border and one bar.
    assert part.outline.count("Z") == 2
    assert part.lines == ("Rag", "2 windows")
    assert "window mat, Rag, 1.5 mm, 2 windows, sound" in drawing.description
    assert "Cut across its windows, of which no more than three are drawn." in drawing.notes
    one = drawn(swapped(MAT, replace(MAT, windows=1)))
    assert one.parts == drawn(FRAMED).parts


def test_the_bars_of_a_double_mat_stand_upon_each_other_and_leave_the_windows_open() -> None:
    outer = replace(MAT, role=LayerRole.OVERMAT, key=8, windows=5)
    layers = (GLASS, outer, replace(MAT, windows=5), WORK, BOARD, BACK)
    drawing = drawn(replace(FRAMED, layers=layers))
    ends = {
        part.role: [
            [float(at) for at in re.findall(r"[MLH](\d+\.?\d*)", bar)]
            for bar in part.outline.split("Z")[1:-1]
        ]
        for part in drawing.parts
        if part.windows
    }
    assert [len(bars) for bars in ends.values()] == [2, 2]
    for above, beneath in zip(ends["overmat"], ends["window mat"], strict=True):
        face = sorted(beneath)[1:3]
        assert face[0] <= min(above) < max(above) <= face[1]
    first, second = ends["window mat"]
    assert max(first) < min(second) < max(second) < drawing.break_x


def test_beside_a_sleeve_stands_a_bar_that_is_no_longer_than_the_sleeve_is_thick() -> None:
    sleeve = LayerFacts(role=LayerRole.FOLDER, material="Polyester sleeve", thickness_mm=0.1)
    drawing = drawn(replace(FRAMED, layers=(sleeve, WORK, replace(sleeve, key=7))))
    assert (drawing.bar.millimetres, drawing.scale) == (0.2, 200)
    assert drawing.bar.bottom <= drawing.height


def test_an_adhesive_that_is_on_record_as_layer_and_as_hold_is_drawn_once() -> None:
    tissue = replace(MAT, role=LayerRole.ADHESIVE, key=8, grade="starch paste", material="Tissue")
    held = replace(HINGES, material="Tissue", position="all over", covers_all=True)
    layers = (GLASS, MAT, WORK, tissue, BOARD, BACK)
    parts = drawn(replace(FRAMED, layers=layers, holds=(held,))).parts
    assert [part.role for part in parts if part.material == "Tissue"] == ["hold"]
    other = drawn(replace(FRAMED, layers=layers)).parts
    assert [part.role for part in other if part.material == "Tissue"] == ["adhesive"]


def test_of_the_frame_of_a_sink_only_the_edge_is_cut_and_no_figure_loses_its_unit() -> None:
    material = "Rails of cotton rag board, 5 mm"
    sink = replace(BACK, role=LayerRole.SPACER, side=LayerSide.BEHIND, key=9, material=material)
    drawing = drawn(replace(FRAMED, layers=(GLASS, MAT, WORK, sink, BOARD)))
    part = next(part for part in drawing.parts if part.role == "spacer")
    assert part.anchor[0] == drawing.edge_x + STRIP
    assert part.lines == ("Rails of cotton rag board,", "5\N{NO-BREAK SPACE}mm")
