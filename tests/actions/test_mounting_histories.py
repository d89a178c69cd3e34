import csv
import io
import math
from collections.abc import Callable, Iterator

import pandas  # type: ignore[import-untyped]
import pytest
from openpyxl import load_workbook  # type: ignore[import-untyped]
from sqlalchemy import Engine
from sqlmodel import Session

from models.actions.in_force import figures_now
from models.actions.mounting_histories import history_of_all, history_of_work
from models.database import read_session, write_session
from models.errors import NotFound
from models.exchange.mounting_history import COLUMNS, HistoryRow, csv_bytes, xlsx_bytes
from models.rules.half_known_dates import read_date
from models.rules.mat_windows import windows_text
from models.rules.visit_as_told import WindowTold
from models.tables.forecasts import Forecast
from models.tables.materials import MaterialFigures, Recall
from models.tables.visible import Viewer
from models.tables.visits import LayerTest
from models.tables.works import Work
from models.vocabulary import (
    Answer,
    BenchTest,
    Change,
    Distance,
    FreedBy,
    Kept,
    KnownBy,
    LayerRole,
    Outcome,
    PatResult,
    Severity,
)
from tests.actions.history_rows import (
    a_finding,
    a_hold,
    a_layer,
    a_mount,
    a_package,
    a_remain,
    a_sighting,
    an_unframing,
)
from tests.builders import a_keeper, a_lot, a_material, a_stay, a_work, added, an_owner, key_of
from tests.counting import statements

TODAY = read_date("2026-11-25").first_day or 0
MAT, WORK, BOARD = LayerRole.WINDOW_MAT, LayerRole.WORK, LayerRole.MOUNT_BOARD


@pytest.fixture
def keeper(session: Session) -> Viewer:
    return a_keeper(session)


def history(session: Session, viewer: Viewer, work: Work) -> list[HistoryRow]:
    session.flush()
    told = history_of_work(session, viewer, key_of(work), today=TODAY)
    return list(told)


def everything(engine: Engine, viewer: Viewer) -> Iterator[HistoryRow]:
    return history_of_all(engine, viewer, today=TODAY)


def cells(row: HistoryRow) -> dict[str, object]:
    """What is recorded in a row, by column."""
    return {name: cell for name, cell in zip(COLUMNS, row, strict=True) if cell is not None}


def of(rows: list[HistoryRow], *names: str) -> list[tuple[object, ...]]:
    return [tuple(getattr(row, name) for name in names) for row in rows]


def a_framed_print(session: Session) -> Work:
    """A print in its second mount: the first, half-known, burned it and came off with water."""
    work = a_work(session, number="GH 7", title="The Mill", technique="etching")
    a_stay(session, work, place="Gannet House / Study", since="1985~", until="2010-05-01")
    a_stay(session, work, place="Gannet House / Stair / North wall", since="2010-05-01")
    kraft = a_material(session, "Kraft board", grade="corrugated or brown kraft board", ph=5.25)
    rag = a_material(session)
    paste = a_material(
        session,
        "Wheat starch paste on Japanese paper",
        kind="paste",
        grade="starch paste",
        buffered=None,
        ph=None,
        alkaline_reserve_percent=None,
        kappa=None,
        thickness_um=30,
        pat=PatResult.PASSED,
    )
    lot = a_lot(session, rag)
    visit = an_unframing(session, work, "2026-11-20")
    a_sighting(session, a_finding(session, work), visit)
    old = a_package(session)
    first = a_mount(
        session,
        work,
        old,
        on="1985~",
        until="2026-11-20",
        method="T-hinge",
        dismounted_visit_id=key_of(visit),
        harm_at_dismount="slight skinning at left hinge",
        dismount_reason="remat",
    )
    gone: dict[str, object] = {"removed_visit_id": key_of(visit), "kept": Kept.DISCARDED}
    a_layer(
        session,
        old,
        1000,
        MAT,
        kraft,
        fitted="1985~",
        removed="2026-11-20",
        condition="brown at the bevel",
        **gone,
    )
    a_layer(session, old, 2000, WORK)
    hold = a_hold(
        session,
        first,
        paste,
        position="top",
        hold_count=2,
        clearance_um=1_500,
        freed_by=FreedBy.WATER,
        outcome=Outcome.CUT_AND_STUB_LEFT,
        residue="paste along the top edge",
    )
    a_remain(session, work, "stub", hold_id=key_of(hold), left_visit_id=key_of(visit))
    new = a_package(session)
    second = a_mount(
        session,
        work,
        new,
        on="2026-11-20",
        method="T-hinge",
        reason="brown mat",
        mounted_visit_id=key_of(visit),
    )
    a_layer(session, new, 1000, MAT, rag, fitted="2026-11-20", lot_id=key_of(lot))
    a_layer(session, new, 2000, WORK)
    a_layer(session, new, 3000, BOARD, rag, fitted="2026-11-20", known_by=KnownBy.TOLD)
    a_hold(session, second, paste, position="top", hold_count=2)
    added(session, Forecast(work_id=key_of(work), unframing_on=read_date("2031-11-20").first_day))
    return work


