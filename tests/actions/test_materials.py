import pytest
from sqlmodel import Session

from models.actions.forecasts import faults_of_stored, refresh_forecasts
from models.actions.materials import (
    FiguresTold,
    MaterialsAsked,
    MaterialTold,
    add_material,
    change_material,
    correct_figures,
    list_editions,
    list_materials,
    read_material,
    uses_of_material,
)
from models.errors import BadValue, NotAllowed, NotFound, RuleBroken, Stale, UnknownWord
from models.tables.mounts import Package, Remain
from models.tables.terms import TreatmentTerm
from models.tables.visits import Treatment, TreatmentMaterial
from models.vocabulary import Freeing, PatResult
from seed_data.shipped import shipped_default_figures
from tests.builders import (
    a_framer,
    a_hold,
    a_keeper,
    a_layer,
    a_lot,
    a_material,
    a_mount,
    a_poor_mount,
    a_visit,
    a_work,
    added,
    an_owner,
    key_of,
    stored_forecast,
)
from tests.counting import statements

DEFAULTS = shipped_default_figures()
TODAY = 20_782
BOARD = MaterialTold(
    name="Cotton rag mat board, 4-ply, buffered",
    kind="mat board",
    claim="museum quality",
    caution="",
    note="cut with the grain",
)
FIGURES = FiguresTold(
    grade="cotton rag board, buffered",
    frees_by=Freeing.WATER,
    ph=8.5,
    alkaline_reserve_percent=2.5,
    kappa=1.5,
    pat=PatResult.PASSED,
    pat_on="2024-05-12",
    buffered=True,
    thickness_mm=1.4,
    mass_g_per_m2=850,
    sheet_height_mm=1016,
    sheet_width_mm=813,
    uv_block_percent=None,
    basis={"ph": "the mill's sheet", "kappa": "common practice, no source"},
)


def test_a_material_comes_back_with_its_figures_and_what_they_rest_on(session: Session) -> None:
    added_material = add_material(session, a_keeper(session), BOARD, FIGURES, defaults=DEFAULTS)
    assert (added_material.told, added_material.figures) == (BOARD, FIGURES)
    assert (added_material.edition, added_material.is_recalled) == (1, False)


def test_all_that_is_wrong_with_a_material_is_said_at_once(session: Session) -> None:
    keeper = a_keeper(session)
    wrong = FiguresTold(
        grade="cotton rag bord, buffered",
        hold_grade="cotton rag board, buffered",
        ph=15,
        pat_on="May 2024",
        thickness_mm=0,
        basis={"colour": "seen"},
    )
    with pytest.raises(BadValue) as refused:
        add_material(session, keeper, MaterialTold(name="", kind=""), wrong, defaults=DEFAULTS)
    assert {fault.pointer for fault in refused.value.faults} == {
        "/name",
        "/kind",
        "/figures/grade",
        "/figures/hold_grade",
        "/figures/ph",
        "/figures/pat_on",
        "/figures/thickness_mm",
        "/figures/basis/colour",
    }


def test_a_label_is_no_grade(session: Session) -> None:
    with pytest.raises(UnknownWord) as refused:
        add_material(
            session, a_keeper(session), BOARD, FiguresTold(grade="acid-free"), defaults=DEFAULTS
        )
    assert refused.value.code == "unknown_grade"


def test_a_material_is_on_record_once_whatever_the_capitals(session: Session) -> None:
    keeper = a_keeper(session)
    a_material(session, "Wheat starch paste")
    with pytest.raises(RuleBroken) as refused:
        add_material(
            session,
            keeper,
            MaterialTold(name="wheat starch  paste", kind="paste"),
            FiguresTold(),
            defaults=DEFAULTS,
        )
    assert refused.value.code == "name_taken"


