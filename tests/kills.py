"""A server is killed while people write, and must know afterwards all that it acknowledged.

Three programs send visits as fast as they can, each with a key of its own. At a
moment of chance the process is killed. Started again it must hold every visit
that was answered with 201; the last one, whose answer may have been lost on the
way, is sent again with its key and must be there once. The chain of the log is
whole, and every stored forecast is what the rules say.
"""

import random
import threading
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from pathlib import Path

import httpx

from tests.served import command, serving

WRITERS = 3
LONGEST_LIFE_S = 1.2


@dataclass
class Writer:
    """A program that writes visits to one work, and remembers what was acknowledged."""

    work: int
    name: str
    acknowledged: set[str] = field(default_factory=set)
    unanswered: str | None = None

    def write(self, address: str, token: str, until_dead: threading.Event) -> None:
        """Send visits until the server is gone."""
        with httpx.Client(base_url=address, headers=bearer(token), timeout=30) as program:
            while not until_dead.is_set():
                self.unanswered = f"{self.name}-{len(self.acknowledged)}"
                try:
                    answer = send(program, self.work, self.unanswered)
                except httpx.TransportError:
                    return
                if answer.status_code == 201:
                    self.acknowledged.add(self.unanswered)
                    self.unanswered = None


def kills_survived(folder: Path, kills: int, chance: random.Random) -> Iterator[int]:
    """Serve, write, kill, serve again and compare, so often; give each kill that was survived.

    Fails when anything acknowledged is lost.
    """
    token = _prepared(folder)
    writers: list[Writer] = []
    for number in range(kills + 1):
        with serving(folder) as served:
            for writer in writers:
                _compare(served.address, token, writer)
            if number:
                yield number
            if number < kills:
                names = (f"{number}-{name}-{chance.random()}" for name in range(WRITERS))
                writers = [Writer(_new_work(served.address, token), name) for name in names]
                _write_until_killed(served.address, token, writers, served.kill, chance)
    command(folder, "verify-log")
    command(folder, "recompute", "--check")


def bearer(token: str) -> dict[str, str]:
    """Return the header that a program signs in with."""
    return {"Authorization": f"Bearer {token}"}


def send(program: httpx.Client, work: int, key: str) -> httpx.Response:
    """Send one visit under its key."""
    told = {"on": "2026-11-20", "kind": "look", "seen": ["front"], "report": {"summary": key}}
    headers = {"Idempotency-Key": key}
    return program.post(f"/api/works/{work}/visits", json=told, headers=headers)


def _prepared(folder: Path) -> str:
    kept = folder / "token"
    if not kept.exists():
        command(folder, "migrate")
        command(folder, "person", "add", "Kay Invented", "--role", "keeper", given="a long one 7\n")
        kept.write_text(command(folder, "token", "Kay Invented").strip().split()[-1])
    return kept.read_text()


def _new_work(address: str, token: str) -> int:
    number = f"K {time.monotonic_ns()}"
    answer = httpx.post(
        f"{address}/api/works", json={"number": number, "title": "Killed"}, headers=bearer(token)
    )
    work: int = answer.raise_for_status().json()["id"]
    return work


def _write_until_killed(
    address: str,
    token: str,
    writers: list[Writer],
    kill: Callable[[], None],
    chance: random.Random,
) -> None:
    dead = threading.Event()
    threads = [threading.Thread(target=w.write, args=(address, token, dead)) for w in writers]
    for thread in threads:
        thread.start()
    time.sleep(chance.uniform(0.05, LONGEST_LIFE_S))
    kill()
    dead.set()
    for thread in threads:
        thread.join()


def _compare(address: str, token: str, writer: Writer) -> None:
    with httpx.Client(base_url=address, headers=bearer(token), timeout=30) as program:
        if writer.unanswered is not None:
            again = send(program, writer.work, writer.unanswered)
            assert again.status_code == 201, again.text
            writer.acknowledged.add(writer.unanswered)
        visits = program.get(f"/api/works/{writer.work}/visits").json()["items"]
    summaries = [visit["report"]["summary"] for visit in visits]
    assert sorted(summaries) == sorted(writer.acknowledged)
