"""What is asked for at the command line, and what the exit code says."""

import io
import re
import socket
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest
from sqlalchemy import Engine
from sqlmodel import select

from api.commands import main
from api.sign_in import is_password
from models.actions.change_log import recording
from models.actions.climate import FileSent, import_readings
from models.actions.forecasts import refresh_forecasts
from models.actions.sign_ins import begin_sign_in, digest, recognise_token
from models.database import migrate, newest_revision, read_session
from models.exchange.logger_file import Choices, read_logger_file
from models.exchange.mounting_history import COLUMNS
from models.rules.calendar_days import day_number
from models.tables.log import LogHead
from models.tables.materials import Material
from models.tables.people import ApiToken, Owner, Person, SignIn
from models.tables.renewal import mark_works
from models.vocabulary import Role
from tests.builders import a_keeper, a_place, a_work, key_of
from tests.with_app import NOON

PASSWORD = "four words of chalk"
Run = Callable[..., tuple[int, str, str]]


@pytest.fixture
def run(fresh_url: str, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Run:
    """Run a command on the database of this test: its exit code, what it printed, its error."""
    monkeypatch.setenv("HINGEBOOK_DATABASE_URL", fresh_url)

    def run(*words: str, stdin: str = "") -> tuple[int, str, str]:
        monkeypatch.setattr(sys, "argv", ["hingebook", *words])
        monkeypatch.setattr(sys, "stdin", io.StringIO(stdin))
        with pytest.raises(SystemExit) as ended:
            main()
        told = capsys.readouterr()
        return int(ended.value.code or 0), told.out, told.err

    return run


def add_ada(run: Run) -> tuple[int, str, str]:
    return run("person", "add", "Ada Sill", "--role", "keeper", stdin=f"{PASSWORD}\n")


def test_a_person_is_added_with_a_password_from_stdin(run: Run, engine: Engine) -> None:
    assert add_ada(run) == (0, "Ada Sill can sign in as keeper.\n", "")
    with read_session(engine) as session:
        person = session.exec(select(Person)).one()
        assert (person.name, person.role, person.may_sign_in) == ("Ada Sill", Role.KEEPER, True)
        assert is_password(PASSWORD, person.password_hash)


def test_an_owner_is_added_with_whom_they_see_works_of(run: Run, engine: Engine) -> None:
    words = ("person", "add", "Cleo", "--role", "owner", "--owner", "The Gannet House")
    assert run(*words, "--new-owner", stdin=PASSWORD)[0] == 0
    with read_session(engine) as session:
        owner = session.exec(select(Owner)).one()
        assert (owner.name, session.exec(select(Person)).one().owner_id) == (
            "The Gannet House",
            owner.id,
        )


def test_no_owner_is_made_in_passing(run: Run, engine: Engine) -> None:
    with recording(engine, actor="test", now=NOON) as session:
        session.add(Owner(name="The Gannet House"))
    words = ("person", "add", "Cleo", "--role", "owner", "--owner")
    assert run(*words, "The Ganet House", stdin=PASSWORD) == (
        1,
        "",
        "hingebook: There is no owner called 'The Ganet House'. Perhaps The Gannet House."
        " With --new-owner they are added.\n",
    )
    twin = run(*words, "the gannet house", "--new-owner", stdin=PASSWORD)
    assert (twin[0], "'The Gannet House' is on record already" in twin[2]) == (1, True)
    assert run(*words, "the gannet house", stdin=PASSWORD)[0] == 0


@pytest.mark.parametrize(
    ("words", "error"),
    [
        (("--role", "owner"), "Somebody with the role owner, and nobody else"),
        (
            ("--role", "framer", "--owner", "X", "--new-owner"),
            "Somebody with the role owner, and nobody else",
        ),
        (("--role", "boss"), "'boss' is not one of 'keeper', 'framer', 'owner'"),
        ((), "Missing option '--role'"),
    ],
)
def test_a_person_that_cannot_be_is_refused_in_one_line(
    run: Run, words: tuple[str, ...], error: str
) -> None:
    code, out, told = run("person", "add", "Ben", *words, stdin=PASSWORD)
    assert (code, out, told.count("\n"), error in told) == (1, "", 1, True)


def test_who_has_forgotten_a_password_is_given_a_new_one_and_signed_out(
    run: Run, engine: Engine
) -> None:
    add_ada(run)
    with recording(engine, actor="test", now=NOON) as session:
        begin_sign_in(session, session.exec(select(Person.id)).one() or 0, NOON)
    assert run("person", "password", "Ada Sill", stdin="another long one") == (
        0,
        "Ada Sill has a new password.\n",
        "",
    )
    with read_session(engine) as session:
        assert is_password("another long one", session.exec(select(Person)).one().password_hash)
        assert session.exec(select(SignIn)).all() == []
    code, _, told = run("person", "password", "Nobody", stdin="another long one")
    assert (code, "cannot sign in" in told) == (1, True)


def test_a_short_password_is_refused(run: Run) -> None:
    code, _, told = run("person", "add", "Ben", "--role", "framer", stdin="chalk\n")
    assert (code, told) == (
        1,
        "hingebook: The password has 5 characters. Give 10 to 200; a few words are easy to keep.\n",
    )


def test_nobody_is_added_twice(run: Run) -> None:
    add_ada(run)
    assert add_ada(run) == (1, "", "hingebook: Ada Sill can sign in already.\n")


def test_a_token_is_printed_once_and_kept_as_a_digest(run: Run, engine: Engine) -> None:
    add_ada(run)
    code, out, _ = run("token", "Ada Sill")
    with read_session(engine) as session:
        assert session.exec(select(ApiToken.token_sha256)).one() == digest(out.strip())
    assert (code, re.fullmatch(r"hb_[\w-]{43}\n", out) is not None) == (0, True)


def test_a_token_for_nobody_is_refused(run: Run) -> None:
    assert run("token", "Ada Sill") == (
        1,
        "",
        "hingebook: There is no person who can sign in, named 'Ada Sill'.\n",
    )


def test_a_token_is_listed_and_ended_and_then_stops_working(run: Run, engine: Engine) -> None:
    add_ada(run)
    made = run("token", "Ada Sill", "--label", "label printer")[1].strip()
    run("token", "Ada Sill")
    _, out, _ = run("tokens", "Ada Sill")
    assert re.fullmatch(
        r"label printer, made [\d-]{10}, never used\ncommand line, made [\d-]{10}, never used\n",
        out,
    )
    with read_session(engine) as session:
        assert recognise_token(session, made, NOON) is not None
    assert run("token", "--end", "label printer", "Ada Sill") == (0, "1 token was ended.\n", "")
    with read_session(engine) as session:
        assert recognise_token(session, made, NOON) is None
    assert run("tokens", "Ada Sill")[1].startswith("command line, ")
    assert run("token", "--end", "label printer", "Ada Sill") == (
        1,
        "",
        "hingebook: There is no token of Ada Sill called 'label printer'.\n",
    )


def test_the_log_is_proved_and_its_head_can_be_kept(run: Run, engine: Engine) -> None:
    add_ada(run)
    code, out, _ = run("verify-log")
    head = out.split()[-1] if code else re.findall(r"\d+:[0-9a-f]{64}", out)[0]
    assert (code, run("verify-log", "--expect", head)[0]) == (0, 0)


def test_a_head_that_is_not_in_the_log_fails(run: Run) -> None:
    code, out, told = run("verify-log", "--expect", "7:00")
    assert (code, out) == (1, "")
    assert told == "hingebook: 7:00 is not in the chain: it was cut or written anew since.\n"


def test_a_change_behind_the_logs_back_is_proved(run: Run, engine: Engine) -> None:
    add_ada(run)
    with engine.begin() as connection:
        connection.exec_driver_sql("UPDATE person SET role = 'framer'")
    code, _, told = run("verify-log")
    assert (code, told) == (1, "hingebook: person 1 was changed behind the log's back.\n")


def test_a_reading_changed_behind_the_logs_back_is_proved(run: Run, engine: Engine) -> None:
    text = b"Date,T \xc2\xb0C,RH %\n2026-01-31 10:00,20,50\n2026-01-31 11:00,21,50\n"
    with recording(engine, actor="test", now=NOON) as session:
        keeper, place = a_keeper(session), key_of(a_place(session, "Stair"))
        sent = FileSent(name="stair.csv", digest="0" * 64, byte_count=len(text))
        file = read_logger_file(text, Choices())
        import_readings(
            session, keeper, place, sent, file, Choices(), now=NOON, today=day_number(NOON.date())
        )
    assert run("verify-log")[0] == 0
    with engine.begin() as connection:
        connection.exec_driver_sql("UPDATE climate_reading SET temperature_c = 30")
    code, _, told = run("verify-log")
    assert (code, told) == (1, "hingebook: Import 1: its readings were changed.\n")


def test_the_history_of_all_works_is_written_to_a_file_once_it_is_whole(
    run: Run, tmp_path: Path
) -> None:
    file = tmp_path / "history.csv"
    assert run("export", "history", "--all", "-o", str(file)) == (0, "", "")
    assert file.read_bytes() == ",".join(COLUMNS).encode() + b"\r\n"
    assert list(tmp_path.glob("*.unfinished")) == []


def test_works_that_have_no_row_in_the_history_are_counted_beside_it(
    run: Run, engine: Engine
) -> None:
    with recording(engine, actor="test", now=NOON) as session:
        a_work(session, number="GQ 1")
    told = "No row for 1 of 1 works: no mount of theirs is on record.\n"
    assert run("export", "history", "--all") == (0, ",".join(COLUMNS) + "\r\n", told)


def test_the_history_of_one_work_is_that_work_alone(run: Run, engine: Engine) -> None:
    with recording(engine, actor="test", now=NOON) as session:
        a_work(session, number="GQ 1")
    assert run("export", "history", "GQ 1") == (0, ",".join(COLUMNS) + "\r\n", "")


def test_stored_forecasts_are_worked_out_anew_and_proved(run: Run, engine: Engine) -> None:
    with recording(engine, actor="test", now=NOON) as session:
        a_work(session, number="GQ 1")
    code, out, told = run("recompute", "--check")
    assert (code, out) == (1, "GQ 1: no forecast is stored.\n")
    assert told == "hingebook: 1 stored forecasts are not what the rules say.\n"
    assert run("recompute") == (0, "1 forecasts were worked out anew.\n", "")
    assert run("recompute", "--check") == (0, "1 forecasts are what the rules say.\n", "")
    assert run("verify-log")[0] == 0


@pytest.mark.parametrize("words", [(), ("GQ 1", "--all"), ("GQ 2",)])
def test_a_history_of_nothing_is_refused(run: Run, words: tuple[str, ...]) -> None:
    code, out, told = run("export", "history", *words)
    assert (code, out, told.count("\n")) == (1, "", 1)


def test_migrating_an_empty_database_brings_what_is_shipped(
    run: Run, engine: Engine, fresh_url: str
) -> None:
    migrate(fresh_url, "base")
    assert run("migrate") == (0, f"The database is at {newest_revision()}.\n", "")
    with read_session(engine) as session:
        assert session.exec(select(Material)).first() is not None
        head = session.exec(select(LogHead)).one().seq
    run("migrate")
    with read_session(engine) as session:
        assert session.exec(select(LogHead)).one().seq == head


def test_a_postgresql_that_is_out_of_date_is_refused_naming_the_command(
    run: Run, fresh_url: str
) -> None:
    migrate(fresh_url, "base")
    code, _, told = run("verify-log")
    if fresh_url.startswith("sqlite"):
        assert (code, told) == (0, "")
    else:
        assert (code, told.endswith("Run: hingebook migrate\n")) == (1, True)


def test_more_than_one_process_on_sqlite_is_refused(run: Run, fresh_url: str) -> None:
    if fresh_url.startswith("sqlite"):
        code, _, told = run("serve", "--workers", "2")
        assert (code, told.startswith("hingebook: SQLite is served by one process.")) == (1, True)


@pytest.mark.parametrize(
    "words", [("nothing",), ("person",), ("serve", "--port", "x"), ("serve", "--port", "99999")]
)
def test_what_cannot_be_asked_for_is_one_line_on_stderr(run: Run, words: tuple[str, ...]) -> None:
    code, out, told = run(*words)
    assert (code, out, told.startswith("hingebook: "), told.count("\n")) == (1, "", True, 1)


def test_what_was_stopped_is_gone_on_with_and_what_is_marked_is_no_fault(
    run: Run, engine: Engine
) -> None:
    with recording(engine, actor="test", now=NOON) as session:
        keys = [key_of(a_work(session, number=f"GQ {nth}")) for nth in range(3)]
        refresh_forecasts(session, keys[:2], today=20_782)
        mark_works(session, keys[1:])
    assert run("recompute", "--check") == (
        0,
        "1 forecasts are what the rules say.\n"
        "2 more are marked to be worked out anew: hingebook recompute --rest.\n",
        "",
    )
    assert run("recompute", "--rest") == (0, "2 forecasts were worked out anew.\n", "")
    assert run("recompute", "--check") == (0, "3 forecasts are what the rules say.\n", "")


def test_a_database_that_is_not_there_is_told_without_a_traceback(
    run: Run, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("HINGEBOOK_DATABASE_URL", "postgresql://localhost:1/none")
    code, _, told = run("migrate")
    assert (code, told.startswith("hingebook: The database cannot be used:")) == (1, True)
    assert told.count("\n") == 1


@pytest.mark.parametrize(
    "words",
    [
        ("verify-log",),
        ("recompute",),
        ("token", "Ada Sill"),
        ("tokens", "Ada Sill"),
        ("export", "history", "--all"),
        ("person", "password", "Ada Sill"),
    ],
)
def test_a_folder_without_a_database_is_refused_and_stays_empty(
    run: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, words: tuple[str, ...]
) -> None:
    folder = tmp_path / "elsewhere"
    monkeypatch.setenv("HINGEBOOK_DATABASE_URL", "")
    monkeypatch.setenv("HINGEBOOK_DATA", str(folder))
    told = f"hingebook: There is no database in {folder}; `hingebook migrate` makes one.\n"
    assert run(*words) == (1, "", told)
    assert not folder.exists()


def test_a_data_folder_that_cannot_be_used_is_told_in_one_line(
    run: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    file = tmp_path / "a-file"
    file.touch()
    monkeypatch.setenv("HINGEBOOK_DATABASE_URL", "")
    monkeypatch.setenv("HINGEBOOK_DATA", str(file))
    told = f"hingebook: {file} is a file; the data need a folder of their own.\n"
    assert run("migrate") == run("verify-log") == (1, "", told)
    file.unlink()
    file.mkdir()
    monkeypatch.setattr("os.access", lambda _path, _mode: False)
    told = f"hingebook: The folder {file} is not yours to read and write.\n"
    assert run("migrate") == run("verify-log") == (1, "", told)


def test_a_file_in_a_folder_that_is_not_there_is_refused(run: Run, tmp_path: Path) -> None:
    out = tmp_path / "missing" / "history.csv"
    told = f"hingebook: There is no folder {out.parent}; make it first.\n"
    assert run("export", "history", "--all", "-o", str(out)) == (1, "", told)


def test_a_port_in_use_is_refused_before_anything_is_promised(
    run: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("HINGEBOOK_DATABASE_URL", "")
    monkeypatch.setenv("HINGEBOOK_DATA", str(tmp_path / "new"))
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        port = str(taken.getsockname()[1])
        for command in ("serve", "demo"):
            code, out, told = run(command, "--port", port)
            assert (code, out, told.count("\n")) == (1, "", 1)
            assert told.startswith(f"hingebook: Nothing can listen at 127.0.0.1, port {port}: ")
    assert not (tmp_path / "new").exists()


def test_it_can_be_run_as_a_module() -> None:
    answer = subprocess.run(
        [sys.executable, "-m", "api.commands", "--help"], capture_output=True, text=True, check=True
    )
    assert "verify-log" in answer.stdout
