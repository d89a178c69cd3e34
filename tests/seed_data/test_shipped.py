"""Is the reference data that every installation gets right, complete and honest?

Published figures are asserted with their source beside; the rest is what the
files promise of themselves.
"""

import re
import shutil
from pathlib import Path

import pytest

from models.errors import BadValue
from models.rules.freeing import (
    ADHESIVE_OF_HOLD,
    EASIEST_FIRST,
    FREEING_OF_ADHESIVE,
    freeing_of_adhesive,
)
from models.vocabulary import (
    UNKNOWN_BOARD,
    UNKNOWN_GRADES,
    Freeing,
    Mechanism,
    PatResult,
    ProcessGroup,
    Surface,
    UrgentSign,
)
from seed_data.shipped import (
    BASES,
    HERE,
    ShippedMaterial,
    basis_by_figure,
    figures_told,
    read_finding_terms,
    read_materials,
    read_mount_methods,
    read_techniques,
    read_treatment_terms,
    shipped_default_figures,
)

MATERIALS = {material.name: material for material in read_materials()}
TERMS = {term.term: term for term in read_finding_terms()}
TECHNIQUES = {technique.name: technique for technique in read_techniques()}
METHODS = {method.name: method for method in read_mount_methods()}
TREATMENTS = {treatment.term: treatment for treatment in read_treatment_terms()}

# Numbers of the Art & Architecture Thesaurus as aligned in published conservation
# vocabularies (linked-conservation-data/conservation-vocabularies, 2021; rodent damage
# and darkening in two other public vocabulary files). No other number is used.
AAT = {
    "foxing": 300078853,
    "cockling": 300228335,
    "crease": 300228802,
    "tear": 300252881,
    "loss": 300263354,
    "stain": 300379497,
    "tide line": 300379484,
    "discolouration": 300053045,
    "abrasion": 300053077,
    "cracks": 300209168,
    "embrittlement": 300056193,
    "detached": 300131111,
    "distortion": 300155059,
    "split": 300263219,
    "bloom": 300186215,
    "active mould": 300252028,
    "mould stain": 300378932,
    "insect grazing": 300230031,
    "rodent damage": 300380188,
    "water damage": 300379358,
    "yellowing": 300225196,
    "darkening": 300379491,
    "wear": 300219449,
    "craquelure": 300228345,
    "lifting": 300256571,
    "bowing": 300389996,
    "blanching": 300252414,
    "earlier repair": 300379377,
}


def test_there_is_enough_to_name_what_is_found_in_a_frame() -> None:
    counts = [len(words) for words in (MATERIALS, TERMS, TECHNIQUES)]
    assert [count >= least for count, least in zip(counts, (66, 66, 40), strict=True)] == [True] * 3


def test_the_names_that_people_use_are_there() -> None:
    assert {"Cotton rag mat board, 4-ply, buffered", "Groundwood mat board"} <= MATERIALS.keys()
    assert "Wheat starch paste on Japanese paper" in MATERIALS
    assert "etching" in TECHNIQUES
    assert {
        "T-hinge",
        "V-hinge",
        "pass-through hinge",
        "corner pockets",
        "sink mat",
    } <= METHODS.keys()
    assert {"mat burn", "skinning", "silver mirroring", "active mould"} <= TERMS.keys()
    assert {"surface cleaning", "mould removal"} <= TREATMENTS.keys()


# --- materials


def test_every_kind_of_material_is_there() -> None:
    assert {material.kind for material in MATERIALS.values()} == {
        "backing board",
        "corner pocket",
        "edge strip",
        "film",
        "folder or box board",
        "frame",
        "glazing",
        "glue",
        "interleaf",
        "mat board",
        "mount board",
        "paper",
        "paste",
        "seal",
        "spacer",
        "tape",
        "tissue",
    }


@pytest.mark.parametrize("material", MATERIALS.values(), ids=MATERIALS.keys())
def test_every_figure_has_a_basis_and_no_basis_is_idle(material: ShippedMaterial) -> None:
    told = basis_by_figure(material.basis)
    assert set(told) == set(figures_told(material))
    assert [basis for basis in told.values() if not basis.startswith(BASES)] == []