def test_a_material_is_corrected_and_whoever_was_slower_sees_it(session: Session) -> None:
    keeper = a_keeper(session)
    material = a_material(session)
    changed = change_material(
        session, keeper, key_of(material), {"note": "thin"}, based_on=1, today=TODAY
    )
    assert changed.told.note == "thin"
    material.version = 2
    with pytest.raises(Stale) as refused:
        change_material(session, keeper, key_of(material), {"note": "x"}, based_on=1, today=TODAY)
    assert refused.value.theirs == read_material(session, keeper, key_of(material))


def test_figures_are_never_overwritten_but_get_a_new_edition(session: Session) -> None:
    keeper = a_keeper(session)
    material = add_material(session, keeper, BOARD, FIGURES, defaults=DEFAULTS)
    corrected = correct_figures(
        session,
        keeper,
        material.id,
        {"ph": 7.9, "pat": None, "basis": {"pat": "never sent in"}},
        defaults=DEFAULTS,
        today=TODAY,
    )
    assert (corrected.edition, corrected.figures.ph, corrected.figures.pat) == (
        2,
        7.9,
        PatResult.NOT_TESTED,
    )
    assert corrected.figures.basis == {
        "kappa": "common practice, no source",
        "pat": "never sent in",
    }
    assert list_editions(session, keeper, material.id) == [(1, FIGURES), (2, corrected.figures)]


def test_the_library_is_searched_and_listed_by_name_a_page_at_a_time(session: Session) -> None:
    keeper = a_keeper(session)
    for name in ("Wheat starch paste", "Cotton rag board", "cotton tape"):
        a_material(session, name, kind="paste" if "paste" in name else "board")

    def names(asked: MaterialsAsked) -> list[str]:
        return [material.told.name for material in list_materials(session, keeper, asked)[0]]

    assert names(MaterialsAsked()) == ["Cotton rag board", "Wheat starch paste", "cotton tape"]
    assert names(MaterialsAsked(q="COTT")) == ["Cotton rag board", "cotton tape"]
    assert names(MaterialsAsked(kind="paste")) == ["Wheat starch paste"]
    _, on = list_materials(session, keeper, MaterialsAsked(limit=2))
    assert names(MaterialsAsked(after=on)) == ["cotton tape"]


def test_the_library_takes_as_many_statements_for_many_as_for_few(session: Session) -> None:
    keeper = a_keeper(session)
    a_material(session, "board")
    with statements(session) as few:
        list_materials(session, keeper, MaterialsAsked())
    for n in range(20):
        a_material(session, f"board {n}")
    with statements(session) as many:
        assert len(list_materials(session, keeper, MaterialsAsked())[0]) == 21
    assert len(many) == len(few)


def test_every_layer_hold_and_treatment_of_a_material_is_listed_with_its_work(
    session: Session,
) -> None:
    keeper = a_keeper(session)
    paste = a_material(session, "Wheat starch paste")
    lot = a_lot(session, paste, "P-7")
    one = a_work(session, number="GH 1")
    two = a_work(session, number="GH 2")
    mount = a_mount(session, one)
    a_hold(session, mount, paste, lot=lot, position="top edge")
    layer = a_layer(session, a_mount(session, two), paste)
    term = added(session, TreatmentTerm(term="tear mending"))
    mended = added(session, Treatment(visit_id=key_of(a_visit(session, two)), term_id=key_of(term)))
    added(session, TreatmentMaterial(treatment_id=key_of(mended), material_id=key_of(paste)))
    uses, on = uses_of_material(session, keeper, key_of(paste))
    assert [use[:2] + use[4:] for use in uses] == [
        ("GH 1", "hold", "top edge", "P-7", "2010-05-01", None, True),
        ("GH 2", "layer", "mount board", None, "2010-05-01", None, True),
        ("GH 2", "treatment", "on the work itself", None, "2026-11-20", None, True),
    ]
    assert (on, uses[1].row_id, uses[1].work_id) == (None, key_of(layer), key_of(two))


