"""How a reminder leaves the house: signed, to the open network, within seconds."""

import asyncio
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import UTC, datetime
from email import message_from_bytes
from email.message import Message

import httpx
import pytest
from anyio.from_thread import start_blocking_portal

from models.errors import BadValue
from models.exchange.reminder_sending import (
    NUMBERED,
    SENT_AT,
    SIGNED,
    MailServer,
    NotSent,
    Webhook,
    is_reachable_by_all,
    mail,
    post,
    require_webhook_address,
)
from models.rules.reminder_text import signature

NOON = datetime(2026, 11, 25, 12, tzinfo=UTC)
OPEN = "93.184.215.14"
SECRET = "a secret for tests"
HOOK = Webhook(
    address="https://hooks.example.org/a?b=1", secret=SECRET, content='{"day":"x"}', number="7"
)


def send(answer: httpx.Response, *addresses: str) -> list[httpx.Request]:
    """Post the webhook to somebody who answers so; return what they were sent."""
    asked: list[httpx.Request] = []

    def handle(request: httpx.Request) -> httpx.Response:
        asked.append(request)
        return answer

    found = list(addresses or [OPEN])
    post(HOOK, now=NOON, transport=httpx.MockTransport(handle), find=lambda host, port: found)
    return asked


def test_a_webhook_is_signed_numbered_and_sent_to_the_address_that_was_judged() -> None:
    (request,) = send(httpx.Response(204))
    assert str(request.url) == f"https://{OPEN}/a?b=1"
    assert request.headers["Host"] == "hooks.example.org"
    assert request.extensions["sni_hostname"] == "hooks.example.org"
    assert request.content == HOOK.content.encode()
    assert (request.headers[SENT_AT], request.headers[NUMBERED]) == (
        "2026-11-25T12:00:00+00:00",
        "7",
    )
    assert request.headers[SIGNED] == signature(SECRET, request.headers[SENT_AT], HOOK.content)


@pytest.mark.parametrize(
    ("answer", "why"),
    [
        (httpx.Response(302, headers={"Location": "http://127.0.0.1/"}), "sent elsewhere"),
        (httpx.Response(500), "answered with 500"),
    ],
)
def test_only_a_plain_yes_counts_as_arrived(answer: httpx.Response, why: str) -> None:
    with pytest.raises(NotSent, match=why):
        send(answer)


def test_who_does_not_answer_in_time_is_tried_again_later() -> None:
    def never(request: httpx.Request) -> httpx.Response:
        raise httpx.ReadTimeout("5 s", request=request)

    with pytest.raises(NotSent, match="No answer"):
        post(
            HOOK,
            now=NOON,
            transport=httpx.MockTransport(never),
            find=lambda host, port: [OPEN],
        )


@pytest.mark.parametrize(
    "address",
    [
        "127.0.0.1",
        "10.1.2.3",
        "192.168.0.5",
        "169.254.169.254",
        "100.64.0.1",
        "0.0.0.0",
        "224.0.0.1",
        "::1",
        "fe80::1%eth0",
        "fd00::1",
        "::ffff:10.0.0.1",
        "64:ff9b::a00:1",
        "2002:a00:1::",
    ],
)
def test_a_private_address_is_not_posted_to(address: str) -> None:
    assert not is_reachable_by_all(address)
    with pytest.raises(NotSent, match="private network"):
        send(httpx.Response(204), OPEN, address)


def test_the_open_network_is_posted_to() -> None:
    assert is_reachable_by_all(OPEN)
    assert is_reachable_by_all("2606:2800:21f:cb07:6820:80da:af6b:8b2c")


def test_a_host_that_nobody_knows_is_no_target() -> None:
    with pytest.raises(NotSent, match="Nobody knows"):
        post(HOOK, now=NOON, find=lambda host, port: [])


@pytest.mark.parametrize(
    "address",
    [
        "",
        "hooks.example.org",
        "ftp://example.org",
        "https://",
        "https://a:b@example.org",
        "https://example.org:port/",
        "https://example.org/a b",
        "https://example.org/#part",
        "http://169.254.169.254/latest",
        "http://[::1]:8000/",
        "http://10.0.0.7/hook",
    ],
)
def test_what_is_no_plain_web_address_is_refused(address: str) -> None:
    with pytest.raises(BadValue):
        require_webhook_address(address)


@dataclass
class Postbox:
    """A mail server in this process that keeps what it is handed."""

    port: int = 0
    letters: list[Message] = field(default_factory=list)

    async def talk(self, reader: asyncio.StreamReader, writer: asyncio.StreamWriter) -> None:
        writer.write(b"220 postbox\r\n")
        while line := await reader.readline():
            match line.split()[0].upper():
                case b"DATA":
                    writer.write(b"354 go on\r\n")
                    told = await reader.readuntil(b"\r\n.\r\n")
                    self.letters.append(message_from_bytes(told[:-3]))
                    writer.write(b"250 kept\r\n")
                case b"QUIT":
                    writer.write(b"221 bye\r\n")
                    break
                case b"RCPT" if b"nobody@" in line:
                    writer.write(b"550 nobody here\r\n")
                case _:
                    writer.write(b"250 yes\r\n")
        await writer.drain()
        writer.close()
        await writer.wait_closed()


@contextmanager
def a_postbox() -> Iterator[Postbox]:
    """Serve a postbox on a free port until the block ends."""
    box = Postbox()
    with start_blocking_portal() as portal:
        server = portal.call(asyncio.start_server, box.talk, "127.0.0.1", 0)
        box.port = server.sockets[0].getsockname()[1]
        try:
            yield box
        finally:
            server.close()
            portal.call(server.wait_closed)


def a_server(port: int) -> MailServer:
    return MailServer(host="127.0.0.1", port=port, sender="book@example.org", encryption="none")


def test_a_letter_is_plain_text_and_says_that_nobody_wrote_it() -> None:
    with a_postbox() as box:
        mail(a_server(box.port), "studio@example.org", "Due: 2", "GH 1: look", now=NOON, number="7")
    (letter,) = box.letters
    told = {name: letter[name] for name in ("From", "To", "Subject", "Auto-Submitted", "Date")}
    assert told == {
        "From": "book@example.org",
        "To": "studio@example.org",
        "Subject": "Due: 2",
        "Auto-Submitted": "auto-generated",
        "Date": "Wed, 25 Nov 2026 12:00:00 +0000",
    }
    assert letter.get_content_type() == "text/plain"
    assert str(letter.get_payload()).strip() == "GH 1: look"


def test_a_letter_that_nobody_takes_is_said_to_have_failed() -> None:
    with a_postbox() as box, pytest.raises(NotSent, match="did not take it"):
        mail(a_server(box.port), "nobody@example.org", "Due", "x", now=NOON, number="7")


def test_without_a_mail_server_a_letter_fails_within_seconds() -> None:
    with a_postbox() as box:
        closed = box.port
    with pytest.raises(NotSent):
        mail(a_server(closed), "studio@example.org", "Due", "x", now=NOON, number="7")