def test_every_grade_of_a_board_or_adhesive_is_the_grade_of_some_material() -> None:
    defaults = shipped_default_figures()
    grades = {material.grade for material in MATERIALS.values()}
    assert grades - {""} == {
        *defaults.grades(Mechanism.ACID_MIGRATION),
        *defaults.grades(Mechanism.ADHESIVE_AGEING),
    }
    holds = {material.hold_grade for material in MATERIALS.values()}
    assert holds - {""} == set(defaults.grades(Mechanism.HOLD_FAILURE))


def test_a_label_that_says_acid_free_changes_no_grade() -> None:
    claimed = {m.name: m.grade for m in MATERIALS.values() if m.claim}
    assert claimed == {
        "Mat board sold as acid-free, no figures": "unknown board",
        "Mat board sold as archival, no figures": "unknown board",
        "Mat board sold as museum quality, no figures": "unknown board",
        "Hinge tape sold as acid-free, self-adhesive": "unknown adhesive",
    }


def test_what_nobody_knows_has_no_figure_that_passes_as_good() -> None:
    unknown = [m for m in MATERIALS.values() if m.grade in UNKNOWN_GRADES]
    figures = [(m.ph, m.alkaline_reserve_percent, m.kappa, m.buffered) for m in unknown]
    assert figures == [(None, None, None, "")] * len(unknown)
    assert len(unknown) >= 10


def test_no_material_without_a_lot_has_passed_the_photographic_activity_test() -> None:
    # ISO 18916: a result belongs to a batch and colour, and is repeated every year.
    assert {m.pat for m in MATERIALS.values()} == {PatResult.NOT_TESTED}


def test_what_holds_harms_by_its_adhesive_or_not_at_all() -> None:
    holds = [m for m in MATERIALS.values() if m.hold_grade]
    assert [m.name for m in holds if m.grade and m.grade not in FREEING_OF_ADHESIVE] == []
    assert [m.name for m in holds if m.frees_by is None] == []


def test_a_material_comes_off_no_easier_than_its_grade_but_by_water() -> None:
    easier = {
        m.name: m.frees_by
        for m in MATERIALS.values()
        if m.grade in FREEING_OF_ADHESIVE and m.frees_by is not None
        if EASIEST_FIRST.index(m.frees_by) < EASIEST_FIRST.index(freeing_of_adhesive(m.grade))
    }
    # Old flour pastes are of no known grade, but water softens them (common practice, no source).
    assert easier == {
        "Flour paste, old": Freeing.WATER,
        "Paste with a poison against insects, old": Freeing.WATER,
    }


def test_pockets_and_strips_lift_out_without_adhesive() -> None:
    found = [m for m in MATERIALS.values() if m.kind in ("corner pocket", "edge strip")]
    told = {(m.grade, m.hold_grade, m.frees_by) for m in found}
    assert told == {("", "corner pockets or edge strips", Freeing.NO_ADHESIVE)}


def test_a_buffered_board_holds_what_the_specification_asks_at_least() -> None:
    # Library of Congress specification 200-221: pH 8.0 to 9.5, reserve 2 to 5 %, kappa at most 5.
    boards = [m for m in MATERIALS.values() if m.grade.endswith("board, buffered") and m.ph]
    boards = [m for m in boards if m.name != "Permanent paper, alkaline"]
    assert {(m.ph, m.alkaline_reserve_percent, m.kappa) for m in boards} == {(8, 2, 5)}
    assert len(boards) >= 12


def test_an_unbuffered_alpha_board_is_neutral_and_has_no_reserve() -> None:
    # Library of Congress specification 200-201-16: pH about 7.0, no reserve, kappa at most 5.
    board = MATERIALS["Alpha-cellulose mat board, 4-ply, unbuffered"]
    assert (board.ph, board.alkaline_reserve_percent, board.kappa) == (7, 0, 5)
    assert board.buffered == "no"


def test_an_unbuffered_cotton_board_may_be_as_low_as_pH_6_5() -> None:  # noqa: N802
    # UK Guild board specification, level 1, cotton, unbuffered: pH 6.5 to 7.5.
    board = MATERIALS["Cotton rag mat board, 4-ply, unbuffered"]
    assert (board.ph, board.alkaline_reserve_percent, board.kappa) == (6.5, 0, None)


