"""What differs from one installation to the next?

Everything here is read from the environment (`HINGEBOOK_DATA`, `HINGEBOOK_ADDRESS` and so
on). A value that would be unsafe is refused with a sentence that says what would be right.
The address decides about the cookie: over https it is bound to this host and sent over
https only; plain http is for this machine and for private networks.
"""

import re
from datetime import date, datetime, time
from ipaddress import ip_address
from pathlib import Path
from typing import Literal, Self
from urllib.parse import SplitResult, urlsplit
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from pydantic import Field, SecretStr, ValidationError, field_validator, model_validator
from pydantic_settings import BaseSettings, SettingsConfigDict

from models.errors import HingebookError
from models.exchange.reminder_sending import MailServer

DATABASES = ("sqlite", "postgresql", "postgresql+psycopg")
# Names that only a private network gives out (RFC 6761, RFC 6762, RFC 8375, and "internal" as
# reserved by ICANN in 2024), and "lan", which many routers use.
PRIVATE_NAMES = (".localhost", ".local", ".lan", ".internal", ".home.arpa", ".test")
THIS_MACHINE = ("localhost", "127.0.0.1", "::1")
EVERYWHERE = ("0.0.0.0", "::")


class BadSetting(HingebookError):
    """A setting cannot be right, or would be unsafe."""

    code = "bad_setting"


