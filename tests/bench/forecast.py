"""Forecasts of a whole collection, and of one work after a visit.

*Computation*: 100,000 works with 15 rows each, against ten dense evaluations of the
same sum over works, rows and the three boards that an unknown one may be, written
apart below. *End to end*: a night's renewal, against the very same rows read and the
very same results written by bare sqlite3 in one transaction, on a copy: an ordinary
night, for which most years that were found are kept, and one after a change of figures,
for which every work is searched anew. *Memory*: the
most that a process of its own ever held. *One work*: what the forecast costs of a
visit. The rows are those of a small collection, worked out from its records and
filled up from one another.
"""

import shutil
import sqlite3
import subprocess
import sys
from functools import partial
from itertools import count
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from sqlalchemy import Engine, text
from sqlmodel import Session

from models.actions.bulk_renewal import BATCH, renew_from_rows
from models.actions.change_log import recording
from models.actions.forecasts import refresh_forecasts
from models.database import open_database
from models.rules.package_components import Experience
from models.rules.packed_rows import FRAME, MECHANISMS, ROW, figure_columns, harm_rows
from models.rules.policy import Policy
from models.rules.work_dates import Asked, work_dates
from models.vocabulary import Mechanism
from seed_data.shipped import shipped_default_figures
from tests.bench.big_collection import NOW, TODAY, copy_of, database_with
from tests.bench.in_process import Statements, app_on, statements_of
from tests.bench.measuring import FEWEST_RUNS, ROOT, Figure, figure, seconds, taking_turns
from tests.bench.recording_a_visit import transaction, visit_told

FEW, WORKS, ROWS_OF_A_WORK = 1_000, 100_000, 15
MOST_MEMORY_MIB = 1024.0
VISITS, WARM_UP = 60, 5
EVALUATIONS = 10
CHANGED = (Mechanism.ACID_MIGRATION, "groundwood board")
# Of unknown board: medians in years and shape, as in the design; here for all rows alike.
MEDIANS, SHAPE = np.array([7.0, 40.0, 150.0]), 2.5

Packed = NDArray[np.void]


def measure(folder: Path, works: int = WORKS) -> list[Figure]:
    """Return the ratios of computation, of a night, of memory and of one work."""
    file = collection_with_rows(folder, works)
    size = f"{works} works"
    return [
        _computation(file, size),
        _end_to_end(file, size, "forecast, a night end to end", changes=False),
        _end_to_end(file, size, "the same, after a change of figures", changes=True),
        figure("renewal, most MiB held", size, _most_memory_mib(file), MOST_MEMORY_MIB, 1.0),
        _one_work(folder),
    ]


def collection_with_rows(folder: Path, works: int) -> Path:
    """Return a collection of so many works with fifteen kept rows each, made once."""
    file = folder / f"kept-{works}.sqlite"
    if file.exists():
        return file
    kept = _kept_rows(folder)
    shutil.copy(database_with(works, folder), file)
    with sqlite3.connect(file) as connection:
        connection.executemany(
            "INSERT INTO component_rows VALUES (?, 1, ?, ?, ?)",
            ((key, *kept[key % len(kept)]) for key in range(1, works + 1)),
        )
    connection.close()
    return file


def _kept_rows(folder: Path) -> list[tuple[bytes, bytes, str]]:
    file = copy_of(database_with(FEW, folder), "kept.sqlite")
    engine = open_database(f"sqlite:///{file}")
    with recording(engine, actor="bench", now=NOW) as session:
        refresh_forecasts(session, range(1, FEW + 1), today=TODAY)
        found = session.execute(text("SELECT frame, packed_rows FROM component_rows")).all()
    engine.dispose()
    rows = [np.frombuffer(packed, dtype=ROW) for _, packed in found]
    names = "\x1f".join(["a layer"] * (ROWS_OF_A_WORK + 1))
    return [
        (frame, _filled_up(rows, index).tobytes(), names) for index, (frame, _) in enumerate(found)
    ]


def _filled_up(rows: list[Packed], index: int) -> Packed:
    """Return fifteen rows: those of a work and of the works after it, in their order."""
    its, nth = rows[index], count(index + 1)
    while len(its) < ROWS_OF_A_WORK:
        its = np.concatenate([its, rows[next(nth) % len(rows)]])
    its = its[:ROWS_OF_A_WORK]
    figures = figure_columns(shipped_default_figures(), {})
    mechanism = figures.mechanism[np.searchsorted(figures.number, its["figure"])]
    by_place = np.lexsort((its["shown"], np.array([*MECHANISMS])[mechanism]))
    return its[by_place]


def _blocks(file: Path) -> list[tuple[Packed, Packed]]:
    with sqlite3.connect(file) as connection:
        found = connection.execute("SELECT frame, packed_rows FROM component_rows").fetchall()
    connection.close()
    return [
        (
            np.frombuffer(b"".join(frame for frame, _ in part), dtype=FRAME),
            np.frombuffer(b"".join(rows for _, rows in part), dtype=ROW),
        )
        for part in (found[start : start + BATCH] for start in range(0, len(found), BATCH))
    ]