def test_every_cell_of_a_history_says_what_is_on_record(session: Session, keeper: Viewer) -> None:
    rows = history(session, keeper, a_framed_print(session))
    assert of(rows, "mount_no", "layer_no", "role") == [
        (1, 1, "window mat"),
        (1, 2, "work"),
        (1, 1, "hold"),
        (2, 1, "window mat"),
        (2, 2, "work"),
        (2, 3, "mount board"),
        (2, 1, "hold"),
    ]
    old = {
        "work_number": "GH 7",
        "work_title": "The Mill",
        "mount_no": 1,
        "package_no": rows[0].package_no,
        "place": "Gannet House / Stair / North wall",
        "method": "T-hinge",
        "mounted_on": "1985~",
        "dismounted_on": "2026-11-20",
        "years_mounted": 41.9,
        "harm_at_dismount": "slight skinning at left hinge",
        "freeing": "water",
        "found_when_unframed": "mat burn (moderate)",
        "note": "dismounted: remat",
    }
    assert cells(rows[0]) == {
        **old,
        "layer_no": 1,
        "role": "window mat",
        "position": "front",
        "material": "Kraft board",
        "grade": "corrugated or brown kraft board",
        "known_by": "seen",
        "distance": "touches",
        "fitted_on": "1985~",
        "removed_on": "2026-11-20",
        "ph": 5.25,
        "alkaline_reserve_percent": 2.5,
        "kappa": 1.0,
        "pat": "not tested",
        "thickness_mm": 1.4,
        "verdict": "harmful",
        "found_when_unframed": "mat burn (moderate); brown at the bevel",
        "kept_where": "discarded",
    }
    assert cells(rows[1]) == {**old, "layer_no": 2, "role": "work", "known_by": "seen"}
    assert cells(rows[2]) == {
        **old,
        "freed_by": "water",
        "outcome": "cut and stub left",
        "residue": "paste along the top edge",
        "remains": "stub",
        "layer_no": 1,
        "role": "hold",
        "position": "top",
        "count": 2,
        "material": "Wheat starch paste on Japanese paper",
        "grade": "paper hinges with starch or cellulose ether",
        "known_by": "seen",
        "fitted_on": "1985~",
        "note": "clearance 1.5 mm; dismounted: remat",
        "pat": "passed",
        "thickness_mm": 0.03,
        "verdict": "sound",
    }
    new = {
        "work_number": "GH 7",
        "work_title": "The Mill",
        "mount_no": 2,
        "package_no": rows[3].package_no,
        "place": "Gannet House / Stair / North wall",
        "method": "T-hinge",
        "reason": "brown mat",
        "mounted_on": "2026-11-20",
        "years_mounted": 0.0,
        "freeing": "water",
        "next_unframing_on": "2031-11-20",
    }
    rag = {
        "material": "Cotton rag mat board, 4-ply, buffered",
        "grade": "cotton rag board, buffered",
        "distance": "touches",
        "fitted_on": "2026-11-20",
        "ph": 8.5,
        "alkaline_reserve_percent": 2.5,
        "kappa": 1.0,
        "pat": "not tested",
        "thickness_mm": 1.4,
    }
    assert cells(rows[3]) == {
        **new,
        **rag,
        "layer_no": 1,
        "role": "window mat",
        "position": "front",
        "known_by": "seen",
        "lot": "L-118",
        "verdict": "sound",
    }
    assert cells(rows[5]) == {
        **new,
        **rag,
        "layer_no": 3,
        "role": "mount board",
        "position": "behind",
        "known_by": "told",
        "verdict": "doubtful",
    }


