"""What is the error page given?"""

from dataclasses import dataclass

from models.errors import Fault

TITLES = {
    401: "You are not signed in",
    403: "Not for you to do",
    404: "There is nothing here",
    409: "That would contradict the record",
    413: "Too large",
    422: "A value cannot be right",
    503: "Try again in a moment",
}


@dataclass(frozen=True)
class ErrorPage:
    """What templates/errors/error.html is given."""

    status: int
    heading: str
    message: str
    faults: tuple[Fault, ...]


def error_page(status: int, message: str, faults: tuple[Fault, ...]) -> ErrorPage:
    """Return the page for a refusal."""
    return ErrorPage(status, TITLES.get(status, "That did not work"), message, faults)
