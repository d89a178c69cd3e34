"""Style, scripts and fonts: kept by a browser, never stale, compressed where that helps."""

import gzip

from api.static_files import STATIC, digest_of, static
from tests.with_app import Browser, on_sqlite_only

__all__ = ["on_sqlite_only"]

GOOD = "public, max-age=31536000, immutable"


def test_a_file_asked_for_by_its_content_is_kept_for_good(stranger: Browser) -> None:
    answer = stranger.get(static("hingebook.css"))
    assert (answer.status_code, answer.headers["cache-control"]) == (200, GOOD)


def test_a_file_asked_for_by_an_older_content_is_compared_each_time(stranger: Browser) -> None:
    answer = stranger.get("/static/hingebook.css?v=000000000000")
    assert answer.headers["cache-control"] == "public, no-cache"
    same = stranger.get("/static/hingebook.css", headers={"If-None-Match": answer.headers["etag"]})
    assert same.status_code == 304


def test_text_comes_compressed_and_without_its_comments(stranger: Browser) -> None:
    plain = (STATIC / "hingebook.css").read_bytes()
    answer = stranger.get(static("hingebook.css"), headers={"Accept-Encoding": "gzip"})
    assert answer.headers["content-encoding"] == "gzip"
    assert answer.headers["vary"] == "Accept-Encoding"
    assert b"/*" in plain
    assert b"/*" not in answer.content
    assert answer.content.count(b"{") == plain.count(b"{")
    assert int(answer.headers["content-length"]) < len(plain) / 4
    bare = stranger.get(static("hingebook.css"), headers={"Accept-Encoding": "identity"})
    assert ("content-encoding" in bare.headers, bare.content) == (False, plain)


def test_a_script_comes_without_its_comments_and_says_the_same(stranger: Browser) -> None:
    for file in STATIC.glob("*.js"):
        lines = [line.strip() for line in file.read_text().splitlines()]
        # What stands in quotes ends in its line: no blank of it is lost.
        assert [line for line in lines if line.replace("\\`", "").count("`") % 2] == []
        code = [line for line in lines if line and not line.startswith("//")]
        answer = stranger.get(static(file.name), headers={"Accept-Encoding": "gzip"})
        assert answer.text.splitlines() == code


def test_a_font_is_kept_for_good_by_its_name_and_not_compressed_twice(stranger: Browser) -> None:
    answer = stranger.get("/static/fonts/ysabeau-office-latin-5.3.0.woff2")
    assert (answer.headers["cache-control"], answer.headers["content-type"]) == (GOOD, "font/woff2")
    assert "content-encoding" not in answer.headers


def test_every_page_asks_for_the_style_sheet_by_what_it_holds(stranger: Browser) -> None:
    assert f"hingebook.css?v={digest_of('hingebook.css')}" in stranger.get("/sign-in").text


def test_the_first_view_without_photographs_stays_small() -> None:
    of_every_page = ["hingebook.css", "hingebook.js", "mark.svg"]
    text = sum(len(gzip.compress((STATIC / name).read_bytes())) for name in of_every_page)
    fonts = sum(file.stat().st_size for file in (STATIC / "fonts").glob("*-latin-[0-9]*.woff2"))
    # The page itself may take the rest of 150 kB.
    assert text + fonts < 100_000