def test_an_unframing_whose_day_is_past_is_due_on_the_day_of_the_file(
    session: Session, keeper: Viewer
) -> None:
    work = a_work(session, number="GH 8")
    a_mount(session, work, a_package(session), on="1986~")
    added(session, Forecast(work_id=key_of(work), unframing_on=read_date("1988-06-02").first_day))
    (row,) = history(session, keeper, work)
    assert row.next_unframing_on == "2026-11-25"


def test_a_mount_with_nothing_recorded_still_has_one_row(session: Session, keeper: Viewer) -> None:
    work = a_work(session, number="GH 1")
    package = a_package(session)
    a_mount(session, work, package, on=None, inferred=True, held=Answer.UNKNOWN)
    (row,) = history(session, keeper, work)
    assert cells(row) == {
        "work_number": "GH 1",
        "work_title": "The Mill in Winter",
        "mount_no": 1,
        "package_no": package,
        # Nobody knows what holds it: until somebody has looked, as bad as tape.
        "freeing": "solvent or heat",
        "note": "inferred from its traces",
    }


def test_a_work_never_mounted_has_no_row(session: Session, keeper: Viewer) -> None:
    assert history(session, keeper, a_work(session)) == []


def test_a_layer_changed_during_a_mount_is_listed_with_the_one_in_its_place(
    session: Session, keeper: Viewer
) -> None:
    work, package = a_work(session), a_package(session)
    kraft = a_material(session, "Kraft board", grade="corrugated or brown kraft board")
    rag = a_material(session)
    visit = an_unframing(session, work, "2015-06")
    a_mount(session, work, package)
    a_layer(
        session,
        package,
        1000,
        MAT,
        kraft,
        fitted="2005-03-01",
        removed="2015-06",
        removed_visit_id=key_of(visit),
    )
    a_layer(session, package, 1000, MAT, rag, fitted="2015-06", fitted_visit_id=key_of(visit))
    a_layer(session, package, 2000, WORK)
    rows = history(session, keeper, work)
    # Each touches the work in its own time: none lies between the other and the sheet.
    assert of(rows, "layer_no", "role", "fitted_on", "removed_on", "distance", "verdict") == [
        (1, "window mat", "2005-03-01", "2015-06", "touches", "harmful"),
        (2, "window mat", "2015-06", None, "touches", "sound"),
        (3, "work", None, None, None, None),
    ]


def test_what_was_taken_out_at_the_mounting_or_put_in_at_the_dismount_is_no_part_of_the_mount(
    session: Session, keeper: Viewer
) -> None:
    work, package = a_work(session), a_package(session)
    rag = a_material(session)
    mounted = an_unframing(session, work, "2005-03")
    taken_out = an_unframing(session, work, "2015-06")
    a_mount(
        session,
        work,
        package,
        on="2005-03",
        until="2015-06",
        mounted_visit_id=key_of(mounted),
        dismounted_visit_id=key_of(taken_out),
    )
    a_layer(session, package, 1, MAT, rag, removed="2005-03", removed_visit_id=key_of(mounted))
    a_layer(session, package, 2, MAT, rag, fitted="2005-03", fitted_visit_id=key_of(mounted))
    a_layer(session, package, 3, MAT, rag, fitted="2015-06", fitted_visit_id=key_of(taken_out))
    a_layer(session, package, 4, BOARD, rag, fitted="1980", removed="1990~")
    a_layer(session, package, 5, BOARD, rag, fitted="2016", removed="2020")
    # Nobody knows when it came or went: it may have been there, and stays in the record.
    a_layer(session, package, 6, BOARD, rag, ended=True)
    rows = history(session, keeper, work)
    assert of(rows, "role", "fitted_on") == [("window mat", "2005-03"), ("mount board", None)]


def test_withdrawn_records_are_left_out(session: Session, keeper: Viewer) -> None:
    work, package = a_work(session), a_package(session)
    rag = a_material(session)
    mount = a_mount(session, work, package)
    a_layer(session, package, 1, MAT, rag)
    a_layer(session, package, 2, BOARD, rag, withdrawn_reason="typed twice")
    a_hold(session, mount, withdrawn_reason="typed twice")
    a_mount(session, work, package, until="2001", withdrawn_reason="of another work")
    assert of(history(session, keeper, work), "mount_no", "role") == [(1, "window mat")]


