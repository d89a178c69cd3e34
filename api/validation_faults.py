"""Which value of a request is wrong, and what would be right?

FastAPI says where by a path that may hold the names of its own types; here it becomes a
JSON Pointer into what was sent. The words are ours and never repeat a value.
"""

from collections.abc import Mapping, Sequence
from typing import Any

from models.errors import Fault

LONGEST_PART = 100

# Kind of fault (as pydantic names it) → what is wrong, what would be right.
WORDS: dict[str, tuple[str, str]] = {
    "missing": ("This is missing.", "Give it."),
    "extra_forbidden": ("There is no field of this name here.", "Leave it out."),
    "json_invalid": ("This is not JSON.", "Send one JSON value in UTF-8."),
    "model_attributes_type": ("This is no object.", "Send a JSON object."),
    "model_type": ("This is no object.", "Send a JSON object."),
    "dict_type": ("This is no object.", "Send a JSON object."),
    "list_type": ("This is no list.", "Send a list."),
    "too_long": ("There are too many.", "Send at most {max_length}."),
    "too_short": ("There are too few.", "Send at least {min_length}."),
    "string_type": ("This is no text.", "Send a text."),
    "string_too_long": ("This text is too long.", "At most {max_length} characters fit."),
    "string_too_short": ("This text is too short.", "Give {min_length} or more characters."),
    "string_pattern_mismatch": ("This does not have the right form.", "It must match {pattern}."),
    "string_unicode": ("There is half a character in this text.", "Take it out."),
    "unclean_text": ("{why}", ""),
    "int_type": ("This is no whole number.", "Send a whole number."),
    "int_parsing": ("This is no whole number.", "Send a whole number."),
    "int_from_float": ("This is no whole number.", "Send a whole number."),
    "int_parsing_size": ("This number is too large.", "Send a smaller whole number."),
    "float_type": ("This is no number.", "Send a number."),
    "float_parsing": ("This is no number.", "Send a number."),
    "finite_number": ("This is no finite number.", "Send a number."),
    "bool_type": ("This is neither true nor false.", "Send true or false."),
    "bool_parsing": ("This is neither true nor false.", "Send true or false."),
    "greater_than": ("This is too small.", "Send more than {gt}."),
    "greater_than_equal": ("This is too small.", "Send at least {ge}."),
    "less_than": ("This is too large.", "Send less than {lt}."),
    "less_than_equal": ("This is too large.", "Send at most {le}."),
    "enum": ("This word is not on the list.", "One of {expected}."),
    "literal_error": ("This word is not on the list.", "One of {expected}."),
    "date_parsing": ("This is no date.", "Send it as 2026-11-20."),
    "date_from_datetime_parsing": ("This is no date.", "Send it as 2026-11-20."),
    "none_required": ("This must be null.", "Send null."),
}
OTHERWISE = ("This value cannot be right.", "The API's description says what is taken here.")

Location = Sequence[str | int]


def faults_of(errors: Sequence[Mapping[str, Any]], body: object) -> list[Fault] | None:
    """Return what is wrong with a request; None if its path cannot be one of ours."""
    if any(error["loc"][:1] == ("path",) for error in errors):
        return None
    return [_fault(error, body) for error in errors]


def _fault(error: Mapping[str, Any], body: object) -> Fault:
    message, right = WORDS.get(error["type"], OTHERWISE)
    told: Mapping[str, Any] = error.get("ctx") or {}
    where, *rest = error["loc"]
    if where != "body":
        # Outside the body no JSON Pointer leads anywhere: the name goes into the sentence.
        name = ".".join(_safe(part) for part in rest)
        return Fault("", f"{where} {name}: {_put(message, told)}", _put(right, told))
    return Fault(_pointer(rest, body), _put(message, told), _put(right, told))


def _put(words: str, told: Mapping[str, Any]) -> str:
    return words.format_map({name: str(value) for name, value in told.items()})


def _pointer(location: Location, body: object) -> str:
    """Return the JSON Pointer (RFC 6901); parts that are in no body are names of our types."""
    parts: list[str] = []
    here = body
    for part in location:
        if isinstance(here, Mapping) and isinstance(part, str):
            if part not in here and part != location[-1]:
                continue
            here = here.get(part)
        elif isinstance(here, Sequence) and isinstance(part, int) and not isinstance(here, str):
            here = here[part] if part < len(here) else None
        else:
            continue
        parts.append(_safe(part).replace("~", "~0").replace("/", "~1"))
    return "".join(f"/{part}" for part in parts)


def _safe(part: str | int) -> str:
    # A field's name comes from whoever sent it: bounded, and never half a character.
    return str(part)[:LONGEST_PART].encode("utf-8", "replace").decode()
