"""Files that people send are kept byte for byte, once."""

import hashlib
from pathlib import Path

from models.exchange.kept_files import keep_file, keep_written, kept_file

CONTENT = b"Date;T\r\n\x00\xff"


def test_a_file_is_kept_byte_for_byte_under_its_digest(tmp_path: Path) -> None:
    folder = tmp_path / "not" / "there yet"
    sha256 = keep_file(folder, CONTENT)
    file = kept_file(folder, sha256)
    assert sha256 == hashlib.sha256(CONTENT).hexdigest()
    assert file is not None
    assert file.read_bytes() == CONTENT


def test_the_same_file_is_kept_once(tmp_path: Path) -> None:
    assert keep_file(tmp_path, CONTENT) == keep_file(tmp_path, CONTENT)
    assert len(list(tmp_path.iterdir())) == 1


def test_what_is_no_digest_finds_nothing(tmp_path: Path) -> None:
    (tmp_path / "letter").write_bytes(CONTENT)
    asked = ("letter", "../letter", "", "0" * 64, "0" * 63 + "/")
    assert [kept_file(tmp_path, name) for name in asked] == [None] * 5


def test_a_file_on_the_disk_is_kept_byte_for_byte_and_stays_where_it_is(tmp_path: Path) -> None:
    content = bytes(range(256)) * 1000
    written = tmp_path / "written"
    written.write_bytes(content)
    digest = keep_written(tmp_path / "kept", written)
    assert digest == hashlib.sha256(content).hexdigest()
    assert keep_written(tmp_path / "kept", written) == digest
    assert [file.name for file in (tmp_path / "kept").iterdir()] == [digest]
    assert (tmp_path / "kept" / digest).read_bytes() == written.read_bytes() == content