def three_in_one_package(session: Session) -> list[Work]:
    package = a_package(session)
    owners = ["The Gannet House", "The Gannet House", "Somebody else"]
    works = [
        a_work(session, number=f"GH {number}", owner=owner)
        for number, owner in zip((1, 2, 3), owners, strict=True)
    ]
    for work in works:
        a_mount(session, work, package)
    earlier = a_work(session, number="GH 0", owner="The Gannet House")
    a_mount(session, earlier, package, on="1990", until="1995")
    withdrawn = a_work(session, number="GH 9", withdrawn_reason="typed twice")
    a_mount(session, withdrawn, package)
    return works


def test_works_in_one_package_name_each_other(session: Session, keeper: Viewer) -> None:
    works = three_in_one_package(session)
    told = [history(session, keeper, work)[0].shared_with for work in works]
    assert told == ["GH 2; GH 3", "GH 1; GH 3", "GH 1; GH 2"]


def test_an_owner_never_learns_the_number_of_a_work_of_somebody_else(session: Session) -> None:
    owner = an_owner(session, "The Gannet House")
    mine, mine_too, another = three_in_one_package(session)
    told = [history(session, owner, work)[0].shared_with for work in (mine, mine_too)]
    assert told == ["GH 2", "GH 1"]
    with pytest.raises(NotFound, match="There is no work"):
        history(session, owner, another)


def test_of_all_works_an_owner_is_given_their_own(engine: Engine) -> None:
    with write_session(engine) as session:
        owner, keeper = an_owner(session, "The Gannet House"), a_keeper(session)
        three_in_one_package(session)
    seen = [
        {(row.work_number, row.shared_with) for row in everything(engine, viewer)}
        for viewer in (owner, keeper)
    ]
    assert seen == [
        {("GH 0", None), ("GH 1", "GH 2"), ("GH 2", "GH 1")},
        {("GH 0", None), ("GH 1", "GH 2; GH 3"), ("GH 2", "GH 1; GH 3"), ("GH 3", "GH 1; GH 2")},
    ]


def test_figures_are_those_known_at_the_fitting_and_the_verdict_is_by_the_newest(
    session: Session, keeper: Viewer
) -> None:
    work, package = a_work(session), a_package(session)
    board = a_material(session, "Museum board", ph=8.5)
    a_mount(session, work, package)
    a_layer(session, package, 1, MAT, board)
    newer = MaterialFigures(
        material_id=key_of(board), edition=2, grade="groundwood board", ph=4.5, kappa=60.0
    )
    added(session, newer)
    (row,) = history(session, keeper, work)
    assert (row.ph, row.grade, row.verdict) == (8.5, "cotton rag board, buffered", "harmful")


def test_a_persons_word_on_the_distance_overrules(session: Session, keeper: Viewer) -> None:
    work, package = a_work(session), a_package(session)
    rag = a_material(session)
    a_mount(session, work, package)
    a_layer(session, package, 1, LayerRole.OVERMAT, rag)
    a_layer(session, package, 2, MAT, rag)
    a_layer(session, package, 3, WORK)
    a_layer(session, package, 4, BOARD, rag)
    a_layer(session, package, 5, LayerRole.BACKING, rag, distance=Distance.FACES)
    assert of(history(session, keeper, work), "role", "distance") == [
        ("overmat", "faces"),
        ("window mat", "touches"),
        ("work", None),
        ("mount board", "touches"),
        ("backing board", "faces"),
    ]


def test_the_windows_of_a_mat_stand_with_its_note(session: Session, keeper: Viewer) -> None:
    work, package = a_work(session), a_package(session)
    a_mount(session, work, package)
    told = [WindowTold(height_mm=210, width_mm=148), WindowTold(shows="the title")]
    windows = windows_text(MAT, told)
    a_layer(session, package, 1, MAT, None, windows=windows, note="cut by hand")
    a_layer(session, package, 2, WORK)
    said = "2 windows: 210 \N{MULTIPLICATION SIGN} 148 mm; the title"
    assert of(history(session, keeper, work), "role", "note") == [
        ("window mat", f"cut by hand; {said}"),
        ("work", None),
    ]


def test_a_recalled_lot_is_doubtful_and_the_same_board_of_another_lot_is_not(
    session: Session, keeper: Viewer
) -> None:
    work, package = a_work(session), a_package(session)
    rag = a_material(session)
    bad, good = a_lot(session, rag, "L-1"), a_lot(session, rag, "L-2")
    added(session, Recall(lot_id=key_of(bad), called_on=TODAY, reason="acid in the core"))
    a_mount(session, work, package)
    a_layer(session, package, 1, MAT, rag, lot_id=key_of(bad))
    a_layer(session, package, 2, WORK)
    a_layer(session, package, 3, BOARD, rag, lot_id=key_of(good))
    assert of(history(session, keeper, work), "lot", "verdict") == [
        ("L-1", "doubtful"),
        (None, None),
        ("L-2", "sound"),
    ]