def test_a_layer_touched_only_the_works_that_were_in_the_package_with_it(
    session: Session,
) -> None:
    keeper = a_keeper(session)
    board = a_material(session)
    first, second, third = (a_work(session, number=n) for n in ("A", "B", "C"))
    mount = a_mount(session, first, mounted="1990", dismounted="2000")
    a_layer(session, mount, board, fitted="1990", removed="2000")
    package = session.get_one(Package, mount.package_id)
    a_mount(session, second, package=package, mounted="2001")
    a_mount(session, third, package=package, mounted="XXXX")
    uses, _ = uses_of_material(session, keeper, key_of(board))
    assert [(use.work_number, use.is_current) for use in uses] == [("A", False), ("C", False)]


def test_a_stub_left_on_the_work_is_still_a_use(session: Session) -> None:
    keeper = a_keeper(session)
    tape = a_material(session, "Gummed linen tape", kind="tape")
    work = a_work(session)
    hold = a_hold(session, a_mount(session, work, dismounted="2020"), tape)
    assert [use.is_current for use in uses_of_material(session, keeper, key_of(tape))[0]] == [False]
    added(session, Remain(work_id=key_of(work), hold_id=key_of(hold), what="stub"))
    assert [use.is_current for use in uses_of_material(session, keeper, key_of(tape))[0]] == [True]


def test_uses_come_a_page_at_a_time_in_one_statement_whatever_their_number(
    session: Session,
) -> None:
    keeper = a_keeper(session)
    board = a_material(session)
    for number in ("A", "B", "C"):
        a_layer(session, a_mount(session, a_work(session, number=number)), board)
    with statements(session) as sent:
        first, on = uses_of_material(session, keeper, key_of(board), limit=2)
    rest, end = uses_of_material(session, keeper, key_of(board), limit=2, after=on)
    assert [use.work_number for use in first + rest] == ["A", "B", "C"]
    assert (end, len(sent)) == (None, 1)


def test_uses_never_show_or_count_another_owners_works(session: Session) -> None:
    owner = an_owner(session, "The Gannet House")
    board = a_material(session)
    for number, name in (("A", "The Gannet House"), ("B", "The Tern House")):
        work = a_work(session, number=number, owner=name)
        a_layer(session, a_mount(session, work), board)
    uses, _ = uses_of_material(session, owner, key_of(board))
    assert [use.work_number for use in uses] == ["A"]


def test_only_a_keeper_keeps_the_library_and_a_missing_material_is_not_found(
    session: Session,
) -> None:
    framer = a_framer(session)
    with pytest.raises(NotAllowed, match="add or change materials"):
        add_material(session, framer, BOARD, FIGURES, defaults=DEFAULTS)
    with pytest.raises(NotAllowed, match="add or change materials"):
        correct_figures(session, framer, 1, {}, defaults=DEFAULTS, today=TODAY)
    with pytest.raises(NotFound):
        uses_of_material(session, framer, 99)


def test_a_forecast_calls_the_weak_layer_by_the_name_it_has_now(session: Session) -> None:
    keeper = a_keeper(session)
    board = a_material(session, "Old backing", grade="groundwood board", buffered=None)
    work = a_work(session)
    a_poor_mount(session, work, board)
    refresh_forecasts(session, [key_of(work)], today=TODAY)
    told = {"name": "Brown backing"}
    change_material(session, keeper, key_of(board), told, based_on=1, today=TODAY)
    forecast = stored_forecast(session, work)
    assert forecast is not None
    assert "Brown backing" in (forecast.weak_layer or "")
    assert faults_of_stored(session, [key_of(work)]) == []


def test_a_better_figure_makes_harm_less_likely_on_every_work_that_has_the_material(
    session: Session,
) -> None:
    keeper = a_keeper(session)
    board = a_material(session, "Old backing", grade="groundwood board", buffered=None)
    work = a_work(session)
    a_poor_mount(session, work, board)
    chances = []
    for grade in ("groundwood board", "cotton rag board, buffered"):
        changes = {"grade": grade}
        correct_figures(session, keeper, key_of(board), changes, defaults=DEFAULTS, today=TODAY)
        forecast = stored_forecast(session, work)
        assert forecast is not None
        chances.append(forecast.chance_new_5y or 0)
    assert chances[0] > chances[1] > 0
