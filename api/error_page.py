"""What is the error page given?"""

from dataclasses import dataclass

from models.errors import Fault

TITLES = {
    401: "You are not signed in",
    403: "Not for you to do",
    404: "There is nothing here",
    405: "This cannot be done here",
    409: "That would contradict the record",
    413: "Too large",
    422: "A value cannot be right",
    429: "A little slower, please",
    500: "Something broke here",
    503: "Try again in a moment",
}
# What a person can do next; said after what happened.
NEXT = {
    403: "A keeper can do this, or can say who may.",
    404: "It may have been taken off the register, the address may be mistyped, or it may be a"
    " record that is not yours to see. The search finds works by number, title or maker.",
    409: "Go back to what you typed. Look at the record as it is now, then decide.",
    413: "Nothing of it was kept. Go back to the form, where everything you typed still is, and"
    " shorten what is too long; choose a smaller file, or send fewer at once.",
    422: "Go back, put it right, and send again.",
    500: "Go back and try again. If it happens again, tell whoever looks after"
    " this server the number below: it stands in the server's log beside the cause.",
    503: "Nothing was lost. Reload this page, or go back and send again.",
}
# A form of an earlier sign-in is no matter of who may do what.
OLD_FORM = "wrong_form_token"
OLD_FORM_TITLE = "This form is from before"
OLD_FORM_NEXT = (
    "Go back: the form is fetched anew with everything you typed in it. Look it through, and send"
    " it again."
)


@dataclass(frozen=True)
class ErrorPage:
    """What templates/errors/error.html is given.

    `reference` stands in the server's log too; `was_sent` says that something was typed, which
    a way leads back to.
    """

    status: int
    heading: str
    message: str
    what_next: str
    reference: str
    was_sent: bool
    faults: tuple[Fault, ...]


def error_page(
    status: int,
    message: str,
    faults: tuple[Fault, ...],
    reference: str = "",
    *,
    code: str = "",
    was_sent: bool = False,
) -> ErrorPage:
    """Return the page for a refusal."""
    heading, what_next = TITLES.get(status, "That did not work"), NEXT.get(status, "")
    if code == OLD_FORM:
        heading, what_next = OLD_FORM_TITLE, OLD_FORM_NEXT
    said = "" if message.strip(".") == heading else message
    return ErrorPage(status, heading, said, what_next, reference, was_sent, faults)
