"""What an installation may be set to."""

import pytest

from api.settings import BadSetting, read_settings


@pytest.fixture(autouse=True)
def _no_settings_of_this_machine(monkeypatch: pytest.MonkeyPatch) -> None:
    for name in ("DATA", "DATABASE_URL", "ADDRESS", "HOST", "PORT", "WORKERS", "TIME_ZONE"):
        monkeypatch.delenv(f"HINGEBOOK_{name}", raising=False)


def test_prices_are_in_a_currency_by_its_code() -> None:
    assert read_settings(currency="CHF").currency == "CHF"
    with pytest.raises(BadSetting, match="no code of ISO 4217; give one like EUR"):
        read_settings(currency="francs")


def test_without_any_setting_it_serves_this_machine_from_a_folder_here() -> None:
    settings = read_settings()
    assert (settings.url, settings.public_address, settings.is_https) == (
        "sqlite:///hingebook-data/hingebook.sqlite",
        "http://localhost:8000",
        False,
    )


def test_the_environment_is_read_and_the_command_line_goes_before_it(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setenv("HINGEBOOK_PORT", "9000")
    monkeypatch.setenv("HINGEBOOK_TIME_ZONE", "Europe/Lisbon")
    assert read_settings().public_address == "http://localhost:9000"
    assert read_settings(port=9001, host=None).public_address == "http://localhost:9001"


@pytest.mark.parametrize(
    "address",
    [
        "http://localhost:8000",
        "http://127.0.0.1",
        "http://[::1]:8000",
        "http://192.168.1.20:8000",
        "http://10.0.0.7",
        "http://studio",
        "http://studio.local",
        "https://book.example.org",
    ],
)
def test_plain_http_is_for_this_machine_and_private_networks(address: str) -> None:
    assert read_settings(address=address).public_address == address


@pytest.mark.parametrize(
    "address", ["http://book.example.org", "http://8.8.8.8", "http://local.evil.org"]
)
def test_plain_http_to_the_world_is_refused_with_what_would_be_right(address: str) -> None:
    with pytest.raises(BadSetting, match=r"passwords in the clear; give an https address"):
        read_settings(address=address)


def test_listening_to_the_world_without_an_address_is_refused() -> None:
    with pytest.raises(BadSetting, match="passwords in the clear"):
        read_settings(host="8.8.8.8")


@pytest.mark.parametrize(
    ("name", "value", "says"),
    [
        ("address", "book.example.org", "is no address"),
        ("address", "https://book.example.org/path", "leave the rest out"),
        ("address", "https://me@book.example.org", "leave the rest out"),
        ("database_url", "mysql://x", "sqlite:///FILE or postgresql://"),
        ("time_zone", "Mars/Olympus", "no known time zone"),
        ("time_zone", "../../etc/passwd", "no known time zone"),
        ("port", 99999, "HINGEBOOK_PORT"),
        ("workers", 0, "HINGEBOOK_WORKERS"),
    ],
)
def test_a_setting_that_cannot_be_is_refused_by_name(name: str, value: object, says: str) -> None:
    with pytest.raises(BadSetting, match=says):
        read_settings(**{name: value})


def test_it_answers_under_its_own_name_and_those_of_this_machine() -> None:
    settings = read_settings(address="https://book.example.org")
    assert settings.allowed_hosts == {"book.example.org", "localhost", "127.0.0.1", "::1"}
