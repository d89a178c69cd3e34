"""How is a file that somebody sent opened without endangering the program?

A child process with a limit of memory and of time reads it and hands back plain numbers
and JSON, nothing that could be run. A file made to fill the memory or to take for ever
ends the child alone: "this file cannot be read".
"""

import json
import resource
import struct
import subprocess
import sys
from dataclasses import asdict
from pathlib import Path
from typing import Any

import numpy as np

from models.errors import BadValue, Fault
from models.exchange.logger_file import (
    READ,
    Choices,
    DateOrder,
    DecimalSign,
    FirstRow,
    LoggerClock,
    LoggerFile,
    Quantity,
    Reason,
    Refused,
    Understood,
    Unit,
    read_logger_file,
)

MOST_MEMORY_BYTES = 1_500_000_000
MOST_SECONDS = 40
# One thread for arithmetic: each further one would claim memory it never uses.
_SURROUNDINGS = {"OPENBLAS_NUM_THREADS": "1", "OMP_NUM_THREADS": "1", "PYTHONUTF8": "1"}
_LENGTH = struct.Struct(">Q")


def read_apart(file: Path, choices: Choices) -> LoggerFile:
    """Return what a logger's file says, read by a child process.

    Raises BadValue when it cannot be read, holds no readings, or takes too much to read.
    """
    told = json.dumps(asdict(choices))
    try:
        done = subprocess.run(
            [sys.executable, "-m", "models.exchange.read_apart", str(file.resolve()), told],
            capture_output=True,
            timeout=MOST_SECONDS * 2,
            env=_SURROUNDINGS,
            cwd=Path(__file__).resolve().parents[2],
            check=False,
        )
    except subprocess.TimeoutExpired:
        raise _too_much() from None
    if done.returncode != 0:
        raise _too_much()
    return _unpacked(done.stdout)


def _too_much() -> BadValue:
    message = "This file cannot be read: it is damaged, or takes too much to open."
    return BadValue.at("/file", message, "Send the logger's readings as CSV, a year at a time.")


def main(arguments: list[str]) -> None:
    """Read the file named first with the choices named second, and write what it says."""
    _, hard = resource.getrlimit(resource.RLIMIT_AS)
    resource.setrlimit(resource.RLIMIT_AS, (MOST_MEMORY_BYTES, hard))
    resource.setrlimit(resource.RLIMIT_CPU, (MOST_SECONDS, MOST_SECONDS + 1))
    # Nothing that a damaged file does may fill the disk with an image of the process.
    resource.setrlimit(resource.RLIMIT_CORE, (0, 0))
    try:
        read = read_logger_file(Path(arguments[0]).read_bytes(), _choices(json.loads(arguments[1])))
        packed = _packed(read)
    except BadValue as error:
        packed = _with_length({"faults": [asdict(fault) for fault in error.faults]})
    sys.stdout.buffer.write(packed)


def _choices(told: dict[str, Any]) -> Choices:
    columns = told["columns"]
    return Choices(
        time_zone=told["time_zone"],
        clock=LoggerClock(told["clock"]),
        date_order=told["date_order"] and DateOrder(told["date_order"]),
        unit=told["unit"] and Unit(told["unit"]),
        decimal=told["decimal"] and DecimalSign(told["decimal"]),
        columns=columns and tuple((Quantity(name), int(n)) for name, n in columns),
        not_after=told["not_after"],
    )


def _with_length(told: dict[str, Any]) -> bytes:
    text = json.dumps(told).encode()
    return _LENGTH.pack(len(text)) + text


def _packed(read: LoggerFile) -> bytes:
    told = {
        "how": asdict(read.how),
        "rows": read.rows,
        "refused": [asdict(one) for one in read.refused],
        "first": [asdict(one) for one in read.first],
        "times_told_apart": read.times_told_apart,
    }
    seconds = read.seconds.astype("<i8").tobytes()
    return _with_length(told) + seconds + read.figures.astype("<f8").tobytes()


def _unpacked(packed: bytes) -> LoggerFile:
    (length,) = _LENGTH.unpack_from(packed)
    told = json.loads(packed[_LENGTH.size : _LENGTH.size + length])
    if "faults" in told:
        faults = [Fault(**fault) for fault in told["faults"]]
        raise BadValue(faults[0].message, faults)
    rest = packed[_LENGTH.size + length :]
    count = len(rest) // (8 * (1 + len(READ)))
    return LoggerFile(
        how=_how(told["how"]),
        rows=told["rows"],
        refused=tuple(
            Refused(Reason(one["reason"]), one["count"], tuple(one["first_rows"]))
            for one in told["refused"]
        ),
        first=tuple(
            FirstRow(tuple(one["written"]), one["moment"], tuple(one["figures"]))
            for one in told["first"]
        ),
        times_told_apart=told["times_told_apart"],
        seconds=np.frombuffer(rest[: 8 * count], "<i8").astype(np.int64),
        figures=np.frombuffer(rest[8 * count :], "<f8").reshape(count, len(READ)),
    )


def _how(told: dict[str, Any]) -> Understood:
    return Understood(
        kind=told["kind"],
        headings=tuple(told["headings"]),
        columns=tuple((Quantity(name), n) for name, n in told["columns"]),
        first_data_row=told["first_data_row"],
        date_order=told["date_order"] and DateOrder(told["date_order"]),
        unit=told["unit"] and Unit(told["unit"]),
        decimal=DecimalSign(told["decimal"]),
        open=tuple(told["open"]),
        is_unit_guessed=told["is_unit_guessed"],
    )


if __name__ == "__main__":
    main(sys.argv[1:])
