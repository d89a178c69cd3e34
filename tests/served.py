"""A server in a process of its own, as somebody at a command line starts it, and kills it."""

import os
import signal
import socket
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

import httpx

# A demonstration draws its photographs first, on a machine that may be busy with other tests.
LONGEST_START_S = 120.0


@dataclass
class Served:
    """A running server and the address at which it answers."""

    process: subprocess.Popen[bytes]
    address: str

    def kill(self) -> None:
        """End it as a power cut would: no goodbye, no last write."""
        os.killpg(self.process.pid, signal.SIGKILL)
        self.process.wait()


def free_port() -> int:
    """Return a port that nobody listens on."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


def environment(folder: Path, **settings: str) -> dict[str, str]:
    """Return the environment of an installation whose data lie in this folder."""
    mine = {k: v for k, v in os.environ.items() if not k.startswith("HINGEBOOK_")}
    return {**mine, "HINGEBOOK_DATA": str(folder), **settings}


def command(folder: Path, *words: str, given: str = "", **settings: str) -> str:
    """Run a command of the program to its end and return what it said."""
    done = subprocess.run(
        [sys.executable, "-m", "api.commands", *words],
        env=environment(folder, **settings),
        input=given,
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    return done.stdout


@contextmanager
def serving(folder: Path, *words: str, port: int = 0, **settings: str) -> Iterator[Served]:
    """Start `hingebook serve` and wait until it answers; it is killed at the end.

    At `port`, where it was before it was killed, or at a free one.
    """
    port = port or free_port()
    process = subprocess.Popen(
        [sys.executable, "-m", "api.commands", *(words or ("serve",)), "--port", str(port)],
        env=environment(folder, **settings),
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
        start_new_session=True,
    )
    served = Served(process, f"http://127.0.0.1:{port}")
    try:
        wait_until_it_answers(served)
        yield served
    finally:
        if process.poll() is None:
            served.kill()


def wait_until_it_answers(served: Served) -> None:
    """Wait for the first answer. Fails when the process ends before it, or takes too long."""
    begun = time.monotonic()
    # One client: each new one reads certificates, on a core that the server needs to start.
    with httpx.Client(timeout=5) as client:
        while time.monotonic() - begun < LONGEST_START_S:
            assert served.process.poll() is None, "the server ended before it answered"
            try:
                client.get(f"{served.address}/api/health").raise_for_status()
            except httpx.TransportError:
                time.sleep(0.02)
            else:
                return
    raise AssertionError("the server did not answer")