def test_permanent_paper_is_what_the_standard_asks_and_no_board_is_said_to_meet_it() -> None:
    # ISO 9706:1994, unprinted paper: pH 7.5 to 10, reserve 20 g CaCO3 per kg, kappa at most 5.
    paper = MATERIALS["Permanent paper, alkaline"]
    assert (paper.ph, paper.alkaline_reserve_percent, paper.kappa) == (7.5, 2, 5)
    assert {m.name for m in MATERIALS.values() if "ISO 9706" in m.basis} == {paper.name}


@pytest.mark.parametrize(("ply", "thickness_mm"), [(2, 0.8), (4, 1.5), (8, 3.0)])
def test_boards_are_as_thick_as_their_plies(ply: int, thickness_mm: float) -> None:
    # Common practice, no source: 2-ply about 1/32 inch, 4-ply 1/16, 8-ply 1/8.
    for fibre in ("Alpha-cellulose", "Cotton rag"):
        assert MATERIALS[f"{fibre} mat board, {ply}-ply, buffered"].thickness_mm == thickness_mm
        assert abs(thickness_mm - ply * 25.4 / 64) < 0.2


def test_glazing_weighs_2_5_kg_of_glass_or_1_19_kg_of_acrylic_per_mm() -> None:
    # Density of soda-lime glass 2.50 and of acrylic 1.19 g/cm3 (values from memory).
    per_mm = {
        m.name: round((m.mass_g_per_m2 or 0) / (m.thickness_mm or 1), 6)
        for m in MATERIALS.values()
        if m.kind == "glazing" and ("glass" in m.name.lower() or "crylic" in m.name)
    }
    assert {v for name, v in per_mm.items() if "glass" in name.lower()} == {2500}
    assert {v for name, v in per_mm.items() if "crylic" in name} == {1190}


def test_only_glazing_sold_as_filtering_reaches_the_97_percent_of_the_light_rule() -> None:
    filtering = {m.name for m in MATERIALS.values() if (m.uv_block_percent or 0) >= 97}
    assert filtering == {m.name for m in MATERIALS.values() if "UV-filtering" in m.name}
    assert len(filtering) == 5


def test_metal_glass_and_polyester_film_are_barriers_and_nothing_else_is() -> None:
    barriers = [m.name for m in MATERIALS.values() if m.barrier]
    words = ("glass", "aluminium", "steel", "polyester")
    assert [name for name in barriers if not any(word in name.lower() for word in words)] == []


def test_no_brand_stands_in_the_files() -> None:
    marks = [m.name for m in MATERIALS.values() if "®" in m.name or "™" in m.name]
    assert marks == []


# --- finding terms


def test_every_number_of_the_thesaurus_is_one_that_was_found() -> None:
    assert {term.term: term.aat_id for term in TERMS.values() if term.aat_id} == AAT


def test_what_does_not_wait_says_which_sign_it_is_and_what_to_do() -> None:
    urgent = {t.term for t in TERMS.values() if t.urgency == "does not wait"}
    assert urgent == {t.term for t in TERMS.values() if t.urgent_sign}
    assert [t for t in urgent if not TERMS[t].caution] == []
    assert {t.urgent_sign for t in TERMS.values()} == {
        None,
        *UrgentSign,
    } - {UrgentSign.RECALLED_LAYER}  # a recall says that, not a finding


def test_only_layers_that_can_mark_a_work_are_suggested_as_its_cause() -> None:
    assert TERMS["mat burn"].suggests_mechanism is Mechanism.ACID_MIGRATION
    assert TERMS["foxing"].suggests_mechanism is Mechanism.FOXING
    assert {t.suggests_mechanism for t in TERMS.values()} == {None, *Mechanism}


def test_what_lies_on_the_verso_or_under_the_mat_is_not_seen_through_the_glazing() -> None:
    for term in ("backing stain", "hinge stub left", "thinning", "earlier mount line"):
        assert TERMS[term].shows_through_glazing == "no"
    assert TERMS["mat burn"].shows_through_glazing == "part"