def test_bench_tests_that_speak_for_groundwood_make_an_unknown_board_harmful(
    session: Session, keeper: Viewer
) -> None:
    work, package = a_work(session), a_package(session)
    visit = an_unframing(session, work, "2010")
    a_mount(session, work, package, on="1970")
    tested = a_layer(session, package, 1, MAT, grade="unknown board")
    a_layer(session, package, 2, WORK)
    a_layer(session, package, 3, BOARD, grade="unknown board")
    for test, result in ((BenchTest.LIGNIN_SPOT, "red"), (BenchTest.PH_PEN, "acid")):
        added(
            session,
            LayerTest(visit_id=key_of(visit), layer_id=key_of(tested), test=test, result=result),
        )
    verdicts = [row.verdict for row in history(session, keeper, work)]
    assert verdicts == ["harmful", None, "doubtful"]


def test_what_was_found_belongs_to_the_mount_that_was_opened(
    session: Session, keeper: Viewer
) -> None:
    work = a_work(session)
    burn, stain = a_finding(session, work, "mat burn"), a_finding(session, work, "foxing")
    during, last = an_unframing(session, work, "2010"), an_unframing(session, work, "2015-06")
    a_sighting(session, burn, during, severity=Severity.SLIGHT)
    a_sighting(session, stain, during, severity=Severity.SLIGHT)
    a_sighting(session, burn, last, severity=Severity.SEVERE, change=Change.GROWN)
    a_sighting(session, stain, last, severity=None, change=Change.NOT_SEEN)
    package = a_package(session)
    at_last = key_of(last)
    a_mount(session, work, package, until="2015-06", dismounted_visit_id=at_last)
    a_mount(session, work, package, on="2015-06", mounted_visit_id=at_last)
    told = of(history(session, keeper, work), "mount_no", "found_when_unframed")
    assert told == [(1, "mat burn (severe); foxing (slight)"), (2, None)]


def test_opened_and_clean_is_not_the_same_as_never_opened(session: Session, keeper: Viewer) -> None:
    opened, never = a_work(session), a_work(session)
    for work in (opened, never):
        a_mount(session, work, a_package(session))
    an_unframing(session, opened, "2015-06")
    an_unframing(session, never, "2015-06", seen_margins=False, to_write_up=True)
    found = [history(session, keeper, w)[0].found_when_unframed for w in (opened, never)]
    assert found == ["nothing found", None]


def test_a_treated_finding_says_so(session: Session, keeper: Viewer) -> None:
    work = a_work(session)
    a_mount(session, work, a_package(session))
    visit = an_unframing(session, work, "2015-06")
    a_sighting(session, a_finding(session, work), visit, change=Change.TREATED)
    (row,) = history(session, keeper, work)
    assert row.found_when_unframed == "mat burn (treated)"


def test_years_are_not_counted_from_a_day_that_was_only_assumed(
    session: Session, keeper: Viewer
) -> None:
    work = a_work(session)
    day = read_date("2000").first_day
    a_mount(
        session,
        work,
        a_package(session),
        on=None,
        mounted_first=day,
        mounted_last=day,
        mounted_assumed=True,
    )
    (row,) = history(session, keeper, work)
    assert (row.mounted_on, row.years_mounted) == (None, None)


def test_a_past_mount_says_where_the_work_was_then(session: Session, keeper: Viewer) -> None:
    work = a_work(session)
    a_stay(session, work, place="Old House", since="1990", until="2001")
    a_stay(session, work, place="Gannet House / Study", since="2001", until="2015-06-01")
    a_stay(session, work, place="Gannet House / Stair", since="2015-06-01")
    package = a_package(session)
    a_mount(session, work, package, on="1995", until="2000")
    a_mount(session, work, package, on="2003", until="2015-06-01")
    a_mount(session, work, package, on="2015-06-01")
    assert of(history(session, keeper, work), "place") == [
        ("Old House",),
        ("Gannet House / Study",),
        ("Gannet House / Stair",),
    ]