class Settings(BaseSettings):
    """The settings of one installation; each is `HINGEBOOK_` and its name in capitals."""

    model_config = SettingsConfigDict(env_prefix="HINGEBOOK_", frozen=True, extra="ignore")

    data: Path = Path("hingebook-data")
    """The folder for everything that is kept."""
    database_url: str = ""
    """`sqlite:///file` or `postgresql://…`; empty: an SQLite file in the data folder."""
    address: str = ""
    """How people reach it, such as `https://book.example.org`; empty: host and port."""
    host: str = "127.0.0.1"
    """On which address of this machine it listens."""
    port: int = Field(default=8000, ge=1, le=65535)
    """On which port it listens."""
    workers: int = Field(default=1, ge=1, le=64)
    """How many processes answer; more than one only with PostgreSQL."""
    time_zone: str = ""
    """Where "today" is, such as `Europe/Lisbon`; empty: where this machine is."""
    currency: str = "EUR"
    """In what prices are, a code of ISO 4217 such as `EUR` or `CHF`."""
    renew_at: time = time(3, 15)
    """At what time of the night all forecasts are worked out anew, such as `03:15`."""
    smtp_host: str = ""
    """The mail server that takes reminders; empty: no letters are sent."""
    smtp_port: int = Field(default=587, ge=1, le=65535)
    """On which port it listens."""
    smtp_sender: str = ""
    """From whom letters come, such as `book@example.org`."""
    smtp_user: str = ""
    """With which name to sign in there; empty: without."""
    smtp_password: SecretStr = SecretStr("")
    """With which password."""
    smtp_encryption: Literal["starttls", "tls", "none"] = "starttls"
    """How the way there is encrypted; `none` is for a mail server on this machine."""

    @field_validator("database_url")
    @classmethod
    def _known_database(cls, url: str) -> str:
        if url and url.partition(":")[0] not in DATABASES:
            raise ValueError("Give sqlite:///FILE or postgresql://USER@HOST/NAME.")
        return url

    @field_validator("time_zone")
    @classmethod
    def _known_zone(cls, name: str) -> str:
        try:
            if name:
                ZoneInfo(name)
        except (ZoneInfoNotFoundError, ValueError, OSError):
            raise ValueError(
                f"{name!r} is no known time zone; give one like Europe/Lisbon."
            ) from None
        return name

    @field_validator("currency")
    @classmethod
    def _three_capitals(cls, code: str) -> str:
        if not re.fullmatch("[A-Z]{3}", code):
            raise ValueError(f"{code!r} is no code of ISO 4217; give one like EUR.")
        return code

    @field_validator("address")
    @classmethod
    def _plain_address(cls, address: str) -> str:
        parts = urlsplit(address)
        if address and (parts.scheme not in ("http", "https") or not parts.hostname):
            raise ValueError(f"{address!r} is no address; give one like https://book.example.org.")
        if parts.path not in ("", "/") or parts.query or parts.username:
            raise ValueError(f"{address!r} is more than scheme, host and port; leave the rest out.")
        return address.rstrip("/")

    @model_validator(mode="after")
    def _https_where_strangers_listen(self) -> Self:
        if not self.is_https and not is_private(self.hostname):
            raise ValueError(
                f"http://{self.hostname} would send passwords in the clear; give an https address"
                " in HINGEBOOK_ADDRESS, or one of this machine or a private network."
            )
        return self

    @model_validator(mode="after")
    def _letters_come_from_somebody(self) -> Self:
        if self.smtp_host and not ("@" in self.smtp_sender and self.smtp_sender.isprintable()):
            raise ValueError("Say in HINGEBOOK_SMTP_SENDER from whom letters come.")
        if self.smtp_encryption == "none" and self.smtp_user:
            raise ValueError("Without encryption a password for mail would go in the clear.")
        return self

    @property
    def mail_server(self) -> MailServer | None:
        """The mail server that takes letters; None where none is set."""
        if not self.smtp_host:
            return None
        return MailServer(
            host=self.smtp_host,
            port=self.smtp_port,
            sender=self.smtp_sender,
            user=self.smtp_user,
            password=self.smtp_password.get_secret_value(),
            encryption=self.smtp_encryption,
        )

    @property
    def url(self) -> str:
        """The database."""
        return self.database_url or f"sqlite:///{self.data / 'hingebook.sqlite'}"

    @property
    def is_sqlite(self) -> bool:
        """Whether the database is the embedded one."""
        return self.url.startswith("sqlite")

    @property
    def public_address(self) -> str:
        """How people reach it, without a slash at the end."""
        return self.address or f"http://{self._listening_name}:{self.port}"

    @property
    def _listening_name(self) -> str:
        if self.host in (*THIS_MACHINE, *EVERYWHERE):
            return "localhost"
        return f"[{self.host}]" if ":" in self.host else self.host

    @property
    def _parts(self) -> SplitResult:
        return urlsplit(self.public_address)

    @property
    def hostname(self) -> str:
        """The name or number under which people reach it."""
        return self._parts.hostname or ""

    @property
    def is_https(self) -> bool:
        """Whether people reach it over https."""
        return self._parts.scheme == "https"

    def day_at(self, now: datetime) -> date:
        """Return the day that it is at this moment where the installation is."""
        return self.local(now).date()

    def local(self, now: datetime) -> datetime:
        """Return this moment in the time of the installation."""
        return now.astimezone(ZoneInfo(self.time_zone) if self.time_zone else None)

    @property
    def allowed_hosts(self) -> frozenset[str]:
        """The names under which it answers; every other is refused."""
        return frozenset((self.hostname, *THIS_MACHINE))


def is_private(hostname: str) -> bool:
    """Say whether a host is this machine or one of a private network."""
    try:
        number = ip_address(hostname)
    except ValueError:
        return "." not in hostname or hostname.endswith(PRIVATE_NAMES)
    return number.is_private or number.is_loopback or number.is_link_local


def read_settings(**given: object) -> Settings:
    """Return the settings; what is given by name goes before the environment. Raises BadSetting."""
    told = {name: value for name, value in given.items() if value is not None}
    try:
        return Settings(**told)  # type: ignore[arg-type]
    except ValidationError as error:
        raise BadSetting(" ".join(_sentence(fault) for fault in error.errors())) from None


def _sentence(fault: object) -> str:
    assert isinstance(fault, dict), "pydantic gives each fault as a dict"
    name = "".join(f"HINGEBOOK_{part}: ".upper() for part in fault["loc"])
    return name + str(fault["msg"]).removeprefix("Value error, ")