def test_every_term_is_explained_with_its_usual_cause() -> None:
    assert [t.term for t in TERMS.values() if not (t.definition and t.usual_cause)] == []


# --- techniques


def test_every_process_that_a_mount_must_respect_has_a_technique() -> None:
    assert {t.process_group for t in TECHNIQUES.values()} == set(ProcessGroup)


def test_a_light_class_always_says_what_it_rests_on() -> None:
    assert [t.name for t in TECHNIQUES.values() if not t.light_basis.startswith(BASES)] == []
    assert [t.name for t in TECHNIQUES.values() if t.light_class is None] == []


def test_unknown_technique_is_taken_for_light_sensitive() -> None:
    assert TECHNIQUES["technique not known"].light_class == 2


@pytest.mark.parametrize("name", ["pastel", "charcoal drawing", "chalk drawing"])
def test_loose_media_are_friable_and_want_glass(name: str) -> None:
    technique = TECHNIQUES[name]
    assert technique.surface is Surface.FRIABLE
    assert "never acrylic" in technique.note


def test_fugitive_dyes_are_of_the_classes_1_to_3() -> None:
    # CCI, sensitivity of coloured materials: felt-tip, ballpoint, most chromogenic prints 1 to 3.
    named = (
        "felt-tip or marker drawing",
        "ballpoint drawing or writing",
        "hand-coloured photograph",
    )
    chromogenic = ("chromogenic print, before 1980", "chromogenic print, modern")
    assert [n for n in named + chromogenic if (TECHNIQUES[n].light_class or 8) > 3] == []


def test_unbuffered_is_asked_for_cyanotypes_and_only_advised_where_it_is_contested() -> None:
    # reCollections and the standard for photographic enclosures, as read for this project.
    by_process = {t.process_group: t.buffer_advice for t in TECHNIQUES.values()}
    assert by_process[ProcessGroup.CYANOTYPE] == "unbuffered"
    contested = (
        ProcessGroup.ALBUMEN,
        ProcessGroup.SALTED_PAPER,
        ProcessGroup.COLLODION,
        ProcessGroup.PLATINUM,
        ProcessGroup.DIAZOTYPE,
        ProcessGroup.DYE_TRANSFER,
    )
    names = [t.name for t in TECHNIQUES.values() if t.process_group in contested]
    plain = {"ambrotype or tintype"}  # glass or iron, no paper to buffer
    assert {TECHNIQUES[n].buffer_advice for n in names if n not in plain} == {
        "contested, unbuffered is cautious"
    }


# --- mount methods and treatments


def test_the_usual_mounts_are_held_and_freed_as_the_trade_knows() -> None:
    hinge, pockets = METHODS["T-hinge"], METHODS["corner pockets"]
    assert (hinge.needs_adhesive, hinge.default_hold_grade, hinge.frees_by, hinge.floats) == (
        "yes",
        "paper hinges with starch or cellulose ether",
        Freeing.WATER,
        False,
    )
    assert (pockets.needs_adhesive, pockets.default_hold_grade, pockets.frees_by) == (
        "no",
        "corner pockets or edge strips",
        Freeing.NO_ADHESIVE,
    )
    assert METHODS["hinged float"].floats


def test_a_mount_without_adhesive_is_never_freed_by_water_or_solvent() -> None:
    freed = {m.frees_by for m in METHODS.values() if m.needs_adhesive == "no"}
    assert freed == {Freeing.NO_ADHESIVE, Freeing.NOT_WITHOUT_HARM}  # thread and staples harm
    stuck = {m.frees_by for m in METHODS.values() if m.needs_adhesive == "yes"}
    assert Freeing.NO_ADHESIVE not in stuck


def test_a_method_agrees_with_the_hold_it_usually_has() -> None:
    with_adhesive = [m for m in METHODS.values() if m.needs_adhesive == "yes"]
    assert [m.name for m in with_adhesive if ADHESIVE_OF_HOLD[m.default_hold_grade] is None] == []


def test_what_stays_on_the_work_is_not_called_removed() -> None:
    removed = {t.term for t in TREATMENTS.values() if t.removes_remains}
    assert removed == {
        "hinge removal, dry",
        "hinge removal, with water",
        "tape removal, dry",
        "tape removal, with heat",
        "tape removal, with solvent",
        "residue removed",
        "backing removal",
        "taken off a dry mount",
    }


