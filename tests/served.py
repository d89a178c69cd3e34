"""A server in a process of its own, started as by somebody at a command line, and killed.

Reading the program takes some seconds of a core, and a run of the tests starts a hundred
servers and commands. So a process that has read it once waits, and each is forked from it.
"""

import multiprocessing
import os
import signal
import socket
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from itertools import count
from multiprocessing.context import ForkServerProcess
from pathlib import Path
from typing import Protocol

import httpx

from api.commands import main

# A demonstration draws its photographs first, on a machine that may be busy with other tests.
LONGEST_START_S = 120.0
# Below the ports that systems give out by themselves (from 32768 on Linux).
FIRST_PORT, BLOCKS, PORTS_EACH = 10_000, 220, 100
_asked_for = count()
READ_ONCE = multiprocessing.get_context("forkserver")
READ_ONCE.set_forkserver_preload(["api.app", "api.commands", __name__])


class Started(Protocol):
    """A process that was started, by whichever way."""

    @property
    def pid(self) -> int | None: ...
    def is_alive(self) -> bool: ...
    def join(self) -> object: ...


class Typed:
    """A process as a command line starts it: it reads the whole program first."""

    def __init__(self, words: Sequence[str], environment: dict[str, str]) -> None:
        self._process = subprocess.Popen(
            [sys.executable, "-m", "api.commands", *words],
            env=environment,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
            start_new_session=True,
        )
        self.pid = self._process.pid
        self.join = self._process.wait

    def is_alive(self) -> bool:
        return self._process.poll() is None


@dataclass
class Served:
    """A running server and the address at which it answers."""

    process: Started
    address: str

    def kill(self) -> None:
        """End it as a power cut would: no goodbye, no last write."""
        assert self.process.pid is not None
        os.killpg(self.process.pid, signal.SIGKILL)
        self.process.join()


def free_port() -> int:
    """Return a port that nobody listens on, and that no other process of a run gets.

    Ports that the system gives out are also given to clients and to servers of other
    tests, between our asking and our server's listening.
    """
    block = FIRST_PORT + os.getpid() % BLOCKS * PORTS_EACH
    for _ in range(PORTS_EACH):
        port = block + next(_asked_for) % PORTS_EACH
        with socket.socket() as probe:
            probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
            try:
                probe.bind(("127.0.0.1", port))
            except OSError:
                continue
            return port
    raise AssertionError("every port of this process is taken")


def environment(folder: Path, **settings: str) -> dict[str, str]:
    """Return the environment of an installation whose data lie in this folder."""
    mine = {k: v for k, v in os.environ.items() if not k.startswith("HINGEBOOK_")}
    return {**mine, "HINGEBOOK_DATA": str(folder), **settings}


def command(folder: Path, *words: str, given: str = "", **settings: str) -> str:
    """Run a command of the program to its end and return what it said."""
    with tempfile.TemporaryDirectory() as told:
        streams = {name: Path(told, name) for name in ("stdin", "stdout", "stderr")}
        streams["stdin"].write_text(given)
        process = _forked(words, environment(folder, **settings), streams)
        process.join()
        assert process.exitcode == 0, streams["stderr"].read_text()
        return streams["stdout"].read_text()


def _forked(
    words: Sequence[str], environment: dict[str, str], streams: dict[str, Path]
) -> ForkServerProcess:
    process = READ_ONCE.Process(target=_said, args=(words, environment, streams))
    process.start()
    return process


def _said(words: Sequence[str], environment: dict[str, str], streams: dict[str, Path]) -> None:
    os.setsid()
    os.environ.clear()
    os.environ.update(environment)
    for name, file in streams.items():
        setattr(sys, name, file.open("r" if name == "stdin" else "w"))
    sys.argv = ["hingebook", *words]
    main()


@contextmanager
def serving(folder: Path, *words: str, port: int = 0, **settings: str) -> Iterator[Served]:
    """Start `hingebook serve` and wait until it answers; it is killed at the end.

    At `port`, where it was before it was killed, or at a free one.
    """
    port = port or free_port()
    words = (*(words or ("serve",)), "--port", str(port))
    nowhere = dict.fromkeys(("stdin", "stdout", "stderr"), Path(os.devnull))
    process = _forked(words, environment(folder, **settings), nowhere)
    with _until_killed(process, port) as served:
        yield served


@contextmanager
def serving_as_typed(folder: Path, *words: str, **settings: str) -> Iterator[Served]:
    """The same by a command line of its own, which takes some seconds more of the machine."""
    port = free_port()
    words = (*(words or ("serve",)), "--port", str(port))
    with _until_killed(Typed(words, environment(folder, **settings)), port) as served:
        yield served


@contextmanager
def _until_killed(process: Started, port: int) -> Iterator[Served]:
    served = Served(process, f"http://127.0.0.1:{port}")
    try:
        wait_until_it_answers(served)
        yield served
    finally:
        if process.is_alive():
            served.kill()


def wait_until_it_answers(served: Served) -> None:
    """Wait for the first answer. Fails when the process ends before it, or takes too long."""
    begun = time.monotonic()
    # One client: each new one reads certificates, on a core that the server needs to start.
    with httpx.Client(timeout=5) as client:
        while time.monotonic() - begun < LONGEST_START_S:
            assert served.process.is_alive(), "the server ended before it answered"
            try:
                client.get(f"{served.address}/api/health").raise_for_status()
            except httpx.TransportError:
                time.sleep(0.02)
            else:
                return
    raise AssertionError("the server did not answer")
