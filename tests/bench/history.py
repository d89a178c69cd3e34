"""The mounting history of all works, against csv.writer over a cursor of the same cells.

Ours reads the records, judges every layer and writes the CSV; bare is Python's
csv.writer fed by a cursor over a table that holds the finished cells, writing the
same bytes (their digests are compared). Memory: the most that a process of its own
ever held, at 10,000 and at 300,000 rows.
"""

import csv
import gc
import hashlib
import io
import sqlite3
import subprocess
import sys
from collections.abc import Iterable, Iterator
from pathlib import Path

from models.actions.mounting_histories import history_of_all
from models.database import open_database
from models.exchange.mounting_history import csv_bytes
from models.tables.visible import THE_HOUSE
from tests.bench.big_collection import ROWS_PER_WORK, TODAY, database_with
from tests.bench.measuring import FEWEST_RUNS, ROOT, Figure, figure, taking_turns

FEW_ROWS, MANY_ROWS = 10_000, 300_000
COMPARED_ROWS = 70_000
LARGEST_GROWTH_MIB = 32.0


def measure(folder: Path) -> list[Figure]:
    """Return the ratio of the times, and the growth of memory."""
    file = database_with(COMPARED_ROWS // ROWS_PER_WORK, folder)
    flat = _finished_cells(file, folder / "flat.sqlite")
    ours, bare = _digest(blocks(file)), _digest(_bare(flat))
    assert ours == bare, "both write the same bytes"
    # As the server does at its start: what is there for good need not be looked through again.
    gc.freeze()
    pairs = [
        ((lambda: _digest(blocks(file))), (lambda: _digest(_bare(flat))))
        for _ in range(FEWEST_RUNS)
    ]
    ratio = taking_turns("history of all works", f"{COMPARED_ROWS} rows", pairs, 2.0)
    gc.unfreeze()
    few, many = (_most_memory_mib(folder, rows) for rows in (FEW_ROWS, MANY_ROWS))
    grown = figure(
        "history, MiB grown from 10,000", f"{MANY_ROWS} rows", many - few, LARGEST_GROWTH_MIB, 1.0
    )
    return [ratio, grown]


def blocks(file: Path) -> Iterator[bytes]:
    """Give the CSV of every work in a database."""
    engine = open_database(f"sqlite:///{file}")
    yield from csv_bytes(history_of_all(engine, THE_HOUSE, today=TODAY))
    engine.dispose()


def _digest(written: Iterable[bytes]) -> str:
    digest = hashlib.sha256()
    for block in written:
        digest.update(block)
    return digest.hexdigest()


def _finished_cells(file: Path, flat: Path) -> Path:
    """Return a database with the finished cells in one table."""
    text = b"".join(blocks(file)).decode()
    rows = list(csv.reader(io.StringIO(text, newline="")))
    flat.unlink(missing_ok=True)
    with sqlite3.connect(flat) as connection:
        columns = ", ".join(f'"{name}"' for name in rows[0])
        connection.execute(f"CREATE TABLE history ({columns})")
        marks = ", ".join("?" * len(rows[0]))
        connection.executemany(f"INSERT INTO history VALUES ({marks})", rows[1:])
    connection.close()
    return flat


def _bare(flat: Path) -> Iterator[bytes]:
    connection = sqlite3.connect(flat)
    cursor = connection.execute("SELECT * FROM history")
    written = io.StringIO(newline="")
    writer = csv.writer(written)
    header = [name[0] for name in cursor.description]
    for block in ([header], *iter(lambda: cursor.fetchmany(5_000), [])):
        writer.writerows(block)
        yield written.getvalue().encode()
        written.seek(0)
        written.truncate()
    connection.close()


def _most_memory_mib(folder: Path, rows: int) -> float:
    file = database_with(rows // ROWS_PER_WORK, folder)
    code = (
        # Not `ru_maxrss`: a new process takes over that of the one that started it.
        "import sys; from pathlib import Path; from tests.bench.history import blocks\n"
        "for block in blocks(Path(sys.argv[1])): pass\n"
        "status = Path('/proc/self/status').read_text().splitlines()\n"
        "print(next(int(l.split()[1]) / 1024 for l in status if l.startswith('VmHWM')))"
    )
    done = subprocess.run(
        [sys.executable, "-c", code, str(file)],
        capture_output=True,
        text=True,
        check=True,
        cwd=ROOT,
    )
    return float(done.stdout)