# --- cautions


def test_every_solvent_heat_glass_mould_nitrate_and_poison_has_its_caution() -> None:
    dangerous = re.compile(r"\b(solvent|heat|glass|mould|nitrate|arsenic)\b")
    cautious = ("local codes", "conservator", "Edges")
    told = {
        **{m.name: (f"{m.name} {m.frees_by}", m.caution) for m in MATERIALS.values()},
        **{m.name: (f"{m.name} {m.frees_by}", m.caution) for m in METHODS.values()},
        **{t.term: (t.term, t.caution) for t in TREATMENTS.values()},
        **{t.term: (t.term, t.caution) for t in TERMS.values()},
        **{t.name: (t.name, t.note) for t in TECHNIQUES.values() if "nitrate" in t.name},
    }
    silent = [
        name
        for name, (about, caution) in told.items()
        if dangerous.search(about.lower())
        and not any(word in caution for word in cautious)
        and name not in HARMLESS
    ]
    assert silent == []


# Named after a danger, but without one.
HARMLESS = {"haze inside the glazing", "glass plate negative"}


# --- faults in a file are said so that they can be found


def spoilt(tmp_path: Path, file: str, old: str, new: str) -> Path:
    for shipped in HERE.glob("*.csv"):
        shutil.copy(shipped, tmp_path)
        (tmp_path / shipped.name).chmod(0o644)
    text = (tmp_path / file).read_text("utf-8")
    assert old in text
    (tmp_path / file).write_text(text.replace(old, new, 1), "utf-8")
    return tmp_path


HEAD = "name,kind,claim,grade"
FIRST = "Groundwood mat board,mat board,,groundwood board,,,"


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        (HEAD, "name,sort,claim,grade", "row 1: the column kind is missing"),
        (HEAD, "name,kind,price,claim,grade", "row 1: there is no column price"),
        (FIRST, FIRST + "acidic", "row 2, column ph: 'acidic' is no number"),
        (FIRST, FIRST + "15", "row 2, column ph: '15' is not between 0 and 14"),
        (FIRST, FIRST + "5", "row 2, column basis: ph without a basis"),
        (FIRST, FIRST + ",", "row 2: it needs 20 cells"),
        (FIRST, FIRST.replace(",,,", ",,wtaer,"), "row 2, column frees_by: 'wtaer' is none of"),
        (FIRST, FIRST.replace(",groundwood", ",acid-free"), "row 2, column grade: 'acid-free"),
        ("White-core mat board, not tested", "groundwood MAT board", "row 5, column name"),
        ("common practice, no source", "hearsay", "grade must rest on one of: published source"),
    ],
)
def test_a_fault_is_named_by_file_row_and_column(
    tmp_path: Path, old: str, new: str, said: str
) -> None:
    folder = spoilt(tmp_path, "materials.csv", old, new)
    with pytest.raises(BadValue) as refused:
        read_materials(folder)
    assert refused.value.message.startswith("materials.csv, row ")
    assert said in refused.value.message


def test_a_word_that_is_on_no_list_is_refused_with_the_words_that_are(tmp_path: Path) -> None:
    folder = spoilt(tmp_path, "finding_terms.csv", ",does not wait,", ",at once,")
    with pytest.raises(BadValue) as refused:
        read_finding_terms(folder)
    assert "column urgency: 'at once' is none of: none, watch, soon, does not wait" in str(
        refused.value
    )


def test_unknown_board_is_a_mixture_and_ships_without_a_time() -> None:
    figure = shipped_default_figures().figure(Mechanism.ACID_MIGRATION, UNKNOWN_BOARD)
    assert (figure.median, figure.shape) == (None, None)


def test_each_file_is_plain_text_with_one_header() -> None:
    for file in sorted(HERE.glob("*.csv")):
        text = file.read_bytes().decode("utf-8")
        assert (text[0] != "\ufeff", text[-1], "\r" in text.replace("\r\n", "\n")) == (
            True,
            "\n",
            False,
        )