def _computation(file: Path, size: str) -> Figure:
    blocks = _blocks(file)
    run, bare = partial(_ours, blocks), partial(_bare, blocks)
    return taking_turns("forecast, computation", size, [(run, bare)] * FEWEST_RUNS, 2.0)


def _ours(blocks: list[tuple[Packed, Packed]]) -> None:
    figures, policy = figure_columns(shipped_default_figures(), {}), Policy()
    for frames, rows in blocks:
        none = np.full(len(frames), np.nan)
        counts = np.full(len(frames), ROWS_OF_A_WORK)
        today = np.full(len(frames), TODAY + 30.0)
        work_dates(Asked(harm_rows(rows, counts, figures), frames, policy, today, none, none))


def _bare(blocks: list[tuple[Packed, Packed]]) -> None:
    for _, rows in blocks:
        shape = (-1, ROWS_OF_A_WORK)
        now, rate = rows["clock_now"].reshape(shape), rows["rate_per_year"].reshape(shape)
        weights = np.full((*now.shape, 3), 1 / 3)
        for years in range(EVALUATIONS):
            clock = (now + rate * years)[:, :, None]
            unharmed = (weights * np.exp(-np.log(2) * (clock / MEDIANS) ** SHAPE)).sum(axis=2)
            (-np.log(unharmed)).sum(axis=1)


def _end_to_end(file: Path, size: str, name: str, *, changes: bool) -> Figure:
    ours_file, bare_file = copy_of(file, "night-ours.sqlite"), copy_of(file, "night-bare.sqlite")
    engine, bare = open_database(f"sqlite:///{ours_file}"), sqlite3.connect(bare_file)
    bare.isolation_level = None
    bare.executescript("PRAGMA journal_mode = WAL; PRAGMA synchronous = FULL;")
    sent: Statements = []
    nights = count(1)
    # The first night brings the invented days of the collection in order.
    _night(engine, next(nights), sent, changes=changes)
    _replay(bare, sent)
    pairs = [
        (
            partial(_night, engine, next(nights), sent, changes=changes),
            partial(_replay, bare, sent),
        )
        for _ in range(FEWEST_RUNS)
    ]
    found = taking_turns(name, size, pairs, 4.0)
    engine.dispose()
    bare.close()
    return found


def _night(engine: Engine, nth: int, sent: Statements, *, changes: bool) -> None:
    sent.clear()
    # Harm that comes a little oftener than the night before: every year has to be found anew.
    experience = {CHANGED: 1.0 + nth / 1000} if changes else {}
    with statements_of(engine) as told:
        renew(engine, TODAY + nth, experience)
    sent += told


def renew(engine: Engine, today: int, experience: Experience | None = None) -> None:
    """Renew every forecast in one transaction."""
    with engine.connect().execution_options(hingebook_writes=True) as connection:
        with connection.begin():
            renew_from_rows(
                connection, shipped_default_figures(), Policy(), experience or {}, today
            )


def _replay(bare: sqlite3.Connection, sent: Statements) -> None:
    bare.execute("BEGIN IMMEDIATE")
    for statement, given in sent:
        if statement.startswith("SELECT"):
            bare.execute(statement).fetchall()
        else:
            # Of one row alone its values are told, of several a list of them.
            bare.executemany(statement, given if isinstance(given, list) else [given])
    bare.execute("COMMIT")


def _most_memory_mib(file: Path) -> float:
    code = (
        # Not `ru_maxrss`: a new process takes over that of the one that started it.
        "import sys; from pathlib import Path; from tests.bench.forecast import renew\n"
        "from models.database import open_database\n"
        f"renew(open_database('sqlite:///' + sys.argv[1]), {TODAY + 400})\n"
        "status = Path('/proc/self/status').read_text().splitlines()\n"
        "print(next(int(l.split()[1]) / 1024 for l in status if l.startswith('VmHWM')))"
    )
    other = copy_of(file, "memory.sqlite")
    done = subprocess.run(
        [sys.executable, "-c", code, str(other)],
        capture_output=True,
        text=True,
        check=True,
        cwd=ROOT,
    )
    return float(done.stdout)


def _one_work(folder: Path) -> Figure:
    file = copy_of(database_with(FEW, folder), "one-work.sqlite")
    visits, forecasts = [], []
    with app_on(file, as_program=True) as opened:
        for work_id in range(1, VISITS + WARM_UP + 1):
            told = visit_told(opened, work_id)
            visits.append(seconds(partial(transaction, opened, work_id, told)))
            with Session(opened.engine) as session:
                forecasts.append(seconds(partial(_refresh, session, work_id)))
    ours, bare = (float(np.median(its[WARM_UP:])) for its in (forecasts, visits))
    return figure("forecast of one work : its visit", f"{FEW} works", ours, bare, 0.5)


def _refresh(session: Session, work_id: int) -> None:
    session.connection(execution_options={"hingebook_writes": True})
    refresh_forecasts(session, [work_id], today=TODAY)
    session.rollback()