def test_a_hand_that_nobody_knows_is_named_as_such(session: Session, keeper: Viewer) -> None:
    work = a_work(session)
    a_mount(session, work, a_package(session), on="1990/1995", by_unknown_hand=True)
    (row,) = history(session, keeper, work)
    assert (row.mounted_on, row.mounted_by) == ("1990/1995", "unknown hand")


def test_what_stayed_on_the_work_and_was_removed_later_says_so(
    session: Session, keeper: Viewer
) -> None:
    work = a_work(session)
    visit = an_unframing(session, work, "2015-06")
    taken_out = key_of(visit)
    mount = a_mount(
        session, work, a_package(session), until="2015-06", dismounted_visit_id=taken_out
    )
    hold = a_hold(session, mount)
    a_remain(session, work, "stub", hold_id=key_of(hold), left_visit_id=taken_out, ended=True)
    a_remain(session, work, "tide line of paste", left_visit_id=taken_out)
    (row,) = history(session, keeper, work)
    assert row.remains == "stub (removed since); tide line of paste"


def database_cells(engine: Engine, viewer: Viewer) -> list[dict[str, object]]:
    return [dict(zip(COLUMNS, row, strict=True)) for row in everything(engine, viewer)]


@pytest.fixture
def framed_print(engine: Engine) -> Viewer:
    with write_session(engine) as session:
        a_framed_print(session)
        return a_keeper(session)


def test_the_csv_read_back_equals_the_database(engine: Engine, framed_print: Viewer) -> None:
    told = b"".join(csv_bytes(everything(engine, framed_print)))
    read = list(csv.DictReader(io.StringIO(told.decode(), newline=""), strict=True))
    expected = database_cells(engine, framed_print)
    assert len(read) == 7
    assert [{k: _as(expected[i][k], v) for k, v in row.items()} for i, row in enumerate(read)] == (
        expected
    )


def _as(like: object, text: str) -> object:
    """Read a cell as the kind of value that it should hold."""
    if text == "":
        return None
    kinds: dict[type, Callable[[str], object]] = {int: int, float: float}
    return kinds.get(type(like), str)(text)


def test_pandas_reads_it_without_being_told_how(engine: Engine, framed_print: Viewer) -> None:
    told = b"".join(csv_bytes(everything(engine, framed_print)))
    frame = pandas.read_csv(io.BytesIO(told))
    expected = database_cells(engine, framed_print)
    assert list(frame.columns) == list(COLUMNS)
    found = [
        {name: None if _is_missing(cell) else cell for name, cell in row.items()}
        for row in frame.to_dict("records")
    ]
    assert found == expected


def _is_missing(cell: object) -> bool:
    return isinstance(cell, float) and math.isnan(cell)


def test_the_spreadsheet_read_back_equals_the_database(
    engine: Engine, framed_print: Viewer
) -> None:
    book = load_workbook(io.BytesIO(xlsx_bytes(everything(engine, framed_print))))
    names, *rows = book.active.iter_rows(values_only=True)
    expected = [
        {**row, "package_no": str(row["package_no"])}
        for row in database_cells(engine, framed_print)
    ]
    assert [dict(zip(names, row, strict=True)) for row in rows] == expected


def many_framed_prints(session: Session, number: int) -> None:
    rag = a_material(session, f"Rag board of {number}")
    for _ in range(number):
        work, package = a_work(session), a_package(session)
        mount = a_mount(session, work, package)
        for position, role in enumerate((MAT, WORK, BOARD)):
            a_layer(session, package, position, role, rag)
        a_hold(session, mount)


def test_the_number_of_statements_does_not_grow_with_the_rows(engine: Engine) -> None:
    sent = []
    with write_session(engine) as session:
        keeper = a_keeper(session)
    for number in (1, 20):
        with write_session(engine) as session:
            many_framed_prints(session, number)
        with read_session(engine) as session:
            figures_now(session)
        with Session(engine) as session, statements(session) as told:
            rows = list(everything(engine, keeper))
        assert len(rows) >= 4 * number
        sent.append(len(told))
    assert sent[0] == sent[1] > 0


def test_every_batch_of_works_is_read_to_the_last(
    engine: Engine, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("models.tables.history.WORKS_AT_A_TIME", 3)
    with write_session(engine) as session:
        keeper = a_keeper(session)
        many_framed_prints(session, 7)
    numbers = [row.work_number for row in everything(engine, keeper)]
    assert numbers == [f"GH {number}" for number in range(1, 8) for _ in range(4)]
