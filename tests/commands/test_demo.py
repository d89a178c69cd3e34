"""`hingebook demo`: an invented collection, served from a folder that holds nothing real."""

import io
import shutil
import sys
from collections.abc import Callable
from pathlib import Path

import httpx
import pytest
from sqlmodel import Session, func, select

from api.commands import main
from api.demo import MARKER, NoDemoHere, is_demo, make_room_for_demo, record_demo_once
from api.first_start import open_engine
from api.settings import Settings
from models.database import read_session
from models.tables.log import LogEntry
from models.tables.works import Work
from seed_data.demo.register import read_people
from tests.served import serving_as_typed
from tests.with_app import NOON, token_in
from tests.with_demo import recorded_demo

__all__ = ["recorded_demo"]

Demo = Callable[..., tuple[int, str, str]]


@pytest.fixture
def demo(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> Demo:
    """Ask for the demonstration and let nothing be served: exit code, output, error."""
    monkeypatch.setenv("HINGEBOOK_DATA", str(tmp_path / "data"))
    monkeypatch.setattr("api.commands.record_demo_once", lambda _settings, _now: None)
    monkeypatch.setattr("api.commands._serve", lambda _settings: None)

    def demo(*words: str) -> tuple[int, str, str]:
        monkeypatch.setattr(sys, "argv", ["hingebook", "demo", *words])
        monkeypatch.setattr(sys, "stdin", io.StringIO())
        with pytest.raises(SystemExit) as ended:
            main()
        told = capsys.readouterr()
        return int(ended.value.code or 0), told.out, told.err

    return demo


def settings(folder: Path, **more: str) -> Settings:
    return Settings(data=folder, database_url="", **more)  # type: ignore[arg-type]


def count(session: Session, table: type[Work] | type[LogEntry]) -> int:
    return session.exec(select(func.count()).select_from(table)).one()


def test_it_is_served_and_a_keeper_signs_in_and_finds_the_work_that_waits(
    recorded_demo: Path, tmp_path: Path
) -> None:
    folder = tmp_path / "data"
    shutil.copytree(recorded_demo, folder)
    with serving_as_typed(folder, "demo", HINGEBOOK_DATABASE_URL="") as served:
        keeper = next(person for person in read_people() if person.role == "keeper")
        with httpx.Client(base_url=served.address, timeout=10) as browser:
            form_token = token_in(browser.get("/sign-in"))
            form = {"form_token": form_token, "name": keeper.name, "password": keeper.password}
            assert browser.post("/sign-in", data=form).status_code == 303
            found = browser.get("/works?q=H+014", follow_redirects=True)
            assert "The lock keeper&#39;s garden" in found.text
    # Killed, and asked for again: what is there is left as it is.
    record_demo_once(settings(folder), NOON)
    with open_engine(settings(folder)) as engine, read_session(engine) as session:
        assert (count(session, Work), count(session, LogEntry)) == (80, 2)


def test_the_address_and_the_sign_ins_are_printed(demo: Demo) -> None:
    code, out, error = demo("--port", "8123")
    assert (code, error) == (0, "")
    assert "http://localhost:8123. All of it is invented." in out
    assert [line in out for line in ("keeper: Ottilie Quire", "framer: Bran Tympan")] == [True] * 2
    assert "owner: Wren Foolscap, password: seven blue folders" in out


@pytest.mark.parametrize("words", [(), ("--fresh",)])
@pytest.mark.parametrize("there", ["hingebook.sqlite", "pictures/1.jpg"])
def test_a_folder_that_may_hold_real_data_is_left_as_it_is(
    demo: Demo, tmp_path: Path, there: str, words: tuple[str, ...]
) -> None:
    file = tmp_path / "data" / there
    file.parent.mkdir(parents=True)
    file.write_text("somebody's work")
    code, out, error = demo(*words)
    assert (code, out, error.count("\n")) == (1, "", 1)
    assert "holds something that is no demonstration, and is left as it is" in error
    assert (file.read_text(), is_demo(tmp_path / "data")) == ("somebody's work", False)


def test_a_database_of_ones_own_is_never_used(demo: Demo, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("HINGEBOOK_DATABASE_URL", "postgresql://localhost/real")
    code, out, error = demo()
    assert (code, out, error.count("\n")) == (1, "", 1)
    assert "run it without HINGEBOOK_DATABASE_URL" in error


def test_nothing_real_is_recorded_where_fresh_deletes_it(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    make_room_for_demo(settings(tmp_path / "data"), fresh=False)
    monkeypatch.setenv("HINGEBOOK_DATA", str(tmp_path / "data"))
    monkeypatch.setenv("HINGEBOOK_DATABASE_URL", "")
    monkeypatch.setattr(sys, "argv", ["hingebook", "serve"])
    with pytest.raises(SystemExit) as ended:
        main()
    error = capsys.readouterr().err
    assert (ended.value.code, error.count("\n")) == (1, 1)
    assert f"take the file {MARKER} out of it" in error
    assert not (tmp_path / "data" / "hingebook.sqlite").exists()


def test_fresh_deletes_what_was_tried_out_and_nothing_else_does(tmp_path: Path) -> None:
    folder = tmp_path / "data"
    make_room_for_demo(settings(folder), fresh=True)
    tried_out = folder / "hingebook.sqlite"
    tried_out.write_text("tried out")
    make_room_for_demo(settings(folder), fresh=False)
    assert tried_out.exists()
    make_room_for_demo(settings(folder), fresh=True)
    assert [file.name for file in folder.iterdir()] == [MARKER]


def test_a_file_in_the_place_of_the_folder_is_refused(tmp_path: Path) -> None:
    (tmp_path / "data").write_text("a list of frames")
    with pytest.raises(NoDemoHere):
        make_room_for_demo(settings(tmp_path / "data"), fresh=True)
    assert (tmp_path / "data").read_text() == "a list of frames"
