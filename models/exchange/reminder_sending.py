"""How does a reminder leave the house, as a webhook or as a letter?

A webhook goes by HTTP POST, signed, in 5 seconds or not at all. Whoever may type an
address must not reach what only this machine can reach: the name is looked up here,
an address of a private network, of this machine or of no single host is refused, and
the connection is made to the very address that was judged. A redirect is a refusal.
A letter goes through the mail server of the installation, plain text, no picture,
nothing that tells whether it was read.
"""

import smtplib
import socket
import ssl
from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from email.message import EmailMessage
from email.utils import format_datetime, make_msgid
from ipaddress import IPv4Address, IPv6Address, ip_address, ip_network
from urllib.parse import urlsplit

import httpx

from models.errors import BadValue, HingebookError
from models.rules.reminder_text import signature

LONGEST_S = 5.0
# Our own names: the time of sending, its signature, and by which number a repeat is known.
SENT_AT, SIGNED, NUMBERED = "Hingebook-Sent-At", "Hingebook-Signed", "Hingebook-Reminder"
# These stand for an IPv4 address that may be private: NAT64 (RFC 6052) and 6to4 (RFC 3056).
_STANDING_FOR_IPV4 = (ip_network("64:ff9b::/96"), ip_network("2002::/16"))

Address = IPv4Address | IPv6Address
LookUp = Callable[[str, int], list[str]]


class NotSent(HingebookError):
    """A reminder did not arrive; the sentence says why, without the address."""

    code = "not_sent"


@dataclass(frozen=True, kw_only=True)
class MailServer:
    """Where letters are handed over. `encryption`: starttls, tls or none."""

    host: str
    port: int
    sender: str
    user: str = ""
    password: str = ""
    encryption: str = "starttls"


@dataclass(frozen=True, kw_only=True)
class Webhook:
    """What is posted where; `number` is the same at every try."""

    address: str
    secret: str
    content: str
    number: str


def look_up(host: str, port: int) -> list[str]:
    """Return the addresses of a host as this machine finds them."""
    try:
        found = socket.getaddrinfo(host, port, type=socket.SOCK_STREAM)
    except OSError:
        return []
    return [str(one[4][0]) for one in found]


def require_webhook_address(address: str) -> str:
    """Return an address that can be posted to. Raises BadValue."""
    right = "One like https://example.org/hook, without a name or password in it."
    try:
        parts = urlsplit(address)
        parts.port  # noqa: B018 - asking for it refuses a port that is no number
    except ValueError:
        raise BadValue.at("/address", "This is no web address.", right) from None
    is_plain = address.isascii() and address.isprintable() and " " not in address
    if parts.scheme not in ("http", "https") or not parts.hostname or not is_plain:
        raise BadValue.at("/address", "This is no web address.", right)
    if parts.username is not None or parts.fragment:
        raise BadValue.at("/address", "This address holds more than where to post.", right)
    if _is_number(parts.hostname) and not is_reachable_by_all(parts.hostname):
        raise BadValue.at("/address", "This is an address of a private network.", right)
    return address


def _is_number(host: str) -> bool:
    try:
        ip_address(host.partition("%")[0])
    except ValueError:
        return False
    return True


def is_reachable_by_all(address: str) -> bool:
    """Say whether an address is one of the open network, not of this machine or a private one."""
    found: Address = ip_address(address.partition("%")[0])
    if isinstance(found, IPv6Address):
        if found.ipv4_mapped is not None:
            return is_reachable_by_all(str(found.ipv4_mapped))
        if any(found in network for network in _STANDING_FOR_IPV4):
            return False
    return found.is_global and not (found.is_multicast or found.is_reserved)


def post(
    webhook: Webhook,
    *,
    now: datetime,
    transport: httpx.BaseTransport | None = None,
    find: LookUp = look_up,
) -> None:
    """Post a webhook. Raises NotSent for every answer but 2xx."""
    parts = urlsplit(webhook.address)
    host = parts.hostname or ""
    port = parts.port or (443 if parts.scheme == "https" else 80)
    judged = _judged(find(host, port))
    shown = f"[{judged}]" if ":" in judged else judged
    sent_at = now.isoformat(timespec="seconds")
    headers = {
        "Host": parts.netloc,
        "Content-Type": "application/json",
        "User-Agent": "hingebook",
        SENT_AT: sent_at,
        SIGNED: signature(webhook.secret, sent_at, webhook.content),
        NUMBERED: webhook.number,
    }
    # To the address that was judged: a second look-up might find another.
    where = parts._replace(netloc=f"{shown}:{port}").geturl()
    try:
        with (
            httpx.Client(
                transport=transport, timeout=LONGEST_S, follow_redirects=False, trust_env=False
            ) as client,
            client.stream(
                "POST",
                where,
                content=webhook.content.encode(),
                headers=headers,
                extensions={"sni_hostname": host},
            ) as answer,
        ):
            status = answer.status_code
    except (httpx.HTTPError, httpx.InvalidURL, OSError) as error:
        raise NotSent(f"No answer ({type(error).__name__}).") from None
    if 300 <= status < 400:
        raise NotSent(f"It was to be sent elsewhere ({status}); a webhook follows nobody.")
    if not 200 <= status < 300:
        raise NotSent(f"It was answered with {status}.")


def _judged(addresses: list[str]) -> str:
    if not addresses:
        raise NotSent("Nobody knows this host.")
    if not all(is_reachable_by_all(address) for address in addresses):
        raise NotSent("This address is one of a private network; webhooks go to the open one.")
    return addresses[0]


def mail(
    server: MailServer, to: str, subject: str, text: str, *, now: datetime, number: str
) -> None:
    """Hand a letter to the mail server. Raises NotSent."""
    message = EmailMessage()
    message["From"], message["To"], message["Subject"] = server.sender, to, subject
    message["Date"] = format_datetime(now)
    message["Message-ID"] = make_msgid(number, domain=server.sender.rpartition("@")[2])
    message["Auto-Submitted"] = "auto-generated"
    message.set_content(text)
    try:
        with _opened(server) as connection:
            if server.encryption == "starttls":
                connection.starttls(context=ssl.create_default_context())
            if server.user:
                connection.login(server.user, server.password)
            connection.send_message(message)
    except (smtplib.SMTPException, OSError) as error:
        raise NotSent(f"The mail server did not take it ({type(error).__name__}).") from None


def _opened(server: MailServer) -> smtplib.SMTP:
    if server.encryption == "tls":
        safe = ssl.create_default_context()
        return smtplib.SMTP_SSL(server.host, server.port, timeout=LONGEST_S, context=safe)
    return smtplib.SMTP(server.host, server.port, timeout=LONGEST_S)
