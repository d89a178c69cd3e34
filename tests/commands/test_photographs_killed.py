"""A server is killed while a photograph arrives: what it acknowledged is there afterwards."""

import hashlib
from pathlib import Path

import httpx
from PIL import Image

from tests.exchange.pictures import as_file
from tests.served import command, serving

NAME = "Kay Invented"
PART_BYTES = 100_000


def test_a_photograph_goes_on_where_a_killed_server_left_it(tmp_path: Path) -> None:
    data = tmp_path / "data"
    command(data, "migrate")
    command(data, "person", "add", NAME, "--role", "keeper", given="nine flat brushes\n")
    token = command(data, "token", NAME).split()[-1]
    content = as_file(Image.effect_noise((700, 600), 90).convert("RGB"))
    assert len(content) > 2 * PART_BYTES

    with serving(data) as served, a_program(served.address, token) as program:
        work = program.post("/api/works", json={"number": "K 1", "title": "Mill"}).json()["id"]
        about = {"work": work, "byte_count": len(content), "view": "verso"}
        upload = program.post("/api/photograph-uploads", json=about).headers["location"]
        send(program, upload, content, 0)
        send(program, upload, content, PART_BYTES)
        served.kill()

    with serving(data) as served, a_program(served.address, token) as program:
        there = program.get(upload).json()["received_bytes"]
        assert there == 2 * PART_BYTES
        rest = program.post(f"{upload}/parts?offset={there}", content=content[there:])
        assert rest.json()["received_bytes"] == len(content)
        told = program.post(f"{upload}/finish").json()
        assert told["sha256"] == hashlib.sha256(content).hexdigest()
        served.kill()

    with serving(data) as served, a_program(served.address, token) as program:
        # The answer may have been lost with the server: finished again, it is the same one.
        assert program.post(f"{upload}/finish").json() == told
        assert program.get(told["original"]).content == content
        listed = program.get(f"/api/works/{work}/photographs").json()["items"]
        assert listed == [told]
    command(data, "verify-log")


def a_program(address: str, token: str) -> httpx.Client:
    headers = {"Authorization": f"Bearer {token}"}
    return httpx.Client(base_url=address, headers=headers, timeout=60)


def send(program: httpx.Client, upload: str, content: bytes, offset: int) -> None:
    part = content[offset : offset + PART_BYTES]
    program.post(f"{upload}/parts?offset={offset}", content=part).raise_for_status()
